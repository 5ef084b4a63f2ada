"""What is asked of solvers: weighted assignment, by scipy, and mixed-integer programmes, by HiGHS.

`Programme` collects variables and rows; `minimise` hands them to HiGHS and returns, besides the
answer, the bound that was proved. Building a programme is apart from solving it.

References
----------
D. F. Crouse (2016), "On implementing 2D rectangular assignment algorithms", IEEE Transactions on
Aerospace and Electronic Systems 52(4), 1679-1696: the assignment behind scipy.
"""

import math
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cache
from importlib.machinery import PathFinder
from importlib.util import find_spec, module_from_spec
from types import MappingProxyType
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers
from stopgap.planner.highs import Rows, SimplexBasis, Solution, least

TOLERANCE = 1e-6
"""To which the solver keeps rows and proves bounds, relative and absolute."""


def assign(cost: Floats) -> Integers:
    """The column of each row so that no column is used twice and the sum of `cost` is least.

    `cost` has shape (n, m) with m >= n; the result has shape (n,).
    """
    return np.asarray(_linear_sum_assignment()(cost)[1], dtype=np.intp)


@cache
def _linear_sum_assignment() -> Callable[[Floats], tuple[Integers, Integers]]:
    """scipy's, without the rest of `scipy.optimize`, which takes 0.27 CPU s to load."""
    package = find_spec("scipy.optimize")
    places = None if package is None else package.submodule_search_locations
    compiled = PathFinder.find_spec("_lsap", places)  # by itself it needs numpy alone
    if compiled is not None and compiled.loader is not None:
        module = module_from_spec(compiled)
        compiled.loader.exec_module(module)
        if hasattr(module, "linear_sum_assignment"):
            return module.linear_sum_assignment  # type: ignore[no-any-return]
    from scipy.optimize import linear_sum_assignment  # another scipy may have it elsewhere

    return linear_sum_assignment


def prices(cost: Floats, columns: Integers) -> tuple[Floats, Floats]:
    """What proves that `assign` found the least: prices u (n,) of rows, v (m,) of columns; m > n.

    u + v is nowhere above `cost` (n, m) and equals it in the `columns` of the rows; v is 0 or less,
    and 0 where no row has the column. R. E. Bellman (1958), "On a routing problem", Quarterly of
    Applied Mathematics 16(1), 87-90: the prices are the lengths of shortest ways among the rows.
    """
    own = cost[np.arange(len(cost)), columns]
    used = np.zeros(cost.shape[1], dtype=np.bool_)
    used[columns] = True
    u = cost[:, ~used].min(axis=1, initial=np.inf)
    apart = cost[:, columns] - own
    for _ in range(len(cost)):
        shorter = np.minimum(u, (apart + u).min(axis=1))
        if (shorter == u).all():
            break
        u = shorter
    v = np.zeros(cost.shape[1])
    v[columns] = own - u
    return u, v


Options = Mapping[str, str | float]
"""Options of HiGHS by their names."""


class OutOfTime(Exception):
    """The clock ran out before something was made that is of no use in part."""


@dataclass(slots=True)
class Clock:
    """What is left of a time limit [s], None for no limit."""

    limit: float | None
    started: float = field(default_factory=time.monotonic)

    @property
    def left(self) -> float | None:
        """Seconds left, never below zero."""
        if self.limit is None:
            return None
        return max(0.0, self.limit - (time.monotonic() - self.started))

    def check(self) -> None:
        """Raise OutOfTime if nothing is left."""
        if self.left == 0.0:
            raise OutOfTime

    def part(self, share: float) -> "Clock":
        """A clock that stops when that share of the whole limit has passed."""
        return Clock(None if self.limit is None else self.limit * share, self.started)

    def less(self, seconds: float) -> "Clock":
        """A clock that stops so much earlier."""
        limit = None if self.limit is None else max(0.0, self.limit - seconds)
        return Clock(limit, self.started)

    def half(self) -> "Clock":
        """A clock that stops when half of what is left has passed."""
        return Clock(None if self.left is None else self.left / 2.0)


class Relaxed(NamedTuple):
    """The `value` of a programme without whole variables, of which `values`, and what prices of its
    rows prove.

    That is the `bound`: the rows at their limits by these `duals`, and what is `reduced` below 0,
    of each variable what it costs beside its rows. So it is whatever prices the solver finds; see
    A. Neumaier and O. Shcherbina (2004), "Safe bounds in linear and mixed-integer linear
    programming", Mathematical Programming 99, 283-296, eq. 1.
    """

    value: float
    bound: float
    duals: Floats
    reduced: Floats
    values: Floats
    basis: SimplexBasis | None = None


