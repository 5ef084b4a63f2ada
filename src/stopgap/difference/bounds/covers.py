"""Boxes of Lab that together hold every colour within some difference of a target.

What a lower bound keeps out of a box is out; what is left is halved, until its parts are small.
"""

import numpy as np

from stopgap.arrays import Floats, Integers
from stopgap.difference.bounds.boxes import BOX_COLUMNS, LowerBound

_EVERYWHERE = ((-10.0, 150.0), (-600.0, 600.0), (-300.0, 300.0))
"""What light reflects that is no brighter than 2.5 times a white paper."""

_WEDGES = 12  # of hues
_MOST = 1500  # boxes; no smaller ones then
_HAIR = 1e-12  # radians, for rounding
_BESIDE, _NOT_BESIDE = 2e-9, 1e-6  # radians, beside a hue that boxes are cut at
_BEYOND = 1.0 + 1e-6  # how far a bound is lowered, for what lies between
_NEARLY_HALF = np.sin(0.001 * np.pi)  # of a turn: hues that span more are not told


def cover(target: Floats, limit: float, bound: LowerBound, *, finest: float) -> Floats:
    """Boxes (m, 3, 2), lowest and highest L*, a*, b*, around all colours that the `bound` does not
    prove further than `limit` from `target` (3,); none is halved that is smaller than `finest`.
    """
    return cover_each(target[np.newaxis], np.array([limit]), bound, finest=np.array([finest]))


def cover_each(targets: Floats, limits: Floats, bound: LowerBound, *, finest: Floats) -> Floats:
    """The same of several targets (t, 3), each with its own limit (t,) and size of boxes (t,)."""
    boxes, owner = np.repeat([_EVERYWHERE], len(targets), axis=0), np.arange(len(targets))
    done = [boxes[:0]]
    while len(boxes):
        its = targets[0] if len(targets) == 1 else targets[owner]  # not every bound takes many
        kept = ~(least_of(boxes, its, bound, limits[owner]) > limits[owner])
        boxes, owner = boxes[kept], owner[kept]
        wide = np.zeros((len(targets), 3))
        np.maximum.at(wide, owner, boxes[..., 1] - boxes[..., 0])
        many = np.bincount(owner, minlength=len(targets))
        left = ((wide.max(axis=1) > finest) & (many <= _MOST))[owner]
        done.append(boxes[~left])
        boxes, owner = boxes[left], owner[left]
        boxes, owner = halved(boxes, wide.argmax(axis=1)[owner]), np.tile(owner, 2)
    return np.concatenate(done)


def halved(boxes: Floats, axis: int | Integers) -> Floats:
    """Both halves of boxes (m, 3, 2) along L* (0), a* or b*, or an axis each (m,): (2 m, 3, 2)."""
    lower, upper, rows = boxes.copy(), boxes.copy(), np.arange(len(boxes))
    lower[rows, axis, 1] = upper[rows, axis, 0] = boxes[rows, axis].mean(axis=1)
    return np.concatenate([lower, upper])


def within(boxes: Floats, target: Floats, limit: float, bound: LowerBound) -> Floats:
    """Those boxes (m, 3, 2) that are not proved to be further from `target` (3,)."""
    return np.asarray(boxes[~(least_of(boxes, target, bound, limit) > limit)])


