"""Which pairs may lie in a region: layers beneath in a tree, each of its nodes against all above.

A node is tried by the first numbers of the rows alone, and so are then the layers of a leaf, all
against all. What the others add to an inner product is at most the product of their lengths. What
is left is tried by all numbers, and at last by where in the region it lies.
"""

from collections.abc import Callable, Iterable, Iterator
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers
from stopgap.layering.pruning.asked import AXES, AskedAbove, asked_of
from stopgap.layering.pruning.nodes import HEAD, REACH, Nodes, in_leaves, nodes_of, weights_of
from stopgap.layering.pruning.regions import Slabs, region_within
from stopgap.layering.pruning.separation import ROUNDED, Above, Beneath, Rows
from stopgap.layering.pruning.voxels import EVERYWHERE, FINEST, Ball

_LEAF = 96  # layers in a leaf at most
_START = 2  # depth, in fours, at which all above are tried at once
_TURN = 3  # depth, after whose nodes finer voxels are thought of
_NARROW, _NARROWED = 0.5, 3  # part of a region that has planes of its own, so often at most
_WIDE = 8192  # layers above that a leaf is tried against at once
_AT_ONCE = 2**13  # pairs
_VAIN = 2**14  # of them, for which finer voxels are worth it, and four times for still finer
_WORTH = 0.75  # of layers above, that are left at most where it is worth to leave the others out
_SOME, _BEST, _TURNS = 128, 3, 6  # layers that seeds are looked for among


Apart = Callable[[Integers, Integers, Floats], Floats]
"""How far layers beneath (a,) and above (b,) of about these X, Y and Z (a, b, 3) are: (a, b)."""


