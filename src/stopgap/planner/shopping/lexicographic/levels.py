"""The least cost, then the fewest pencils, of blends that miss chains: by levels from a bound up.

Prices prove what no list costs less than, and which steps a list of at most some cost can have. Few
lists come close to what is proved, so the programme of these is small; where there is none of them,
more is proved, and those are asked for that cost a little more: at last the best list met.
"""

import math
from contextlib import suppress
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Booleans
from stopgap.planner.shopping.answer import Aim
from stopgap.planner.shopping.lean.cheap_chains import CheapChains
from stopgap.planner.shopping.lean.columns import RouteSteps
from stopgap.planner.shopping.lean.programme import Formulation
from stopgap.planner.shopping.task import Task
from stopgap.planner.solver import TOLERANCE, Clock, Options, OutOfTime, Programme

_EFFORT = 10_000  # variables times nodes, a second of the limit, for a list cheaper than one met
_SMALL = 10_000  # steps: a programme of so few is solved sooner than what proves more is found


class Reached(NamedTuple):
    """A list, its aims, and the programme of all that are as good, None where it is too large, with
    the steps that these can have.
    """

    bought: Booleans
    aims: tuple[Aim, ...]
    made: Formulation | None
    programme: Programme
    steps: tuple[RouteSteps, ...] = ()


def by_levels(task: Task, cheap: CheapChains) -> Reached:
    """The least cost, and of that the fewest pencils.

    Where it is not proved already that nothing costs less than the best list met, and is not told
    soon, how few pencils a list can have that costs no more is asked first: each costs something.
    """
    settled = cheap.bound >= cheap.most - TOLERANCE
    few = sum(len(part.source) for part in cheap.within(cheap.levels[0])) <= _SMALL
    fewer = None if settled or few else cheap.fewer(cheap.bought)
    cheapest = float(task.prices[task.things].min())
    reached = _least(task, cheap, "cost", _Known(cheapest, fewer))
    if not reached.aims[0].proved:
        return reached
    cost = reached.aims[0].value
    if fewer is None or cost < cheap.most - TOLERANCE:
        fewer = cheap.fewer(reached.bought)
    if fewer is None:
        number = Aim("pencils", float(reached.bought.sum()), 0.0, proved=False)
        return reached._replace(aims=(*reached.aims, number))
    found = _least(task, fewer, "pencils", _Known(cheapest, None, cost))
    return found._replace(aims=(*reached.aims, *found.aims))


class _Known(NamedTuple):
    """What the `cheapest` thing costs, what is proved of their number, and the `cost` to keep."""

    cheapest: float
    fewer: CheapChains | None
    cost: float | None = None

    def at_least(self, search: CheapChains) -> float:
        """What a list counts at least."""
        number = 0.0 if self.fewer is None else self.fewer.bound
        return max(search.bound, search.raised(number * self.cheapest))

    def steps(self, search: CheapChains, level: float) -> tuple[RouteSteps, ...]:
        """The steps of lists that count no more than the level."""
        if self.fewer is None or self.cheapest <= 0.0:
            return search.within(level)
        number = math.floor(level / self.cheapest + TOLERANCE)
        return search.within(level, self.fewer.within(number))


def _least(task: Task, search: CheapChains, name: str, known: _Known) -> Reached:
    """The list that counts least in what was searched for."""
    task.progress(name)
    proved, closed, empty = known.at_least(search), task.undercut(), Programme()
    for level in search.levels:
        if level < proved - TOLERANCE:
            continue
        last = proved >= search.most - TOLERANCE
        made, programme, steps = None, empty, known.steps(search, level)
        with suppress(OutOfTime):
            made = task.with_steps(steps)
        if made is not None:
            programme = task.within_budget(made)
            objectives = dict(task.aims_counted(made))
            if known.cost is not None:
                programme.hold(objectives["cost"], known.cost)
            programme.hold(objectives[name], level)
        if last:
            aim = Aim(name, level, level, proved=True)
            return Reached(search.bought, (aim,), made, programme, steps)
        if made is None:
            unproved = task.not_reached(name, search.most, proved)
            return Reached(search.bought, (unproved,), None, empty)
        counted = np.flatnonzero(objectives[name])
        programme.add_row(counted, objectives[name][counted], proved - TOLERANCE, np.inf)
        clock = task.clock.half() if level < search.most else task.clock
        effort = _effort(task.clock, made.programme) if level < search.most else {}
        most = level + max(search.grid / 2.0, TOLERANCE * (1.0 + level))
        found = programme.minimise(objectives[name], clock, made.offers[closed], effort, most)
        if found.values is not None and found.proved:
            bought = found.values[made.offers] > 0.5
            value = float(objectives[name] @ found.values)
            programme.hold(objectives[name], value)
            aim = Aim(name, value, value, proved=True)
            return Reached(bought, (aim,), made, programme, steps)
        if not found.infeasible:
            break
        proved = level + search.grid
    unproved = Aim(name, search.most, min(proved, search.most), proved=False)
    return Reached(search.bought, (unproved,), None, empty)


def _effort(clock: Clock, programme: Programme) -> Options:
    """How far the solver searches for what may not be there: no list is better for a long proof."""
    if clock.limit is None:
        return {}
    used = programme.used(np.arange(programme.size)).sum()
    return {"mip_max_nodes": math.ceil(_EFFORT * clock.limit / max(used, 1))}
