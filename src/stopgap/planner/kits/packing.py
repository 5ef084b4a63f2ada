"""The few pencils that lose least: chosen for all colours at once, and proved where time allows.

The p-median problem in which a colour may be served by two pencils together. Of what serves a
colour only the nearest is written down; the rest is one thing that costs as much as the next
nearest and takes no pencil. So the programme promises too much, never too little: what it proves
is a bound, and where nothing unwritten was used, the answer. Else more is written down for the
colours for which it was, first of all while pencils may be taken in part, which is quick to solve.

References
----------
C. S. ReVelle and R. W. Swain (1970), "Central facilities location", Geographical Analysis 2(1),
30-42: the programme.
S. García, M. Labbé and A. Marín (2011), "Solving large p-median problems with a radius
formulation", INFORMS Journal on Computing 23(4), 546-556: only near places written down.
"""

from collections.abc import Callable, Sequence
from itertools import product
from types import MappingProxyType
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers, distinct
from stopgap.neighbours import choose_medians
from stopgap.planner.highs import Solution
from stopgap.planner.solver import TOLERANCE, Clock, Programme

FIRST_WRITTEN = 24
"""How many of the nearest recipes of each colour are asked for at first; then twice as many."""
_FEWEST = 4
"""How many of them are written down at least; then twice as many where others were used."""
_FOR_FEW = MappingProxyType(
    {
        "mip_heuristic_run_rens": False,
        "mip_heuristic_run_rins": False,
        "mip_pscost_minreliable": 0,
    }
)
"""Options of HiGHS: without looking for choices in parts of the programme, since exchanging has
found good ones, and without trying each pencil long, of which there are few, each dear to try.
"""
_ENOUGH = 1e-6  # below what anybody could tell, in ΔE


class Options(NamedTuple):
    """What may serve each of n colours, nearest first.

    `cost` (n, K) is inf where there are fewer; `pencils` (n, K, 2) are the columns of the pencils
    it takes, twice the same where it is one; all that is not among them costs at least `beyond`
    (n,), inf where there is nothing else. Every single pencil is among them.
    """

    cost: Floats
    pencils: Integers
    beyond: Floats

    def nearest(self, written: Integers) -> "Options":
        """All the same, but only `written` (n,) of each colour are not beyond."""
        rising = np.sort(self.cost, axis=1)
        last = np.minimum(written, rising.shape[1] - 1)
        nearer = np.where(written < rising.shape[1], rising[np.arange(len(last)), last], np.inf)
        return self._replace(beyond=np.minimum(self.beyond, nearer))


class Packed(NamedTuple):
    """Rising columns of the pencils; no others have a lower objective than `bound`."""

    columns: Integers
    bound: float
    proved: bool


class Packing(NamedTuple):
    """The task: `size` of `pencils` for colours of `weights` (n,), those of `keep` among them.

    `options` gives at least so many recipes of each colour, `served` what a choice of columns
    really costs each. Costs are above what serves a colour if nothing is left out.
    """

    pencils: int
    size: int
    weights: Floats
    keep: Sequence[int]
    options: Callable[[int], Options]
    served: Callable[[Integers], Floats]

    def mean(self, columns: Integers) -> float:
        """The weighted mean of what a choice costs."""
        return float(self.weights @ self.served(columns))


def pack(task: Packing, clock: Clock, *, largest: bool = False) -> Packed:
    """The choice of the least weighted mean cost, or with `largest` of the least largest cost and
    then of the least mean; what is a bound of is the mean, or the largest.
    """
    asked = FIRST_WRITTEN
    options = task.options(asked)
    first = _by_exchange(task, options, clock)
    limit, bound = np.inf, -np.inf
    if largest:
        first, limit, bound = _least_largest(task, first, clock)
    best, lower, proved = first, -np.inf, False
    served = task.served(first)[:, np.newaxis]
    written = np.maximum((options.cost < served).sum(axis=1) + 1, _FEWEST)
    while (left := clock.left) is None or left > 0.0:
        programme = _Written(task, options.nearest(written), limit)
        beyond, relaxed = programme.relaxed(clock)
        lower = max(lower, relaxed)
        if not len(beyond):
            solution = programme.solve(clock)
            if solution.values is None:
                break
            lower = max(lower, solution.bound)
            columns = np.flatnonzero(solution.values[: task.pencils] > 0.5)
            best = min((best, columns), key=lambda one: _rank(task, one, limit))
            proved = solution.proved and task.mean(best) <= lower + _ENOUGH
            beyond = programme.beyond(solution.values)
            if proved or not len(beyond) or not solution.proved:
                break
        written[beyond] *= 2
        if (written[beyond] > options.cost.shape[1]).any():
            asked *= 2
            options = task.options(asked)
    if not largest:
        return Packed(best, max(lower, 0.0), proved)
    return Packed(best, bound, proved and bool(task.served(best).max() <= bound + _ENOUGH))


def _rank(task: Packing, columns: Integers, limit: float) -> tuple[float, float]:
    served = task.served(columns)
    return max(float(served.max()) - limit - _ENOUGH, 0.0), float(task.weights @ served)


