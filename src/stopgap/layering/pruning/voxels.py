"""Which colours of a region may lie as near to a target as is asked, looked up in a table.

A region of far colours is bent like a shell, and planes around it leave much within that is further
than is asked. So what lies between its first three pairs of planes is cut into voxels, and each is
live that may hold a colour as near. Those that lie well within are so as a whole; the others are
halved each way while they are much wider than a colour is known. How many of those are live that a
box of any size meets is known by sums from the first corner on (F. C. Crow 1984, Computer Graphics
18(3), 207-212).
"""

from collections.abc import Callable
from itertools import product
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from stopgap.arrays import Booleans, Floats
from stopgap.colorimetry.cielab import lab_of
from stopgap.difference.bounds.boxes import LowerBound
from stopgap.difference.bounds.covers import least_of
from stopgap.layering.pruning.regions import Slabs

_COARSEST = 8  # voxels each way
FINEST = 32, 64, 128
"""At most, and where much is in vain looked at that lies in such."""
_WIDE = 2.0  # times as wide as a colour is known, and more, are halved
_HAIR = 1e-9
_BEYOND = 1.0 + 1e-6  # how far a bound is lowered, for rounding
_EIGHT = np.array(list(product((0, 1), repeat=3)))
_OF_F = np.array([(0.0, 116.0, 0.0), (500.0, -500.0, 0.0), (0.0, 200.0, -200.0)])
"""L*, a* and b* of the functions f of X, Y and Z, but for -16 of L*."""


Singles = npt.NDArray[np.float32]


class Voxels(NamedTuple):
    """How many are live before each corner (v + 1, v + 1, v + 1), from the corner `low` (3,) on in
    steps (3,) along the axes of a region, and which are live or `beside` one that is (v, v, v). No
    colour of one that is live is nearer than `least`.
    """

    low: Floats
    step: Floats
    before: npt.NDArray[np.int32]
    beside: Booleans
    least: float

    def near(self, at: Singles) -> Booleans:
        """Whether `at` (3, m) lies in a live one or beside one. None else is met that reaches less
        than a step.
        """
        voxels = len(self.beside)
        place = np.zeros(at.shape[1], dtype=np.intp)
        for values, low, step in zip(at, self.low, self.step):
            along = (values - np.float32(low)) * np.float32(1.0 / step)
            np.clip(along, np.float32(0.0), np.float32(voxels - 1), out=along)
            place *= voxels
            place += along.astype(np.intp)
        return self.beside.ravel()[place]

    def met(self, at: Singles, reach: Singles) -> Booleans:
        """Whether boxes around `at` (3, m) that reach so far (3, m) each way meet a live one."""
        corners = len(self.before)
        start, end = [], []
        for axis, size in enumerate((corners**2, corners, 1)):
            places = at[axis] - self.low[axis], 1.0 / self.step[axis]
            first = np.clip((places[0] - reach[axis]) * places[1], 0.0, corners - 1)
            last = np.clip((places[0] + reach[axis]) * places[1] + 1.0, 0.0, corners - 1)
            start.append(first.astype(np.intp) * size)
            end.append(last.astype(np.intp) * size)
        before = self.before.ravel()
        live = np.zeros(at.shape[1], dtype=np.int32)
        for x, y, sign in ((end, end, 1), (end, start, -1), (start, end, -1), (start, start, 1)):
            row = x[0] + y[1]
            live += sign * (before[row + end[2]] - before[row + start[2]])
        return live > 0


_NONE = np.zeros((2, 2, 2), dtype=np.int32)
EVERYWHERE = Voxels(np.zeros(3), np.ones(3), _NONE, np.ones((1, 1, 1), dtype=np.bool_), 0.0)
"""Where no voxel is known yet."""


