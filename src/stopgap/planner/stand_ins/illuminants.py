"""Whether a match holds under other lights: differences and metamerism from spectra.

Where a spectrum is missing this cannot be known. On request the likely size is drawn from
reflectances that have the colour (colorimetry.recovery); their spread is reported with it.
"""

from collections.abc import Iterable, Sequence
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Floats, median
from stopgap.colorimetry import (
    RECONSTRUCTED_AT,
    illuminant_name,
    plausible_reflectances,
    reflectance_to_lab,
    reflectance_to_xyz,
    xyz_to_lab,
)
from stopgap.defaults import LAMPS
from stopgap.difference import delta_E_ciede2000, special_metamerism_index
from stopgap.errors import Note, Remedy
from stopgap.planner.stand_ins.answer import StandIn, StandIns, UnderLight
from stopgap.swatches import Bandpass, Finish, Lab, Swatch, Target

PARTS_ABOVE = 1.8
"""Metamerism index, ΔE00, above which a match is said to part: what half of all observers no longer
accept (the limit of the grade `very close`)."""

_DRAWS = 400
_DARKEST = 1e-3  # tristimulus value of what reflects nothing; only keeps a ratio finite
_INTERVAL = (5.0, 95.0)  # per cent


class _Spectra(NamedTuple):
    """One measured reflectance, or many that could be it: (n, w) at the wavelengths."""

    wavelengths: tuple[float, ...]
    values: Floats
    correct_bandpass: bool = False

    def xyz(self, illuminant: str) -> Floats:
        return reflectance_to_xyz(
            self.wavelengths,
            self.values,
            illuminant,
            correct_bandpass=self.correct_bandpass,
        )


def look_under(
    answer: StandIns, illuminants: Sequence[str], *, reconstruct: bool = False
) -> StandIns:
    """The answer with its differences under each illuminant (CIE names), 2 degree observer.

    With `reconstruct`, missing spectra are replaced by what could lie behind the colour.

    Raises
    ------
    InputError
        For an unknown illuminant.
    """
    names = list(dict.fromkeys(illuminant_name(text) for text in illuminants))
    target = _spectra(answer.target, 0, reconstruct=reconstruct)
    measured = _measured(answer.target)
    matches, unknown = [], []
    for place, match in enumerate(answer.matches, start=1):
        spectra = _spectra(match.swatch, place, reconstruct=reconstruct, beside=measured)
        if reconstruct and measured is None:
            known = _measured(match.swatch)
            target = _spectra(answer.target, 0, reconstruct=True, beside=known)
        if target is None or spectra is None:
            unknown.append(match.swatch.address)
        else:
            matching = match.grade != "different"
            lights = tuple(_under(target, spectra, name, matching=matching) for name in names)
            match = match._replace(under=lights)
        matches.append(match)
    notes = _notes(answer, matches, unknown, names, target_known=target is not None)
    return answer._replace(matches=tuple(matches), notes=(*answer.notes, *notes))


def under_lamps(
    swatches: Iterable[Swatch], illuminants: Sequence[str] | None = None
) -> dict[Lab, tuple[Lab, ...]]:
    """L*, a*, b* under each illuminant, else each of LAMPS, relative to its own white, by the
    colour under D50.

    Only of swatches whose spectrum was measured, and that are not fluorescent.
    """
    found: dict[tuple[tuple[float, ...], bool], dict[Lab, Floats]] = {}
    for swatch in swatches:
        spectra = _measured(swatch)
        if spectra is not None:
            alike = found.setdefault((spectra.wavelengths, spectra.correct_bandpass), {})
            alike[swatch.lab] = spectra.values[0]
    looks: dict[Lab, tuple[Lab, ...]] = {}
    for (wavelengths, corrected), alike in found.items():
        under = [
            reflectance_to_lab(
                wavelengths, np.array([*alike.values()]), name, correct_bandpass=corrected
            ).tolist()
            for name in illuminants or LAMPS
        ]
        looks.update(zip(alike, zip(*(map(tuple, labs) for labs in under)), strict=True))
    return looks


