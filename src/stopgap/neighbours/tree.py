"""A balanced tree of boxes over colours, split at medians.

The nodes are numbered as in a heap: 1 is the root, 2 i and 2 i + 1 are the halves of i, and the
`leaves` last ones hold `size` colours each. So the tree has no pointers, all nodes of one depth
lie together, and the build works on whole depths at once. Where the colours do not fill the
leaves, some are there twice; the second time with row -1, which is never an answer.

It is split in coordinates where steps look about alike, L* and the hue plane with chroma compressed
as the weight 1 + 0.045 C* of CIE 1994 and CIEDE2000 does; any split gives right answers, this one
gives boxes that are as wide in every direction.

scikit-learn's KDTree over the same coordinates takes as long to build, without the boxes of chroma
and hue that the bounds need, and importing it as long as building a tree over a million colours.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from stopgap.arrays import Floats, Integers
from stopgap.difference.bounds.boxes import BOX_COLUMNS, enclose, join
from stopgap.errors import InputError

_LEAF = 16  # colours in a leaf at most
_SAMPLE = 32  # colours of a node that its longest side is judged by
_BLOCK = 2**16  # colours enclosed at once

Rows = npt.NDArray[np.int32]

_KEPT = {"lab": "f8", "rows": "i4", "boxes": "f8", "axes": "i1", "values": "f8"}


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Tree:
    """Colours in the order of the leaves, and a box around each node.

    `lab` (leaves × size, 3); `rows`, the row of each in the array it was built from; `boxes`
    (2 leaves, BOX_COLUMNS); the splits of the inner nodes: `axes`, and `values` in the coordinates
    of `even`. It has `count` colours, not counting any twice. Never changed once built, so that
    many threads may read it.
    """

    lab: Floats
    rows: Rows
    boxes: Floats
    axes: npt.NDArray[np.int8]
    values: Floats
    size: int
    count: int

    @property
    def leaves(self) -> int:
        """Their number, a power of 2."""
        return len(self.axes)

    @property
    def depth(self) -> int:
        """Halvings from the root to a leaf."""
        return self.leaves.bit_length() - 1

    @property
    def nbytes(self) -> int:
        """Memory of all arrays [bytes]."""
        arrays = (self.lab, self.rows, self.boxes, self.axes, self.values)
        return sum(array.nbytes for array in arrays)

    def to_arrays(self) -> dict[str, npt.NDArray[Any]]:
        """Its arrays by name, for `from_arrays`."""
        return {name: getattr(self, name) for name in _KEPT}

    @classmethod
    def from_arrays(cls, arrays: Mapping[str, npt.NDArray[Any]]) -> "tuple[Tree, Floats]":
        """The tree that `to_arrays` gave, and its colours (count, 3) in the order of their rows.

        Raises
        ------
        InputError
            Where types and shapes do not go together, or a row is missing.
        """
        try:
            lab, rows, boxes, axes, values = (
                np.asarray(arrays[name]).astype(kind, casting="equiv", copy=False)
                for name, kind in _KEPT.items()
            )
        except (KeyError, TypeError) as error:
            raise InputError("arrays: expected those of a tree, of its types.") from error
        leaves, size = max(1, len(axes)), len(rows) // max(1, len(axes))
        slots = np.flatnonzero(rows >= 0)
        count = len(slots)
        slot_of = np.full(count, -1, dtype=np.intp)
        if count > 0 and rows.max() < count:
            slot_of[rows[slots]] = slots
        fits = (
            lab.shape == (leaves * size, 3)
            and leaves & (leaves - 1) == 0
            and boxes.shape == (2 * leaves, BOX_COLUMNS)
            and axes.shape == values.shape == (leaves,)
            and count > 0
            and bool(((axes >= 0) & (axes < 3)).all())
            and bool((slot_of >= 0).all())
        )
        if not fits:
            raise InputError("arrays: shapes or rows are not those of a tree.")
        tree = cls(lab, rows, boxes, axes, values, size, count)
        return tree, lab.take(slot_of, axis=0)

    def leaf_of(self, targets: Floats) -> Integers:
        """The leaves (m,), counted from 0, on whose side of every split the targets (m, 3) lie."""
        point = even(targets)
        each = np.arange(len(point))
        node = np.ones(len(point), dtype=np.intp)
        for _ in range(self.depth):
            node = 2 * node + (point[each, self.axes[node]] > self.values[node])
        return node - self.leaves


def build_tree(lab: Floats, rows: Integers) -> Tree:
    """The tree over the colours of `rows` in `lab` (n, 3), at least one. O(n log n) time."""
    count = len(rows)
    leaves = 2 ** (-(-count // _LEAF) - 1).bit_length()
    size = -(-count // leaves)
    filled = np.concatenate([rows, rows[: leaves * size - count]])
    order, axes, values = _split(even(lab[filled]).astype(np.float32), leaves)
    colours = lab[filled[order]]
    row_of = np.where(order < count, filled[order], -1).astype(np.int32)
    return Tree(colours, row_of, _boxes(colours, leaves, size), axes, values, size, count)


def even(lab: Floats) -> Floats:
    """Lab (..., 3) with chroma compressed to the integral of 1/(1 + 0.045 C*ab)."""
    chroma = 0.045 * np.hypot(lab[..., 1], lab[..., 2])
    factor = np.divide(np.log1p(chroma), chroma, out=np.ones_like(chroma), where=chroma > 0.0)
    return np.stack([lab[..., 0], factor * lab[..., 1], factor * lab[..., 2]], axis=-1)


def _split(
    points: npt.NDArray[np.float32], leaves: int
) -> tuple[Integers, npt.NDArray[np.int8], Floats]:
    """The order of `points` in the leaves, and the axis and value of each inner node's split."""
    coordinates = np.ascontiguousarray(points.T)
    order = np.arange(len(points))
    axes, values = np.zeros(leaves, dtype=np.int8), np.zeros(leaves)
    nodes = 1
    while nodes < leaves:
        inside = coordinates.reshape(3, nodes, -1)
        half = inside.shape[2] // 2
        sample = inside[:, :, :: max(1, 2 * half // _SAMPLE)]
        axis = np.argmax(sample.max(axis=2) - sample.min(axis=2), axis=0)
        chosen = inside[axis, np.arange(nodes)]
        halved = np.argpartition(chosen, half, axis=1)
        axes[nodes : 2 * nodes] = axis
        values[nodes : 2 * nodes] = chosen[np.arange(nodes), halved[:, half]]
        halved += np.arange(nodes)[:, np.newaxis] * (2 * half)
        order = order[halved.ravel()]
        coordinates = coordinates[:, halved.ravel()]
        nodes *= 2
    return order, axes, values


def _boxes(colours: Floats, leaves: int, size: int) -> Floats:
    groups = colours.reshape(leaves, size, 3)
    step = max(1, _BLOCK // size)
    blocks = [enclose(groups[start : start + step]) for start in range(0, leaves, step)]
    levels = [np.concatenate(blocks)]
    while len(levels[-1]) > 1:
        levels.append(join(levels[-1][::2], levels[-1][1::2]))
    unused = np.zeros_like(levels[-1])
    return np.concatenate([unused, *reversed(levels)])
