"""From reflectance spectra to L*a*b*, by the practice of ASTM E308.

References
----------
ASTM E308-15, Standard Practice for Computing the Colors of Objects by Using the CIE System.
ASTM E2022-11, Standard Practice for Calculation of Weighting Factors for Tristimulus Integration.
Both as built in colour-science, which makes the weights; here they are folded and multiplied.

Rules
-----
- The working range is 360 to 780 nm. Readings beyond it are not used.
- Readings that stop short of it are continued with their end values: the weights of the missing
  wavelengths are added to those of the first and the last (E308, 7.3.2.2). They must reach from
  400 to 680 nm: beyond lie 0.2 per cent of Y and 0.6 of X and Z (D50, 2 degree).
- 1 and 5 nm: summation with the colour-matching functions at that interval. 10 and 20 nm on round
  wavelengths: the weighting factors of E2022, without correction for the bandpass. Any other
  regular interval: interpolated to 1 nm by Sprague's method (CIE 167:2005), then summed.
- Correction for the bandpass, where it is asked for: E. I. Stearns and R. E. Stearns (1988), "An
  example of a method for correcting radiance data for bandpass error", Color Research &
  Application 13(4), 257-259, as in colour-science; it is linear and folded into the weights.
- L*a*b* refers to the white of the same weights, so that the perfect diffuser is 100, 0, 0.
"""

from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np

from stopgap.arrays import Floats, FloatsLike, as_floats, read_only
from stopgap.colorimetry.cielab import xyz_to_lab
from stopgap.colorimetry.whites import (
    OBSERVERS,
    WHITES,
    colour_science,
    illuminant_name,
    observer_name,
    science_name,
)
from stopgap.errors import InputError

_START, _END = 360.0, 780.0
_LAST_START, _FIRST_END = 400.0, 680.0
_WIDEST = 20.0
_UNEVEN = 0.021  # nm: wavelengths that were written to two decimals


def reflectance_to_lab(
    wavelengths: FloatsLike,
    reflectance: FloatsLike,
    illuminant: str = "D50",
    observer: int = 2,
    *,
    allow_fluorescent: bool = False,
    correct_bandpass: bool = False,
) -> Floats:
    """L*, a*, b* (..., 3) of reflectance factors (..., w), relative to the illuminant's own white.

    With the defaults that is the Lab that everything else in stopgap expects; other illuminants
    and observers are for looking at colours under them.

    Parameters
    ----------
    wavelengths
        (w,) in nm, rising in equal steps of at most 20 nm, from 400 or less to 680 or more.
    reflectance
        Reflectance factor, 1 for the perfect diffuser.
    illuminant, observer
        A name of WHITES; 2 or 10 degrees.
    allow_fluorescent
        Whether factors above 1 are taken, up to 2: fluorescent colours and the like.
    correct_bandpass
        Whether to undo the blur of an instrument whose bandpass is as wide as the interval of the
        readings (Stearns and Stearns 1988).

    Raises
    ------
    InputError
        For wavelengths or factors that are not as described.
    """
    weights, factors = _prepared(
        wavelengths, reflectance, illuminant, observer, allow_fluorescent, correct_bandpass
    )
    return xyz_to_lab(factors @ weights, weights.sum(axis=0))


def reflectance_to_xyz(
    wavelengths: FloatsLike,
    reflectance: FloatsLike,
    illuminant: str = "D50",
    observer: int = 2,
    *,
    allow_fluorescent: bool = False,
    correct_bandpass: bool = False,
) -> Floats:
    """X, Y, Z (..., 3) of reflectance factors (..., w), Y = 100 for the perfect diffuser.

    Parameters and errors as for `reflectance_to_lab`.
    """
    weights, factors = _prepared(
        wavelengths, reflectance, illuminant, observer, allow_fluorescent, correct_bandpass
    )
    return factors @ weights


def _prepared(
    wavelengths: FloatsLike,
    reflectance: FloatsLike,
    illuminant: str,
    observer: int,
    allow_fluorescent: bool,
    correct_bandpass: bool,
) -> tuple[Floats, Floats]:
    """Weights (w, 3) and the checked factors (..., w) within the working range."""
    at = as_wavelengths(wavelengths)
    factors = _checked_factors(reflectance, at.size, 2.0 if allow_fluorescent else 1.0)
    used = (at >= _START) & (at <= _END)
    weights = _weights(
        tuple(at[used].tolist()), illuminant_name(illuminant), observer, correct_bandpass
    )
    return weights, factors[..., used]