def _measured(target: Target) -> _Spectra | None:
    """The spectrum that was measured; fluorescent ones change with the light, so one is none."""
    if not isinstance(target, Swatch) or target.finish is Finish.FLUORESCENT:
        return None
    if target.reflectance is None:
        return None
    return _Spectra(
        target.reflectance.wavelengths,
        np.array([target.reflectance.values]),
        correct_bandpass=target.measurement.bandpass is Bandpass.IMPORT,
    )


def _spectra(
    target: Target, place: int, *, reconstruct: bool, beside: _Spectra | None = None
) -> _Spectra | None:
    """As measured, else where asked for reconstructed, `beside` being what it is compared with."""
    if isinstance(target, Swatch) and target.finish is Finish.FLUORESCENT:
        return None
    measured = _measured(target)
    if measured is not None or not reconstruct:
        return measured
    known = None
    if beside is not None:
        known = np.interp(RECONSTRUCTED_AT, beside.wavelengths, beside.values[0])
    # a draw of its own for each colour, which may be of other pigments
    draws = plausible_reflectances(target.lab, _DRAWS, seed=place, beside=known)
    return _Spectra(RECONSTRUCTED_AT, draws)


def _under(one: _Spectra, other: _Spectra, illuminant: str, *, matching: bool) -> UnderLight:
    white = reflectance_to_xyz(RECONSTRUCTED_AT, np.ones(len(RECONSTRUCTED_AT)), illuminant)
    xyz_1, xyz_2 = one.xyz(illuminant), other.xyz(illuminant)
    differences = delta_E_ciede2000(xyz_to_lab(xyz_1, white), xyz_to_lab(xyz_2, white))
    under_D50 = one.xyz("D50"), other.xyz("D50").clip(_DARKEST)
    indices = special_metamerism_index(*under_D50, xyz_1, xyz_2, white)
    index = float(median(indices))
    interval = None
    if differences.size > 1:
        low, high = np.percentile(differences, _INTERVAL)
        interval = (float(low), float(high))
    return UnderLight(
        illuminant=illuminant,
        delta_E=float(median(differences)),
        metamerism=index,
        parts=matching and index > PARTS_ABOVE,
        interval=interval,
    )


def _notes(
    answer: StandIns,
    matches: Sequence[StandIn],
    unknown: Sequence[str],
    names: Sequence[str],
    *,
    target_known: bool,
) -> list[Note]:
    notes = []
    lights = ", ".join(names)
    parting = [match.swatch.address for match in matches if any(lit.parts for lit in match.under)]
    if parting:
        notes.append(
            Note(
                f"{', '.join(parting)}: may pass under D50 but not under every lamp asked for; "
                f"metamerism index (CIE 15, change in illuminant) above {PARTS_ABOVE:g} ΔE00.",
                plain=f"{', '.join(parting)}: may pass by daylight but not under every lamp asked "
                "for.",
            )
        )
    if any(lit.interval for match in matches for lit in match.under):
        notes.append(
            Note(
                "Differences with an interval come from reconstructed spectra: the middle, and the "
                "span that holds 90 of 100 reflectances of such colours. They are no measurement.",
                plain="What is said of lamps is partly guessed from the colour by daylight.",
            )
        )
    if unknown:
        fluorescent = isinstance(answer.target, Swatch) and (
            answer.target.finish is Finish.FLUORESCENT
        )
        missing = "the target and " if not target_known and not fluorescent else ""
        if fluorescent:
            reason = "the target is fluorescent, and its spectrum changes with the light"
        else:
            reason = f"{missing}each needs a spectrum and a finish that is not fluorescent"
        who = ", ".join(unknown)
        notes.append(
            Note(
                f"How {who} will look under {lights} cannot be known: {reason}.",
                Remedy.RECONSTRUCT,
                plain=f"How {who} will look by that light cannot be known: {reason}.",
            )
        )
    return notes