def least_of(
    boxes: Floats, target: Floats, bound: LowerBound, limit: float | Floats = np.inf
) -> Floats:
    """What the bound says (m,) of boxes (m, 3, 2) of L*, a*, b* and a target (3,), or one each.

    Those about the neutral axis are taken wedge by wedge, so that hues are known, and those across
    the hue that is opposite the target's on either side of it, where the mean hue leaps; but for
    such as are proved to be further than `limit` in any case.
    """
    rows = _rows(boxes)
    least = np.asarray(bound(target, rows))
    left = (least <= limit) & np.isfinite(least)
    opposite = np.broadcast_to(np.arctan2(-target[..., 2], -target[..., 1]), left.shape)
    around = (rows[:, 8] == 0.0) & (rows[:, 9] == 0.0)
    before = rows[:, 8] * np.sin(opposite) - rows[:, 9] * np.cos(opposite)
    after = rows[:, 11] * np.cos(opposite) - rows[:, 10] * np.sin(opposite)
    across = ~around & (before > _NOT_BESIDE) & (after > _NOT_BESIDE)
    for cut, parts in ((around, _wedges), (across, _sides)):
        some = np.flatnonzero(cut & left)
        if len(some):
            its = target if target.ndim == 1 else target[some, np.newaxis]
            cut_least = bound(its, parts(rows[some], opposite[some])).min(axis=1)
            least[some] = np.maximum(least[some], cut_least / _BEYOND)
    return least


def _wedges(rows: Floats, opposite: Floats) -> Floats:
    """Rows (m, 12) once for each wedge (m, w, 12) of hues from the `opposite` (m,) one on."""
    ends = opposite[:, np.newaxis] + np.linspace(_BESIDE, 2.0 * np.pi - _BESIDE, _WEDGES + 1)
    hues = np.stack([np.cos(ends), np.sin(ends)], axis=-1)
    wedges = np.repeat(rows[:, np.newaxis], _WEDGES, axis=1)
    wedges[..., 8:10], wedges[..., 10:12] = hues[:, :-1], hues[:, 1:]
    return wedges


def _sides(rows: Floats, opposite: Floats) -> Floats:
    """Rows (m, 12) before and after the `opposite` hue (m,): (m, 2, 12)."""
    sides = np.repeat(rows[:, np.newaxis], 2, axis=1)
    for side, columns, beside in ((0, slice(10, 12), -_BESIDE), (1, slice(8, 10), _BESIDE)):
        sides[:, side, columns] = np.stack(
            [np.cos(opposite + beside), np.sin(opposite + beside)], axis=-1
        )
    return sides


def _rows(boxes: Floats) -> Floats:
    """The same as rows of `bounds.boxes`."""
    rows = np.zeros((len(boxes), BOX_COLUMNS))
    rows[:, :6] = boxes.reshape(-1, 6)
    (a_low, a_high), (b_low, b_high) = boxes[:, 1].T, boxes[:, 2].T
    nearest_a, nearest_b = (np.clip(0.0, *boxes[:, axis].T) for axis in (1, 2))
    rows[:, 6] = np.hypot(nearest_a, nearest_b)
    rows[:, 7] = np.hypot(np.maximum(-a_low, a_high), np.maximum(-b_low, b_high))
    # the first hue and the last are those of two corners, by the side that the neutral axis is on
    right, left = nearest_a > 0.0, nearest_a < 0.0
    above, below = nearest_b > 0.0, nearest_b < 0.0
    beside = left & ~above & ~below
    beneath = below & ~left & ~right
    first = np.where(above | beside, a_high, a_low), np.where(left | beneath, b_high, b_low)
    last = np.where(below | beside, a_high, a_low), np.where(right | beneath, b_high, b_low)
    first, last = _turned(*first, -_HAIR), _turned(*last, _HAIR)
    across, along = first[0] * last[1] - first[1] * last[0], first[0] * last[0] + first[1] * last[1]
    known = (right | left | above | below) & ((along > 0.0) | (across > _NEARLY_HALF))
    rows[:, 8:] = np.where(known, np.stack([*first, *last]), 0.0).T
    return rows


def _turned(a: Floats, b: Floats, angle: float) -> tuple[Floats, Floats]:
    """Cosine and sine of the hue of a*, b*, turned by next to nothing [radians]."""
    chroma = np.maximum(np.hypot(a, b), np.finfo(np.float64).tiny)
    return (a - angle * b) / chroma, (b + angle * a) / chroma
