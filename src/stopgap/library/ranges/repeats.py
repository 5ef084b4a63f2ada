"""Rows of one pencil: its swatches together, or repeated readings of one swatch to their mean.

A reading is an outlier if it is more than OUTLIER_BEYOND robust standard deviations, in ΔE00, from
the median of its siblings. The deviation is that of the code's own readings where there are
FEWEST_ALONE of them, else that of the whole file, and at least FLOOR. Three readings are the
fewest that can outvote one.

The mean is taken in reflectance where every reading has the same wavelengths, else in Lab. Its
covariance is that of the readings divided by their number (GUM, JCGM 100:2008, 4.2.3, type A) and
the even covariance of the source (type B), which repeating does not lessen.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any, NamedTuple

import numpy as np

from stopgap.arrays import Floats, Integers
from stopgap.difference import delta_E, even_covariance, mean_uncertainty
from stopgap.errors import Note
from stopgap.library.ranges.conversion import Convention, convert
from stopgap.library.store.entry import Entry, EntryKind, matrix
from stopgap.library.tables.reader import Cells
from stopgap.swatches import OF_THE_PENCIL, Readings, Swatch, colour_of, laid_key

Taken = tuple[Swatch, Entry]
EACH_CODE_ONCE = "each code once"


def note_repeated_rows(rows: Sequence[Cells], swatches: Sequence[Swatch | None]) -> bool:
    """Note each row that is a swatch of an earlier row's, laid in the same way; whether one is.

    A row that could not be read has no swatch, and counts as one of which nothing is said.
    """
    first: dict[tuple[str, ...], int] = {}
    again = False
    for cells, swatch in zip(rows, swatches, strict=True):
        code = cells.text("code")
        laid = laid_key(swatch or Swatch("", "", (0.0, 0.0, 0.0)))
        earlier = first.setdefault((code.casefold(), *laid), cells.row.number)
        if code and earlier != cells.row.number:
            cells.problem("code", code, EACH_CODE_ONCE, f"which row {earlier} has already")
            again = True
    return again


def by_pencil(taken: Sequence[Taken]) -> list[list[Taken]]:
    """The swatches of each pencil together, in the order of their first rows.

    What is known of a pencil itself is taken, for all of its swatches, from the first row that
    says it.
    """
    groups: dict[str, list[Taken]] = {}
    for swatch, entry in taken:
        groups.setdefault(swatch.code.casefold(), []).append((swatch, entry))
    return [_of_one(group) for group in groups.values()]


def first_of(group: Sequence[Taken]) -> int:
    """The place of the swatch that edits are about: the pencil's colour, else the first."""
    swatches = [swatch for swatch, _ in group]
    colour = colour_of(swatches)
    return next((place for place, swatch in enumerate(swatches) if swatch is colour), 0)


def several_notes(groups: Sequence[Sequence[Taken]]) -> list[Note]:
    """How many pencils have several swatches, and which have none that is dry."""
    notes = []
    several = [group for group in groups if len(group) > 1]
    if several:
        count = sum(map(len, groups))
        text = f"{count} swatches of {len(groups)} pencils: {len(several)} have several each."
        notes.append(Note(text))
    return [*notes, *wet_notes([[swatch for swatch, _ in group] for group in groups])]


def wet_notes(pencils: Sequence[Sequence[Swatch]]) -> list[Note]:
    """Which pencils answer no question, because none of their swatches is dry."""
    coloured = [swatches for swatches in pencils if swatches[0].coloured]
    wet = [swatches[0].code for swatches in coloured if colour_of(swatches) is None]
    if not wet:
        return []
    more = f" and {len(wet) - _MOST_CODES} more" if len(wet) > _MOST_CODES else ""
    text = (
        f"Only wetted swatches, which tell nothing of dry colour: {', '.join(wet[:_MOST_CODES])}"
        f"{more}. Such a pencil is kept, and answers once it is swatched dry."
    )
    return [Note(text)]


def _of_one(group: list[Taken]) -> list[Taken]:
    """The swatches of one pencil, which share its fields; a name only where there is no other."""
    if len(group) == 1:
        return group
    first = group[0][0]
    plain = Swatch("", "", (0.0, 0.0, 0.0))
    shared: dict[str, Any] = {"code": first.code, "owned": any(swatch.owned for swatch, _ in group)}
    for name in OF_THE_PENCIL:
        stated = (getattr(swatch, name) for swatch, _ in group)
        default = getattr(plain, name)
        shared[name] = next((value for value in stated if value != default), default)
    kept = [(swatch, entry) for swatch, entry in group if swatch.coloured] or group[:1]
    return [(replace(swatch, **shared), entry) for swatch, entry in kept]


_MOST_CODES = 8


OUTLIER_BEYOND = 6.0
"""This project's choice: of simulated normal readings, 3 to 8 a code, fewer than 5 in 1,000 lie
beyond, although pencils do not all scatter alike in ΔE00."""
FEWEST_ALONE = 6
FLOOR = 0.1
"""ΔE00; below it instruments do not repeat themselves, and nothing is an outlier for less."""
_MEDIAN_OF_CHI_3 = 1.5382  # median distance in standard deviations; chi, 3 degrees of freedom
_PRIOR = 4.0  # the file's spread counts as so many readings beside the code's own


class _Group(NamedTuple):
    """The readings of one code, and which of them the mean is taken from."""

    taken: Sequence[Taken]
    lab: Floats
    kept: Integers

    @property
    def deviations(self) -> Floats:
        """Kept readings minus their mean (n, 3)."""
        kept = self.lab[self.kept]
        return np.asarray(kept - kept.mean(axis=0))

    @property
    def left_out(self) -> set[int]:
        """Places of the readings that lie too far out."""
        return set(range(len(self.taken))) - {int(place) for place in self.kept}