class Pairs(NamedTuple):
    """Layers beneath (n,) in the order of leaves, some twice, the second time as -1; their rows;
    the nodes of each depth, the root first; and layers above (m,).

    A layer above is laid over what is at least as light as its `darkest` (m,), in L*. X, Y and Z
    are `missed` (3,) by so much.
    """

    first: Integers
    beneath: Beneath
    lightness: Floats
    depths: list[Nodes]
    weights: Floats
    second: Integers
    above: Above
    darkest: Floats
    missed: Floats

    @property
    def pairs(self) -> int:
        """How many pairs there are, whether they may be laid or not."""
        return len(self.first) * len(self.second)

    @property
    def nbytes(self) -> int:
        """How many bytes its arrays take."""
        own = self.first, self.lightness, self.second, self.darkest
        every = (
            *own,
            *self.beneath,
            *self.above,
            *(array for nodes in self.depths for array in nodes),
        )
        return sum(array.nbytes for array in every)

    def seeds(self, apart: Apart, many: int) -> tuple[Integers, Integers]:
        """Layers beneath and above of `many` pairs that come near by `apart`: the best of some
        against some, then by turns of all beneath or above against those that did best there.
        """
        lower, upper = (_evenly(len(some), _SOME) for some in (self.first, self.second))
        found = []
        for turn in range(_TURNS):
            near = self._estimated(lower, upper, apart)
            best = _least(near.ravel(), many)
            one, other = np.divmod(best, max(len(upper), 1))
            found.append((self.first[lower[one]], self.second[upper[other]], near.ravel()[best]))
            if turn % 2:
                lower = lower[_least(near.min(axis=1, initial=np.inf), _BEST)]
                upper = np.arange(len(self.second))
            else:
                upper = upper[_least(near.min(axis=0, initial=np.inf), _BEST)]
                lower = np.arange(len(self.first))
        first, second, near = map(np.concatenate, zip(*found, strict=True))
        best = _least(near, many)
        return first[best], second[best]

    def _estimated(self, lower: Integers, upper: Integers, apart: Apart) -> Floats:
        """How far (a, b) layers beneath are with others above, infinite where none may lie so."""
        rows = self.above.rows[upper].reshape(-1, self.above.rows.shape[2])
        seen = (self.beneath.rows[lower] @ rows.T).reshape(len(lower), len(upper), 3)
        near = apart(self.first[lower], self.second[upper], seen + self.above.added[upper])
        laid = self.lightness[lower, np.newaxis] >= self.darkest[upper]
        laid &= self.first[lower, np.newaxis] >= 0
        return np.where(laid, near, np.inf)

    def within(
        self,
        ball: Ball,
        region: Slabs,
        passed: Booleans,
        reach: Callable[[], float],
        told: Callable[[int], object] = int,
    ) -> Iterator[tuple[Integers, Integers, Floats]]:
        """Layers beneath and above of all pairs that may lie in a region and so near, in parts, and
        the least differences they may have; layings (l,) are `passed` over. After every leaf there
        is a part, most often an empty one. What is further than `reach` says meanwhile may be left
        out. `told` is told of how many pairs more it is known.
        """
        if not len(self.first) or not len(self.second):
            return
        last = len(self.depths) - 1
        start, turn = min(_START, last), min(_TURN, last)
        asked, every = self._begun(ball.no_wider(reach()), region, passed, start)
        left = np.arange(0), np.arange(0)
        vain, finer, done = 0, 1, 0
        for node, above in self._below(asked, start, turn, every):
            for leaf, some in self._below(asked, turn, last, [(node, above)]):
                pairs = self._in_leaf(asked, leaf, some)
                one, other = (np.concatenate(parts) for parts in zip(left, pairs))
                whole = len(one) - len(one) % _AT_ONCE
                found = self._tried(asked, one[:whole], other[:whole])
                vain += whole - len(found[0])
                yield found
                left = one[whole:], other[whole:]
                asked = asked.within(reach())
            if finer < len(FINEST) and vain > _VAIN * 4 ** (finer - 1):
                asked, vain, finer = asked.in_voxels(FINEST[finer]), 0, finer + 1
            before, done = done, self.pairs * (node + 1) // 4**turn
            told(done - before)
        yield self._tried(asked, *left)

    def least(self, ball: Ball, region: Slabs, passed: Booleans) -> float:
        """What no difference is below of a pair that may lie in a region; infinite for none."""
        if not len(self.first) or not len(self.second):
            return np.inf
        asked, every = self._begun(ball, region, passed, min(_TURN, len(self.depths) - 1))
        return asked.voxels.least if every else np.inf

    def _begun(
        self, ball: Ball, region: Slabs, passed: Booleans, depth: int
    ) -> tuple[AskedAbove, list[tuple[int, Integers]]]:
        """What is asked, and for each node of a depth the layers above that it may hold one for.

        Where all that may be had lies in a small part of a region, that part has its own planes.
        """
        every = np.flatnonzero(~passed[self.second])
        for turn in range(_NARROWED):
            asked = asked_of(region, ball, self.above, self.weights, self.missed, passed)
            kept, above, ends = self._kept(asked, depth, slice(4**depth), every)
            if not kept.any():
                break
            asked = asked.among(ends)
            if turn == _NARROWED - 1 or asked.region.size > _NARROW * region.size:
                return asked, [(node, above[some]) for node, some in enumerate(kept)]
            narrower = region_within(
                ball.target, ball.limit, region.towards, ball.difference, ball.bound, asked.region
            )
            if narrower is None:
                break
            region = narrower
        return asked, []

    def _below(
        self, asked: AskedAbove, depth: int, until: int, nodes: Iterable[tuple[int, Integers]]
    ) -> Iterator[tuple[int, Integers]]:
        """Nodes of a depth below some with the layers above that they may hold one for."""
        for node, above in nodes:
            if not len(above):
                continue
            if depth == until:
                for start in range(0, len(above), _WIDE):
                    yield node, above[start : start + _WIDE]
                continue
            every, above, _ = self._kept(asked, depth + 1, slice(4 * node, 4 * node + 4), above)
            below = ((4 * node + child, above[kept]) for child, kept in enumerate(every))
            yield from self._below(asked, depth + 1, until, below)

    def _kept(
        self, asked: AskedAbove, depth: int, some: slice, above: Integers
    ) -> tuple[Booleans, Integers, list[tuple[float, float]]]:
        """Whether nodes (q,) of that depth may hold one for each of the layers above, (q, m), these
        without those that none may hold one for, and between what along the axes all of these lie.
        """
        nodes = self.depths[depth].part(some)
        kept = np.asarray(nodes.lightest[:, np.newaxis] >= self.darkest[above])
        every: list[Rows] = []
        for axis in range(AXES):
            rows = asked.rows[axis].take(above, axis=0)
            at, reach = nodes.products(rows)
            kept &= np.abs(at) <= asked.half[axis] + reach
            every += at, reach
            above, kept, every = _without_lost(above, kept, every)
        if asked.voxels is EVERYWHERE:
            return kept, above, [_ends(*parts, kept) for parts in zip(every[::2], every[1::2])]
        asked.meet(kept, every[::2], every[1::2])
        return kept, above, []

    def _in_leaf(self, asked: AskedAbove, leaf: int, above: Integers) -> tuple[Integers, Integers]:
        """Those of the layers of a leaf."""
        size = len(self.first) // 4 ** (len(self.depths) - 1)
        here = slice(leaf * size, (leaf + 1) * size)
        head = np.column_stack([self.beneath.rows[here, :HEAD], np.ones(size, np.float32)])
        tail = self.depths[-1].tail[leaf]
        kept = np.asarray(self.lightness[here, np.newaxis] >= self.darkest[above])
        every: list[Rows] = []
        for axis in range(AXES):
            rows = asked.rows[axis].take(above, axis=0)
            at, reach = head @ rows[:, REACH:].T, tail * rows[np.newaxis, :, REACH - 1]
            kept &= np.abs(at) <= asked.half[axis] + reach
            every += at, reach
            above, kept, every = _without_lost(above, kept, every)
        asked.meet(kept, every[::2], every[1::2])
        lower, upper = np.divmod(np.flatnonzero(kept), max(len(above), 1))
        numbers = self.first[here][lower]
        once = (numbers >= 0) & ~asked.passed[numbers]
        return leaf * size + lower[once], above[upper[once]]

    def _tried(
        self, asked: AskedAbove, lower: Integers, upper: Integers
    ) -> tuple[Integers, Integers, Floats]:
        """Those layings, of places among layers beneath and above, that may be as near by all
        numbers, and the least differences they may have.
        """
        found = [(self.first[:0], self.second[:0], np.zeros(0))]
        for begin in range(0, len(lower), _AT_ONCE):
            one, other = lower[begin : begin + _AT_ONCE], upper[begin : begin + _AT_ONCE]
            seen = np.einsum("pr,pcr->pc", self.beneath.rows[one], self.above.rows[other])
            at = seen @ asked.normals.T + asked.every_added[other]
            reach = self.beneath.left[one, np.newaxis] * asked.left[other]
            kept = ((at - reach <= asked.high) & (at + reach >= asked.low)).all(axis=1)
            one, other, at, reach = one[kept], other[kept], at[kept], reach[kept]
            kept = asked.voxels.met(at[:, :AXES].T - asked.middle, reach[:, :AXES].T + asked.slack)
            one, other, reach = one[kept], other[kept], reach[kept, -3:]
            lower_rows, upper_rows = self.beneath.rows[one], self.above.rows[other]
            seen = np.einsum("pr,pcr->pc", lower_rows, upper_rows, dtype=np.float64)
            off = reach.astype(np.float64) + (self.missed + ROUNDED)
            least = asked.ball.least(seen + self.above.added[other], off)
            kept = least <= asked.ball.limit
            found.append((self.first[one[kept]], self.second[other[kept]], least[kept]))
        first, second, least = map(np.concatenate, zip(*found, strict=True))
        return first, second, least


