"""The best purchase: the best of each part in the aims that count, then of those as good."""

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats
from stopgap.planner.shopping.answer import Aim
from stopgap.planner.shopping.frugal import frugal_purchase, least_cost
from stopgap.planner.shopping.lean.columns import RouteSteps
from stopgap.planner.shopping.lean.needed import serving_routes
from stopgap.planner.shopping.lean.parts import coupled
from stopgap.planner.shopping.lean.programme import Formulation
from stopgap.planner.shopping.lexicographic.levels import by_levels
from stopgap.planner.shopping.lexicographic.pursuing import hold, in_sum, pursue, settled
from stopgap.planner.shopping.task import Task
from stopgap.planner.shopping.wanted import WantedBlend
from stopgap.planner.solver import TOLERANCE, OutOfTime, Programme

_FLOW = 1e-3


class Counted(NamedTuple):
    """The best purchase for some needs in the aims that count, these, and the programme of all that
    are as good, None where it is too large or there is no other; and the steps that these can have,
    where that is known.
    """

    task: Task
    bought: Booleans
    aims: tuple[Aim, ...]
    made: Formulation | None
    programme: Programme
    steps: tuple[RouteSteps, ...] = ()
    only: bool = False

    @property
    def too_large(self) -> bool:
        """Whether others may be as good, and cannot be asked for."""
        return self.made is None and not self.only

    def may_hold(self) -> Booleans:
        """The things that a purchase may hold which is as good."""
        if self.made is None:
            return self.bought
        return self.task.things & _may_hold(self.task, self.made, self.programme, self.aims)


def best_purchase(task: Task) -> tuple[Booleans, tuple[Aim, ...], list[Counted]]:
    """What to buy, each aim reached, and how the needs stand part by part in those that count."""
    solved, counted = _solved(task)
    bought = _union([one.bought for one in counted])
    aims = in_sum([one.aims for one in counted])
    if solved.budget != task.budget:
        least = task.shortfall(bought)
        aims = (Aim("shortfall", least, least, proved=True), *aims)
    if not bought.any() or not settled(aims):
        return bought, aims, counted
    if any(one.too_large for one in counted):
        return bought, (*aims, task.not_reached("toll", task.toll(bought))), counted
    found, finer = zip(*(_finest(*group) for group in _as_good(solved, counted)))
    return _union(found), (*aims, *in_sum(finer)), counted


def _solved(task: Task) -> tuple[Task, list[Counted]]:
    """The needs part by part, and the task that was solved: without its budget, where what brings
    every need as near as can be costs no more than that.
    """
    if task.budget is None:
        return task, [_counted(part) for part in task.parts]
    free = replace(task, budget=None, clock=task.clock.half())
    if least_cost(free, free.clock) <= task.budget:
        free = replace(free, known=frugal_purchase(free, free.clock))
        counted = [_counted(part) for part in free.parts]
        bought = _union([one.bought for one in counted])
        if task.cost(bought) <= task.budget + TOLERANCE and free.serves(bought):
            return replace(free, clock=task.clock), counted
    return task, [_counted(task)]


def _union(lists: Sequence[Booleans]) -> Booleans:
    return np.asarray(np.logical_or.reduce(lists), dtype=np.bool_)


def _counted(task: Task) -> Counted:
    """The best of what is found, what is known, and what was met on the way."""
    if (only := _only(task)) is not None:
        return only
    nothing = np.zeros(len(task.prices), dtype=np.bool_)
    try:
        by_chains = None if task.cheap is None else by_levels(task, task.cheap)
        found = _in_turn(task) if by_chains is None else Counted(task, *by_chains)
    except OutOfTime:
        found = Counted(task, nothing, (task.not_reached("cost", np.inf),), None, Programme())
    known = found.bought if task.known is None else task.known
    if task.merit(found.bought) <= task.merit(known):
        return found
    # a proof that a plain heuristic undercuts is none, whatever the solver says
    aims = tuple(_unproved(aim, task, known) for aim in found.aims)
    return found._replace(bought=known, aims=aims)


def _only(task: Task) -> Counted | None:
    """What is known, if no list can lack any of it: every other costs more, or is of more pencils.

    None where it is not known in time, or another that holds more may come first.
    """
    known = task.known
    if known is None or task.minds_cores or task.clock.left == 0.0 or not task.held_by_all(known):
        return None
    values = ("cost", task.cost(known)), ("pencils", float(known.sum()))
    aims = tuple(Aim(name, value, value, proved=True) for name, value in values)
    return Counted(task, known, aims, None, Programme(), only=True)


def _in_turn(task: Task) -> Counted:
    """One programme, aim after aim."""
    made = task.counting
    programme = task.within_budget(made)
    closed = made.offers[task.undercut()]
    bought, aims = pursue(task, made, programme, task.aims_counted(made), closed)
    found = np.zeros(len(task.prices), dtype=np.bool_) if bought is None else bought
    return Counted(task, found, aims, made, programme)


def _unproved(aim: Aim, task: Task, bought: Booleans) -> Aim:
    """The aim by what is bought in place of what was found."""
    shortfall, cores, cost, number = task.merit(bought)
    values = {"shortfall": shortfall, "another core": cores, "cost": cost, "pencils": number}
    value = float(values[aim.name])
    return aim._replace(value=value, bound=min(value, aim.bound), proved=False)


