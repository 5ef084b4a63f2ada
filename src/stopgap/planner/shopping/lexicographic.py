"""The best purchase, aim after aim.

The aims, each pursued only as far as the aims before it allow: least shortfall (with a budget or
for needs that can be met in part; otherwise everything that can be met is met), least cost, fewest
pencils, smallest largest step of the blends, and at last the pencils that come first in the order
of addresses (least sum of their ranks), so that the same question has the same answer. The largest
step is found by bisection over the steps that occur: "no step above t" closes the steps above t,
which leaves the programme as strong as it was.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers
from stopgap.planner.shopping.answer import Stage
from stopgap.planner.shopping.blend_graph import Passage
from stopgap.planner.shopping.listed_colour import Choice
from stopgap.planner.shopping.programme import Model
from stopgap.planner.solver import TOLERANCE, Clock, Programme

COUNTED = ("shortfall", "cost", "pencils")
"""The aims that two purchases are compared by."""

Progress = Callable[[str], None]
"""Told the aim that is about to be pursued."""


@dataclass(frozen=True, slots=True)
class Question:
    """The needs that a purchase can meet, what each offer costs, and the means to ask.

    With `partial` also those that a purchase can only bring nearer.
    """

    passages: tuple[Passage, ...]
    choices: tuple[Choice, ...]
    prices: Floats
    model: Model
    budget: float | None
    partial: bool
    clock: Clock
    progress: Progress

    @property
    def may_fall_short(self) -> bool:
        """Whether needs may stay open, so that the shortfall is the first aim."""
        return self.partial or self.budget is not None

    def shortfall(self, bought: Booleans) -> float:
        """What the needs have over their limits in sum, weighted."""
        return float(
            sum(part.need.weight * part.shortfall(bought) for part in self.passages)
            + sum(part.need.weight * part.shortfall(bought) for part in self.choices)
        )

    def cost(self, bought: Booleans) -> float:
        """What a purchase costs."""
        return math.fsum(self.prices[bought])

    def largest_step(self, bought: Booleans) -> float:
        """The smallest largest step of the blends whose ends are there, 0 without blends."""
        chains = [part.smoothest(bought) for part in self.passages]
        return max((chain.largest for chain in chains if chain.ends_there), default=0.0)

    def merit(self, bought: Booleans) -> tuple[float, float, int]:
        """Shortfall, cost and number of pencils: the less, the better."""
        return round(self.shortfall(bought), 6), self.cost(bought), int(bought.sum())

    def within_budget(self) -> Programme:
        """The programme, with its budget if it has one."""
        programme = self.model.programme.copy()
        if self.budget is not None:
            programme.close(self.model.offers[self.prices > self.budget + TOLERANCE])
            programme.add_row(self.model.offers, self.prices, 0.0, self.budget + TOLERANCE)
        return programme


def best_purchase(question: Question) -> tuple[Booleans | None, tuple[Stage, ...]]:
    """Which offers to buy, None if the time did not suffice for any, and each aim reached."""
    programme = question.within_budget()
    bought, stages = pursue(question, programme, counting_aims(question))
    if bought is None or not all(stage.proved for stage in stages):
        return bought, stages
    if bought.any() and question.passages:
        bought, stage = _smooth(question, programme, bought)
        stages = (*stages, stage)
    if bought.any() and all(stage.proved for stage in stages):
        order = np.arange(1.0, len(bought) + 1.0)
        aim = ("order of addresses", question.model.objective(order))
        steps = question.model.steps
        closed = np.flatnonzero(steps > question.largest_step(bought) + TOLERANCE)
        found, last = pursue(question, programme, [aim], closed)
        bought, stages = (bought if found is None else found), (*stages, *last)
    return bought, stages


def counting_aims(question: Question) -> list[tuple[str, Floats]]:
    """Shortfall (with a budget), cost and number of pencils, as objectives."""
    model = question.model
    cost = ("cost", model.objective(question.prices))
    count = ("pencils", model.objective(np.ones(len(question.prices))))
    return (
        [("shortfall", model.shortfall), cost, count] if question.may_fall_short else [cost, count]
    )


def pursue(
    question: Question,
    programme: Programme,
    aims: Sequence[tuple[str, Floats]],
    closed: Integers | None = None,
) -> tuple[Booleans | None, tuple[Stage, ...]]:
    """The aims in turn, each one reached becoming a row of `programme`; None if nothing is found.

    A proof is as good as the solver's tolerance, one part in a million.
    """
    bought: Booleans | None = None
    stages: list[Stage] = []
    for name, objective in aims:
        question.progress(name)
        solution = programme.minimise(objective, question.clock, closed)
        if solution.values is None:
            last = np.inf if bought is None else float(objective[question.model.offers] @ bought)
            stages.append(Stage(name, last, max(0.0, solution.bound), proved=False))
            break
        bought = solution.values[question.model.offers] > 0.5
        value = float(objective @ solution.values)
        bound = value if solution.proved else min(value, max(0.0, solution.bound))
        stages.append(Stage(name, value, bound, solution.proved))
        if not solution.proved:
            break
        programme.hold(objective, value)
    return bought, tuple(stages)


def _smooth(question: Question, programme: Programme, bought: Booleans) -> tuple[Booleans, Stage]:
    """The purchase of the same cost and number whose largest step is smallest.

    It leaves half of the time to look for alternatives.
    """
    question.progress("largest step")
    clock = question.clock.half()
    best, largest = bought, question.largest_step(bought)
    bound = _largest_step_of_all(question)
    steps = np.unique(question.model.steps)
    steps = steps[(steps >= bound - TOLERANCE) & (steps < largest)]
    nothing = np.zeros(question.model.programme.size)
    while len(steps):
        middle = (len(steps) - 1) // 2
        closed = np.flatnonzero(question.model.steps > steps[middle])
        solution = programme.minimise(nothing, clock, closed)
        if solution.values is not None:
            best = solution.values[question.model.offers] > 0.5
            largest = question.largest_step(best)
            steps = steps[steps < min(largest, steps[middle])]
        elif solution.infeasible:
            bound = float(steps[middle])
            steps = steps[middle + 1 :]
        else:
            return best, Stage("largest step", largest, bound, proved=False)
    return best, Stage("largest step", largest, largest, proved=True)


def _largest_step_of_all(question: Question) -> float:
    """A largest step that no purchase can undercut; blends that may lack an end have none."""
    if question.may_fall_short:
        return 0.0
    everything = np.ones(len(question.prices), dtype=bool)
    return max(part.smallest_largest_step(everything) for part in question.passages)
