"""The tree of layers beneath: what is known of all layers of a node at once."""

from typing import NamedTuple

import numpy as np

from stopgap.arrays import Floats, Integers
from stopgap.layering.pruning.separation import Beneath, Rows

HEAD = 24
"""Numbers of a row that nodes and leaves are tried by."""
BOXED = 10
"""Of these in a box, the others in a ball."""


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


def nodes_of(of: Beneath, lightness: Floats, many: int) -> Nodes:
    """So many nodes around layers beneath that are in the order of leaves."""
    rows = of.rows.reshape(many, -1, of.rows.shape[1])
    low, high = rows[..., :HEAD].min(axis=1), rows[..., :HEAD].max(axis=1)
    middle = (low + high) / 2
    rest = rows[..., BOXED:HEAD] - middle[:, np.newaxis, BOXED:]
    tails = np.hypot(np.linalg.norm(of.rows[:, HEAD:], axis=1), of.left)
    return Nodes(
        middle,
        ((high - low) / 2)[:, :BOXED],
        np.linalg.norm(rest, axis=2).max(axis=1),
        tails.reshape(many, -1).max(axis=1),
        lightness.reshape(many, -1).max(axis=1),
    )


def in_leaves(rows: Rows, above: Rows, leaves: int) -> Integers:
    """The order of rows in the leaves of a balanced tree, halved where they differ most."""
    weight = np.sqrt(np.square(above[..., :BOXED]).mean(axis=(0, 1)))
    coordinates = np.ascontiguousarray((rows[:, :BOXED] * weight).T)
    order = np.arange(len(rows))
    nodes = 1
    while nodes < leaves:
        inside = coordinates.reshape(BOXED, nodes, -1)
        half = inside.shape[2] // 2
        axis = (inside.max(axis=2) - inside.min(axis=2)).argmax(axis=0)
        halved = np.argpartition(inside[axis, np.arange(nodes)], half, axis=1)
        halved += np.arange(nodes)[:, np.newaxis] * inside.shape[2]
        order = order[halved.ravel()]
        coordinates = coordinates[:, halved.ravel()]
        nodes *= 2
    return order
