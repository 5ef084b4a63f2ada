"""The colours of an index at one moment, never changed: what is asked, while others change it.

A tree stands over the colours that were there when it was built. Those added since are looked at
one by one; those removed since are passed over in the tree. Looking at every colour is right for
any metric, and the oracle of the faster ways.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers
from stopgap.difference import DifferenceFunction, Metric
from stopgap.difference.bounds.boxes import LowerBound
from stopgap.neighbours.descent import Allowed, allowed_in, nearest_in_tree
from stopgap.neighbours.tree import Tree, build_tree

_BLOCK = 2**13  # differences computed at once: all intermediate arrays stay in the cache


def rank_exhaustively(
    lab: Floats,
    targets: Floats,
    k: int,
    difference: DifferenceFunction,
    rows: Integers | None = None,
) -> tuple[Floats, Integers]:
    """The `k` nearest of `lab` (n, 3) to each of `targets` (m, 3): ΔE (m, k) and rows (m, k).

    Nearest first, equal differences by row. Only `rows`, which must ascend, are looked at where
    they are given. O(m n) differences in blocks, so memory is bounded; O(n) selection and
    O(k log k) sorting a target.
    """
    candidates = lab if rows is None else lab[rows]
    delta_E = np.empty((len(targets), k))
    places = np.empty((len(targets), k), dtype=np.intp)
    step = max(1, _BLOCK // max(1, len(candidates)))
    for start in range(0, len(targets), step):
        differences = _differences(targets[start : start + step], candidates, difference)
        for offset, row_of_differences in enumerate(differences):
            nearest = _smallest(row_of_differences, k)
            places[start + offset] = nearest
            delta_E[start + offset] = row_of_differences[nearest]
    return delta_E, places if rows is None else rows[places]


def _differences(targets: Floats, lab: Floats, difference: DifferenceFunction) -> Floats:
    """Every difference, (m, n)."""
    if len(lab) <= _BLOCK:
        return difference(targets[:, np.newaxis, :], lab[np.newaxis, :, :])
    table = np.empty((len(targets), len(lab)))
    for start in range(0, len(lab), _BLOCK):
        block = slice(start, start + _BLOCK)
        table[:, block] = difference(targets[:, np.newaxis, :], lab[np.newaxis, block, :])
    return table


def _smallest(differences: Floats, k: int) -> Integers:
    """Places of the `k` smallest, by value and then by place."""
    if k == 0:
        return np.empty(0, dtype=np.intp)
    limit = np.partition(differences, k - 1)[k - 1]
    # everything up to the k-th value, ties included, so that the tie rule decides
    places = np.flatnonzero(differences <= limit)
    ordered = np.argsort(differences[places], kind="stable")
    chosen: Integers = places[ordered[:k]]
    return chosen


BREAK_EVEN = 2000
"""Colours up to which looking at each takes no longer than one descent in numpy."""

FEW = 300
"""The same for many targets at once, or compiled."""

_MANY = 8  # targets at once that share the overhead of numpy

_BESIDE = 500  # colours beside the tree that are looked at one by one before it is built anew
_SHARE = 8  # asked for more than this part of the colours, the tree saves nothing

Compiled = Callable[..., tuple[Floats, Integers, Booleans]]


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class StoredColours:
    """`lab` (n, 3), all there ever were; `present` (n,), None where none was removed; the tree over
    the first `planted` rows but those `apart`, with `living`, what of it is present, None where all
    is.
    """

    lab: Floats
    present: Booleans | None = None
    tree: Tree | None = None
    planted: int = 0
    living: Allowed | None = None
    apart: Integers | None = None

    @property
    def count(self) -> int:
        """Colours that are present."""
        return len(self.lab) if self.present is None else int(np.count_nonzero(self.present))

    @property
    def nbytes(self) -> int:
        """Memory of all arrays [bytes]."""
        held = self.lab.nbytes + (0 if self.present is None else self.present.nbytes)
        held += 0 if self.tree is None else self.tree.nbytes
        return held + (0 if self.living is None else self.living.nbytes)

    def planted_anew(self) -> "StoredColours":
        """The same colours with a tree over all that are present. O(n log n)."""
        if self.count == 0:
            return StoredColours(self.lab, self.present)
        rows = np.arange(len(self.lab)) if self.present is None else np.flatnonzero(self.present)
        return StoredColours(self.lab, self.present, build_tree(self.lab, rows), len(self.lab))

    def with_added(self, lab: Floats) -> "StoredColours":
        """With colours (m, 3) after the others. The tree falls when too many stand beside it."""
        present = self.present
        if present is not None:
            present = np.concatenate([present, np.ones(len(lab), dtype=np.bool_)])
        grown = replace(self, lab=np.concatenate([self.lab, lab]), present=present)
        return grown._without_tree_if(len(grown.lab) - self.planted > _BESIDE)

    def without(self, rows: Integers) -> "StoredColours":
        """Without the colours of `rows`. The tree falls when it is half empty."""
        present = (
            np.ones(len(self.lab), dtype=np.bool_) if self.present is None else self.present.copy()
        )
        present[rows] = False
        living = allowed_in(self.tree, present) if self.tree is not None else None
        left = replace(self, present=present, living=living)
        return left._without_tree_if(living is not None and 2 * len(living.slots) < self.planted)

    def _without_tree_if(self, outgrown: bool) -> "StoredColours":
        return StoredColours(self.lab, self.present) if outgrown else self

    def rearranged(self, lab: Floats, before: Integers) -> "StoredColours":
        """Colours `lab` (n, 3), each the row `before` (n,) here, or a new one, -1. The tree falls
        when too many stand beside it.
        """
        if self.tree is None or self.present is not None:
            return StoredColours(lab)
        now = np.full(len(self.lab) + 1, -1, dtype=np.int32)  # the last is of what is no row
        stay = np.flatnonzero(before >= 0)
        now[before[stay]] = stay
        rows = now[self.tree.rows]
        outside = np.ones(len(lab), dtype=np.bool_)
        outside[rows[rows >= 0]] = False
        apart = np.flatnonzero(outside)
        count = len(lab) - len(apart)
        if count <= len(apart) * _SHARE or count * 2 < self.tree.lab.shape[0]:
            return StoredColours(lab)
        tree = replace(self.tree, rows=rows, count=count)
        return StoredColours(lab, None, tree, len(lab), apart=apart)

    def nearest(
        self,
        targets: Floats,
        k: int,
        metric: Metric,
        mask: Booleans | None = None,
        compiled: Compiled | None = None,
    ) -> tuple[Floats, Integers]:
        """ΔE (m, k) and rows (m, k) among the present rows that `mask` (n,) allows, None for all.

        Fewer columns where there are fewer colours. `compiled` is a descent for this metric.
        """
        allowed = self._allowed(mask)
        count = len(self.lab) if allowed is None else int(np.count_nonzero(allowed))
        k = min(k, count)
        tree, bound = self.tree, metric.lower_bound
        alone = compiled is None and len(targets) < _MANY
        few = count <= (BREAK_EVEN if alone else FEW) or k * _SHARE > count
        if tree is None or bound is None or few:
            rows = None if allowed is None else np.flatnonzero(allowed)
            return rank_exhaustively(self.lab, targets, k, metric.function, rows)
        living = self.living if mask is None or allowed is None else allowed_in(tree, allowed)
        in_tree = min(k, tree.count if living is None else len(living.slots))
        bounded = metric.function, bound
        found = _descended(tree, targets, in_tree, bounded, living, compiled)
        beside = self._beside(allowed)
        if len(beside) == 0:
            return found
        most = min(k, len(beside))
        return _merged(
            found, rank_exhaustively(self.lab, targets, most, metric.function, beside), k
        )

    def _beside(self, allowed: Booleans | None) -> Integers:
        """Rows beside the tree, rising, of those that are allowed."""
        rows = np.arange(self.planted, len(self.lab))
        if self.apart is not None:
            rows = np.concatenate([self.apart, rows])
        return rows if allowed is None else rows[allowed[rows]]

    def _allowed(self, mask: Booleans | None) -> Booleans | None:
        if mask is None or self.present is None:
            return self.present if mask is None else mask
        both: Booleans = mask & self.present
        return both


def _descended(
    tree: Tree,
    targets: Floats,
    k: int,
    metric: tuple[DifferenceFunction, LowerBound],
    living: Allowed | None,
    compiled: Compiled | None,
) -> tuple[Floats, Integers]:
    """By the compiled descent, where there is one, and by numpy what that leaves undecided."""
    if k == 0:
        return np.empty((len(targets), 0)), np.empty((len(targets), 0), dtype=np.intp)
    if compiled is None:
        return nearest_in_tree(tree, targets, k, metric, living)
    masks = (None, None) if living is None else (living.mask, living.nodes)
    delta_E, rows, decided = compiled(tree, targets, k, *masks)
    unsure = np.flatnonzero(~decided)
    if len(unsure) > 0:
        delta_E[unsure], rows[unsure] = nearest_in_tree(tree, targets[unsure], k, metric, living)
    return delta_E, rows


def _merged(
    first: tuple[Floats, Integers], second: tuple[Floats, Integers], k: int
) -> tuple[Floats, Integers]:
    """The `k` best of two answers, by difference and then by row."""
    delta_E = np.concatenate([first[0], second[0]], axis=1)
    rows = np.concatenate([first[1], second[1]], axis=1)
    order = np.lexsort((rows, delta_E), axis=1)[:, :k]
    return np.take_along_axis(delta_E, order, axis=1), np.take_along_axis(rows, order, axis=1)
