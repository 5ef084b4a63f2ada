"""Which X, Y and Z a colour near a target may have: what lies between some pairs of planes."""

from collections.abc import Callable
from itertools import product
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Floats
from stopgap.colorimetry.cielab import lab_of, relative_tristimulus
from stopgap.difference import delta_E_ciede2000
from stopgap.difference.bounds.boxes import LowerBound
from stopgap.difference.bounds.ciede2000 import bound_ciede2000
from stopgap.difference.bounds.covers import cover, halved, within

_FINEST = 0.5, 0.05  # boxes of the cover: part of the difference, and L*, a*, b* at least
_STEP = 1e-4  # of X, Y and Z, by which slopes are taken
_DARKEST = 0.002  # X, Y and Z at which slopes are taken
_ROUNDS, _AT_ONCE = 8, 2048  # in which so many boxes that reach too far are halved
_CLOSE, _CLOSEST = 0.05, 0.005  # of the width, along any normal and the first: what is too far
_HAIR = 1e-9
_EVERY = [one for one in product((0, 1, -1), repeat=3) if next(filter(None, one), 0) == 1]
_MIXED = sorted(_EVERY, key=lambda one: (sum(map(abs, one)), [-each for each in one]))


class Slabs(NamedTuple):
    """Normals (d, 3) of pairs of planes, and between which products (d,) with X, Y, Z it lies. The
    first three are axes, about the colour `towards` (3,), and the others mixed of these; the last
    three are X, Y and Z.
    """

    normals: Floats
    low: Floats
    high: Floats
    towards: Floats

    @property
    def size(self) -> float:
        """The volume of what lies between the first three pairs of planes."""
        wide = np.prod((self.high - self.low)[:3])
        return float(wide / max(abs(np.linalg.det(self.normals[:3])), _HAIR))

    def part_of(
        self, difference: Callable[[Floats, Floats], Floats], bound: LowerBound
    ) -> tuple[Callable[[Floats, Floats], Floats], LowerBound]:
        """A difference and its bound, of what lies between the planes; infinite of all else."""

        def apart(target: Floats, lab: Floats) -> Floats:
            at = relative_tristimulus(lab) @ self.normals.T
            here = ((at >= self.low) & (at <= self.high)).all(axis=-1)
            return np.where(here, difference(target, lab), np.inf)

        def least(target: Floats, rows: Floats) -> Floats:
            boxes = rows[..., :6].reshape(-1, 3, 2)
            high, low = _reached(self.normals, boxes), -_reached(-self.normals, boxes)
            here = ((high >= self.low) & (low <= self.high)).all(axis=-1).reshape(rows.shape[:-1])
            found = np.full(here.shape, np.inf)
            found[here] = bound(target, rows[here])
            return found

        return apart, least


def region_within(
    target: Floats,
    limit: float,
    towards: Floats,
    difference: Callable[[Floats, Floats], Floats] = delta_E_ciede2000,
    bound: LowerBound = bound_ciede2000,
    among: Slabs | None = None,
) -> Slabs | None:
    """What holds every colour whose difference from the `target` (3,) is at most `limit`, by its
    lower bound over boxes, and that is `among` what lies in another; None where by that there is
    none.

    Axes are L*, a* and b* about the colour `towards` (3,), but for one: across the plane on which
    the difference is as large as of it. Where all that can be had lies beyond the target on one
    side, it keeps most of that out.
    """
    slope = difference
    if among is not None:
        difference, bound = among.part_of(difference, bound)
    boxes = cover(target, limit, bound, finest=max(_FINEST[0] * limit, _FINEST[1]))
    if not len(boxes):
        return None
    wide = boxes[..., 1].max(axis=0) - boxes[..., 0].min(axis=0)
    axes = _slopes(towards, lambda lab: lab) / wide[:, np.newaxis]
    (away,) = _slopes(towards, lambda lab: slope(target, lab)[..., np.newaxis])
    share = np.linalg.solve(axes.T, away if np.isfinite(away).all() else 0.0 * axes[0])
    if np.abs(share).max() > 0.0:  # of each axis
        nearest = int(np.abs(share).argmax())
        axes = np.stack([away / np.abs(share).max(), *np.delete(axes, nearest, axis=0)])
    normals = np.array(_MIXED) @ axes
    normals /= np.abs(normals).max(axis=1, keepdims=True)
    normals = np.concatenate([normals, np.eye(3)])
    both = np.concatenate([normals, -normals])
    highest, lowest = np.split(_highest(both, boxes, target, limit, difference, bound), 2)
    if not np.isfinite(highest).all():
        return None
    return Slabs(normals, -lowest - _HAIR, highest + _HAIR, towards)


