"""Layers above as a region asks for them: along its normals, as nodes beneath are tried."""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers
from stopgap.layering.pruning.nodes import BOXED, HEAD
from stopgap.layering.pruning.regions import Slabs
from stopgap.layering.pruning.separation import Above, Rows
from stopgap.layering.pruning.voxels import EVERYWHERE, Ball, Voxels

AXES = 3
"""Of a region, that nodes and leaves are tried by."""
ROUNDING = 2e-5
"""Of single precision, in inner products up to 2."""


class AskedAbove(NamedTuple):
    """Layers above along the normals of a region, as nodes are tried: of each of the first axes the
    `heads` (m, h) of their rows, the lengths of the `rests` of these and of the `tails` (m,), and
    what is `added` (m,), off the `middle` (3, 1) of the region, which is `half` (3,) as wide. Of
    all normals how much is `left` and added (m, d), and between what all is to lie (d,), known
    along the axes but for a `slack` (3, 1). Layings (l,) are `passed` over.
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
    middle: Rows
    half: Rows
    slack: Rows
    passed: Booleans
    ball: Ball
    voxels: Voxels = EVERYWHERE

    def among(self, region: Slabs, ends: Sequence[tuple[float, float]]) -> "AskedAbove":
        """With voxels of the part of the region where any are, between `ends` (3, 2)."""
        low, high = (self.middle + ends).T + self.slack.T * [[-1.0], [1.0]]
        part = region._replace(
            low=np.concatenate([np.maximum(region.low[:AXES], low), region.low[AXES:]]),
            high=np.concatenate([np.minimum(region.high[:AXES], high), region.high[AXES:]]),
        )
        voxels = self.ball.voxels(part, self.slack[:, 0].astype(np.float64))
        return self._replace(voxels=voxels._replace(low=voxels.low - self.middle[:, 0]))

    def meet(self, kept: Booleans, at: Sequence[Rows], reach: Sequence[Rows]) -> None:
        """Keep, in place, only what meets a live voxel, by where it is along the axes (q, m) and
        how far it reaches.
        """
        places = np.flatnonzero(kept)
        chosen = np.stack([one.ravel()[places] for one in at])
        reaches = np.stack([one.ravel()[places] for one in reach])
        kept.ravel()[places] = self.voxels.met(chosen, reaches + self.slack)

    def some(self, chosen: Integers) -> "AskedAbove":
        """Some of the layers, as nodes are tried."""
        heads, rests, tails, added = ([one[chosen] for one in parts] for parts in self[:4])
        return self._replace(
            heads=heads, rests=rests, tails=tails, added=added, darkest=self.darkest[chosen]
        )


def asked_of(
    region: Slabs,
    ball: Ball,
    above: Above,
    darkest: Floats,
    missed: Floats,
    passed: Booleans,
) -> AskedAbove:
    """What is asked of layers above, of which X, Y and Z of pairs are `missed` (3,) by so much."""
    normals = region.normals.astype(np.float32)
    products = np.einsum("dc,mce,de->md", region.normals, above.left, region.normals, optimize=True)
    left = np.sqrt(np.maximum(products, 0.0)).astype(np.float32)
    added = (above.added @ region.normals.T).astype(np.float32)
    heads, rests, tails = [], [], []
    for axis in range(AXES):
        rows = np.einsum("c,mcr->mr", normals[axis], above.rows)
        heads.append(np.ascontiguousarray(rows[:, :HEAD]))
        rests.append(np.linalg.norm(rows[:, BOXED:HEAD], axis=1))
        tails.append(np.hypot(np.linalg.norm(rows[:, HEAD:], axis=1), left[:, axis]))
    slack = ROUNDING + np.abs(region.normals) @ missed
    low, high = region.low - slack, region.high + slack
    middle, half = (low + high)[:AXES] / 2.0, (high - low)[:AXES] / 2.0
    away = added[:, :AXES] - middle.astype(np.float32)
    return AskedAbove(
        heads,
        rests,
        tails,
        list(np.ascontiguousarray(away.T)),
        darkest,
        normals,
        left,
        added,
        low,
        high,
        middle[:, np.newaxis].astype(np.float32),
        half.astype(np.float32),
        slack[:AXES, np.newaxis].astype(np.float32),
        passed,
        ball,
    )
