"""The tree of layers beneath: what is known of all layers of a node at once."""

from typing import NamedTuple

import numpy as np

from stopgap.arrays import Floats, Integers
from stopgap.layering.pruning.separation import Beneath, Rows

HEAD = 32
"""Numbers of a row that nodes and leaves are tried by."""
REACH = 2
"""Of what is asked of nodes, by which they reach off their middles, the tail last."""
_ALONG = 6  # directions that a node is boxed in by itself, of all others there is a ball
_HALVED = 16  # numbers that nodes are halved by


class Nodes(NamedTuple):
    """Nodes (q,) of one depth: what inner products of their layers with those above are `about`
    (q, a), and how far off at most: along some directions, `spread` (q, k, HEAD), and by the
    lengths of what is asked for them (q, REACH); and the L* of each at most.
    """

    about: Rows
    spread: Rows
    reach: Rows
    lightest: Floats

    @property
    def tail(self) -> Rows:
        """The length (q,) of the tail of their layers at most."""
        return self.reach[:, -1]

    def part(self, some: slice) -> "Nodes":
        """Some of them."""
        about, spread, reach, lightest = self
        return Nodes(about[some], spread[some], reach[some], lightest[some])

    def products(self, rows: Rows) -> tuple[Rows, Rows]:
        """What (q, m) inner products with layers above are about, and how far off at most, by
        their `rows` (m, e).
        """
        head = rows[:, REACH:].T
        along = np.abs(self.spread.reshape(-1, HEAD) @ head[:HEAD])
        reach = along.reshape(*self.spread.shape[:2], -1).sum(axis=1)
        reach += self.reach @ rows[:, :REACH].T
        return self.about @ head, reach


def nodes_of(of: Beneath, lightness: Floats, many: int, weights: Floats) -> Nodes:
    """So many nodes around layers beneath that are in the order of leaves; numbers of a row count
    as the `weights` (HEAD,).

    The directions are those in which the layers of a node differ most.
    """
    rows = of.rows.reshape(many, -1, of.rows.shape[1])[..., :HEAD] * weights
    middle = rows.mean(axis=1, keepdims=True)
    off = rows - middle
    turned = np.linalg.eigh(off.swapaxes(1, 2) @ off)[1][..., : -_ALONG - 1 : -1]
    along = off @ turned
    low, high = along.min(axis=1, keepdims=True), along.max(axis=1, keepdims=True)
    middle += (low + high) / 2.0 @ turned.swapaxes(1, 2)
    spread = ((high - low) / 2.0 * turned).swapaxes(1, 2)
    radius = np.linalg.norm(off - along @ turned.swapaxes(1, 2), axis=2).max(axis=1)
    tails = np.hypot(np.linalg.norm(of.rows[:, HEAD:], axis=1), of.left)
    reach = np.column_stack([radius, tails.reshape(many, -1).max(axis=1)])
    about = np.column_stack([middle[:, 0] / weights, np.ones(many)])
    about, spread, reach = (
        np.asarray(each, dtype=np.float32) for each in (about, spread / weights, reach)
    )
    return Nodes(about, spread, reach, lightness.reshape(many, -1).max(axis=1))


def weights_of(above: Rows) -> Floats:
    """How much each number (HEAD,) of a row beneath counts, by those above (m, 3, r)."""
    usual = np.sqrt(np.square(above[..., :HEAD].astype(np.float64)).mean(axis=(0, 1)))
    return np.asarray(np.sqrt(np.maximum(usual, 1e-9)))


def asked_of_nodes(rows: Rows, left: Rows, added: Rows, weights: Floats) -> Rows:
    """Rows (m, r) above along one axis, what is `left` of them (m,) and what is `added` (m,), as
    nodes take them: (m, e), by which they reach, then the head and what is added.
    """
    head = rows[:, :HEAD]
    rest = np.linalg.norm(head / weights.astype(np.float32), axis=1)
    tail = np.hypot(np.linalg.norm(rows[:, HEAD:], axis=1), left)
    return np.column_stack([rest, tail, head, added])


def in_leaves(rows: Rows, above: Rows, leaves: int) -> Integers:
    """The order of rows in the leaves of a balanced tree, halved where they differ most."""
    weight = np.sqrt(np.square(above[..., :_HALVED]).mean(axis=(0, 1)))
    coordinates = np.ascontiguousarray((rows[:, :_HALVED] * weight).T)
    order = np.arange(len(rows))
    nodes = 1
    while nodes < leaves:
        inside = coordinates.reshape(_HALVED, nodes, -1)
        half = inside.shape[2] // 2
        axis = (inside.max(axis=2) - inside.min(axis=2)).argmax(axis=0)
        halved = np.argpartition(inside[axis, np.arange(nodes)], half, axis=1)
        halved += np.arange(nodes)[:, np.newaxis] * inside.shape[2]
        order = order[halved.ravel()]
        coordinates = coordinates[:, halved.ravel()]
        nodes *= 2
    return order
