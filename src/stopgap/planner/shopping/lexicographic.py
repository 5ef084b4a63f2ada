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
    def formulation(self) -> Formulation:
        """The programme, made when it is asked for; raises OutOfTime as `formulate` does."""
        open_ = self.budget is not None
        things, givers = len(self.prices), self.sale.givers
        return formulate(
            self.blends, self.colours, things, givers, may_stay_open=open_, clock=self.clock
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

    def within_budget(self) -> Programme:
        """The programme, with its budget if it has one."""
        programme, offers = self.formulation.programme.copy(), self.formulation.offers
        programme.close_unused(offers)
        if self.budget is not None:
            programme.close(offers[self.prices > self.budget + TOLERANCE])
            programme.add_row(offers, self.prices, 0.0, self.budget + TOLERANCE)
        return programme

    def undercut(self, held: Booleans | None = None) -> Integers:
        """The variables of what no best list holds, or none that lacks some of what was `held`."""
        may = self.budget is not None
        out = undercut(self.blends, self.colours, self.sale, may_stay_open=may, held=held)
        return self.formulation.offers[out]

    def counting(self) -> list[tuple[str, Floats]]:
        """Shortfall (with a budget), another core, cost and number of pencils, as objectives."""
        objective = self.formulation.objective
        cost = ("cost", objective(self.prices))
        count = ("pencils", objective(np.ones(len(self.prices))))
        counts = self.formulation.counts
        shortfall = [] if self.budget is None else [("shortfall", counts.shortfall)]
        cores = [("another core", counts.second_best)] if counts.second_best.any() else []
        return [*shortfall, *cores, cost, count]


def best_purchase(task: Task) -> tuple[Booleans | None, tuple[Aim, ...]]:
    """Which offers to buy, None if the time did not suffice for any, and each aim reached."""
    try:
        programme, counts = task.within_budget(), task.formulation.counts
    except OutOfTime:
        return None, (Aim("cost", np.inf, 0.0, proved=False),)
    programme.close(task.undercut())
    bought, aims = pursue(task, programme, task.counting(), np.flatnonzero(counts.needless))
    if bought is None or not bought.any():
        return bought, aims
    fine = []
    if task.blends:
        fine = [("toll", counts.toll)]
        if counts.beside.any():
            fine.insert(0, ("blends beside their path", counts.beside))
    fine.append(("order of addresses", task.formulation.objective(np.arange(1.0, 1 + len(bought)))))
    for name, objective in fine:
        if not all(aim.proved for aim in aims):
            break
        if objective is counts.beside and not task.beside_path(bought):
            programme.hold(objective, 0.0)  # none is the fewest
            aims = (*aims, Aim(name, 0.0, 0.0, proved=True))
            continue
        found, reached = pursue(task, programme, [(name, objective)], clock=task.clock.half())
        bought = bought if found is None else found
        if name == "toll":
            reached = (_as_laid(reached[0], task.toll(bought)),)
        aims = (*aims, *reached)
    return bought, aims


def _as_laid(aim: Aim, toll: float) -> Aim:
    """The aim with the toll of the chains that are laid.

    A flow may save a little toll by the millionth part that a row is allowed to be off; more than
    that is no proof.
    """
    return aim._replace(value=toll, proved=aim.proved and toll - aim.value <= _FLOW * (1.0 + toll))


def pursue(
    task: Task,
    programme: Programme,
    objectives: Sequence[tuple[str, Floats]],
    closed: Integers | None = None,
    clock: Clock | None = None,
) -> tuple[Booleans | None, tuple[Aim, ...]]:
    """The aims in turn, each one reached becoming a row of `programme`; None if nothing is found.

    A proof is as good as the solver's tolerance, one part in a million.
    """
    bought: Booleans | None = None
    aims: list[Aim] = []
    offers = task.formulation.offers
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
        programme.hold(objective, value)
        if name == "shortfall":
            programme.close(task.formulation.beyond(value))
    return bought, tuple(aims)


def alternatives_to(bought: Booleans, task: Task, count: int) -> tuple[Alternative, ...]:
    """Up to `count` next best lists.

    Each lacks at least one pencil or set of every list before it, so none is a longer copy of
    another; without a budget each meets the same needs at no more than NEAR times the cost.
    """
    programme = task.within_budget()
    needless = np.flatnonzero(task.formulation.counts.needless)
    if task.budget is None:
        most = NEAR * task.cost(bought) + TOLERANCE
        programme.add_row(task.formulation.offers, task.prices, 0.0, most)
    found: list[Alternative] = []
    last: Booleans | None = bought
    held = bought
    while last is not None and last.any() and len(found) < count:
        pencils = task.formulation.offers[last]
        programme.add_row(pencils, np.ones(len(pencils)), 0.0, len(pencils) - 1.0)
        closed = np.concatenate([needless, task.undercut(held)])
        last, aims = pursue(task, programme.copy(), task.counting(), closed)
        if last is None or not last.any() or not all(aim.proved for aim in aims):
            break
        held = held | last
        swatches = tuple(offer.swatch for offer in task.sale.singly_bought(last))
        sets = task.sale.sets_bought(last)
        found.append(Alternative(swatches, task.cost(last), task.shortfall(last), sets))
    return tuple(found)
