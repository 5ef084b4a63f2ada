"""The nearest colours by descending a tree, for many targets at once, in numpy.

Each target first looks at some colours near it, so that it knows a limit that its k-th nearest does
not exceed. Then all pairs of a target and a node go down the tree together, a few halvings at a
time; a pair is dropped when the proved lower bound of its box is above the limit, for then no
colour in it can be among the k nearest. Colours of the leaves that are left are ranked. Equal
differences are never dropped, so the tie rule, by row, holds.
"""

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers, blocks
from stopgap.difference import DifferenceFunction
from stopgap.difference.bounds.boxes import LowerBound
from stopgap.neighbours.tree import Rows, Tree

_START = 4  # halvings after which the boxes are first looked at
_STRIDE = 2  # halvings from one look to the next
_TIMES = 4  # colours that the first limit is taken from, for each of the k wanted …
_LOOK = 24  # … and beside them
_PAIRS = 2**13  # pairs computed at once: the arrays stay in the cache
_TARGETS = 512  # targets that go down together
_LEFT = 2**16  # pairs left; with more, the targets are halved, so that memory is bounded


class Allowed(NamedTuple):
    """Which colours of a tree may be answers: `mask` in the order of the leaves, `slots`, where it
    is true, and `nodes`, by heap number, whether it is true for any colour below.
    """

    mask: Booleans
    slots: Integers
    nodes: Booleans

    @property
    def nbytes(self) -> int:
        """Memory of all arrays [bytes]."""
        return self.mask.nbytes + self.slots.nbytes + self.nodes.nbytes


def allowed_in(tree: Tree, rows: Booleans) -> Allowed:
    """What of the tree may be an answer where `rows` tells it of each row. O(n)."""
    mask = rows[tree.rows] & (tree.rows >= 0)
    levels = [np.any(mask.reshape(tree.leaves, tree.size), axis=1)]
    while len(levels[-1]) > 1:
        levels.append(levels[-1][::2] | levels[-1][1::2])
    return Allowed(mask, np.flatnonzero(mask), np.concatenate([[False], *reversed(levels)]))


def nearest_in_tree(
    tree: Tree,
    targets: Floats,
    k: int,
    metric: tuple[DifferenceFunction, LowerBound],
    allowed: Allowed | None = None,
) -> tuple[Floats, Integers]:
    """The `k` nearest colours to each of `targets` (m, 3): ΔE (m, k) and rows (m, k).

    Nearest first, equal differences by row. At least `k` colours must be allowed.
    """
    every = blocks(len(targets), _TARGETS)
    return _stacked([_descend(tree, targets[some], k, metric, allowed) for some in every])


def with_slack(limit: Floats) -> Floats:
    """`limit`, raised by more than rounding can make of a bound or a difference."""
    return limit * (1.0 + 1e-9) + 1e-9


def _descend(
    tree: Tree,
    targets: Floats,
    k: int,
    metric: tuple[DifferenceFunction, LowerBound],
    allowed: Allowed | None,
) -> tuple[Floats, Integers]:
    difference, bound = metric
    limit = _first_limit(tree, targets, k, difference, allowed)
    level = min(_START, tree.depth)
    which, node = _children(np.arange(len(targets)), np.ones(len(targets), dtype=np.intp), level)
    while True:
        if allowed is not None:
            which, node = _kept(allowed.nodes[node], which, node)
        below = _in_blocks(bound, targets, which, tree.boxes, node)
        # written so that a bound that is no number keeps its pair
        which, node = _kept(~(below > limit[which]), which, node)
        if len(which) > _LEFT and len(targets) > 1:
            halves = np.array_split(targets, 2)
            return _stacked([_descend(tree, half, k, metric, allowed) for half in halves])
        if level == tree.depth:
            break
        stride = min(_STRIDE, tree.depth - level)
        which, node = _children(which, node, stride)
        level += stride
    return _ranked(tree, targets, k, difference, allowed, limit, which, node)


def _stacked(parts: list[tuple[Floats, Integers]]) -> tuple[Floats, Integers]:
    delta_E, rows = zip(*parts, strict=True)
    return np.concatenate(delta_E), np.concatenate(rows)


def _first_limit(
    tree: Tree, targets: Floats, k: int, difference: DifferenceFunction, allowed: Allowed | None
) -> Floats:
    """What the k-th nearest of each target does not exceed: (m,), infinite where too few were seen.

    Colours next to a target's leaf in the order of the leaves are near it, mostly.
    """
    start = tree.leaf_of(targets) * tree.size
    slots = len(tree.rows)
    if allowed is not None:
        start, slots = np.searchsorted(allowed.slots, start), len(allowed.slots)
    width = min(slots, _TIMES * k + _LOOK)
    first = np.clip(start - (width - tree.size) // 2, 0, slots - width)
    window = first[:, np.newaxis] + np.arange(width)
    if allowed is not None:
        window = allowed.slots[window]
    seen = difference(targets[:, np.newaxis], tree.lab.take(window, axis=0))
    seen = np.where(tree.rows[window] >= 0, seen, np.inf)
    return with_slack(np.partition(seen, k - 1, axis=1)[:, k - 1])


def _children(which: Integers, node: Integers, levels: int) -> tuple[Integers, Integers]:
    """The nodes that many halvings below, each with its target."""
    many = 2**levels
    return np.repeat(which, many), (node[:, np.newaxis] * many + np.arange(many)).ravel()


def _kept(keep: Booleans, which: Integers, node: Integers) -> tuple[Integers, Integers]:
    places = np.flatnonzero(keep)
    return which[places], node[places]


def _in_blocks(
    function: Callable[[Floats, Floats], Floats],
    targets: Floats,
    which: Integers,
    values: Floats,
    node: Integers,
) -> Floats:
    """`function` of target and value for each pair."""
    return np.concatenate(
        [
            function(targets.take(which[at], axis=0), values.take(node[at], axis=0))
            for at in blocks(len(which), _PAIRS)
        ]
    )


def _ranked(
    tree: Tree,
    targets: Floats,
    k: int,
    difference: DifferenceFunction,
    allowed: Allowed | None,
    limit: Floats,
    which: Integers,
    node: Integers,
) -> tuple[Floats, Integers]:
    """The `k` nearest of the colours in the leaves that are left."""
    slot = ((node - tree.leaves)[:, np.newaxis] * tree.size + np.arange(tree.size)).ravel()
    which = np.repeat(which, tree.size)
    mask = tree.rows[slot] >= 0 if allowed is None else allowed.mask[slot]
    which, slot = _kept(mask, which, slot)
    delta_E = _in_blocks(difference, targets, which, tree.lab, slot)
    near = np.flatnonzero(delta_E <= limit[which])
    which, delta_E, rows = which[near], delta_E[near], tree.rows[slot[near]]
    order = _in_order(which, delta_E, rows)
    first = np.searchsorted(which[order], np.arange(len(targets)))
    chosen = order[first[:, np.newaxis] + np.arange(k)]
    return delta_E[chosen], rows[chosen].astype(np.intp)


def _in_order(which: Integers, delta_E: Floats, rows: Rows) -> Integers:
    """By target, fewer than 2**16, then by difference, equal ones by row, as a lexsort has it."""
    order = np.argsort(delta_E)
    order = order[np.argsort(which[order].astype(np.uint16), kind="stable")]  # by radix
    which, delta_E = which[order], delta_E[order]
    if ((delta_E[1:] == delta_E[:-1]) & (which[1:] == which[:-1])).any():
        order = order[np.lexsort((rows[order], delta_E, which))]
    return order
