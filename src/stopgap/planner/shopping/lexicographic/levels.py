"""The least cost, then the fewest pencils, of blends that miss chains: by levels from a bound up.

Prices prove what no list costs less than, and which steps a list of at most some cost can have. Few
lists come close to what is proved, so the programme of these is small; where there is none of them,
more is proved, and those are asked for that cost a little more: at last the best list met.
"""

from contextlib import suppress
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Booleans
from stopgap.planner.shopping.answer import Aim
from stopgap.planner.shopping.lean.cheap_chains import CheapChains
from stopgap.planner.shopping.lean.programme import Formulation
from stopgap.planner.shopping.task import Task
from stopgap.planner.solver import TOLERANCE, OutOfTime, Programme


class Reached(NamedTuple):
    """A list, its aims, and the programme of all that are as good, None where it is too large."""

    bought: Booleans
    aims: tuple[Aim, ...]
    made: Formulation | None
    programme: Programme


def by_levels(task: Task, cheap: CheapChains) -> Reached:
    """The least cost, and of that the fewest pencils."""
    reached = _least(task, cheap, "cost", None)
    if not reached.aims[0].proved:
        return reached
    fewer = cheap.fewer(reached.bought)
    if fewer is None:
        number = Aim("pencils", float(reached.bought.sum()), 0.0, proved=False)
        return reached._replace(aims=(*reached.aims, number))
    found = _least(task, fewer, "pencils", reached.aims[0].value)
    return found._replace(aims=(*reached.aims, *found.aims))


def _least(task: Task, search: CheapChains, name: str, cost: float | None) -> Reached:
    """The list that counts least in what was searched for, which costs no more than `cost`."""
    task.progress(name)
    proved, closed, empty = search.bound, task.undercut(), Programme()
    for level in search.levels:
        last = proved >= search.most - TOLERANCE
        made, programme = None, empty
        with suppress(OutOfTime):
            made = task.with_steps(search.within(level))
        if made is not None:
            programme = task.within_budget(made)
            objectives = dict(task.aims_counted(made))
            if cost is not None:
                programme.hold(objectives["cost"], cost)
            programme.hold(objectives[name], level)
        if last:
            return Reached(search.bought, (Aim(name, level, level, proved=True),), made, programme)
        if made is None:
            unproved = task.not_reached(name, search.most, proved)
            return Reached(search.bought, (unproved,), None, empty)
        counted = np.flatnonzero(objectives[name])
        programme.add_row(counted, objectives[name][counted], proved - TOLERANCE, np.inf)
        clock = task.clock.half() if level < search.most else task.clock
        found = programme.minimise(objectives[name], clock, made.offers[closed])
        if found.values is not None and found.proved:
            bought = found.values[made.offers] > 0.5
            value = float(objectives[name] @ found.values)
            programme.hold(objectives[name], value)
            return Reached(bought, (Aim(name, value, value, proved=True),), made, programme)
        if not found.infeasible:
            break
        proved = level + search.grid
    unproved = Aim(name, search.most, min(proved, search.most), proved=False)
    return Reached(search.bought, (unproved,), None, empty)
