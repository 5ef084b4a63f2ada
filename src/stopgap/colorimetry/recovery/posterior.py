"""Which reflectances could lie behind a colour: draws from a posterior, for what Lab cannot tell.

Reflectances of things are taken as normally distributed about the mean of the 99 colour evaluation
samples of CIE 224:2017 with their covariance; the draws are conditioned on having the tristimulus
values asked for (Gaussian conditioning, as in Wiener estimation of spectra) and kept between 0 and
1. Nothing is said about one pencil by this: the spread of the draws is the answer.

References
----------
CIE 224:2017, CIE 2017 Colour Fidelity Index for accurate scientific use: the samples, as in
colour-science. C. E. Rasmussen, C. K. I. Williams (2006), Gaussian Processes for Machine Learning,
appendix A.2: conditioning.
"""

from functools import lru_cache
from pathlib import Path

import numpy as np

from stopgap.arrays import Floats, FloatsLike, as_floats, one_lab, read_only
from stopgap.colorimetry.cielab import lab_to_xyz
from stopgap.colorimetry.spectra import reflectance_to_xyz
from stopgap.colorimetry.whites import colour_science
from stopgap.errors import InputError

RECONSTRUCTED_AT: tuple[float, ...] = tuple(float(at) for at in range(400, 701, 10))
_NOISE = 1e-6  # variance of a reflectance that the 99 samples do not share
_ROUNDS = 12
# fitted to pairs of measured colour checkers, so that nine in ten lie within 90 per cent of draws
_ALIKE = 0.7  # share of draws that are like the reflectance beside
_STRAY, _WIDER = 0.5, 1.8  # what those stray from it, and the others from the mean,
_DULL, _VIVID = 0.55, 0.3 / 40.0  # times this, and as much more at each C*ab: pigments are sharper
_SEED = 224


def plausible_reflectances(
    lab: FloatsLike, count: int = 400, seed: int = _SEED, *, beside: FloatsLike | None = None
) -> Floats:
    """`count` reflectances (count, 31) at RECONSTRUCTED_AT that have this colour, or nearly.

    With `beside`, the measured reflectance of a colour that this one is compared with, most of the
    draws start from it: what matches is often made of the same pigments, and then parts less under
    another lamp than any two reflectances of the two colours. Vivid colours stray more.

    Parameters
    ----------
    lab
        One colour (3,), CIE L*a*b*, D50, 2 degree observer.
    count, seed
        The draws; the same seed gives the same ones.
    beside
        A reflectance (31,) at RECONSTRUCTED_AT.

    Raises
    ------
    InputError
        For a colour that is not three finite numbers, or a count below 1.
    """
    colour = one_lab(lab)
    if count < 1:
        raise InputError(f"expected 1 or more, found {count}.", argument="count")
    mean, root, gain, weights = _prior()
    wanted = lab_to_xyz(colour)
    generator = np.random.default_rng(seed)
    strays = generator.standard_normal((count, root.shape[1])) @ root.T
    draws = mean + strays
    if beside is not None:
        known = as_floats(beside, "beside")
        alike = generator.random(count) < _ALIKE
        strays *= _DULL + _VIVID * np.hypot(colour[1], colour[2])
        draws = np.where(alike[:, None], known + _STRAY * strays, mean + _WIDER * strays)
    for _ in range(_ROUNDS):
        draws = draws + (wanted - draws @ weights) @ gain.T
        draws = draws.clip(0.0, 1.0)
    return draws


def of_samples() -> tuple[Floats, Floats]:
    """Mean (31,) and covariance (31, 31) of the samples, by colour-science, which loads slowly."""
    colour = colour_science()
    every_5_nm = colour.quality.cfi2017.load_TCS_CIE2017(colour.SpectralShape(380, 780, 5))
    samples = every_5_nm.values[np.isin(every_5_nm.wavelengths, RECONSTRUCTED_AT)].T
    return samples.mean(axis=0), np.cov(samples, rowvar=False)


@lru_cache(maxsize=1)
def _prior() -> tuple[Floats, Floats, Floats, Floats]:
    """Mean (31,), a root of the covariance (31, 31), the gain (31, 3) and the weights (31, 3)."""
    table = Path(__file__).parent / "data" / "colour_samples.csv"
    with table.open(encoding="utf-8") as lines:
        mean, *rows = np.loadtxt(lines, delimiter=",", comments="#")
    covariance = np.array(rows) + _NOISE * np.eye(len(mean))
    weights = reflectance_to_xyz(RECONSTRUCTED_AT, np.eye(len(mean)))
    gain = covariance @ weights @ np.linalg.inv(weights.T @ covariance @ weights)
    root = np.linalg.cholesky(covariance)
    return read_only(mean), read_only(root), read_only(gain), read_only(weights)
