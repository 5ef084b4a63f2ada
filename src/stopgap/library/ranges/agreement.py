"""Whether the Lab that a file states beside its spectra is the Lab of those spectra."""

from collections.abc import Sequence

import numpy as np

from stopgap.colorimetry import illuminant_name, reflectance_to_lab
from stopgap.errors import InputError
from stopgap.library.ranges.conversion import Convention
from stopgap.library.store.entry import Entry, EntryKind
from stopgap.library.tables.columns import LAB
from stopgap.library.tables.reader import Cells
from stopgap.swatches import Finish, Swatch

AGREES_WITHIN = 1.0
"""Mean ΔE*ab that other weights and rounding may make; a file of 144 has 0.08."""


def disagreement(
    rows: Sequence[Cells],
    entries: Sequence[Entry | None],
    swatches: Sequence[Swatch | None],
    convention: Convention,
) -> list[str]:
    """A sentence where Lab and spectra of a file are not of one white, observer or measurement.

    The spectra count; each is integrated for the white and observer that its row states, else for
    the convention's.
    """
    stated, integrated = [], []
    for cells, entry, swatch in zip(rows, entries, swatches, strict=True):
        beside = [cells.raw(name) for name in LAB]
        plain = swatch is not None and swatch.finish is not Finish.FLUORESCENT
        if entry is None or entry.kind is not EntryKind.SPECTRUM or not (plain and all(beside)):
            continue
        lab = [cells.number(name, -200.0, 200.0, "a number") for name in LAB]
        white, observer = cells.raw("illuminant"), cells.raw("observer")
        try:
            own = reflectance_to_lab(
                entry.wavelengths,
                entry.values,
                illuminant_name(white or convention.white),
                int(observer or convention.observer),
                correct_bandpass=convention.correct_bandpass,
            )
        except (InputError, ValueError):
            continue  # what is wrong with the spectrum is reported where it is converted
        if None not in lab:
            stated.append(lab)
            integrated.append(own)
    if not stated:
        return []
    distance = np.linalg.norm(np.array(stated, dtype=np.float64) - integrated, axis=-1).mean()
    if distance <= AGREES_WITHIN:
        return []
    return [
        f"The file's own L, a, b lie {distance:.1f} ΔE*ab from its spectra on average; they may be "
        "for another white, observer or measurement. The spectra were used."
    ]
