"""Alternatives to pencils that may come to a box, worked out beforehand, a few at a time.

They are most of what is not known of a pencil that comes, and belong to it by itself.
"""

from collections.abc import Iterator, Sequence
from functools import reduce

import numpy as np

from stopgap.planner.recipes.held import Arrays, alternatives_in, joined, make_palette, rows_of
from stopgap.swatches import LayingConditions, Swatch

Numbers = Sequence[float]

_MOST = 4096  # pencils, 3 kB each
_AT_ONCE = 16  # a twentieth of a second


class WaitingPencils:
    """Alternatives, as arrays, to each pencil by the numbers that its recipes depend on; None to
    one that cannot be layered.
    """

    def __init__(self) -> None:
        self._known: dict[bytes, Arrays | None] = {}

    def alternatives(self, conditions: Numbers, swatches: Sequence[Numbers]) -> Arrays | None:
        """Those to swatches by their numbers, at least one; None where any is not known."""
        known = [self._known.get(_key(conditions, numbers)) for numbers in swatches]
        arrays = [each for each in known if each is not None]
        return reduce(joined, arrays) if len(arrays) == len(known) else None

    def work_out(
        self,
        conditions: LayingConditions,
        swatches: Sequence[Swatch],
        numbers: Sequence[Numbers],
    ) -> Iterator[None]:
        """Those to swatches that are not known yet; `numbers` are those of the conditions, then of
        each swatch. It may be left off after every few, and gone on with another time.
        """
        keys = [_key(numbers[0], its) for its in numbers[1 : _MOST + 1]]
        missing = [pair for pair in zip(keys, swatches) if pair[0] not in self._known]
        for start in range(0, len(missing), _AT_ONCE):
            some = missing[start : start + _AT_ONCE]
            box = make_palette(conditions, [swatch for _, swatch in some])
            places = {swatch.address: row for row, swatch in enumerate(box.swatches)}
            arrays = alternatives_in(box)
            for key, swatch in some:
                row = places.get(swatch.address)
                self._known[key] = None if row is None else rows_of(arrays, np.array([row]))
            for old in list(self._known)[:-_MOST]:
                self._known.pop(old, None)
            yield


def _key(conditions: Numbers, swatch: Numbers) -> bytes:
    return np.array([*conditions, *swatch]).tobytes()
