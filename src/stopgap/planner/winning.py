"""Who is the nearest in how many of the draws, and who is tied as soon as the first few tell it.

After n of the draws those that win no oftener than a colour hold a share of them. The colour is
tied where all draws give them more than 1 - COVERED, and no other colour holds COVERED alone; so it
is told at once where the share is that far off, by `_SURELY` standard deviations of a share that
just is it (JCGM 101:2008, 7.9, stops by the standard deviation of what was drawn so far too). What
is left is for all draws. A colour that is told so, and would not be by all draws, stands beside
others as likely as itself: more are then marked as tied than hold COVERED. One is told as not tied
where it is so together with all that do not surely win oftener than it.

Where not all that may be nearest take part, more of them only add to the doubt: one is told as tied
where its share is `_AMONG_SOME` times as large as it must be, and none as not tied.
"""

import math

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers
from stopgap.planner.draws import Draws
from stopgap.planner.normal_numbers import COVERED, DRAWS

_ALL = DRAWS // 2
_STOPS = (48, 96, 192, 384, 768)  # pairs of draws after which it is looked at
_SURELY = 5.0
_AMONG_SOME = 3.0
_LAGGING = 3.0  # standard deviations of what a colour wins by which those behind it win less
_WON = 3  # draws that a colour must have won to be compared with others
_PART = 128  # colours that are drawn at once for one target
_TOLD_EARLY = 512  # colours beside more of which too few are won by one to tell anything
_ALIKE = 8  # by so many colours, and more than them, may those of targets asked together differ
_BLOCK = 2**16  # differences at a time: what is in between then stays in the processor's cache


def add_wins(
    box: Draws,
    order: Integers,
    rivals: Integers,
    which: Integers,
    draws: tuple[int, int],
    wins: Floats,
) -> None:
    """Add how many of the draws each is nearest in to the wins (m, k) of the targets `which`.

    Of target t the places order[t, : rivals[t]] among its colours take part, and wins are in that
    order; those that are equally near share a draw.
    """
    drawn = 2 * (draws[1] - draws[0])
    alone = which[rivals[which] == 1]
    wins[alone, 0] += drawn
    which = which[rivals[which] > 1]
    widths = np.where(rivals <= _ALIKE, rivals, -(-rivals // _ALIKE) * _ALIKE)[which]
    for width in sorted(set(widths.tolist())):
        rows, count = which[widths == width], min(width, order.shape[1])
        if count > _PART:
            for row in rows:
                _add_in_parts(box, order, int(rivals[row]), row, draws, wins)
            continue
        size = max(1, min(drawn // 2, _BLOCK // (2 * count)))
        at_once = max(1, _BLOCK // (2 * size * count))
        beyond = np.arange(count) >= rivals[rows, np.newaxis]
        for first in range(0, len(rows), at_once):
            some = slice(first, first + at_once)
            asked = box.among(rows[some, np.newaxis], order[rows[some], :count])
            for begin in range(*draws, size):
                squared = asked.draw(begin, min(begin + size, draws[1]))
                squared[beyond[some]] = np.inf
                is_nearest = squared == squared.min(axis=1, keepdims=True)
                won = is_nearest
                if np.count_nonzero(is_nearest) > squared[:, 0].size:  # some are equally near
                    won = is_nearest / is_nearest.sum(axis=1, keepdims=True)
                wins[rows[some], :count] += np.sum(won, axis=-1)


def _add_in_parts(
    box: Draws,
    order: Integers,
    count: int,
    row: int,
    draws: tuple[int, int],
    wins: Floats,
) -> None:
    """The same of one target beside many colours, some at a time: who is nearest so far is kept."""
    best = np.full(2 * (draws[1] - draws[0]), np.inf)
    found = []
    for first in range(0, count, _PART):
        places = order[[row], first : min(first + _PART, count)]
        squared = box.among(np.array([[row]]), places).draw(*draws, first)[0]
        best = np.minimum(best, squared.min(axis=0))
        place, draw = np.nonzero(squared == best)
        found.append((first + place, draw, squared[place, draw]))
    place, draw, nearest = (np.concatenate(each) for each in zip(*found, strict=True))
    still = nearest == best[draw]
    alike = np.bincount(draw[still], minlength=len(best))
    wins[row, :count] += np.bincount(place[still], 1.0 / alike[draw[still]], minlength=count)


def who_is_tied(
    box: Draws, order: Integers, rivals: Integers, shown: Integers, every: Booleans
) -> tuple[Booleans, Booleans]:
    """Which of those `shown` (m, s) are tied, and of which of the targets (m,) this is told.

    Of target t the places order[t, : rivals[t]] among its colours take part, nearest first, which
    are all that may be the nearest where `every` (m,) says so; of those it is always told.
    """
    places = np.take_along_axis(np.argsort(order, axis=1), shown, axis=1)
    able = places < rivals[:, np.newaxis]
    tied = np.zeros(shown.shape, dtype=np.bool_)
    known = ~able & every[:, np.newaxis] | (every & (rivals == 1))[:, np.newaxis]
    wins, drawn = np.zeros(order.shape), np.zeros(len(rivals), dtype=np.intp)
    pending = np.flatnonzero(~known.all(axis=1) & able.any(axis=1) & (rivals <= _TOLD_EARLY))
    begin = 0
    for end in _STOPS:
        add_wins(box, order, rivals, pending, (begin, end), wins)
        alike, told = _told(wins[pending], places[pending], 2 * end, every[pending])
        tied[pending] |= alike & able[pending] & ~known[pending]
        known[pending] |= told
        drawn[pending] = begin = end
        pending = pending[~known[pending].all(axis=1)]
    left = every & ~known.all(axis=1)
    for begin in sorted(set(drawn[left].tolist())):
        add_wins(box, order, rivals, np.flatnonzero(left & (drawn == begin)), (begin, _ALL), wins)
    # the same order as all colours have it, which decides among those that win equally often
    by_colour = np.empty((np.count_nonzero(left), order.shape[1]))
    np.put_along_axis(by_colour, order[left], wins[left] / DRAWS, axis=1)
    tied[left] = np.take_along_axis(tied_group(by_colour), shown[left], axis=1)
    return tied, known.all(axis=1) | every


def tied_group(probabilities: Floats) -> Booleans:
    """The fewest of (..., n) that hold the nearest with the probability COVERED; none if one does.

    For two candidates that is: their differences lie within 1.645 standard deviations.
    """
    order = np.argsort(-probabilities, axis=-1, kind="stable")
    reached = np.cumsum(np.take_along_axis(probabilities, order, -1), axis=-1)
    count = np.sum(reached < COVERED - 1e-12, axis=-1, keepdims=True) + 1
    tied = np.zeros(probabilities.shape, dtype=np.bool_)
    among = np.arange(probabilities.shape[-1]) < count
    np.put_along_axis(tied, order, among & (count > 1), -1)
    return tied


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
