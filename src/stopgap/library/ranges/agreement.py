"""Whether the Lab that a file states beside its spectra is the Lab of those spectra."""

from collections.abc import Sequence

import numpy as np

from stopgap.arrays import Floats
from stopgap.colorimetry import illuminant_name, reflectance_to_lab
from stopgap.errors import InputError, Note
from stopgap.library.ranges.colours import LAB, lab_of
from stopgap.library.ranges.conversion import Convention
from stopgap.library.store.entry import Entry, EntryKind
from stopgap.library.tables.reader import Cells
from stopgap.swatches import Finish, Lab, Swatch

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
