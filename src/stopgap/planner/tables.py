"""One range against another: nearest swatches both ways, and whether one lies off as a whole."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stopgap.arrays import Floats
from stopgap.difference import DEFAULT_METRIC, DifferenceFunction
from stopgap.errors import InputError
from stopgap.planner.sameness import differences
from stopgap.planner.shift import Shift, estimate_shift, mutual_nearest
from stopgap.planner.ways import labs_of, unique_swatches
from stopgap.swatches import Swatch


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
    """Rows in the order of the range given; `removed` says that the shift is taken out of them."""

    rows: tuple[TableRow, ...]
    shift: Shift
    removed: bool = False

    @property
    def warning(self) -> str:
        """A sentence where the ranges lie off each other as a whole, else empty."""
        if not self.shift.significant:
            return ""
        L, a, b = self.shift.lab
        done = "it is taken out of this table" if self.removed else "it is still in this table"
        return (
            f"The second range lies off the first as a whole: L* {L:+.1f}, a* {a:+.1f}, "
            f"b* {b:+.1f} ({self.shift.pairs} pairs); probably another paper or instrument; {done}."
        )


def cross_table(
    swatches: Sequence[Swatch],
    others: Sequence[Swatch],
    *,
    metric: str | DifferenceFunction = DEFAULT_METRIC,
    remove_shift: bool = False,
) -> CrossTable:
    """Best and second of `others` for each of `swatches`; equally near ones go by address.

    Parameters
    ----------
    swatches, others
        Two ranges, measured under the same conditions as far as known.
    remove_shift
        Whether to take a significant shift between the two out of `others` before comparing.

    Raises
    ------
    InputError
        If either range is empty or holds an address with two contents.
    """
    first, second = unique_swatches(swatches, "swatches"), unique_swatches(others, "others")
    if not first or not second:
        raise InputError("swatches and others: both ranges must hold at least one swatch.")
    labs_1, labs_2 = labs_of(first), labs_of(second)
    shift = estimate_shift(labs_1, labs_2, metric)
    removed = remove_shift and shift.significant
    table = differences(labs_1, labs_2 - np.array(shift.lab) if removed else labs_2, metric)
    order = np.argsort(table, axis=1, kind="stable")
    pairs = {(int(i), int(j)) for i, j in mutual_nearest(table)}
    by_address = {
        swatch.address: _row(place, order[place], table[place], first, second, pairs)
        for place, swatch in enumerate(first)
    }
    asked = dict.fromkeys(swatch.address for swatch in swatches)
    return CrossTable(tuple(by_address[address] for address in asked), shift, removed)


def _row(
    place: int,
    order: Sequence[np.intp],
    delta_E: Floats,
    first: Sequence[Swatch],
    second: Sequence[Swatch],
    pairs: set[tuple[int, int]],
) -> TableRow:
    best, *rest = (int(column) for column in order[:2])
    return TableRow(
        first[place],
        second[best],
        float(delta_E[best]),
        second[rest[0]] if rest else None,
        float(delta_E[rest[0]]) if rest else None,
        (place, best) in pairs,
    )