@dataclass(slots=True)
class Programme:
    """Variables between 0 and 1, some of them whole or held at 0, and rows lower <= a x <= upper.

    Rows are kept as parallel lists of arrays until the solver asks for them.
    """

    size: int = 0
    n_rows: int = 0
    _whole: list[Floats] = field(default_factory=list)
    _closed: list[Integers] = field(default_factory=list)
    _entries: list[tuple[Integers, Integers, Floats]] = field(default_factory=list)
    _limits: list[tuple[Floats, Floats]] = field(default_factory=list)

    def add_variables(self, count: int, *, whole: bool = False) -> Integers:
        """`count` variables from 0 to 1; returns their places."""
        places = np.arange(self.size, self.size + count)
        self._whole.append(np.full(count, float(whole)))
        self.size += count
        return places

    def add_rows(
        self, rows: Integers, places: Integers, values: Floats, lower: Floats, upper: Floats
    ) -> None:
        """Rows numbered from 0 within this call; entries of the same row and place add up."""
        self._entries.append((rows + self.n_rows, places, values))
        self._limits.append((lower, upper))
        self.n_rows += len(lower)

    def add_row(self, places: Integers, values: Floats, lower: float, upper: float) -> None:
        """One row."""
        rows = np.zeros(len(places), dtype=np.intp)
        self.add_rows(rows, places, values, np.array([lower]), np.array([upper]))

    def close(self, places: Integers) -> None:
        """Hold variables at 0 from now on."""
        self._closed.append(places)

    def hold(self, objective: Floats, value: float) -> None:
        """Keep `objective` x, which has no negative coefficient, from rising above `value`.

        A value of 0 closes the variables that count: a row with a limit near the tolerance of the
        solver may be called infeasible by its presolve. What counts no more than the tolerance, as
        a sum of rounding errors does, stays open.
        """
        if value <= TOLERANCE:
            self.close(np.flatnonzero(objective > TOLERANCE))
        else:
            used = np.flatnonzero(objective)
            limit = value + TOLERANCE * (1.0 + value)
            self.add_row(used, objective[used], -np.inf, limit)

    def used(self, places: Integers) -> Booleans:
        """Which of the variables are in a row."""
        used = np.concatenate([each for _, each, _ in self._entries] or [places[:0]])
        return np.isin(places, used)

    def copy(self) -> "Programme":
        """A programme that can be added to while this one stays as it is."""
        return Programme(
            self.size,
            self.n_rows,
            list(self._whole),
            list(self._closed),
            list(self._entries),
            list(self._limits),
        )

    def minimise(
        self,
        objective: Floats,
        clock: Clock,
        closed: Integers | None = None,
        options: Options = MappingProxyType({}),
        known: float = np.inf,
    ) -> Solution:
        """The least `objective` x, with the variables at the places `closed` held at 0 as well, and
        with `options` of HiGHS. What is `known` to be had need not be found again, if it is least.

        That there is no solution at all is believed only where HiGHS says so without its presolve,
        and without minding what is known; it is not asked where only what is below a bound counts.
        """
        cut = {"objective_bound": known} if np.isfinite(known) else {}
        solution = self._solve(objective, clock, closed, {**options, **cut, "presolve": "on"})
        if solution.infeasible and "objective_bound" not in options:
            solution = self._solve(objective, clock, closed, {**options, "presolve": "off"})
        return solution

    def floors(self, objective: Floats, clock: Clock) -> Floats:
        """What `objective` x, without negative coefficients, comes to at least with each variable
        at 1, by the relaxation: infinite for those held at 0.
        """
        relaxed = self.relaxed(objective, clock)
        floors = np.zeros(self.size)
        if relaxed is not None:
            floors = np.maximum(relaxed.bound + np.maximum(relaxed.reduced, 0.0), 0.0)
        floors[~self._open(None)] = np.inf
        return floors

    def relaxed(
        self, objective: Floats, clock: Clock, begin: SimplexBasis | None = None
    ) -> Relaxed | None:
        """The least `objective` x where no variable need be whole; None without time or answer.
        Simplex may `begin` where it stood before variables and rows were added.
        """
        open_ = self._open(None)
        found = self._solve(objective, clock, None, {"presolve": "on"}, relaxed=True, begin=begin)
        if found.duals is None or found.values is None:
            return None
        (rows, places, values), (lower, upper) = self._every_row()
        limits = np.where(found.duals > 0.0, lower, upper)
        duals = np.where(np.isinf(limits), 0.0, found.duals)
        reduced = objective - np.bincount(places, values * duals[rows], self.size)
        bound = math.fsum(duals[duals != 0.0] * limits[duals != 0.0])
        bound += math.fsum(np.minimum(reduced[open_], 0.0))
        value = float(objective @ found.values)
        return Relaxed(value, bound, duals, reduced, found.values, found.basis)

    def _open(self, closed: Integers | None) -> Booleans:
        """Which variables are not held at 0."""
        open_ = np.ones(self.size, dtype=np.bool_)
        for places in (*self._closed, *([] if closed is None else [closed])):
            open_[places] = False
        return open_

    def _solve(
        self,
        objective: Floats,
        clock: Clock,
        closed: Integers | None,
        options: Options,
        *,
        relaxed: bool = False,
        begin: SimplexBasis | None = None,
    ) -> Solution:
        if (left := clock.left) == 0.0:
            return Solution(None, -np.inf, proved=False)
        open_ = self._open(closed)
        upper = open_.astype(np.float64)
        open_ |= not open_.any()
        upper = upper[open_]  # what is held at 0 need not be given to the solver
        whole = (np.concatenate(self._whole)[open_] > 0.0) & (not relaxed)
        every = {**options, **({} if left is None else {"time_limit": left})}
        if begin is not None:
            begin = begin.grown(self.size, self.n_rows).among(open_)
        cost, rows = objective[open_], self._rows(open_)
        return least(cost, upper, whole, rows, every, begin).spread(open_)

    def _rows(self, open_: Booleans) -> Rows:
        (rows, places, values), (lower, upper) = self._every_row()
        used = open_[places]
        column = (np.cumsum(open_) - 1)[places[used]]
        entries, entry = np.unique(column * self.n_rows + rows[used], return_inverse=True)
        starts = np.searchsorted(entries, np.arange(open_.sum() + 1) * self.n_rows)
        added_up = np.bincount(entry, values[used]).astype(np.float64)
        return Rows(lower, upper, starts, entries % self.n_rows, added_up)

    def _every_row(self) -> tuple[tuple[Integers, Integers, Floats], tuple[Floats, Floats]]:
        none, no = np.empty(0, dtype=np.intp), np.empty(0)
        rows, places, values = (
            np.concatenate(part) for part in zip((none, none, no), *self._entries)
        )
        lower, upper = (np.concatenate(part) for part in zip((no, no), *self._limits))
        return (rows, places, values), (lower, upper)
