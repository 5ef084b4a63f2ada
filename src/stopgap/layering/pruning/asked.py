"""Layers above as a region asks for them: along its normals, as nodes beneath are tried."""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats
from stopgap.layering.pruning.nodes import asked_of_nodes
from stopgap.layering.pruning.regions import Slabs
from stopgap.layering.pruning.separation import Above, Rows
from stopgap.layering.pruning.voxels import EVERYWHERE, FINEST, Ball, Voxels

AXES = 3
"""Of a region, that nodes and leaves are tried by."""
ROUNDING = 2e-5
"""Of single precision, in inner products up to 2."""
_NEARLY = 0.99


class AskedAbove(NamedTuple):
    """Layers above along the normals of a region, as nodes are tried: of each of the first axes the
    `rows` (m, e) that `asked_of_nodes` has, off the `middle` (3, 1) of the region, which is `half`
    (3,) as wide. Of all normals how much is `left` and added (m, d), and between what all is to lie
    (d,), known along the axes but for a `slack` (3, 1). Layings (l,) are `passed` over. Of the
    region, or the part of it where any are, there are `voxels`.
    """

    rows: list[Rows]
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
    region: Slabs
    voxels: Voxels = EVERYWHERE

    def among(self, ends: Sequence[tuple[float, float]]) -> "AskedAbove":
        """With voxels of the part of the region where any are, between `ends` (3, 2)."""
        low, high = (self.middle + ends).T + self.slack.T * [[-1.0], [1.0]]
        whole = self.region
        region = whole._replace(
            low=np.concatenate([np.maximum(whole.low[:AXES], low), whole.low[AXES:]]),
            high=np.concatenate([np.minimum(whole.high[:AXES], high), whole.high[AXES:]]),
        )
        return self._replace(region=region).in_voxels(FINEST[0])

    def in_voxels(self, finest: int) -> "AskedAbove":
        """With voxels of so many each way at most."""
        voxels = self.ball.voxels(self.region, self.slack[:, 0].astype(np.float64), finest)
        return self._replace(voxels=voxels._replace(low=voxels.low - self.middle[:, 0]))

    def within(self, limit: float) -> "AskedAbove":
        """With a ball that is no wider; voxels stay until finer ones are asked for."""
        return self._replace(ball=self.ball.no_wider(limit))

    def meet(self, kept: Booleans, at: Sequence[Rows], reach: Sequence[Rows]) -> None:
        """Keep, in place, only what meets a live voxel, by where it is along the axes, each (q, m),
        and how far it may be off, (q, m) or (1, m).
        """
        places = np.flatnonzero(kept)
        middle = np.stack([one.ravel()[places] for one in at])
        furthest = [one.max(initial=0.0) + slack for one, slack in zip(reach, self.slack[:, 0])]
        if (furthest < _NEARLY * self.voxels.step).all():
            near = self.voxels.near(middle)
            kept.ravel()[places[~near]] = False
            places, middle = places[near], middle[:, near]
        within = np.unravel_index(places, kept.shape)
        off = np.stack([np.broadcast_to(one, kept.shape)[within] for one in reach]) + self.slack
        kept.ravel()[places] = self.voxels.met(middle, off)


def asked_of(
    region: Slabs,
    ball: Ball,
    above: Above,
    weights: Floats,
    missed: Floats,
    passed: Booleans,
) -> AskedAbove:
    """What is asked of layers above, of which X, Y and Z of pairs are `missed` (3,) by so much."""
    normals = region.normals.astype(np.float32)
    products = np.einsum("dc,mce,de->md", region.normals, above.left, region.normals, optimize=True)
    left = np.sqrt(np.maximum(products, 0.0)).astype(np.float32)
    added = (above.added @ region.normals.T).astype(np.float32)
    slack = ROUNDING + np.abs(region.normals) @ missed
    low, high = region.low - slack, region.high + slack
    middle, half = (low + high)[:AXES] / 2.0, (high - low)[:AXES] / 2.0
    away = added[:, :AXES] - middle.astype(np.float32)
    rows = [
        asked_of_nodes(
            np.einsum("c,mcr->mr", normals[axis], above.rows), left[:, axis], away[:, axis], weights
        )
        for axis in range(AXES)
    ]
    return AskedAbove(
        rows,
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
        region,
    )
