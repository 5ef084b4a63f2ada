"""Which pairs may lie near any of many colours: each is looked up once in a table.

For one colour a tree rules pairs out (`descent`). For a hundred it would be descended a hundred
times, though they ask for much the same: then the inner product of every pair is worked out, which
takes some nanoseconds, and it is looked up whether anything is asked for where it lies.
"""

from collections.abc import Callable, Iterator
from itertools import product
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers
from stopgap.colorimetry.cielab import lab_of, relative_tristimulus
from stopgap.layering.pruning.asked import ROUNDING
from stopgap.layering.pruning.descent import Pairs
from stopgap.layering.pruning.separation import Rows

_FINEST = 0.25  # size of a voxel in L*, a*, b* at least
_MOST = 128  # of them each way
_HAIR = 2e-3  # of L*, a*, b* in single precision
_WIDER = 4.0  # times as much is missed from one table to the next
_AT_ONCE = 2**16  # pairs: what is in between stays in a cache
_KNEE = np.float32(6.0 / 29.0)
_STEEPEST = np.float32(841.0 / 108.0)


class Sieve(NamedTuple):
    """Voxels (v, v, v) from a corner (3,) of L*, a*, b* on in steps (3,), and which of them are
    `live`; those at the ends are not.
    """

    low: Floats
    step: Floats
    live: Booleans

    @classmethod
    def of(cls, boxes: Floats, off: Floats) -> "Sieve":
        """Live where colours may lie whose X, Y and Z are at most so far `off` (3,) those of
        colours in boxes (m, 3, 2) of L*, a*, b*.
        """
        boxes = _widened(boxes, off)
        least, most = boxes[..., 0].min(axis=0), boxes[..., 1].max(axis=0)
        step = np.maximum((most - least) / (_MOST - 2), _FINEST)
        low = least - step
        shape = np.ceil((most - low) / step).astype(int) + 2
        ends = np.floor((boxes - low[:, np.newaxis]) / step[:, np.newaxis]).astype(int)
        ends[..., 1] += 1
        many = np.zeros(shape, dtype=np.int32)
        for corner in product((0, 1), repeat=3):
            place = np.ravel_multi_index(tuple(ends[:, np.arange(3), corner].T), shape)
            sign = -1 if sum(corner) % 2 else 1
            many += sign * np.bincount(place, minlength=many.size).reshape(shape).astype(np.int32)
        for axis in range(3):
            np.cumsum(many, axis=axis, out=many)
        return cls(low, step, many > 0)

    def near(self, X: Rows, Y: Rows, Z: Rows) -> Integers:
        """Where, of colours (m,), those are that lie in a live one."""
        f_X, f_Y, f_Z = map(_f, (X, Y, Z))
        along = 116.0 * f_Y - 16.0, 500.0 * (f_X - f_Y), 200.0 * (f_Y - f_Z)
        place = np.zeros(X.shape, dtype=np.intp)
        for values, low, step, many in zip(along, self.low, self.step, self.live.shape):
            values -= np.float32(low)
            values *= np.float32(1.0 / step)
            np.clip(values, np.float32(0.0), np.float32(many - 1), out=values)
            place *= many
            place += values.astype(np.intp)
        return np.flatnonzero(self.live.ravel()[place])


def sifted(
    pairs: Pairs, boxes: Floats, passed: Booleans, told: Callable[[int], object]
) -> Iterator[tuple[Integers, Integers]]:
    """Layers beneath and above of all pairs whose colours may lie in boxes (m, 3, 2) of L*, a*, b*,
    in parts; layings (l,) are `passed` over. `told` is told of how many pairs more it is known.
    """
    lower = np.flatnonzero((pairs.first >= 0) & ~passed[pairs.first])
    upper = np.flatnonzero(~passed[pairs.second])
    if not len(lower) or not len(upper) or not len(boxes):
        return
    # pairs of which about as much is missed are looked up in one table
    above = np.sqrt(np.einsum("mcc->mc", pairs.above.left).max(axis=1))
    lower = lower[np.argsort(pairs.beneath.left[lower], kind="stable")]
    upper = upper[np.argsort(above[upper], kind="stable")]
    beneath, above = pairs.beneath.left[lower].astype(np.float64), above[upper]
    rows = [np.ascontiguousarray(pairs.above.rows[upper, axis].T) for axis in range(3)]
    added = pairs.above.added[upper].astype(np.float32)
    many = max(1, _AT_ONCE // len(upper))
    least, most = -1.0, float(pairs.missed.max())
    while least < beneath[-1] * above[-1]:
        sieve = Sieve.of(boxes, pairs.missed + (ROUNDING + most))
        for begin in range(0, len(lower), many):
            some = slice(begin, begin + many)
            missed = beneath[some][-1] * above
            here = slice(*np.searchsorted(missed, (least, most), side="right"))
            if here.start == here.stop:
                continue
            its = pairs.beneath.rows[lower[some]]
            X, Y, Z = (its @ rows[c][:, here] + added[here, c] for c in range(3))
            one, other = np.divmod(sieve.near(X.ravel(), Y.ravel(), Z.ravel()), X.shape[1])
            one, other = lower[some][one], upper[here][other]
            laid = pairs.lightness[one] >= pairs.darkest[other]
            yield pairs.first[one[laid]], pairs.second[other[laid]]
            told(X.size)
        least, most = most, _WIDER * most


def _f(relative: Rows) -> Rows:
    """The function f of CIE L*a*b* of values relative to the perfect diffuser."""
    bright = relative > _KNEE**3
    dark = relative * _STEEPEST + np.float32(4.0 / 29.0)
    return np.where(bright, np.cbrt(relative), dark)


def _widened(boxes: Floats, off: Floats) -> Floats:
    """Boxes (m, 3, 2) of L*, a*, b* around all colours whose X, Y and Z are at most `off` (3,).

    The function f of these is bent downwards everywhere: it is steepest at the lower end.
    """
    (L, _), (a, _), (_, b) = np.moveaxis(boxes, 0, -1)
    lowest = relative_tristimulus(np.stack([L, a, b], axis=-1)) - off
    L, a, b = lab_of(lowest).T
    f_Y = (L + 16.0) / 116.0
    f = np.stack([f_Y + a / 500.0, f_Y, f_Y - b / 200.0])
    d_X, d_Y, d_Z = off[:, np.newaxis] * np.where(f > _KNEE, 1.0 / (3.0 * f**2), _STEEPEST)
    wider = np.stack([116.0 * d_Y, 500.0 * (d_X + d_Y), 200.0 * (d_Y + d_Z)], axis=-1) + _HAIR
    return np.asarray(boxes + wider[..., np.newaxis] * (-1.0, 1.0))
