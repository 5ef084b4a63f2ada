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

from types import MappingProxyType
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Floats, Integers, distinct
from stopgap.planner.highs import Solution
from stopgap.planner.kits.exchanging import FIRST_WRITTEN, choose_by_exchange, options_for
from stopgap.planner.kits.task import Options, Packing
from stopgap.planner.solver import TOLERANCE, Clock, Programme

_FEWEST, _GROWTH = 8, 4
"""How many of them are written down at least; how many times as many where others were used."""
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


class Packed(NamedTuple):
    """Rising columns of the pencils; no others have a lower objective than `bound`."""

    columns: Integers
    bound: float
    proved: bool


def pack(task: Packing, clock: Clock, *, largest: bool = False) -> Packed:
    """The choice of the least weighted mean cost, or with `largest` of the least largest cost and
    then of the least mean; what is a bound of is the mean, or the largest.
    """
    asked, options = options_for(task, clock)
    first = choose_by_exchange(task, options, clock)
    limit, bound = np.inf, -np.inf
    if largest:
        first, limit, bound = _least_largest(task, first, clock)
    best, lower, proved = first, -np.inf, False
    served = task.served(first)[:, np.newaxis]
    # what is written of all at once is kept small, so that a first bound is soon had
    written = np.clip((options.cost < served).sum(axis=1) + 1, _FEWEST, FIRST_WRITTEN)
    while (left := clock.left) is None or left > 0.0:
        programme = _Written(task, options.nearest(written), limit)
        beyond, relaxed = programme.relaxed(clock)
        lower = max(lower, relaxed)
        if not len(beyond):
            reached, mean = _rank(task, best, limit)
            solution = programme.solve(clock, known=np.inf if reached else mean)
            lower = max(lower, solution.bound)
            if solution.values is None:
                break
            columns = np.flatnonzero(solution.values[: task.pencils] > 0.5)
            best = min((best, columns), key=lambda one: _rank(task, one, limit))
            proved = solution.proved and task.mean(best) <= lower + _ENOUGH
            beyond = programme.beyond(solution.values)
            if proved or not len(beyond) or not solution.proved:
                break
        if (written[beyond] >= options.cost.shape[1]).any():
            asked *= 2
            options = task.options(asked)
        written[beyond] = np.minimum(written[beyond] * _GROWTH, options.cost.shape[1])
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

    def solve(self, clock: Clock, *, known: float = np.inf, any_will_do: bool = False) -> Solution:
        """The least mean, of which one is `known`, or any choice that serves all."""
        objective = np.zeros_like(self.objective) if any_will_do else self.objective
        return self.programme.minimise(objective, clock, options=_FOR_FEW, known=known + _ENOUGH)

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