class Ball(NamedTuple):
    """What is asked for: colours whose `difference` from a target (3,) is at most `limit`, as its
    `bound` over boxes of colours tells.
    """

    target: Floats
    limit: float
    difference: Callable[[Floats, Floats], Floats]
    bound: LowerBound

    def no_wider(self, limit: float) -> "Ball":
        """The same up to a limit that may be less."""
        return self._replace(limit=min(self.limit, limit))

    def least(self, tristimulus: Floats, off: Floats) -> Floats:
        """What no difference (m,) is below of colours whose X, Y, Z (m, 3) may be so much `off`."""
        return self._of(_boxes(tristimulus, np.eye(3), off))

    def voxels(self, region: Slabs, known: Floats, finest: int) -> Voxels:
        """Those of a region that may hold such a colour; along the axes, cut into `finest` at most,
        colours are `known` but for so much (3,).
        """
        turned = np.asarray(np.linalg.inv(region.normals[:3]), dtype=np.float64)
        low, wide = region.low[:3], np.maximum((region.high - region.low)[:3], _HAIR)
        many = _COARSEST
        live = np.zeros((many,) * 3, dtype=np.bool_)
        places = np.argwhere(~live)
        nearest = np.inf
        while True:
            half = wide / many / 2.0 + _HAIR
            middle = (low + (places + 0.5) * (wide / many)) @ turned.T
            at = middle @ region.normals.T
            reach = np.abs(region.normals @ turned) @ half
            kept = ((at - reach <= region.high) & (at + reach >= region.low)).all(axis=1)
            places, middle = places[kept], middle[kept]
            least = self._of(_boxes(middle, turned, half))
            kept = least <= self.limit
            places, middle, least = places[kept], middle[kept], least[kept]
            live[tuple(places.T)] = True
            if many >= finest or (2.0 * half <= _WIDE * known).all():
                nearest = min(nearest, least.min(initial=np.inf))
                break
            within = 2.0 * self.difference(self.target, lab_of(middle)) - least <= self.limit
            corners = places[within, np.newaxis] + _EIGHT  # where a hue is lost it may end within
            ends = lab_of((low + corners * (wide / many)) @ turned.T)
            within[within] = (self.difference(self.target, ends) <= self.limit).all(axis=1)
            nearest = min(nearest, least[within].min(initial=np.inf))
            places = places[~within]
            live[tuple(places.T)] = False
            live = live.repeat(2, axis=0).repeat(2, axis=1).repeat(2, axis=2)
            places = (2 * places[:, np.newaxis] + _EIGHT).reshape(-1, 3)
            many *= 2
        before = np.zeros((many + 1,) * 3, dtype=np.int32)
        before[1:, 1:, 1:] = live.cumsum(axis=0).cumsum(axis=1).cumsum(axis=2)
        return Voxels(low, wide / many, before, _with_beside(live), float(nearest))

    def _of(self, boxes: Floats) -> Floats:
        return least_of(boxes, self.target, self.bound, self.limit * _BEYOND) / _BEYOND


def _with_beside(live: Booleans) -> Booleans:
    """Those that are live (v, v, v), and those beside them."""
    for axis in range(3):
        turned = np.moveaxis(live, axis, 0)
        wider = turned.copy()
        wider[1:] |= turned[:-1]
        wider[:-1] |= turned[1:]
        live = np.moveaxis(wider, 0, axis)
    return np.ascontiguousarray(live)


def _boxes(middle: Floats, turned: Floats, half: Floats) -> Floats:
    """Boxes (m, 3, 2) of L*, a* and b* around all colours whose X, Y and Z are off the `middle`
    (m, 3) by what `turned` (3, 3) makes of up to `half` (3,) or (m, 3) each way.

    The function f of these is bent downwards everywhere: it lies below its tangent, most so at an
    end.
    """
    lab = lab_of(middle)
    f = _f_of(lab)
    slope = 1.0 / np.where(f > 6.0 / 29.0, 3.0 * f**2, 108.0 / 841.0)
    along = np.abs((_OF_F * slope[:, np.newaxis]) @ turned)
    reach = (along * np.broadcast_to(half, middle.shape)[:, np.newaxis]).sum(axis=-1)
    most = half @ np.abs(turned).T
    below = np.zeros_like(f)
    for moved in (-most, most):
        np.maximum(below, f + slope * moved - _f_of(lab_of(middle + moved)), out=below)
    lower = lab - reach - below @ np.maximum(_OF_F, 0.0).T - _HAIR
    upper = lab + reach + below @ np.maximum(-_OF_F, 0.0).T + _HAIR
    return np.stack([lower, upper], axis=-1)


def _f_of(lab: Floats) -> Floats:
    f_Y = (lab[:, 0] + 16.0) / 116.0
    return np.stack([f_Y + lab[:, 1] / 500.0, f_Y, f_Y - lab[:, 2] / 200.0], axis=-1)
