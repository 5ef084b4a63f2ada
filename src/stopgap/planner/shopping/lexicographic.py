"""The best purchase, aim after aim; the next best ones; and a good one without a proof.

The aims, each pursued only as far as the aims before it allow: least shortfall (with a budget;
otherwise every need comes as near as everything for sale would bring it), where pencils that lay
badly are replaced the fewest of another core where their own serves as well, least cost, fewest
pencils, least toll of the blends, and at last the pencils that come first in the order of addresses
(least sum of their ranks), so that the same question has the same answer. Before the toll comes
how many blends must leave a bent path for its chord, since there only chains of one path compare.
"""

from collections.abc import Callable, Sequence

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers
from stopgap.planner.shopping.answer import Aim, Alternative
from stopgap.planner.shopping.lean.programme import Formulation
from stopgap.planner.shopping.task import Task
from stopgap.planner.solver import TOLERANCE, Clock, OutOfTime, Programme

_FLOW = 1e-3

NEAR = 1.5
"""Alternatives cost at most this many times the best list: this project's choice."""

COUNTED = ("shortfall", "another core", "cost", "pencils")
"""The aims that two purchases are compared by."""


AtLeast = Callable[[str, Booleans | None], float]
"""What the aim of that name comes to at least, by the best purchase of the aims before it."""


def best_purchase(task: Task) -> tuple[Booleans | None, tuple[Aim, ...]]:
    """Which offers to buy, None if the time did not suffice for any, and each aim reached."""
    try:
        made = task.counting
    except OutOfTime:
        return None, (Aim("cost", np.inf, 0.0, proved=False),)
    programme = task.within_budget(made)
    closed = made.offers[task.undercut()]
    counted, known = task.aims_counted(made), _at_least(task)
    bought, aims = pursue(task, made, programme, counted, closed, at_least=known)
    if bought is None or not bought.any() or not all(aim.proved for aim in aims):
        return bought, aims
    found, finer = _finest(task, made, programme, aims, bought)
    return found, (*aims, *finer)


def _finest(
    task: Task, counted: Formulation, programme: Programme, reached: Sequence[Aim], bought: Booleans
) -> tuple[Booleans, tuple[Aim, ...]]:
    """Of the purchases that are as good in what counts the best one in the aims beyond."""
    things = _may_hold(task, counted, programme, reached)
    try:
        made = task.fine(things)
    except OutOfTime:
        return bought, (Aim("toll", task.toll(bought), 0.0, proved=False),)
    programme, counts, aims = task.within_budget(made), made.counts, tuple[Aim, ...]()
    programme.close(made.offers[~things])
    programme.close(made.offers[task.undercut(mind_toll=True)])
    for (name, objective), aim in zip(task.aims_counted(made), reached, strict=True):
        _hold(made, programme, name, objective, aim.value)
    fine = [("toll", counts.toll)] if task.blends else []
    if counts.beside.any():
        fine.insert(0, ("blends beside their path", counts.beside))
    fine.append(("order of addresses", made.objective(np.arange(1.0, 1 + len(bought)))))
    for name, objective in fine:
        if not all(aim.proved for aim in aims):
            break
        if objective is counts.beside and not task.beside_path(bought):
            programme.hold(objective, 0.0)  # none is the fewest
            aims = (*aims, Aim(name, 0.0, 0.0, proved=True))
            continue
        found, last = pursue(task, made, programme, [(name, objective)], clock=task.clock.half())
        bought = bought if found is None else found
        if name == "toll":
            last = (_as_laid(last[0], task.toll(bought)),)
        aims = (*aims, *last)
    return bought, aims


def _may_hold(
    task: Task, made: Formulation, programme: Programme, reached: Sequence[Aim]
) -> Booleans:
    """The things that a purchase may hold which is as good in the aims reached, whose rows are in
    `programme`.
    """
    may = np.ones(len(task.prices), dtype=np.bool_)
    for (name, objective), aim in zip(task.aims_counted(made), reached, strict=True):
        if name in {"cost", "pencils"}:
            most = aim.value + 2 * TOLERANCE * (1.0 + aim.value)
            may &= programme.floors(objective, task.clock)[made.offers] <= most
    return may


