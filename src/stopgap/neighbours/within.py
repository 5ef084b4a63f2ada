"""Everything within a reach of each of many targets, nearest first, without a table of all."""

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers
from stopgap.neighbours.index import SwatchIndex

_FIRST = 32  # asked for at first; four times as many where all of them lie within reach
_AT_ONCE = 2**18  # answers looked at together, to bound the memory


class Near(NamedTuple):
    """Rows of an index and their ΔE from a target, nearest first, equals in the order of rows."""

    rows: Integers
    delta_E: Floats


def nearest_within(
    index: SwatchIndex, targets: Floats, reach: Floats, allowed: Booleans | None = None
) -> Iterator[Near]:
    """What lies within `reach` (m,) of each of `targets` (m, 3), in turn; where nothing does, the
    nearest and what is as near.

    `allowed` are the rows (n,) that may be answers. Memory is bounded but for an infinite reach.
    """
    for first in range(0, len(targets), _FIRST):
        block = slice(first, first + _FIRST)
        yield from _block(index, targets[block], reach[block], allowed)


def _block(
    index: SwatchIndex, targets: Floats, reach: Floats, allowed: Booleans | None
) -> list[Near]:
    found: dict[int, Near] = {}
    left, k = np.arange(len(targets)), _FIRST
    while len(left):
        at_once = max(1, _AT_ONCE // k)
        for some in np.split(left, range(at_once, len(left), at_once)):
            delta_E, rows = index.nearest(targets[some], k, allowed=allowed)
            for place, near, its in zip(some.tolist(), delta_E, rows):
                limit = max(reach[place], near[0]) if len(near) else 0.0
                if len(near) < k or near[-1] > limit:
                    within = near <= limit
                    found[place] = Near(its[within], near[within])
        left = np.array([place for place in left.tolist() if place not in found], dtype=np.intp)
        k *= 4
    return [found[place] for place in range(len(targets))]
