"""Everything within a reach of each of many targets, nearest first, without a table of all."""

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers
from stopgap.difference.bounds.ciede2000 import bound_ciede2000
from stopgap.neighbours.index import SwatchIndex
from stopgap.neighbours.tree import build_tree

_FIRST = 32  # asked for at first; four times as many where all of them lie within reach
_AT_ONCE = 2**18  # answers looked at together, to bound the memory
_PAIRS = 2**14  # colours and groups bounded together
_GROUP = 64  # colours at most that are ruled out together
_BOUND_ROUNDING = 1e-9  # relative, of the bound of a box


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


def pairs_perhaps_within(lab: Floats, limit: float) -> Iterator[tuple[Integers, Integers]]:
    """Every pair of colours (n, 3) that may lie within that ΔE00, the earlier row first, in parts:
    all but those that the boxes around groups of colours keep apart.
    """
    tree = build_tree(lab, np.arange(len(lab)))
    level = max(0, (_GROUP // tree.size).bit_length() - 1)
    groups = max(1, tree.leaves >> level)
    boxes, members = tree.boxes[groups : 2 * groups], tree.rows.reshape(groups, -1)
    at_once = max(1, _PAIRS // groups)
    for first in range(0, len(lab), at_once):
        least = bound_ciede2000(lab[first : first + at_once, np.newaxis], boxes)
        rows, near = np.nonzero(least <= limit * (1.0 + _BOUND_ROUNDING))
        others = np.asarray(members[near].ravel(), dtype=np.intp)
        rows = np.repeat(first + rows, members.shape[1])
        later = others > rows
        yield rows[later], others[later]
