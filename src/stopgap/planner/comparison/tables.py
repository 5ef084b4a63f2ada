"""One range against another: nearest swatches both ways, and whether one lies off as a whole."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers
from stopgap.defaults import JOBS
from stopgap.difference import (
    DEFAULT_METRIC,
    DifferenceFunction,
    delta_E_ciede2000,
    grade,
    metric_name,
)
from stopgap.errors import InputError, Note
from stopgap.library import StoredShift
from stopgap.planner.comparison.shift import lying_between, measured_alike, nearest_both_ways
from stopgap.planner.doubt import grade_chances, nearest_probabilities
from stopgap.planner.materials import labs_of, unique_swatches
from stopgap.planner.nearness import FAR, hue_keeping_difference
from stopgap.planner.winning import tied_group
from stopgap.swatches import ColourRange, Lab, RangeCorrection, Swatch, is_target

_RIVALS = 32  # asked which may be the nearest


@dataclass(frozen=True, slots=True)
class TableRow:
    """One swatch and its nearest in the other range; `second` is None where that holds one only.

    `mutual` says that the swatch is the nearest to its best as well, `tied` that best and second
    cannot be told apart at the accuracy of these swatches. `grade` is that of the best in ΔE00, and
    `grade_probability` how surely it is earned. `by_hue` says that all are so far off that hue
    ranked.
    """

    swatch: Swatch
    best: Swatch
    delta_E: float
    second: Swatch | None
    second_delta_E: float | None
    mutual: bool
    tied: bool = False
    grade: str = ""
    grade_probability: float = 1.0
    by_hue: bool = False


@dataclass(frozen=True, slots=True)
class CrossTable:
    """Rows in the order of the range given.

    `correction` makes of the other range what this one is measured as, where they lie off each
    other as a whole; `offset` is by how much on average, the other's minus this one's L*, a*, b*,
    and `size` in ΔE00. `removed` says that it is taken out of the rows.
    """

    rows: tuple[TableRow, ...]
    correction: RangeCorrection | None = None
    offset: Lab = (0.0, 0.0, 0.0)
    size: float = 0.0
    removed: bool = False

    @property
    def pairs(self) -> int:
        """How many are the nearest of each other."""
        return sum(row.mutual for row in self.rows)

    @property
    def note(self) -> Note | None:
        """A remark where the ranges lie off each other as a whole."""
        if self.correction is None:
            return None
        names = (self.rows[0].best.range, self.rows[0].swatch.range)
        flare, gain, own = self.correction.flare, self.correction.gain, self.correction.own
        note = StoredShift(*names, flare, gain, own, self.size).note
        if not self.removed:
            return note
        return note._replace(text=f"{note.text} It is taken out of this table.")

    @property
    def warning(self) -> str:
        """The same as a sentence, else empty."""
        return self.note.text if self.note else ""


def cross_table(
    swatches: Sequence[Swatch],
    others: Sequence[Swatch],
    *,
    metric: str | DifferenceFunction = DEFAULT_METRIC,
    remove_shift: bool = False,
    known: Sequence[StoredShift] | None = None,
    jobs: int | None = JOBS,
) -> CrossTable:
    """Best and second of `others` for each of `swatches`; equally near ones go by address.

    Memory grows with the sum of the two, not with their product.

    Parameters
    ----------
    swatches, others
        Two ranges, measured under the same conditions as far as known.
    remove_shift
        Whether to take what lies between the two out of `others` before comparing.
    known
        What the library found to lie between ranges (`Library.shifts`); None to look here.
    jobs
        As in `nearest_in_batches`.

    Raises
    ------
    InputError
        If either range is empty or holds an address with two contents.
    """
    first, second = unique_swatches(swatches, "swatches"), unique_swatches(others, "others")
    if not first or not second:
        raise InputError("swatches and others: both ranges must hold at least one swatch.")
    labs_1, labs_2 = labs_of(first), labs_of(second)
    correction = lying_between(second, first, known)
    moved = labs_2 if correction is None else correction.lab(labs_2)
    L, a, b = (labs_2 - moved).mean(axis=0).tolist()
    size = float(delta_E_ciede2000(labs_2, moved).mean())
    if not remove_shift:
        moved = labs_2
    removed = remove_shift and correction is not None
    shown = measured_alike(second, correction) if removed else second
    near, columns, mutual = nearest_both_ways(
        labs_1, moved, metric, k=min(_RIVALS, len(second)), jobs=jobs
    )
    far = _by_hue(labs_1, moved, near, columns, mutual, metric)
    doubt = _Doubts.of(first, shown, columns)
    by_address = {
        swatch.address: TableRow(
            swatch,
            second[columns[place, 0]],
            float(near[place, 0]),
            second[columns[place, 1]] if len(second) > 1 else None,
            float(near[place, 1]) if len(second) > 1 else None,
            bool(mutual[place]),
            doubt.tied[place] and not far[place],
            doubt.grades[place],
            doubt.grade_probabilities[place],
            bool(far[place]),
        )
        for place, swatch in enumerate(first)
    }
    asked = dict.fromkeys(swatch.address for swatch in swatches)
    return CrossTable(
        tuple(by_address[address] for address in asked),
        correction,
        (L, a, b),
        size,
        removed,
    )


def _by_hue(
    labs: Floats,
    others: Floats,
    near: Floats,
    columns: Integers,
    mutual: Booleans,
    metric: str | DifferenceFunction,
) -> Booleans:
    """Which of the colours (n, 3) nothing of the others is near: there `near` (n, k), `columns`
    (n, k) and `mutual` (n,) become those that keep the hue, as for a single question.
    """
    default = isinstance(metric, str) and metric_name(metric) == DEFAULT_METRIC
    far = (near[:, 0] > FAR) & default
    for place in np.flatnonzero(far).tolist():
        kept = np.argsort(hue_keeping_difference(labs[place], others), kind="stable")
        mutual[place] &= kept[0] == columns[place, 0]
        columns[place] = kept[: columns.shape[1]]
        near[place] = delta_E_ciede2000(labs[place], others[columns[place]])
    return far


def cross_tables(
    first: ColourRange,
    others: Sequence[ColourRange],
    *,
    metric: str | DifferenceFunction = DEFAULT_METRIC,
    remove_shift: bool = False,
    known: Sequence[StoredShift] | None = None,
    jobs: int | None = JOBS,
) -> dict[str, CrossTable]:
    """`cross_table` of a range with each of the others, by their names."""
    return {
        other.name: cross_table(
            first.swatches,
            other.swatches,
            metric=metric,
            remove_shift=remove_shift,
            known=known,
            jobs=jobs,
        )
        for other in others
    }


class _Doubts(NamedTuple):
    """By row: whether best and second are tied, the grade of the best and how sure it is."""

    tied: list[bool]
    grades: list[str]
    grade_probabilities: list[float]

    @classmethod
    def of(cls, first: Sequence[Swatch], others: Sequence[Swatch], columns: Integers) -> "_Doubts":
        """Of each of `first` beside its nearest (n, k) of others; itself it is for certain."""
        best = [others[column] for column in columns[:, 0].tolist()]
        group = tied_group(nearest_probabilities(first, others, columns))[:, :2]
        own = np.array([is_target(one, asked) for one, asked in zip(best, first, strict=True)])
        sure = np.where(own, 1.0, grade_chances(first, best))
        apart = delta_E_ciede2000(labs_of(first), labs_of(best))
        tied = group.all(axis=1) & ~own
        return cls(tied.tolist(), list(map(grade, apart.tolist())), sure.tolist())
