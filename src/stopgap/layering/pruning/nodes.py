"""The tree of layers beneath: what is known of all layers of a node at once."""

from typing import NamedTuple

import numpy as np

from stopgap.arrays import Floats, Integers
from stopgap.layering.pruning.separation import Beneath, Rows

HEAD = 32
"""Numbers of a row that nodes and leaves are tried by."""
BOXED = 16
"""Of these in a box, the others in a ball."""
REACH = BOXED + 2
"""Of what is asked of nodes, by which they reach off their middles, the tail last."""


class Nodes(NamedTuple):
    """Nodes (q,) of one depth: what inner products of their layers with those above are `about`
    (q, a), and how far off at most, `reach` (q, r), by the rows that are asked for them; and the L*
    of each at most.
    """

    about: Rows
    reach: Rows
    lightest: Floats

    @property
    def tail(self) -> Rows:
        """The length (q,) of the tail of their layers at most."""
        return self.reach[:, -1]

    def part(self, some: slice) -> "Nodes":
        """Some of them."""
        about, reach, lightest = self
        return Nodes(about[some], reach[some], lightest[some])

    def products(self, rows: Rows) -> tuple[Rows, Rows]:
        """What (q, m) inner products with layers above are about, and how far off at most, by
        their `rows` (m, e).
        """
        return self.about @ rows[:, REACH:].T, self.reach @ rows[:, :REACH].T


def nodes_of(of: Beneath, lightness: Floats, many: int) -> Nodes:
    """So many nodes around layers beneath that are in the order of leaves."""
    rows = of.rows.reshape(many, -1, of.rows.shape[1])
    low, high = rows[..., :HEAD].min(axis=1), rows[..., :HEAD].max(axis=1)
    middle = (low + high) / 2
    rest = rows[..., BOXED:HEAD] - middle[:, np.newaxis, BOXED:]
    tails = np.hypot(np.linalg.norm(of.rows[:, HEAD:], axis=1), of.left)
    tail = tails.reshape(many, -1).max(axis=1)
    radius = np.linalg.norm(rest, axis=2).max(axis=1)
    reach = np.column_stack([((high - low) / 2)[:, :BOXED], radius, tail])
    about = np.column_stack([middle, np.ones(many, dtype=np.float32)])
    return Nodes(about, reach, lightness.reshape(many, -1).max(axis=1))


def asked_of_nodes(rows: Rows, left: Rows, added: Rows) -> Rows:
    """Rows (m, r) above along one axis, what is `left` of them (m,) and what is `added` (m,), as
    nodes take them: (m, e), by which they reach, then the head and what is added.
    """
    head = rows[:, :HEAD]
    rest = np.linalg.norm(head[:, BOXED:], axis=1)
    tail = np.hypot(np.linalg.norm(rows[:, HEAD:], axis=1), left)
    return np.column_stack([np.abs(head[:, :BOXED]), rest, tail, head, added])


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