def _as_laid(aim: Aim, toll: float) -> Aim:
    """The aim with the toll of the chains that are laid.

    A flow may save a little toll by the millionth part that a row is allowed to be off; more than
    that is no proof.
    """
    return aim._replace(value=toll, proved=aim.proved and toll - aim.value <= _FLOW * (1.0 + toll))


def pursue(
    task: Task,
    made: Formulation,
    programme: Programme,
    objectives: Sequence[tuple[str, Floats]],
    closed: Integers | None = None,
    clock: Clock | None = None,
    at_least: AtLeast | None = None,
) -> tuple[Booleans | None, tuple[Aim, ...]]:
    """The aims in turn, each one reached becoming a row of `programme`, which is that of what is
    `made` with rows added; None if nothing is found.

    `at_least` tells what an aim is known to come to: who reaches that need not go on to prove it.
    A proof is as good as the solver's tolerance, one part in a million.
    """
    bought: Booleans | None = None
    aims: list[Aim] = []
    offers = made.offers
    for name, objective in objectives:
        task.progress(name)
        if at_least is not None and (least := at_least(name, bought)) > 0.0:
            counted = np.flatnonzero(objective)
            programme.add_row(counted, objective[counted], least - TOLERANCE, np.inf)
        solution = programme.minimise(objective, clock or task.clock, closed)
        if solution.values is None:
            last = np.inf if bought is None else float(objective[offers] @ bought)
            aims.append(Aim(name, last, max(0.0, solution.bound), proved=False))
            break
        bought = solution.values[offers] > 0.5
        value = float(objective @ solution.values)
        bound = value if solution.proved else min(value, max(0.0, solution.bound))
        aims.append(Aim(name, value, bound, solution.proved))
        if not solution.proved:
            break
        _hold(made, programme, name, objective, value)
    return bought, tuple(aims)


def _at_least(task: Task) -> AtLeast:
    """What is proved by the prices of chains."""

    def least(name: str, bought: Booleans | None) -> float:
        if task.cheap is None:
            return 0.0
        if name == "cost":
            return task.cheap.bound
        return task.cheap.fewest(bought) if name == "pencils" and bought is not None else 0.0

    return least


def _as_good(task: Task, bought: Booleans) -> AtLeast:
    """What no list as cheap as the best one betters, where cost comes first and then the number."""
    counts = {"cost": task.cost(bought), "pencils": float(bought.sum())}
    return lambda name, _: counts.get(name, 0.0)


def _hold(
    made: Formulation, programme: Programme, name: str, objective: Floats, value: float
) -> None:
    """Keep an aim from getting worse than `value`."""
    programme.hold(objective, value)
    if name == "shortfall":
        programme.close(made.beyond(value))


def alternatives_to(bought: Booleans, task: Task, count: int) -> tuple[Alternative, ...]:
    """Up to `count` next best lists.

    Each lacks at least one pencil or set of every list before it, so none is a longer copy of
    another; without a budget each meets the same needs at no more than NEAR times the cost.
    """
    found: list[Alternative] = []
    held, lists = bought, [bought]
    levels: list[tuple[float, AtLeast | None]] = [(NEAR * task.cost(bought), None)]
    if task.cheap is not None:
        levels.insert(0, (task.cost(bought), _as_good(task, bought)))
    while levels and len(found) < count:
        most, known = levels[0]
        try:
            made = task.dearer(most)
        except OutOfTime:
            break
        programme = task.within_budget(made)
        if task.budget is None:
            programme.add_row(made.offers, task.prices, 0.0, most + TOLERANCE)
        for each in lists:
            pencils = made.offers[each]
            programme.add_row(pencils, np.ones(len(pencils)), 0.0, len(pencils) - 1.0)
        closed = made.offers[task.undercut(held=held)]
        counted = task.aims_counted(made)
        last, aims = pursue(task, made, programme, counted, closed, at_least=known)
        if last is None or not last.any():
            del levels[0]
            continue
        if not all(aim.proved for aim in aims):
            break
        held = held | last
        lists.append(last)
        swatches = tuple(offer.swatch for offer in task.sale.singly_bought(last))
        sets = task.sale.sets_bought(last)
        found.append(Alternative(swatches, task.cost(last), task.shortfall(last), sets))
    return tuple(found)
