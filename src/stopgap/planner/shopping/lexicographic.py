"""The best purchase, aim after aim; the next best ones; and a good one without a proof.

The aims, each pursued only as far as the aims before it allow: least shortfall (with a budget;
otherwise every need comes as near as everything for sale would bring it), where pencils that lay
badly are replaced the fewest of another core where their own serves as well, least cost, fewest
pencils, least toll of the blends, and at last the pencils that come first in the order of addresses
(least sum of their ranks), so that the same question has the same answer. Before the toll comes
how many blends must leave a bent path for its chord, since there only chains of one path compare.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers
from stopgap.planner.shopping.answer import Aim, Alternative
from stopgap.planner.shopping.dominance import undercut
from stopgap.planner.shopping.offers import Sale
from stopgap.planner.shopping.programme import Formulation, formulate
from stopgap.planner.shopping.wanted import WantedBlend, WantedColour
from stopgap.planner.solver import TOLERANCE, Clock, OutOfTime, Programme

_FLOW = 1e-3

NEAR = 1.5
"""Alternatives cost at most this many times the best list: this project's choice."""

COUNTED = ("shortfall", "another core", "cost", "pencils")
"""The aims that two purchases are compared by."""

Progress = Callable[[str], None]
"""Told the aim that is about to be pursued."""


@dataclass(frozen=True)
class Task:
    """The needs that a purchase brings nearer, what is for sale, and the means to ask."""

    blends: tuple[WantedBlend, ...]
    colours: tuple[WantedColour, ...]
    sale: Sale
    budget: float | None
    clock: Clock
    progress: Progress

    @property
    def prices(self) -> Floats:
        """What each thing for sale costs."""
        return self.sale.prices

    @property
    def needs(self) -> tuple[WantedBlend | WantedColour, ...]:
        """The blends, then the colours."""
        return (*self.blends, *self.colours)

    @cached_property
    def counting(self) -> Formulation:
        """The programme for the aims that count, made when it is asked for; raises OutOfTime as
        `formulate` does.
        """
        return self._formulated(self.blends, mind_toll=False)

    def fine(self, things: Booleans) -> Formulation:
        """The programme for the aims beyond, with what is bought among `things`; raises as it."""
        pencils = self.sale.there(things)
        return self._formulated([one.among(pencils) for one in self.blends], mind_toll=True)

    def _formulated(self, blends: Sequence[WantedBlend], *, mind_toll: bool) -> Formulation:
        return formulate(
            blends,
            self.colours,
            len(self.prices),
            self.sale.givers,
            may_stay_open=self.budget is not None,
            mind_toll=mind_toll,
            clock=self.clock,
        )

    def shortfall(self, bought: Booleans) -> float:
        """What the needs have over their limits in sum, weighted."""
        there = self.sale.there(bought)
        blends = math.fsum(one.need.weight * one.shortfall(there) for one in self.blends)
        return blends + math.fsum(one.need.weight * one.shortfall(there) for one in self.colours)

    def cost(self, bought: Booleans) -> float:
        """What a purchase costs."""
        return math.fsum(self.prices[bought])

    def toll(self, bought: Booleans) -> float:
        """The toll of the blends in sum."""
        there = self.sale.there(bought)
        return math.fsum(blend.toll(there) for blend in self.blends)

    def merit(self, bought: Booleans) -> tuple[float, int, float, int]:
        """Shortfall, another core, cost and number of things: the less, the better."""
        shortfall, cores = round(self.shortfall(bought), 6), self.second_best(bought)
        return shortfall, cores, self.cost(bought), int(bought.sum())

    def second_best(self, bought: Booleans) -> int:
        """How many needs are met with another core although the same one would serve as well."""
        there = self.sale.there(bought)
        return sum(one.is_second_best(there) for one in self.needs)

    def beside_path(self, bought: Booleans) -> bool:
        """Whether any blend leaves its bent path for its chord."""
        there = self.sale.there(bought)
        return any(blend.beside_path(there) for blend in self.blends)

    def within_budget(self, made: Formulation) -> Programme:
        """The programme, with the budget if there is one."""
        programme, offers = made.programme.copy(), made.offers
        programme.close_unused(offers)
        if self.budget is not None:
            programme.close(offers[self.prices > self.budget + TOLERANCE])
            programme.add_row(offers, self.prices, 0.0, self.budget + TOLERANCE)
        return programme

    def undercut(self, *, mind_toll: bool = False, held: Booleans | None = None) -> Integers:
        """The things that no best list holds, or none that lacks some of what was `held`."""
        may = self.budget is not None
        return undercut(
            self.blends, self.colours, self.sale, may_stay_open=may, mind_toll=mind_toll, held=held
        )

    def aims_counted(self, made: Formulation) -> list[tuple[str, Floats]]:
        """Shortfall (with a budget), another core, cost and number of pencils, as objectives."""
        cost = ("cost", made.objective(self.prices))
        count = ("pencils", made.objective(np.ones(len(self.prices))))
        counts = made.counts
        shortfall = [] if self.budget is None else [("shortfall", counts.shortfall)]
        cores = [("another core", counts.second_best)] if counts.second_best.any() else []
        return [*shortfall, *cores, cost, count]


def best_purchase(task: Task) -> tuple[Booleans | None, tuple[Aim, ...]]:
    """Which offers to buy, None if the time did not suffice for any, and each aim reached."""
    try:
        made = task.counting
    except OutOfTime:
        return None, (Aim("cost", np.inf, 0.0, proved=False),)
    programme = task.within_budget(made)
    closed = made.offers[task.undercut()]
    bought, aims = pursue(task, made, programme, task.aims_counted(made), closed)
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
) -> tuple[Booleans | None, tuple[Aim, ...]]:
    """The aims in turn, each one reached becoming a row of `programme`, which is that of what is
    `made` with rows added; None if nothing is found.

    A proof is as good as the solver's tolerance, one part in a million.
    """
    bought: Booleans | None = None
    aims: list[Aim] = []
    offers = made.offers
    for name, objective in objectives:
        task.progress(name)
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
    made = task.counting
    programme = task.within_budget(made)
    if task.budget is None:
        most = NEAR * task.cost(bought) + TOLERANCE
        programme.add_row(made.offers, task.prices, 0.0, most)
    found: list[Alternative] = []
    last: Booleans | None = bought
    held = bought
    while last is not None and last.any() and len(found) < count:
        pencils = made.offers[last]
        programme.add_row(pencils, np.ones(len(pencils)), 0.0, len(pencils) - 1.0)
        closed = made.offers[task.undercut(held=held)]
        last, aims = pursue(task, made, programme.copy(), task.aims_counted(made), closed)
        if last is None or not last.any() or not all(aim.proved for aim in aims):
            break
        held = held | last
        swatches = tuple(offer.swatch for offer in task.sale.singly_bought(last))
        sets = task.sale.sets_bought(last)
        found.append(Alternative(swatches, task.cost(last), task.shortfall(last), sets))
    return tuple(found)