def merge_repeats(taken: Sequence[Taken], convention: Convention) -> tuple[list[Taken], list[Note]]:
    """One swatch for each code laid in one way, in the order of their first readings; and notes.

    What is known of a pencil beside its colour is taken from its first row. Names, of which there
    is nothing to take a mean, stand behind the others.
    """
    names = [each for each in taken if not each[0].coloured]
    by_code: dict[tuple[str, ...], list[Taken]] = {}
    for swatch, entry in taken:
        if not swatch.coloured:
            continue
        key = (swatch.code.casefold(), *laid_key(swatch, dated=False))
        by_code.setdefault(key, []).append((swatch, entry))
    labs = {
        code: np.array([swatch.lab for swatch, _ in readings]) for code, readings in by_code.items()
    }
    if not labs:
        return names, []
    distances = {code: _from_median(lab) for code, lab in labs.items()}
    everywhere = [distances[code] for code, lab in labs.items() if len(lab) > 2]
    scale = _scale(np.concatenate(everywhere)) if everywhere else FLOOR
    groups = [
        _Group(readings, labs[code], _kept(distances[code], scale))
        for code, readings in by_code.items()
    ]
    pooled = _pooled(groups)
    merged = [_merged(group, pooled, convention) for group in groups]
    return [*merged, *names], _notes(groups)


def _from_median(lab: Floats) -> Floats:
    return np.atleast_1d(delta_E(np.median(lab, axis=0), lab))


def _scale(distances: Floats) -> float:
    """Robust standard deviation of one reading in ΔE00, from distances to medians."""
    return max(float(np.median(distances)) / _MEDIAN_OF_CHI_3, FLOOR)


def _kept(distances: Floats, scale: float) -> Integers:
    if len(distances) < 3:
        return np.arange(len(distances))
    own = _scale(distances) if len(distances) >= FEWEST_ALONE else scale
    return np.flatnonzero(distances <= OUTLIER_BEYOND * own)


def _pooled(groups: Sequence[_Group]) -> Floats:
    """Covariance of one reading over all codes, in Lab (3, 3); zero where nothing is repeated."""
    deviations = np.concatenate([group.deviations for group in groups])
    freedom = sum(len(group.kept) - 1 for group in groups)
    pooled: Floats = deviations.T @ deviations / max(freedom, 1)
    return pooled


def _merged(group: _Group, pooled: Floats, convention: Convention) -> Taken:
    """The swatch of the mean; the spread leans on the file's where the code has few readings."""
    first, entry = group.taken[0]
    if len(group.taken) == 1:
        return first, entry
    swatch, mean = _mean(group, convention)
    deviations = group.deviations
    freedom = len(deviations) - 1
    spread = (deviations.T @ deviations + _PRIOR * pooled) / (freedom + _PRIOR)
    even = even_covariance(swatch.lab, swatch.uncertainty)
    covariance = even + spread / len(deviations)
    return replace(
        swatch,
        uncertainty=float(mean_uncertainty(swatch.lab, covariance)),
        covariance=matrix(covariance),
        readings=Readings(
            labs=tuple(reading.lab for reading, _ in group.taken),
            left_out=tuple(sorted(group.left_out)),
            spread=matrix(spread),
        ),
    ), mean


def _mean(group: _Group, convention: Convention) -> Taken:
    kept = [group.taken[int(place)] for place in group.kept]
    swatch, entry = kept[0]
    alike = {(one.kind, one.wavelengths, one.white, one.observer) for _, one in kept}
    if len(alike) == 1 and entry.kind is EntryKind.SPECTRUM:
        values = np.mean([one.values for _, one in kept], axis=0)
        mean = entry._replace(values=tuple(map(float, values)))
        swatch = convert([swatch], [mean], convention)[0][0]
    else:
        L, a, b = (float(value) for value in group.lab[group.kept].mean(axis=0))
        mean = Entry(EntryKind.LAB, (L, a, b))
        swatch = replace(swatch, lab=(L, a, b), reflectance=None)
    return swatch, mean._replace(readings=tuple(one for _, one in group.taken))


def _notes(groups: Sequence[_Group]) -> list[Note]:
    repeated = [group for group in groups if len(group.taken) > 1]
    if not repeated:
        return [Note("There was nothing to average: every code has one row.")]
    counts = sorted({len(group.taken) for group in repeated})
    span = str(counts[0]) if len(counts) == 1 else f"{counts[0]} to {counts[-1]}"
    text = (
        f"{len(repeated)} of {len(groups)} swatches are the mean of {span} readings; one reading "
        f"has a standard deviation of {_typical(repeated):.2f} ΔE00."
    )
    return [Note(text), *(note for group in repeated for note in _notes_of(group))]


def _notes_of(group: _Group) -> Iterator[Note]:
    """What to know about the readings of one code."""
    code = group.taken[0][0].code
    distances = _from_median(group.lab)
    for place in sorted(group.left_out):
        yield Note(
            f"{code}: reading {place + 1} of {len(group.taken)} lies {distances[place]:.1f} ΔE00 "
            "from its siblings; it is kept, but left out of the mean."
        )
    if len(group.taken) == 2 and distances.max() > 1.0:
        yield Note(
            f"{code}: its two readings are far apart, and a third would tell which to trust."
        )


def _typical(groups: Sequence[_Group]) -> float:
    pooled = _pooled(groups)
    centre = np.mean([group.lab.mean(axis=0) for group in groups], axis=0)
    return float(mean_uncertainty(centre, pooled))
