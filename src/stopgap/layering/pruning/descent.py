"""Which pairs may lie in a region: layers beneath in a tree, each of its nodes against all above.

A node is tried by the first numbers of the rows alone. What the others add to an inner product is
at most the product of their lengths.
"""

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers
from stopgap.layering.pruning.regions import Slabs
from stopgap.layering.pruning.separation import Above, Beneath, Rows

_LEAF = 24  # layers in a leaf at most
_HEAD = 24  # numbers of a row that nodes are tried by
_BOXED = 10  # of these in a box, the others in a ball
_START = 3  # depth, in fours, at which all above are tried at once
_AXES = 3  # of a region, that nodes are tried by
_AT_ONCE = 2**16  # pairs
_ROUNDING = 2e-5  # of single precision, in inner products up to 2


class Nodes(NamedTuple):
    """Nodes (q,) of one depth: middle (q, h) and half width (q, b) of the head of their rows, how
    far the rest of the head is from its middle, the length of the tail, and the lightest L*.
    """

    middle: Rows
    half: Rows
    radius: Rows
    tail: Rows
    lightest: Floats

    def part(self, start: int, end: int) -> "Nodes":
        """Some of them."""
        middle, half, radius, tail, lightest = self
        here = slice(start, end)
        return Nodes(middle[here], half[here], radius[here], tail[here], lightest[here])


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
    second: Integers
    above: Above
    darkest: Floats
    missed: Floats

    def within(self, region: Slabs) -> Iterator[tuple[Integers, Integers]]:
        """Layers beneath and above of all pairs that may lie in it, in parts."""
        if not len(self.first) or not len(self.second):
            return
        asked = _asked(region, self.above, self.darkest, self.missed)
        depth = min(_START, len(self.depths) - 1)
        for node, kept in enumerate(self._kept(asked, depth, 0, 4**depth)):
            yield from self._below(asked, depth, node, np.flatnonzero(kept))

    def _below(
        self, asked: "_Asked", depth: int, node: int, above: Integers
    ) -> Iterator[tuple[Integers, Integers]]:
        """The same below one node, of some of the layers above."""
        if not len(above):
            return
        some = asked.some(above)
        if depth + 1 == len(self.depths):
            yield from self._pairs(asked, some, node, above)
            return
        for child, kept in enumerate(self._kept(some, depth + 1, 4 * node, 4 * node + 4)):
            yield from self._below(asked, depth + 1, 4 * node + child, above[kept])

    def _kept(self, asked: "_Asked", depth: int, start: int, end: int) -> Booleans:
        """Whether nodes (q,) of that depth may hold one for each of the layers above: (q, m)."""
        nodes = self.depths[depth].part(start, end)
        kept = np.asarray(nodes.lightest[:, np.newaxis] >= asked.darkest)
        for axis in range(_AXES):
            head = asked.heads[axis]
            at = nodes.middle @ head.T
            at += asked.added[axis]
            reach = nodes.half @ np.abs(head[:, :_BOXED]).T
            reach += nodes.radius[:, np.newaxis] * asked.rests[axis]
            reach += nodes.tail[:, np.newaxis] * asked.tails[axis]
            kept &= at - reach <= asked.high[axis]
            kept &= at + reach >= asked.low[axis]
        return kept

    def _pairs(
        self, asked: "_Asked", some: "_Asked", leaf: int, above: Integers
    ) -> Iterator[tuple[Integers, Integers]]:
        """Those of the layers of a leaf."""
        size = len(self.first) // 4 ** (len(self.depths) - 1)
        here = slice(leaf * size, (leaf + 1) * size)
        rows, left, numbers = self.beneath.rows[here], self.beneath.left[here], self.first[here]
        head = rows[:, :_HEAD]
        tail = np.hypot(np.linalg.norm(rows[:, _HEAD:], axis=1), left)[:, np.newaxis]
        kept = np.asarray(self.lightness[here, np.newaxis] >= some.darkest)
        kept &= numbers[:, np.newaxis] >= 0
        for axis in range(_AXES):
            at = head @ some.heads[axis].T
            at += some.added[axis]
            reach = tail * some.tails[axis]
            kept &= at - reach <= asked.high[axis]
            kept &= at + reach >= asked.low[axis]
        lower, upper = np.nonzero(kept)
        upper = above[upper]
        for begin in range(0, len(lower), _AT_ONCE):
            one, other = lower[begin : begin + _AT_ONCE], upper[begin : begin + _AT_ONCE]
            seen = np.einsum("pr,pcr->pc", rows[one], self.above.rows[other])
            at = seen @ asked.normals.T + asked.every_added[other]
            reach = left[one, np.newaxis] * asked.left[other]
            near = ((at - reach <= asked.high) & (at + reach >= asked.low)).all(axis=1)
            yield numbers[one[near]], self.second[other[near]]


