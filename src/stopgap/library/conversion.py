"""Entered colours to CIE L*a*b* under D50, 2 degree observer: the convention, and its use."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from stopgap import colorimetry
from stopgap.arrays import Floats
from stopgap.errors import InputError
from stopgap.library.entry import Entry, EntryKind
from stopgap.swatches import Finish, Reflectance, Source, Swatch

_PER_CENT_ABOVE = 2.0  # no reflectance factor of a pencil, fluorescent or not, is larger


@dataclass(frozen=True, slots=True)
class Convention:
    """How the colours of a file are to be understood; None is what nobody stated."""

    stated_white: str | None = None
    stated_observer: int | None = None
    source: Source | None = None
    adaptation: colorimetry.AdaptationMethod = "Bradford"
    accept_observer: bool = False

    @property
    def white(self) -> str:
        """The illuminant of entered Lab and XYZ by its CIE name: as stated, else D50."""
        return colorimetry.illuminant_name(self.stated_white or "D50")

    @property
    def observer(self) -> int:
        """The observer of entered Lab and XYZ in degrees: as stated, else 2."""
        return self.stated_observer or 2

    def source_of(self, entry: Entry) -> Source:
        """The source as stated, else typed for a hex and measured for numbers and spectra."""
        if self.source is not None:
            return self.source
        return Source.TYPED if entry.kind is EntryKind.HEX else Source.MEASURED

    def is_assumed(self, entries: Sequence[Entry]) -> bool:
        """Whether the white or observer of some entry is our assumption."""
        relative = any(entry.kind in (EntryKind.LAB, EntryKind.XYZ) for entry in entries)
        return relative and (self.stated_white is None or self.stated_observer is None)

    def notes(self, entries: Sequence[Entry]) -> list[str]:
        """What the user should know about how these entries were understood."""
        kinds = {entry.kind for entry in entries}
        relative = kinds & {EntryKind.LAB, EntryKind.XYZ}
        notes = []
        if self.is_assumed(entries):
            notes.append(
                f"The file does not say its white and observer: {self.white}, {self.observer} "
                "degree was assumed. If it is another, import again with --white and --observer."
            )
        if relative and self.white != "D50":
            notes.append(f"Adapted from {self.white} to D50 by {self.adaptation}.")
        if relative and self.observer != 2:
            notes.append(
                "The 10 degree observer was accepted without spectra; every uncertainty was "
                f"enlarged by {colorimetry.OBSERVER_UNCERTAINTY:.1f} ΔE00."
            )
        if not relative and (self.stated_white or self.stated_observer):
            notes.append("--white and --observer were not needed: the colours bring their own.")
        if self.source is None and kinds - {EntryKind.HEX}:
            notes.append(
                "The colours were taken as measured; say --source scanned or typed if not."
            )
        return notes


def is_per_cent(entries: Sequence[Entry | None]) -> bool:
    """Whether reflectances are in per cent: some value is above any possible factor."""
    return any(
        value > _PER_CENT_ABOVE
        for entry in entries
        if entry is not None and entry.kind is EntryKind.SPECTRUM
        for value in entry.values
    )


def convert(
    swatches: Sequence[Swatch], entries: Sequence[Entry], convention: Convention
) -> list[tuple[Swatch, Entry]]:
    """Swatches with their Lab, each beside the entry it was converted from.

    Raises
    ------
    InputError
        If the white is unknown, or a 10 degree observer would need spectra.
    """
    lab = np.empty((len(entries), 3))
    for kind in EntryKind:
        rows = [index for index, entry in enumerate(entries) if entry.kind is kind]
        if rows:
            fluorescent = any(swatches[row].finish is Finish.FLUORESCENT for row in rows)
            chosen = [entries[row] for row in rows]
            lab[rows] = _to_lab(kind, chosen, convention, allow_fluorescent=fluorescent)
    enlarged = _observer_uncertainty(convention)
    return [
        (_finished(swatch, entry, lab[row], enlarged), entry)
        for row, (swatch, entry) in enumerate(zip(swatches, entries, strict=True))
    ]


def _to_lab(
    kind: EntryKind, entries: Sequence[Entry], convention: Convention, *, allow_fluorescent: bool
) -> Floats:
    if kind is EntryKind.HEX:
        return np.array([colorimetry.hex_to_lab(entry.text) for entry in entries])
    values = np.array([entry.values for entry in entries], dtype=np.float64)
    if kind is EntryKind.SPECTRUM:
        return colorimetry.reflectance_to_lab(
            entries[0].wavelengths, values, allow_fluorescent=allow_fluorescent
        )
    if kind is EntryKind.LAB and (convention.white, convention.observer) == ("D50", 2):
        return values
    to_lab = colorimetry.lab_to_d50 if kind is EntryKind.LAB else colorimetry.xyz_to_d50_lab
    return to_lab(
        values,
        convention.white,
        convention.observer,
        method=convention.adaptation,
        accept_observer=convention.accept_observer,
    )


def _observer_uncertainty(convention: Convention) -> float:
    return colorimetry.OBSERVER_UNCERTAINTY if convention.observer != 2 else 0.0


def _finished(swatch: Swatch, entry: Entry, lab: Floats, enlarged: float) -> Swatch:
    if not np.isfinite(lab).all():
        raise InputError(f"{swatch.address}: the colour cannot be converted.")
    L, a, b = (float(value) for value in lab)
    if entry.kind is not EntryKind.SPECTRUM:
        relative = entry.kind in (EntryKind.LAB, EntryKind.XYZ)
        uncertainty = float(np.hypot(swatch.uncertainty, enlarged if relative else 0.0))
        return replace(swatch, lab=(L, a, b), uncertainty=uncertainty)
    return replace(swatch, lab=(L, a, b), reflectance=Reflectance(entry.wavelengths, entry.values))
