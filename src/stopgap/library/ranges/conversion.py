"""Entered colours to CIE L*a*b* under D50, 2 degree observer: the convention, and its use."""

from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from stopgap import colorimetry
from stopgap.arrays import Floats
from stopgap.defaults import ADAPTATION
from stopgap.errors import InputError, Note, Remedy
from stopgap.library.store.entry import Entry, EntryKind
from stopgap.swatches import (
    Bandpass,
    Finish,
    MeasurementMode,
    Pressure,
    Reflectance,
    Source,
    Swatch,
)


class Convention(NamedTuple):
    """How the colours of a file are to be understood; None is what nobody stated.

    What the file itself states comes first; `stated_white` and `stated_observer` are for what it
    leaves open, and must not contradict it. `laid` is how hard the swatches were laid whose rows
    do not say it.
    """

    stated_white: str | None = None
    stated_observer: int | None = None
    source: Source | None = None
    adaptation: colorimetry.AdaptationMethod = ADAPTATION
    accept_observer: bool = False
    mode: MeasurementMode | None = None
    correct_bandpass: bool = False
    laid: Pressure | None = None

    @property
    def white(self) -> str:
        """The illuminant of Lab and XYZ that state none, by its CIE name: as stated, else D50."""
        return colorimetry.illuminant_name(self.stated_white or "D50")

    @property
    def observer(self) -> int:
        """The observer of Lab and XYZ that state none, in degrees: as stated, else 2."""
        return self.stated_observer or 2

    def source_of(self, entry: Entry) -> Source:
        """The source as stated, else typed for a hex and measured for numbers and spectra.

        A name has no colour to have a source.
        """
        if entry.kind is EntryKind.NOTHING:
            return Source.TYPED
        if self.source is not None:
            return self.source
        return Source.TYPED if entry.kind is EntryKind.HEX else Source.MEASURED


def convention_notes(convention: Convention, taken: Sequence[tuple[Swatch, Entry]]) -> list[Note]:
    """What the user should know about how entries were understood."""
    notes = []
    if any(swatch.measurement.assumed for swatch, _ in taken):
        text = (
            f"The file does not say its white and observer: {convention.white}, "
            f"{convention.observer} degree was assumed."
        )
        notes.append(Note(text, Remedy.STATE_WHITE))
    notes += _notes_on_white(convention, [entry for _, entry in taken if _is_relative(entry)])
    if any(swatch.measurement.bandpass is Bandpass.IMPORT for swatch, _ in taken):
        text = "The spectra were corrected for the bandpass (Stearns and Stearns 1988)."
        notes.append(Note(text))
    if convention.source is None and {entry.kind for _, entry in taken} - {
        EntryKind.HEX,
        EntryKind.NOTHING,
    }:
        notes.append(Note("The colours were taken as measured.", Remedy.STATE_SOURCE))
    return notes


def _notes_on_white(convention: Convention, relative: Sequence[Entry]) -> list[Note]:
    """How Lab and XYZ came to D50 and the 2 degree observer."""
    if not relative and (convention.stated_white or convention.stated_observer):
        return [Note("White and observer need not be stated: the colours bring their own.")]
    whites = dict.fromkeys(entry.white for entry in relative if entry.white != "D50")
    notes = [Note(f"Adapted from {white} to D50 by {convention.adaptation}.") for white in whites]
    if any(entry.observer != 2 for entry in relative):
        text = (
            "The 10 degree observer was accepted without spectra; the uncertainty of such a "
            f"colour was enlarged by {colorimetry.OBSERVER_UNCERTAINTY:.1f} ΔE00."
        )
        notes.append(Note(text))
    return notes


class _Kind(NamedTuple):
    """Entries that are converted together."""

    kind: EntryKind
    wavelengths: tuple[float, ...]
    white: str
    observer: int
    correct_bandpass: bool


def convert(
    swatches: Sequence[Swatch], entries: Sequence[Entry], convention: Convention
) -> list[tuple[Swatch, Entry]]:
    """Swatches with their Lab, each beside the entry it was converted from; names as they are.

    Raises
    ------
    InputError
        If the white is unknown, or a 10 degree observer would need spectra.
    """
    groups: dict[_Kind, list[int]] = {}
    for row, (swatch, entry) in enumerate(zip(swatches, entries, strict=True)):
        correct = swatch.measurement.bandpass is Bandpass.IMPORT
        kind = _Kind(entry.kind, entry.wavelengths, entry.white, entry.observer, correct)
        if entry.kind is not EntryKind.NOTHING:
            groups.setdefault(kind, []).append(row)
    lab = np.empty((len(entries), 3))
    for kind, rows in groups.items():
        fluorescent = any(swatches[row].finish is Finish.FLUORESCENT for row in rows)
        chosen = [entries[row] for row in rows]
        lab[rows] = _to_lab(kind, chosen, convention, allow_fluorescent=fluorescent)
    return [
        (_finished(swatch, entry, lab[row]), entry)
        for row, (swatch, entry) in enumerate(zip(swatches, entries, strict=True))
    ]


def _to_lab(
    kind: _Kind, entries: Sequence[Entry], convention: Convention, *, allow_fluorescent: bool
) -> Floats:
    if kind.kind is EntryKind.HEX:
        return colorimetry.hexes_to_lab([entry.text for entry in entries])
    values = np.array([entry.values for entry in entries], dtype=np.float64)
    if kind.kind is EntryKind.SPECTRUM:
        return colorimetry.reflectance_to_lab(
            kind.wavelengths,
            values,
            allow_fluorescent=allow_fluorescent,
            correct_bandpass=kind.correct_bandpass,
        )
    if kind.kind is EntryKind.LAB and (kind.white, kind.observer) == ("D50", 2):
        return values
    is_lab = kind.kind is EntryKind.LAB
    to_lab = colorimetry.lab_to_d50 if is_lab else colorimetry.xyz_to_d50_lab
    return to_lab(
        values,
        kind.white,
        kind.observer,
        method=convention.adaptation,
        accept_observer=convention.accept_observer,
    )


def _is_relative(entry: Entry) -> bool:
    return entry.kind in (EntryKind.LAB, EntryKind.XYZ)


def _finished(swatch: Swatch, entry: Entry, lab: Floats) -> Swatch:
    if entry.kind is EntryKind.NOTHING:
        return swatch
    if not np.isfinite(lab).all():
        raise InputError(f"{swatch.address}: the colour cannot be converted.")
    L, a, b = (float(value) for value in lab)
    if entry.kind is EntryKind.SPECTRUM:
        reflectance = Reflectance(entry.wavelengths, entry.values)
        return replace(swatch, lab=(L, a, b), reflectance=reflectance)
    accepted = _is_relative(entry) and entry.observer != 2
    enlarged = colorimetry.OBSERVER_UNCERTAINTY if accepted else 0.0
    return replace(swatch, lab=(L, a, b), uncertainty=float(np.hypot(swatch.uncertainty, enlarged)))
