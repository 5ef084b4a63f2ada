"""Light to dark where there are too many colours for a search over sets: local moves.

The start goes down in bands of lightness as wide as the tolerance, in each along a curve that fills
the plane of a* and b* (D. Hilbert (1891), Mathematische Annalen 38, 459-460), there and back in
turn, so that neighbours are near and no colour comes before one that is lighter by more than the
tolerance. Two moves then make it better: a stretch is turned round (G. A. Croes (1958), Operations
Research 6(6), 791-812), and two stretches side by side, one of them of at most three colours,
change places, either of them turned round or none (after I. Or (1976), thesis, Northwestern
University; cited from memory). A move reaches over `_REACH` places and keeps to the lightness rule,
so a round takes time and memory linear in the colours.
"""

from collections.abc import Callable, Sequence
from functools import reduce
from itertools import combinations, pairwise, product

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from stopgap.arrays import Booleans, Floats, Integers
from stopgap.difference import delta_E

_REACH = 24  # places that a move spans
_SEEN = _REACH + 2  # with the one before it and the one behind it
_SHORT = 3  # colours that are carried over others
_TOGETHER = 1000  # places whose moves are weighed at once
_NINE_STARTS_UP_TO = 250  # colours that are begun in nine ways
_HALVINGS = 6  # of the plane of a* and b*
_OVER = 1e6  # what counts beyond the largest step, once that is settled
_HAIR = 1e-9
_ROUNDED = 1e-13  # what rounding may make of a gain, of the most that any step counts
_TURNED, _SWAPPED, _FIRST_TURNED, _SECOND_TURNED = range(4)


def long_order(lab: Floats, tolerance: float) -> Integers:
    """The rows of colours (n, 3), n > 0, from light to dark; not proved to be the best.

    `tolerance` is how much lighter [L*] a colour may be than one before it.
    """
    many = product(range(3), repeat=2) if len(lab) <= _NINE_STARTS_UP_TO else [(0, 0)]
    line = _Line(lab, [_start(lab, tolerance, *which) for which in many], tolerance)
    line.improve(lambda steps: steps**2)
    line.improve(lambda steps: (steps * steps * steps) ** 2)
    rows = min(line.orders(), key=lambda rows: _worth(lab[rows]))
    largest = _worth(lab[rows])[0]
    if len(lab) <= _NINE_STARTS_UP_TO:
        line = _Line(lab, [rows], tolerance)
    line.improve(lambda steps: steps + _OVER * np.maximum(steps - largest, 0.0))
    return line.orders()[0]


def _worth(lab: Floats) -> tuple[float, float]:
    steps = delta_E(lab[:-1], lab[1:])
    return float(steps.max(initial=0.0)), float(steps.sum())


def _start(lab: Floats, tolerance: float, third: int, turn: int) -> Integers:
    """Bands of lightness, the first of them cut by `third`, each along a curve turned by `turn`."""
    below = lab[:, 0].max() - lab[:, 0]
    if tolerance > _HAIR:
        band = np.floor(below / (tolerance * (1.0 - _HAIR)) + third / 3.0)
    else:
        band = np.unique(below, return_inverse=True)[1].astype(np.float64)
    along = _along_curve(lab[:, 1:], turn)
    return np.lexsort((np.where(band % 2 == 0, along, -along), band))


def _along_curve(ab: Floats, turn: int) -> Integers:
    """How far along Hilbert's curve the points (n, 2) lie, in cells of a square about them."""
    low = ab.min(axis=0)
    side = 1 << _HALVINGS
    cell = (ab - low) / max(float((ab - low).max()), _HAIR) * (side - 1)
    x, y = (axis.astype(np.intp) for axis in cell.round().T)
    if turn:
        x, y = (y, side - 1 - x) if turn == 1 else (side - 1 - x, side - 1 - y)
    along = np.zeros(len(ab), dtype=np.intp)
    half = side >> 1
    while half:
        right, up = (x & half) > 0, (y & half) > 0
        along += half * half * ((3 * right) ^ up)
        mirrored = ~up & right
        x, y = np.where(mirrored, side - 1 - x, x), np.where(mirrored, side - 1 - y, y)
        x, y = np.where(up, x, y), np.where(up, y, x)
        half >>= 1
    return along