def _highest(
    normals: Floats,
    boxes: Floats,
    target: Floats,
    limit: float,
    difference: Callable[[Floats, Floats], Floats],
    bound: LowerBound,
) -> Floats:
    """How far (d,) colours in boxes (m, 3, 2) of Lab, and as near as that, reach at most.

    Boxes are halved each way that reach much farther than some colour does that is as near.
    """
    close = np.full(len(normals), _CLOSE)
    close[0] = _CLOSEST
    reached, attained = _reached(normals, boxes), normals @ relative_tristimulus(target)
    for _ in range(_ROUNDS):
        wide = np.maximum(reached.max(axis=0, initial=-np.inf), attained)
        wide = wide + np.roll(wide, len(wide) // 2)
        off = ((reached - attained) / (close * wide)).max(axis=1)
        far = np.flatnonzero(off > 1.0)
        if not len(far):
            break
        far = far[np.argsort(-off[far])[:_AT_ONCE]]
        parts = boxes[far]
        for axis in range(3):
            parts = halved(parts, axis)
        parts = within(parts, target, limit, bound)
        middle = parts.mean(axis=2)
        inside = relative_tristimulus(middle[difference(target, middle) <= limit]) @ normals.T
        attained = np.maximum(attained, inside.max(axis=0, initial=-np.inf))
        boxes = np.concatenate([np.delete(boxes, far, axis=0), parts])
        reached = np.concatenate([np.delete(reached, far, axis=0), _reached(normals, parts)])
    return np.asarray(reached.max(axis=0, initial=-np.inf))


def _slopes(lab: Floats, function: Callable[[Floats], Floats]) -> Floats:
    """How a function of L*, a*, b* changes with X, Y and Z at a colour (3,): (..., 3)."""
    here = np.maximum(relative_tristimulus(lab), _DARKEST)
    moved = lab_of(here + _STEP * here[:, np.newaxis] * np.eye(3))
    with np.errstate(invalid="ignore"):
        return np.asarray((function(moved) - function(lab_of(here))).T / (_STEP * here))


def _reached(normals: Floats, boxes: Floats) -> Floats:
    """How far (m, d) boxes (m, 3, 2) of Lab reach at most along normals (d, 3).

    X, Y and Z are taken as straight over each box. Their second derivative by f is from 0 to 6 f.
    """
    middle, half = boxes.mean(axis=2), (boxes[..., 1] - boxes[..., 0]) / 2.0
    f_Y = (middle[:, 0] + 16.0) / 116.0
    f = np.stack([f_Y + middle[:, 1] / 500.0, f_Y, f_Y - middle[:, 2] / 200.0], axis=-1)
    reach = half / (116.0, 500.0, 200.0)
    by_f = np.stack([reach[:, 0] + reach[:, 1], reach[:, 0], reach[:, 0] + reach[:, 2]], axis=-1)
    slope = np.where(f > 6.0 / 29.0, 3.0 * f**2, 108.0 / 841.0)
    turned = slope @ normals.T
    along = np.abs(turned) * reach[:, :1]
    along += np.abs(slope[:, :1] * normals[:, 0]) * reach[:, 1:2]
    along += np.abs(slope[:, 2:] * normals[:, 2]) * reach[:, 2:]
    bent = 3.0 * np.maximum(f + by_f, 6.0 / 29.0) * by_f**2
    at = relative_tristimulus(middle) @ normals.T
    return np.asarray(at + along + bent @ np.abs(normals.T))