def as_wavelengths(wavelengths: FloatsLike) -> Floats:
    """Wavelengths (w,) [nm] as float64, such as `reflectance_to_lab` can use.

    Raises
    ------
    InputError
        If they do not rise in equal steps of at most 20 nm from 400 or less to 680 or more.
    """
    at = as_floats(wavelengths, "wavelengths")
    if at.ndim != 1 or at.size < 2:
        raise InputError("wavelengths: expected a row of wavelengths in nm.")
    steps = np.diff(at)
    if (steps <= 0.0).any():
        raise InputError("wavelengths: expected rising wavelengths in nm, each given once.")
    if np.ptp(steps) > _UNEVEN:
        raise InputError(
            f"wavelengths: expected equal steps, found steps from {steps.min():g} to "
            f"{steps.max():g} nm."
        )
    if steps.mean() > _WIDEST + _UNEVEN:
        raise InputError(
            f"wavelengths: steps of {steps[0]:g} nm are too wide, {_WIDEST:g} nm is the widest."
        )
    if at[0] > _LAST_START or at[-1] < _FIRST_END:
        raise InputError(
            f"wavelengths: expected at least {_LAST_START:g} to {_FIRST_END:g} nm, found "
            f"{at[0]:g} to {at[-1]:g} nm."
        )
    return at


def _checked_factors(reflectance: FloatsLike, count: int, highest: float) -> Floats:
    factors = as_floats(reflectance, "reflectance")
    if factors.ndim == 0 or factors.shape[-1] != count:
        raise InputError(
            f"reflectance: expected {count} values, one a wavelength, on the last axis, shape is "
            f"{factors.shape}."
        )
    if factors.size and (factors.min() < 0.0 or factors.max() > highest):
        raise InputError(
            f"reflectance: expected factors from 0 to {highest:g}, found {factors.min():g} to "
            f"{factors.max():g}; divide per cent by 100."
        )
    return factors


@lru_cache(maxsize=64)
def _weights(
    wavelengths: tuple[float, ...], illuminant: str, observer: int, correct_bandpass: bool
) -> Floats:
    """The (w, 3) factors that turn reflectance at these wavelengths into X, Y, Z."""
    plain = _uncorrected_weights(wavelengths, illuminant, observer)
    if not correct_bandpass:
        return read_only(plain)
    colour = colour_science()
    corrected = [
        colour.bandpass_correction(
            colour.SpectralDistribution(unit, wavelengths), method="Stearns 1988"
        ).values
        for unit in np.eye(len(wavelengths))
    ]
    return read_only(np.array(corrected) @ plain)


def _uncorrected_weights(wavelengths: tuple[float, ...], illuminant: str, observer: int) -> Floats:
    count, start, end = len(wavelengths), wavelengths[0], wavelengths[-1]
    step = (end - start) / (count - 1)
    if step not in (1.0, 5.0, 10.0, 20.0) or (start - _START) % step != 0.0:
        colour = colour_science()
        every_nm = np.arange(_START, _END + 1.0)
        places = ((every_nm - start) / step).clip(0.0, count - 1.0)
        at_every_nm = [
            colour.SpragueInterpolator(np.arange(count, dtype=np.float64), unit)(places)
            for unit in np.eye(count)
        ]
        return np.array(at_every_nm) @ integration_table(illuminant, observer, 1)
    kept = step in STEPS_KEPT and observer in OBSERVERS and illuminant in WHITES
    table = (_kept if kept else integration_table)(illuminant, observer, int(step))
    return _folded(table, round((start - _START) / step), round((end - _START) / step))


STEPS_KEPT = (5, 10)
"""Steps [nm] for which the weights of all illuminants are kept, as colour-science loads slowly."""


@lru_cache(maxsize=16)
def _kept(illuminant: str, observer: int, step: int) -> Floats:
    """What `integration_table` gives, from where it is kept."""
    table = Path(__file__).parent / "data" / f"weights_{step}_nm_{observer}_degree.csv"
    first = 3 * WHITES.index(illuminant)
    columns = (first, first + 1, first + 2)
    with table.open(encoding="utf-8") as lines:
        return np.loadtxt(lines, delimiter=",", comments="#", usecols=columns)


def integration_table(illuminant: str, observer: int, step: int) -> Floats:
    """What reflectance at 360, 360 + step … 780 nm adds to X, Y, Z: (n, 3), by colour-science."""
    colour = colour_science()
    every_nm = colour.SpectralShape(_START, _END, 1)
    matching = colour.MSDS_CMFS[observer_name(observer)].copy().align(every_nm)
    light = colour.SDS_ILLUMINANTS[science_name(illuminant)].copy().align(every_nm)
    if step < 10:
        return _summation(matching, light, step)
    factors = colour.colorimetry.tristimulus_weighting_factors_ASTME2022(
        matching, light, colour.SpectralShape(_START, _END, step)
    )
    return np.asarray(factors, dtype=np.float64)


def _folded(table: Floats, first: int, last: int) -> Floats:
    """The weights of the rows before the first and after the last added to theirs (E308)."""
    kept = table[first : last + 1].copy()
    kept[0] += table[:first].sum(axis=0)
    kept[-1] += table[last + 1 :].sum(axis=0)
    return kept


def _summation(matching: Any, light: Any, step: int) -> Floats:
    """Colour-matching functions times illuminant every `step` nm, Y of the perfect diffuser 100."""
    product = (matching.values * light.values[:, np.newaxis])[::step]
    table: Floats = 100.0 * product / product[:, 1].sum()
    return table