def _least_largest(task: Packing, first: Integers, clock: Clock) -> tuple[Integers, float, float]:
    """A choice whose largest cost is as small as can be, that cost, and a bound of it."""
    best, written = first, FIRST_WRITTEN
    options = task.options(written)
    low, high = 0.0, float(task.served(first).max())
    while (left := clock.left) is None or left > 0.0:
        costs = distinct(np.concatenate([options.cost.ravel(), options.beyond]))
        between = costs[(costs > low - _ENOUGH) & (costs < high - _ENOUGH)]
        if not len(between):
            return best, high, high
        middle = float(between[len(between) // 2])
        solution = _Written(task, options, middle).solve(clock, any_will_do=True)
        if solution.infeasible:
            low = middle + 2.0 * _ENOUGH
            continue
        if solution.values is None:
            break
        columns = np.flatnonzero(solution.values[: task.pencils] > 0.5)
        reached = float(task.served(columns).max())
        if reached <= middle + _ENOUGH:
            best, high = columns, reached
        elif np.isfinite(options.beyond).any():
            written *= 2
            options = task.options(written)
        else:
            break
    return best, high, low


class _Written:
    """The programme of a task, with what costs no more than `limit`."""

    def __init__(self, task: Packing, options: Options, limit: float) -> None:
        self.programme = programme = Programme()
        n = len(options.cost)
        taken = programme.add_variables(task.pencils, whole=True)
        near = (options.cost <= options.beyond[:, np.newaxis]) & (options.cost <= limit + _ENOUGH)
        near &= np.isfinite(options.cost)
        rows, places = np.nonzero(near)
        used = programme.add_variables(len(rows))
        other = np.flatnonzero(np.isfinite(options.beyond) & (options.beyond <= limit + _ENOUGH))
        self._other, self._others = other, programme.add_variables(len(other))
        ones = np.ones(n)
        programme.add_rows(
            np.concatenate([rows, other]),
            np.concatenate([used, self._others]),
            np.ones(len(rows) + len(other)),
            ones,
            ones,
        )
        _take(programme, task.pencils, rows, options.pencils[rows, places], used, taken)
        programme.add_row(taken, np.ones(task.pencils), float(task.size), float(task.size))
        for column in task.keep:
            programme.add_row(taken[[column]], np.ones(1), 1.0, 1.0)
        self.objective = np.concatenate(
            [
                np.zeros(task.pencils),
                task.weights[rows] * options.cost[rows, places],
                task.weights[other] * options.beyond[other],
            ]
        )

    def solve(self, clock: Clock, *, any_will_do: bool = False) -> Solution:
        """The least mean, or any choice that serves all."""
        objective = np.zeros_like(self.objective) if any_will_do else self.objective
        return self.programme.minimise(objective, clock, options=_FOR_FEW)

    def relaxed(self, clock: Clock) -> tuple[Integers, float]:
        """What `beyond` is of the least mean where pencils may be taken in part; a bound of it."""
        found = self.programme.relaxed(self.objective, clock)
        if found is None:
            return np.empty(0, dtype=np.intp), -np.inf
        return self.beyond(found.values), found.bound

    def beyond(self, values: Floats) -> Integers:
        """The colours that are served by what is not written down."""
        return self._other[values[self._others] > TOLERANCE]


def _take(
    programme: Programme,
    count: int,
    rows: Integers,
    pencils: Integers,
    used: Integers,
    taken: Integers,
) -> None:
    """A colour's options that take a pencil add up to no more than that pencil."""
    double = pencils[:, 0] != pencils[:, 1]
    owner = np.concatenate([rows * count + pencils[:, 0], (rows * count + pencils[:, 1])[double]])
    option = np.concatenate([used, used[double]])
    pairs, row_of = np.unique(owner, return_inverse=True)
    numbers = np.arange(len(pairs))
    programme.add_rows(
        np.concatenate([row_of, numbers]),
        np.concatenate([option, taken[pairs % count]]),
        np.concatenate([np.ones(len(option)), -np.ones(len(pairs))]),
        np.full(len(pairs), -np.inf),
        np.zeros(len(pairs)),
    )


def _by_exchange(task: Packing, options: Options, clock: Clock) -> Integers:
    """A good choice: medians of single pencils, then exchanges with what two serve together."""
    n, single = len(options.cost), options.pencils[..., 0] == options.pencils[..., 1]
    alone = np.full((n, task.pencils), np.inf)
    rows, places = np.nonzero(single & np.isfinite(options.cost))
    np.minimum.at(alone, (rows, options.pencils[rows, places, 0]), options.cost[rows, places])
    # a pencil that may not serve a colour is worse than any
    alone = np.where(np.isfinite(alone), alone, 2.0 * alone[np.isfinite(alone)].max() + 100.0)
    chosen = choose_medians(alone, task.weights, task.size, keep=task.keep)
    if single[np.isfinite(options.cost)].all():
        return chosen
    taken = np.zeros(task.pencils, dtype=np.bool_)
    taken[chosen] = True
    least, improved, half = _listed_mean(task, options, alone, taken), True, clock.half()
    while improved and half.left != 0.0:
        improved = False
        free = [column for column in np.flatnonzero(taken) if column not in task.keep]
        for out, into in product(free, np.flatnonzero(~taken)):
            if not taken[out] or taken[into] or half.left == 0.0:
                continue
            taken[[out, into]] = False, True
            now = _listed_mean(task, options, alone, taken)
            if now < least - TOLERANCE:
                least, improved = now, True
            else:
                taken[[out, into]] = True, False
    return np.flatnonzero(taken)


def _listed_mean(task: Packing, options: Options, alone: Floats, taken: Booleans) -> float:
    """What a choice costs by the options that are written down."""
    there = taken[options.pencils].all(axis=-1)
    written = np.where(there, options.cost, np.inf).min(axis=1)
    return float(task.weights @ np.minimum(written, alone[:, taken].min(axis=1)))