def _as_good(task: Task, counted: Sequence[Counted]) -> list[tuple[Task, list[Counted], Booleans]]:
    """The parts in groups that nothing couples by their tolls either, with what a purchase may hold
    that is as good as the best of each.
    """
    held = [one.may_hold() for one in counted]
    every = _union(held)
    uses = []
    for its, one in zip(held, counted):
        taken = its.copy()
        for blend in one.task.blends:
            taken[task.bringing(blend.every_offer)] = True
        uses.append(np.flatnonzero(taken & every))
    groups = []
    for group in coupled(uses):
        parts = [counted[place] for place in group]
        needs = {id(need) for one in parts for need in one.task.needs}
        places = [place for place, need in enumerate(task.needs) if id(need) in needs]
        groups.append((task.part(places), parts, _union([held[place] for place in group])))
    return groups


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


def _finest(
    task: Task, parts: Sequence[Counted], things: Booleans
) -> tuple[Booleans, tuple[Aim, ...]]:
    """Of the purchases of `things` that are as good in what counts, in each of the parts, the best
    one in the aims beyond.
    """
    bought = _union([one.bought for one in parts])
    if not (things & ~bought).any():
        return bought, _finer_of_the_only(task, bought)
    try:
        made = task.fine(things, _steps_by_blend(parts))
    except OutOfTime:
        return bought, (task.not_reached("toll", task.toll(bought)),)
    programme, counts, aims = task.within_budget(made), made.counts, tuple[Aim, ...]()
    programme.close(made.offers[~things])
    programme.close(made.offers[task.undercut(mind_toll=True)])
    _hold_parts(task, parts, made, programme)
    fine = [("toll", counts.toll)] if task.blends else []
    if counts.beside.any():
        fine.insert(0, ("blends beside their path", counts.beside))
    fine.append(("order of addresses", made.objective(np.arange(1.0, 1 + len(bought)))))
    for name, objective in fine:
        if not all(aim.proved for aim in aims):
            break
        if objective is counts.beside:
            many = task.beside_path(bought)
            if many <= _whole_floor(programme, objective, task, many):
                programme.hold(objective, many)
                aims = (*aims, Aim(name, many, many, proved=True))
                continue
        had = np.inf
        if objective is counts.toll:
            floors, toll = programme.floors(objective, task.clock), task.toll(bought)
            _close_dearer(programme, floors, toll)
            had = toll + _FLOW * (1.0 + toll)
        aim, clock = [(name, objective)], task.clock.half()
        found, last = pursue(task, made, programme, aim, clock=clock, known=had)
        bought = bought if found is None else found
        if objective is counts.toll:
            last = (_as_laid(last[0], task.toll(bought)),)
            _close_dearer(programme, floors, last[0].value)
        aims = (*aims, *last)
    return bought, aims


def _finer_of_the_only(task: Task, bought: Booleans) -> tuple[Aim, ...]:
    """The aims beyond, where no other purchase is as good."""
    there = task.sale.there(bought)
    values = [("order of addresses", float(bought.sum() + np.flatnonzero(bought).sum()))]
    if task.blends:
        values.insert(0, ("toll", task.toll(bought)))
    if any(any(serving_routes(blend, there)[1:]) for blend in task.blends):
        values.insert(0, ("blends beside their path", task.beside_path(bought)))
    return tuple(Aim(name, value, value, proved=True) for name, value in values)


def _steps_by_blend(parts: Sequence[Counted]) -> dict[WantedBlend, list[RouteSteps]]:
    """The steps of the routes of each blend of which these are known."""
    known: dict[WantedBlend, list[RouteSteps]] = {}
    for one in parts:
        for each in one.steps:
            known.setdefault(one.task.missed[each.blend], []).append(each)
    return known


def _close_dearer(programme: Programme, floors: Floats, most: float) -> None:
    """Hold at 0 what nothing that counts no more than that makes use of, by these `floors`."""
    programme.close(np.flatnonzero(floors > most + 2 * TOLERANCE * (1.0 + most)))


def _hold_parts(
    task: Task, parts: Sequence[Counted], made: Formulation, programme: Programme
) -> None:
    """Keep the aims that count from getting worse: what is bought part by part."""
    for name, objective in task.aims_counted(made):
        reached = [(one, aim.value) for one in parts for aim in one.aims if aim.name == name]
        if name in {"cost", "pencils"}:
            for one, value in reached:
                of_part = made.objective(objective[made.offers] * one.task.things)
                programme.hold(of_part, value)
        else:
            hold(made, programme, name, objective, math.fsum(value for _, value in reached))


def _whole_floor(programme: Programme, objective: Floats, task: Task, enough: int) -> int:
    """What whole numbers add up to at least, by the relaxation; not looked at for none."""
    relaxed = programme.relaxed(objective, task.clock) if enough else None
    return 0 if relaxed is None else math.ceil(relaxed.bound - _FLOW)


def _as_laid(aim: Aim, toll: float) -> Aim:
    """The aim with the toll of the chains that are laid.

    A flow may save a little toll by the millionth part that a row is allowed to be off; more than
    that is no proof.
    """
    return aim._replace(value=toll, proved=aim.proved and toll - aim.value <= _FLOW * (1.0 + toll))
