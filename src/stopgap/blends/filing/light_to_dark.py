"""Light to dark, so that neighbours melt into each other.

Among the orders in which no colour comes before one that is lighter by more than the tolerance, the
one whose largest step is smallest, and of those the one with the smallest total. A dynamic
programme runs over the sets of colours already laid (M. Held, R. M. Karp (1962), Journal of the
SIAM 10(1), 196-210), layer by layer: the lightness rule and a limit on the step leave only few of
the sets. A layer that grows too wide keeps its cheapest states, and the result then says that it
may not be the best and how much better the best could be.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from stopgap.arrays import Booleans, Floats, FloatsLike, Integers, as_lab, connected, distinct
from stopgap.blends.filing.long_order import long_order
from stopgap.defaults import LIGHTER
from stopgap.difference import delta_E
from stopgap.errors import UsageError
from stopgap.neighbours import SwatchIndex

DEFAULT_TOLERANCE = LIGHTER
"""How much lighter [L*] a colour may be than one before it."""

_AT_ONCE_UP_TO = 12  # colours whose search needs no good order to begin with
_EXACT_UP_TO = 22  # colours that are ordered exactly, or nearly always so
_WIDEST, _WIDEST_BEYOND = 20_000, 3_000  # states kept in a layer up to that number, and beyond
_SEARCHED_UP_TO = 48  # colours that sets are searched of
_KNOWN = 8  # nearest colours that groups are joined by
_ROUNDS = 64  # of joining; most colours need fewer than ten
_HAIR = 1e-9


@dataclass(frozen=True, slots=True)
class Order:
    """An order of colours: `rows` into the input, and the ΔE00 `steps` between neighbours.

    `exact` tells whether no order has a smaller largest step, or the same and a smaller total; of
    any other `least_largest_step` says how much better the best could be.
    """

    rows: tuple[int, ...]
    steps: tuple[float, ...]
    exact: bool

    @property
    def largest_step(self) -> float:
        """The largest step, 0 for fewer than two colours."""
        return max(self.steps, default=0.0)

    @property
    def total(self) -> float:
        """The sum of the steps."""
        return sum(self.steps)


def order(lab: FloatsLike, tolerance: float = DEFAULT_TOLERANCE) -> Order:
    """The light-to-dark order of colours (n, 3) whose largest, then total, step ΔE00 is smallest.

    Parameters
    ----------
    lab
        CIE L*a*b*, D50, 2 degree observer.
    tolerance
        How much lighter [L*] a colour may be than one that comes before it; not negative.

    Notes
    -----
    Exact up to about 20 colours whatever they are, and far beyond where lightness differs: see
    `exact` of the result. Above 48 colours local moves make it, in time linear in the colours.

    Raises
    ------
    InputError
        Unless `lab` is finite and of shape (n, 3).
    UsageError
        For a negative tolerance.

    >>> order([[40, 0, 0], [80, 0, 0], [60, 0, 0]]).rows
    (1, 2, 0)
    """
    colours = as_lab(lab).reshape(-1, 3)
    if not tolerance >= 0.0:
        raise UsageError(f"tolerance: expected 0 or more L*, found {tolerance}.")
    if not len(colours):
        return Order((), (), exact=True)
    if len(colours) > _SEARCHED_UP_TO:
        rows, exact = long_order(colours, tolerance), False
    else:
        rows, exact = _searched(colours, tolerance)
    steps = delta_E(colours[rows[:-1]], colours[rows[1:]])
    return Order(tuple(rows.tolist()), tuple(steps.tolist()), exact)


def _searched(colours: Floats, tolerance: float) -> tuple[Integers, bool]:
    """An order of few colours, and whether it is proved best."""
    falling = np.argsort(-colours[:, 0], kind="stable")
    lightness = colours[falling, 0]
    near = delta_E(colours[falling][:, None], colours[falling][None, :])
    must_wait = lightness[None, :] > lightness[:, None] + tolerance
    problem = _Problem(near, _as_masks(must_wait))

    known = np.arange(len(falling))  # from light to dark is always allowed
    if len(known) > _AT_ONCE_UP_TO:
        known = min(known, long_order(colours[falling], tolerance), key=problem.worth)
    highest = problem.worth(known)[0]
    levels = distinct(near)
    levels = levels[(levels >= _least_largest(near) - _HAIR) & (levels < highest - _HAIR)]
    low, high, proved = 0, len(levels), True
    while low < high:  # the smallest limit that an order keeps to
        middle = (low + high) // 2
        found, complete = _cheapest(problem, levels[middle])
        if found is None:
            low, proved = middle + 1, proved and complete
        else:
            known, high = found, middle
    found, complete = _cheapest(problem, problem.worth(known)[0])
    if found is not None and (complete or problem.worth(found) < problem.worth(known)):
        known = found
    return falling[_lighter_end_first(known, must_wait, lightness)], proved and complete


@dataclass(frozen=True, slots=True)
class _Problem:
    """Steps between the colours, and who must have gone before."""

    near: Floats
    must_precede: npt.NDArray[np.int64]

    def worth(self, places: Integers) -> tuple[float, float]:
        """The largest step and the total."""
        steps = self.near[places[:-1], places[1:]]
        return float(steps.max(initial=0.0)), float(steps.sum())


def _cheapest(problem: _Problem, limit: float) -> tuple[Integers | None, bool]:
    """The order of smallest total without a step over `limit`, and whether all were looked at."""
    n = len(problem.near)
    allowed = problem.near <= limit + _HAIR
    np.fill_diagonal(allowed, val=False)
    reachable = _as_masks(allowed)
    bits = np.left_shift(np.int64(1), np.arange(n, dtype=np.int64))

    first = np.flatnonzero(problem.must_precede == 0)
    done, last, cost = bits[first], first, np.zeros(len(first))
    layers: list[tuple[Integers, Integers]] = [(last, np.zeros_like(last))]
    complete = True
    widest = _WIDEST if n <= _EXACT_UP_TO else _WIDEST_BEYOND
    for _ in range(n - 1):
        ready = allowed[:, last] & (done & bits[:, None] == 0)
        ready &= problem.must_precede[:, None] & ~done == 0
        place, parent = np.nonzero(ready)
        if len(parent) == 0:
            return None, complete
        cost = cost[parent] + problem.near[last[parent], place]
        done, last = np.bitwise_or(done[parent], bits[place]), place
        keep = _undominated(done, last, cost)
        keep = keep[_not_stranded(done[keep], last[keep], reachable, bits)]
        if len(keep) > widest:
            keep = keep[np.argsort(cost[keep], kind="stable")[:widest]]
            complete = False
        done, last, cost = done[keep], last[keep], cost[keep]
        layers.append((last, parent[keep]))
    if len(cost) == 0:
        return None, complete
    at = int(np.argmin(cost))
    places = []
    for ends, came_from in reversed(layers):
        places.append(int(ends[at]))
        at = int(came_from[at])
    return np.array(places[::-1]), complete


def _undominated(done: npt.NDArray[np.int64], last: Integers, cost: Floats) -> Integers:
    """The cheapest of the states that have laid the same colours and ended on the same one."""
    sorted_ = np.lexsort((cost, last, done))
    d, e = done[sorted_], last[sorted_]
    fresh = np.ones(len(d), dtype=np.bool_)
    fresh[1:] = (d[1:] != d[:-1]) | (e[1:] != e[:-1])
    kept: Integers = np.sort(sorted_[fresh])
    return kept


def _not_stranded(
    done: npt.NDArray[np.int64],
    last: Integers,
    reachable: npt.NDArray[np.int64],
    bits: npt.NDArray[np.int64],
) -> Booleans:
    """States in which every colour left can still be reached, at most one of them from one side."""
    open_ = ~done | bits[last]
    one_sided = np.zeros(len(done), dtype=np.intp)
    alive = np.ones(len(done), dtype=np.bool_)
    for place, bit in enumerate(bits):
        left = done & bit == 0
        entrances = np.bitwise_count(reachable[place] & open_)
        alive &= ~left | (entrances > 0)
        one_sided += left & (entrances == 1)
    return alive & (one_sided <= 1)


def _keeps_lightness(places: Integers, must_wait: Booleans) -> bool:
    return not np.triu(must_wait[np.ix_(places, places)], 1).any()


def _lighter_end_first(places: Integers, must_wait: Booleans, lightness: Floats) -> Integers:
    """`places` turned round where the other end is lighter and the lightness rule lets it."""
    turned = places[::-1]
    lighter = lightness[turned[0]] > lightness[places[0]]
    return turned if lighter and _keeps_lightness(turned, must_wait) else places


def _as_masks(table: Booleans) -> npt.NDArray[np.int64]:
    """Each row of a square table of truth values as the bits of one number."""
    bits = np.left_shift(np.int64(1), np.arange(table.shape[1], dtype=np.int64))
    masks: npt.NDArray[np.int64] = table.astype(np.int64) @ bits
    return masks


def least_largest_step(lab: FloatsLike) -> float:
    """No order of colours (n, 3) has a largest step ΔE00 below this; 0 for fewer than two."""
    colours = as_lab(lab).reshape(-1, 3)
    if len(colours) > _SEARCHED_UP_TO:
        return _farthest_apart(colours)
    return _least_largest(delta_E(colours[:, None], colours[None, :]))


def _farthest_apart(colours: Floats) -> float:
    """How far some group of the colours is at least from all others: a step has to lead there.

    Each group joins the one nearest to it (O. Boruvka (1926), cited from memory), so that this is
    the largest edge of the minimum spanning tree unless the colours lie in very many clumps.
    """
    steps, rows = SwatchIndex(colours).nearest(colours, _KNOWN + 1)
    places, group, bound = np.arange(len(colours)), np.arange(len(colours)), 0.0
    for _ in range(_ROUNDS):
        if (group == group[0]).all():
            break
        foreign = group[rows] != group[:, None]
        first = np.where(foreign.any(axis=1), foreign.argmax(axis=1), _KNOWN)
        out = steps[places, first]
        least = np.full(len(colours), np.inf)
        np.minimum.at(least, group, out)
        bound = max(bound, float(least[group].max()))
        ones = np.flatnonzero(foreign[places, first] & (out == least[group]))
        others = rows[ones, first[ones]]
        if not len(ones):  # every group lies so far off that the nearest do not tell
            alone = group == group[np.argmin(np.bincount(group)[group])]
            out, row = SwatchIndex(colours[~alone]).nearest(colours[alone], 1)
            bound = max(bound, float(out.min()))
            ones = places[alone][[int(out.argmin())]]
            others = places[~alone][row[out.argmin()]]
        group = connected(len(group), group[ones], group[others])[group]
    return bound


def _least_largest(distances: Floats) -> float:
    """The largest edge of the minimum spanning tree, by Prim: no path has a smaller largest one."""
    n = len(distances)
    if n < 2:
        return 0.0
    nearest = distances[0].copy()
    outside = np.ones(n, dtype=np.bool_)
    outside[0] = False
    largest = 0.0
    for _ in range(n - 1):
        row = int(np.argmin(np.where(outside, nearest, np.inf)))
        largest = max(largest, float(nearest[row]))
        outside[row] = False
        nearest = np.minimum(nearest, distances[row])
    return largest