class _Line:
    """Orders of the same colours one behind the other, with walls (row -1) about each of them."""

    def __init__(self, lab: Floats, orders: Sequence[Integers], tolerance: float) -> None:
        self._lab, self._tolerance = lab, tolerance
        self._table = delta_E(lab[:, None], lab[None, :]) if len(orders) > 1 else None
        walled = [part for rows in orders for part in (np.array([-1]), rows)]
        self._inside = sum(map(len, walled))
        self._rows = np.concatenate([*walled, np.full(_SEEN, -1)])
        self._steps = np.zeros((_SEEN, len(self._rows)))  # to what is 0, 1, 2 … places ahead
        self._measure(self._rows >= 0)

    def orders(self) -> list[Integers]:
        """The rows of each order."""
        return list(self._rows[: self._inside].reshape(-1, len(self._lab) + 1)[:, 1:])

    def improve(self, counted: Callable[[Floats], Floats]) -> None:
        """Move as long as the sum of what the steps are `counted` as becomes smaller."""
        colour = self._rows >= 0
        places, paid = np.flatnonzero(colour), counted(self._steps)
        while len(places):
            lightness = np.where(colour, self._lab[self._rows, 0], np.nan)
            parts = np.split(places, range(_TOGETHER, len(places), _TOGETHER))
            found = [_best_moves(part, paid, lightness, self._tolerance) for part in parts]
            least_gain = _HAIR + _ROUNDED * float(paid.max())
            changed = self._carry_out(np.concatenate(found, axis=1), least_gain)
            anew = self._measure(changed)
            paid[anew] = counted(self._steps[anew])
            places = _near(changed, colour, 1)

    def _carry_out(self, moves: Floats, least_gain: float) -> Booleans:
        """Make those of the moves that do not touch each other, the best first; what is changed.

        What gains less may gain nothing: equal steps could change places for ever.
        """
        cost, at, first, second, how = moves
        taken = bytearray(len(self._rows))
        for move in np.argsort(cost, kind="stable")[: int((cost < -least_gain).sum())].tolist():
            i, p, q = int(at[move]), int(first[move]), int(second[move])
            if taken.find(1, i - 1, i + p + q) >= 0:
                continue
            taken[i - 1 : i + p + q] = b"\x01" * (p + q + 1)
            one, other = self._rows[i : i + p].copy(), self._rows[i + p : i + p + q].copy()
            one = one[::-1] if how[move] in (_TURNED, _FIRST_TURNED) else one
            other = other[::-1] if how[move] == _SECOND_TURNED else other
            self._rows[i : i + p + q] = np.concatenate([other, one])
        changed = np.frombuffer(taken, dtype=np.bool_)
        return changed & (self._rows >= 0)

    def _measure(self, changed: Booleans) -> tuple[Integers, Integers]:
        """Work the steps out anew that begin or end where something changed; which these are."""
        at = _near(changed, self._rows >= 0, 0)
        later = np.minimum(at + np.arange(1, _SEEN)[:, None], len(changed) - 1)
        k, i = np.nonzero((changed[at] | changed[later]) & (self._rows[later] >= 0))
        one, other = self._rows[at[i]], self._rows[later[k, i]]
        if self._table is None:
            found = delta_E(self._lab[one], self._lab[other])
        else:
            found = self._table[one, other]
        anew = k + 1, at[i]
        self._steps[anew] = found
        return anew


def _near(changed: Booleans, colour: Booleans, before: int) -> Integers:
    """The places of colours where something has changed from so many places `before` on."""
    padded = np.concatenate([np.zeros(before, np.bool_), changed, np.zeros(_SEEN, np.bool_)])
    return np.flatnonzero(sliding_window_view(padded, _SEEN)[: len(colour)].any(axis=1) & colour)


def _best_moves(at: Integers, paid: Floats, lightness: Floats, tolerance: float) -> Floats:
    """The cheapest move from each place `at`: cost, place, length of its stretches, and which."""
    best = np.zeros((5, len(at)))
    best[1] = at

    def weigh(cost: Floats, legal: Booleans, p: Integers, q: Integers, how: int) -> None:
        np.copyto(cost, np.inf, where=~legal)
        better = np.flatnonzero(cost.min(axis=0) < best[0])
        row = np.argmin(cost[:, better], axis=0)
        best[0, better] = cost[row, better]
        best[2, better], best[3, better], best[4, better] = p[row, 0], q[row, 0], how

    each = at + np.arange(_REACH)[:, None]

    def seen(row: Floats, first: int) -> Floats:
        """What `row` says of the places from `first` on, behind each of `at`."""
        return np.asarray(row[each[first:]])

    ahead = seen(lightness, 0)
    peak = _running(np.maximum, ahead)
    turns = _running(np.maximum, peak - ahead) <= tolerance
    before, *from_first = (np.take(paid, at + place, axis=1) for place in range(-1, _SHORT))
    here = from_first[0]
    breaks, behind_first = seen(paid[1], 0), before[1]  # a step is broken behind each place

    p = np.arange(2, _REACH + 1)[:, None]
    cost = before[2 : _REACH + 1] + here[2 : _REACH + 1] - behind_first - breaks[1:]
    weigh(cost, turns[1:], p, 0 * p, _TURNED)
    for short in range(1, _SHORT + 1):
        q = np.arange(1, _REACH - short + 1)[:, None]
        p, n = np.full_like(q, short), len(q)
        last = from_first[short - 1]
        broken = behind_first + breaks[short - 1] + breaks[short:]
        in_front = before[short + 1] - broken
        legal = peak[short - 1] - _running(np.minimum, ahead[short:]) <= tolerance
        weigh(in_front + here[short : short + n] + last[2 : 2 + n], legal, p, q, _SWAPPED)
        if short > 1:
            cost = in_front + last[1 : 1 + n] + here[short + 1 : short + 1 + n]
            weigh(cost, legal & turns[short - 1], p, q, _FIRST_TURNED)

        p, q = q, p
        over = seen(paid[short + 1], 0)[:n]
        behind = over - behind_first - breaks[:n] - breaks[short:]
        carried = [ahead[1 + place : 1 + place + n] for place in range(short)]
        legal = peak[:n] - reduce(np.minimum, carried) <= tolerance
        weigh(behind + before[2 : 2 + n] + here[short : short + n], legal, p, q, _SWAPPED)
        if short > 1:
            falls = [one - other for one, other in combinations(carried, 2)]
            cost = behind + before[short + 1 : short + 1 + n] + here[1 : 1 + n]
            weigh(cost, legal & (reduce(np.maximum, falls) <= tolerance), p, q, _SECOND_TURNED)
    return best


def _running(better: np.ufunc, values: Floats) -> Floats:
    """The best of each row of (k, n) and those before it: `accumulate`, five times as fast."""
    best = values.copy()
    for before, row in pairwise(best):
        better(before, row, out=row)
    return best
