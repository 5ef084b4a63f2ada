"""Probable mistakes of a range: warned of at import, and again whenever the range is checked.

At import also whether the Lab that a file states beside its spectra is the Lab of those spectra.
"""

from collections.abc import Iterator, Sequence
from itertools import permutations
from typing import NamedTuple

import numpy as np

from stopgap import colorimetry
from stopgap.arrays import Booleans, Floats
from stopgap.colorimetry import illuminant_name, lab_text, reflectance_to_lab
from stopgap.errors import InputError, Note
from stopgap.library.ranges.colours import LAB, lab_of
from stopgap.library.ranges.conversion import Convention
from stopgap.library.ranges.repeats import wet_notes
from stopgap.library.store.entry import Entry, EntryKind
from stopgap.library.tables.reader import Cells
from stopgap.naming import misleading_term
from stopgap.swatches import (
    ColourRange,
    Finish,
    Lab,
    Swatch,
    departure_notes,
    names_notes,
    several_conditions,
)

_SAME_DECIMALS = 2  # two pencils never agree so well in L*, a*, b*; one entry copied twice does
_MOST_SHOWN = 8
_FEWEST_FOR_SWAP = 6


class RangeCheck(NamedTuple):
    """What a look at a range found: probable mistakes, and remarks that hold for the whole."""

    range: ColourRange
    warnings: tuple[str, ...]
    notes: tuple[Note, ...]


def check_range(found: ColourRange) -> RangeCheck:
    """Probable mistakes of a range, and what was assumed or differs in how it was measured."""
    notes: list[Note] = []
    if found.white_assumed:
        notes.append(
            Note(
                f"White {found.white} and the {found.observer} degree observer were assumed at "
                "import."
            )
        )
    several = several_conditions([swatch.measurement for swatch in found.every_swatch])
    if several:
        notes.append(
            Note(
                f"The swatches were measured in several ways: {'; '.join(several)}. Differences "
                "between them may come from that."
            )
        )
    notes += departure_notes(found.swatches)
    notes += names_notes(found.names)
    notes += wet_notes([pencil.swatches for pencil in found.pencils])
    return RangeCheck(found, tuple(probable_mistakes(found.swatches)), tuple(notes))


def probable_mistakes(swatches: Sequence[Swatch]) -> list[str]:
    """One sentence for each probable mistake in swatches of one range.

    The cost grows linearly with the number of swatches.
    """
    plain = [swatch for swatch in swatches if swatch.finish is Finish.PLAIN]
    warnings: list[str] = []
    if plain:
        lab = np.array([swatch.lab for swatch in plain])
        outside = ~colorimetry.within_optimal_solid(lab)
        warnings += _swapped_columns(lab, outside)
        warnings += _shortened(_unreal(plain, outside))
    warnings += _shortened(_repeated(swatches))
    warnings += _shortened(_contradicting(plain))
    return warnings


def _swapped_columns(lab: Floats, outside: Booleans) -> list[str]:
    """Whether the colours become real when the columns are read in another order."""
    if len(lab) < _FEWEST_FOR_SWAP or outside.mean() < 0.1:
        return []
    names = ("L", "a", "b")
    for order in permutations(range(3)):
        if order != (0, 1, 2) and colorimetry.within_optimal_solid(lab[:, order]).all():
            read = ", ".join(names[index] for index in order)
            return [
                f"The columns L, a, b look swapped: {outside.sum()} colours are impossible as they "
                f"stand, none if they are read in the order {read}."
            ]
    return []


def _unreal(swatches: Sequence[Swatch], outside: Booleans) -> Iterator[str]:
    for swatch, is_outside in zip(swatches, outside, strict=True):
        if is_outside:
            yield (
                f"{swatch.code}: {lab_text(swatch.lab)} is more vivid than any surface can "
                "be (outside the optimal colour solid)."
            )


def _repeated(swatches: Sequence[Swatch]) -> Iterator[str]:
    first: dict[tuple[float, ...], Swatch] = {}
    for swatch in swatches:
        same = first.setdefault(tuple(round(value, _SAME_DECIMALS) for value in swatch.lab), swatch)
        if same is not swatch:
            yield (
                f"{same.code} and {swatch.code} have the same colour; one may have been entered "
                "twice."
            )


def _contradicting(swatches: Sequence[Swatch]) -> Iterator[str]:
    for swatch in swatches:
        term = misleading_term(swatch.name, swatch.lab)
        if term:
            yield (
                f"{swatch.code} {swatch.name!r}: {lab_text(swatch.lab)} is not what one "
                f"would call {term}. If the colour was measured so, nothing is wrong: it decides."
            )


def _shortened(warnings: Iterator[str]) -> list[str]:
    everything = list(warnings)
    shown = everything[:_MOST_SHOWN]
    if len(everything) > len(shown):
        shown.append(f"… and {len(everything) - len(shown)} more of this kind.")
    return shown


AGREES_WITHIN = 1.0
"""Mean ΔE*ab that other weights and rounding may make; a file of 144 has 0.08."""


def disagreement(
    rows: Sequence[Cells],
    entries: Sequence[Entry | None],
    swatches: Sequence[Swatch | None],
    convention: Convention,
) -> list[Note]:
    """A sentence where Lab and spectra of a file are not of one white, observer or measurement.

    The spectra count; each is integrated for the white and observer that its row states, else for
    the convention's.
    """
    pairs = [
        pair
        for row in zip(rows, entries, swatches, strict=True)
        if (pair := _stated_and_integrated(*row, convention)) is not None
    ]
    if not pairs:
        return []
    stated, integrated = np.array(pairs, dtype=np.float64).swapaxes(0, 1)
    distance = np.linalg.norm(stated - integrated, axis=-1).mean()
    if distance <= AGREES_WITHIN:
        return []
    return [
        Note(
            f"The file's own L, a, b lie {distance:.1f} ΔE*ab from its spectra on average; they "
            "may be for another white, observer or measurement. The spectra were used."
        )
    ]


def _stated_and_integrated(
    cells: Cells, entry: Entry | None, swatch: Swatch | None, convention: Convention
) -> tuple[Lab, Floats] | None:
    """The Lab of a row beside that of its spectrum; None where there are not both."""
    if entry is None or entry.kind is not EntryKind.SPECTRUM or not all(map(cells.raw, LAB)):
        return None
    if swatch is None or swatch.finish is Finish.FLUORESCENT:
        return None
    lab = lab_of(cells)
    try:
        own = reflectance_to_lab(
            entry.wavelengths,
            entry.values,
            illuminant_name(cells.raw("illuminant") or convention.white),
            int(cells.raw("observer") or convention.observer),
            correct_bandpass=convention.correct_bandpass,
        )
    except (InputError, ValueError):
        return None  # what is wrong with the spectrum is reported where it is converted
    return None if cells.problems else (lab, own)
