"""One range against another: nearest swatches both ways, and whether one lies off as a whole."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from stopgap.arrays import Floats, Integers
from stopgap.defaults import JOBS
from stopgap.difference import DEFAULT_METRIC, DifferenceFunction
from stopgap.errors import InputError, Note, Remedy
from stopgap.planner.comparison.flare import find_unpaired
from stopgap.planner.comparison.shift import Shift, estimate_shift, nearest_both_ways
from stopgap.planner.materials import labs_of, unique_swatches
from stopgap.swatches import ColourRange, RangeCorrection, Swatch


@dataclass(frozen=True, slots=True)
class TableRow:
    """One swatch and its nearest in the other range; `second` is None where that holds one only.

    `mutual` says that the swatch is the nearest to its best as well.
    """

    swatch: Swatch
    best: Swatch
    delta_E: float
    second: Swatch | None
    second_delta_E: float | None
    mutual: bool


@dataclass(frozen=True, slots=True)
class CrossTable:
    """Rows in the order of the range given; `removed` says that the shift is taken out of them.

    `correction` is what took it out where it is flare and gain, else None.
    """

    rows: tuple[TableRow, ...]
    shift: Shift
    removed: bool = False
    correction: RangeCorrection | None = None

    @property
    def note(self) -> Note | None:
        """A remark where the ranges lie off each other as a whole."""
        if not self.shift.significant:
            return None
        L, a, b = self.shift.lab
        done = "it is taken out of this table" if self.removed else "it is still in this table"
        first = self.rows[0]
        return Note(
            f"The second range lies off the first as a whole: L* {L:+.1f}, a* {a:+.1f}, "
            f"b* {b:+.1f} ({self.shift.pairs} pairs); probably another paper or "
            f"instrument; {done}.",
            Remedy.CORRECT_RANGE,
            {"range": first.best.range, "reference": first.swatch.range},
        )

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
    jobs: int | None = JOBS,
) -> CrossTable:
    """Best and second of `others` for each of `swatches`; equally near ones go by address.

    Memory grows with the sum of the two, not with their product.

    Parameters
    ----------
    swatches, others
        Two ranges, measured under the same conditions as far as known.
    remove_shift
        Whether to take what lies between the two out of `others` before comparing: flare and gain
        where the colours of both let them be found, else a significant shift in Lab.
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
    shift = estimate_shift(labs_1, labs_2, metric, jobs=jobs)
    correction = find_unpaired(labs_2, labs_1) if remove_shift else None
    if correction is not None:
        moved = correction.lab(labs_2)
        L, a, b = (labs_2 - moved).mean(axis=0).tolist()
        shift = replace(shift, lab=(L, a, b))
    else:
        moved = labs_2 - np.array(shift.lab) if remove_shift else labs_2
    near, columns, mutual = nearest_both_ways(labs_1, moved, metric, k=2, jobs=jobs)
    by_address = {
        swatch.address: _row(
            swatch, second, columns[place], near[place], mutual=bool(mutual[place])
        )
        for place, swatch in enumerate(first)
    }
    asked = dict.fromkeys(swatch.address for swatch in swatches)
    removed = remove_shift and shift.significant
    return CrossTable(tuple(by_address[address] for address in asked), shift, removed, correction)


def cross_tables(
    first: ColourRange,
    others: Sequence[ColourRange],
    *,
    metric: str | DifferenceFunction = DEFAULT_METRIC,
    remove_shift: bool = False,
    jobs: int | None = JOBS,
) -> dict[str, CrossTable]:
    """`cross_table` of a range with each of the others, by their names."""
    return {
        other.name: cross_table(
            first.swatches, other.swatches, metric=metric, remove_shift=remove_shift, jobs=jobs
        )
        for other in others
    }


def _row(
    swatch: Swatch, others: Sequence[Swatch], columns: Integers, near: Floats, *, mutual: bool
) -> TableRow:
    best, *rest = columns.tolist()
    return TableRow(
        swatch,
        others[best],
        float(near[0]),
        others[rest[0]] if rest else None,
        float(near[1]) if rest else None,
        mutual,
    )
