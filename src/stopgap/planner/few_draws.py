"""Which of the colours shown are tied, told by the first few of the draws where these tell it.

After n of the draws those that win no oftener than a colour hold a share of them. The colour is
tied where all draws give them more than 1 - COVERED, and no other colour holds COVERED alone; so it
is told at once where the share is that far off, by `_SURELY` standard deviations of a share that
just is it (JCGM 101:2008, 7.9, stops by the standard deviation of what was drawn so far too). What
is left is for all draws. A colour that is told so, and would not be by all draws, stands beside
others as likely as itself: more are then marked as tied than hold COVERED, never fewer.

Where not all that may be nearest take part, more of them only add to the doubt: one is told as tied
where its share is `_AMONG_SOME` times as large as it must be, and none as not tied.
"""

import math

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers
from stopgap.planner.draws import Draws
from stopgap.planner.normal_numbers import COVERED

_STOPS = (48, 96, 192, 384, 768)  # pairs of draws after which it is looked at
_SURELY = 5.0
_AMONG_SOME = 3.0
_LAGGING = 3.0  # standard deviations of what a colour wins by which those behind it win less
_WON = 3  # draws that a colour must have won to be compared with others
_ALIKE = 8  # by so many colours those of targets that are asked together may differ
_BLOCK = 2**16  # differences at a time: what is in between then stays in the processor's cache


def won(squared: Floats) -> Floats:
    """In how many draws (m, k) each of k colours is the nearest by those squared lengths (m, k,
    draws); those that are equally near share a draw.
    """
    is_nearest = squared == squared.min(axis=1, keepdims=True)
    alike = is_nearest.sum(axis=1, keepdims=True)
    return np.asarray(np.sum(is_nearest / alike if (alike > 1).any() else is_nearest, axis=-1))


def told_early(
    box: Draws, order: Integers, rivals: Integers, shown: Integers, every: Booleans
) -> tuple[Booleans, Booleans]:
    """Which of those `shown` (m, s) are tied, and of which of the targets (m,) this is told.

    Of target t the places order[t, : rivals[t]] among its colours take part, nearest first, which
    are all that may be the nearest where `every` (m,) says so.
    """
    places = np.take_along_axis(np.argsort(order, axis=1), shown, axis=1)
    able = places < rivals[:, np.newaxis]
    tied = np.zeros(shown.shape, dtype=np.bool_)
    known = ~able & every[:, np.newaxis] | (every & (rivals == 1))[:, np.newaxis]
    wins = np.zeros(order.shape)
    pending = np.flatnonzero(~known.all(axis=1) & able.any(axis=1))
    begin = 0
    for end in _STOPS:
        _draw(box, order, rivals, pending, (begin, end), wins)
        alike, told = _told(wins[pending], places[pending], 2 * end, every[pending])
        tied[pending] |= alike & able[pending] & ~known[pending]
        known[pending] |= told
        pending = pending[~known[pending].all(axis=1)]
        begin = end
    return tied, known.all(axis=1)


def _draw(
    box: Draws,
    order: Integers,
    rivals: Integers,
    which: Integers,
    draws: tuple[int, int],
    wins: Floats,
) -> None:
    """Add how many of the draws each is nearest in to the wins (m, k) of the targets `which`."""
    widths = -(-rivals[which] // _ALIKE) * _ALIKE
    for width in sorted(set(widths.tolist())):
        rows = which[widths == width]
        count = min(width, order.shape[1])
        at_once = max(1, _BLOCK // (2 * (draws[1] - draws[0]) * count))
        for some in np.split(rows, range(at_once, len(rows), at_once)):
            squared = box.among(some[:, np.newaxis], order[some, :count]).draw(*draws)
            squared[np.arange(count) >= rivals[some, np.newaxis]] = np.inf
            wins[some, :count] += won(squared)


def _told(wins: Floats, places: Integers, drawn: int, every: Booleans) -> tuple[Booleans, Booleans]:
    """Of each at the `places` (m, s) whether it is tied, and whether that is told."""
    beyond = 1.0 - COVERED
    slack = _SURELY * math.sqrt(beyond * COVERED * drawn)
    least = np.where(every, 1.0, _AMONG_SOME) * beyond * drawn + slack
    own = np.take_along_axis(wins, places, axis=1)
    each, its = wins[:, np.newaxis], own[..., np.newaxis]
    lag = np.where(every, _LAGGING, 0.0)[:, np.newaxis, np.newaxis] * np.sqrt(its)
    behind = np.sum(each * (each <= its - lag), axis=2) + own * every[:, np.newaxis]
    besides = (drawn - wins.max(axis=1))[:, np.newaxis]
    tied = (np.minimum(behind, besides) >= least[:, np.newaxis]) & (own >= _WON)
    most = beyond * drawn - slack
    likely = np.sum(each * (each <= its + _SURELY * np.sqrt(each + its)), axis=2)
    apart = (np.minimum(likely, besides) <= most) & every[:, np.newaxis]
    return tied, tied | apart
