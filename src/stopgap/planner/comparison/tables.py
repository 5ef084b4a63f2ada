"""One range against another: nearest swatches both ways, and whether one lies off as a whole."""

from collections.abc import Sequence
from dataclasses import dataclass

from stopgap.arrays import Floats, Integers
from stopgap.defaults import JOBS
from stopgap.difference import DEFAULT_METRIC, DifferenceFunction, delta_E_ciede2000
from stopgap.errors import InputError, Note
from stopgap.library import StoredShift
from stopgap.planner.comparison.shift import lying_between, nearest_both_ways
from stopgap.planner.materials import labs_of, unique_swatches
from stopgap.swatches import ColourRange, Lab, RangeCorrection, Swatch


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
    near, columns, mutual = nearest_both_ways(labs_1, moved, metric, k=2, jobs=jobs)
    by_address = {
        swatch.address: _row(
            swatch, second, columns[place], near[place], mutual=bool(mutual[place])
        )
        for place, swatch in enumerate(first)
    }
    asked = dict.fromkeys(swatch.address for swatch in swatches)
    return CrossTable(
        tuple(by_address[address] for address in asked),
        correction,
        (L, a, b),
        size,
        remove_shift and correction is not None,
    )


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