def _without_lost(
    above: Integers, kept: Booleans, every: list[Rows]
) -> tuple[Integers, Booleans, list[Rows]]:
    """Layers above (m,) and what is known of them, (q, m), but those of which nothing is kept."""
    some = np.flatnonzero(kept.any(axis=0))
    if len(some) > _WORTH * len(above):
        return above, kept, every
    return above[some], kept.take(some, axis=1), [one.take(some, axis=1) for one in every]


def _ends(at: Rows, reach: Rows, kept: Booleans) -> tuple[float, float]:
    """Between what lies all that is kept."""
    low = np.min(at - reach, where=kept, initial=np.inf)
    return float(low), float(np.max(at + reach, where=kept, initial=-np.inf))


def _evenly(count: int, many: int) -> Integers:
    """About so many of the numbers up to `count`."""
    return np.arange(0, count, max(1, count // many))


def _least(values: Floats, many: int) -> Integers:
    """Where the least of values (n,) stand, infinite ones left out."""
    many = min(many, len(values))
    places = np.argpartition(values, many - 1)[:many] if many else np.arange(0)
    return places[np.isfinite(values[places])]


def pairs_of(
    first: Integers,
    beneath: Beneath,
    lightness: Floats,
    second: Integers,
    above: Above,
    darkest: Floats,
    missed: Floats,
) -> Pairs:
    """Layers beneath (n,) and above (m,) with their rows, as `Pairs` has them."""
    count = len(first)
    depth = 0
    while count > _LEAF * 4**depth:
        depth += 1
    size = -(-count // 4**depth)
    filled = np.resize(np.arange(count), size * 4**depth)
    order = filled[in_leaves(beneath.rows[filled], above.rows, 4**depth)]
    numbers = np.full(len(order), -1)
    once = np.unique(order, return_index=True)[1]
    numbers[once] = first[order[once]]
    weights = weights_of(above.rows)
    kept = Beneath(beneath.rows[order], beneath.left[order])
    depths = [nodes_of(kept, lightness[order], 4**level, weights) for level in range(depth + 1)]
    return Pairs(numbers, kept, lightness[order], depths, weights, second, above, darkest, missed)