class _Asked(NamedTuple):
    """Layers above along the normals of a region, as nodes are tried: of each of the first axes the
    `heads` (m, h) of their rows, the lengths of the `rests` of these and of the `tails` (m,), and
    what is `added` (m,). Of all normals how much is `left` and added (m, d), and between what all
    is to lie (d,).
    """

    heads: list[Rows]
    rests: list[Rows]
    tails: list[Rows]
    added: list[Rows]
    darkest: Floats
    normals: Rows
    left: Rows
    every_added: Rows
    low: Floats
    high: Floats

    def some(self, chosen: Integers) -> "_Asked":
        """Some of the layers, as nodes are tried."""
        heads, rests, tails, added = ([one[chosen] for one in parts] for parts in self[:4])
        return self._replace(
            heads=heads, rests=rests, tails=tails, added=added, darkest=self.darkest[chosen]
        )


def _asked(region: Slabs, above: Above, darkest: Floats, missed: Floats) -> _Asked:
    normals = region.normals.astype(np.float32)
    products = np.einsum("dc,mce,de->md", region.normals, above.left, region.normals, optimize=True)
    left = np.sqrt(np.maximum(products, 0.0)).astype(np.float32)
    added = (above.added @ region.normals.T).astype(np.float32)
    heads, rests, tails = [], [], []
    for axis in range(_AXES):
        rows = np.einsum("c,mcr->mr", normals[axis], above.rows)
        heads.append(np.ascontiguousarray(rows[:, :_HEAD]))
        rests.append(np.linalg.norm(rows[:, _BOXED:_HEAD], axis=1))
        tails.append(np.hypot(np.linalg.norm(rows[:, _HEAD:], axis=1), left[:, axis]))
    slack = _ROUNDING + np.abs(region.normals) @ missed
    return _Asked(
        heads,
        rests,
        tails,
        [np.ascontiguousarray(added[:, axis]) for axis in range(_AXES)],
        darkest,
        normals,
        left,
        added,
        region.low - slack,
        region.high + slack,
    )


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
    order = filled[_split(beneath.rows[filled], above.rows, 4**depth)]
    numbers = np.full(len(order), -1)
    once = np.unique(order, return_index=True)[1]
    numbers[once] = first[order[once]]
    kept = Beneath(beneath.rows[order], beneath.left[order])
    depths = [_nodes(kept, lightness[order], 4**level) for level in range(depth + 1)]
    return Pairs(numbers, kept, lightness[order], depths, second, above, darkest, missed)


def _nodes(of: Beneath, lightness: Floats, many: int) -> Nodes:
    rows = of.rows.reshape(many, -1, of.rows.shape[1])
    low, high = rows[..., :_HEAD].min(axis=1), rows[..., :_HEAD].max(axis=1)
    middle = (low + high) / 2
    rest = rows[..., _BOXED:_HEAD] - middle[:, np.newaxis, _BOXED:]
    tails = np.hypot(np.linalg.norm(of.rows[:, _HEAD:], axis=1), of.left)
    return Nodes(
        middle,
        ((high - low) / 2)[:, :_BOXED],
        np.linalg.norm(rest, axis=2).max(axis=1),
        tails.reshape(many, -1).max(axis=1),
        lightness.reshape(many, -1).max(axis=1),
    )


def _split(rows: Rows, above: Rows, leaves: int) -> Integers:
    """The order of rows in the leaves of a balanced tree, halved where they differ most."""
    weight = np.sqrt(np.square(above[..., :_BOXED]).mean(axis=(0, 1)))
    coordinates = np.ascontiguousarray((rows[:, :_BOXED] * weight).T)
    order = np.arange(len(rows))
    nodes = 1
    while nodes < leaves:
        inside = coordinates.reshape(_BOXED, nodes, -1)
        half = inside.shape[2] // 2
        axis = (inside.max(axis=2) - inside.min(axis=2)).argmax(axis=0)
        halved = np.argpartition(inside[axis, np.arange(nodes)], half, axis=1)
        halved += np.arange(nodes)[:, np.newaxis] * inside.shape[2]
        order = order[halved.ravel()]
        coordinates = coordinates[:, halved.ravel()]
        nodes *= 2
    return order
