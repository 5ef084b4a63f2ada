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
from stopgap.planner.choice import Choice
from stopgap.planner.model import Model
from stopgap.planner.passage import Passage
from stopgap.planner.plan import Stage
from stopgap.planner.solver import TOLERANCE, Clock, Programme

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
        """The largest step of the blends whose ends are there, 0 without blends."""
        chains = [part.chain(bought) for part in self.passages]
        return max((chain.largest for chain in chains if chain.ends_there), default=0.0)

    def within_budget(self) -> Programme:
        """The programme, with its budget if it has one."""
        programme = self.model.programme.copy()
        if self.budget is not None:
            programme.close(self.model.offers[self.prices > self.budget + TOLERANCE])
            programme.add_row(self.model.offers, self.prices, 0.0, self.budget + TOLERANCE)
        return programme


def best_purchase(question: Question) -> tuple[Booleans, tuple[Stage, ...]]:
    """Which offers to buy, and each aim with its bound."""
    programme = question.within_budget()
    bought, stages = pursue(question, programme, counting_aims(question))
    if bought is None:
        bought, stages = frugal_purchase(question), stages or (_unproved(question),)
    elif not all(stage.proved for stage in stages):
        bought = min(bought, frugal_purchase(question), key=lambda one: _merit(question, one))
    elif bought.any() and question.passages:
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
    """The purchase of the same cost and number whose largest step is smallest."""
    question.progress("largest step")
    best, largest = bought, question.largest_step(bought)
    bound = _largest_step_of_all(question)
    steps = np.unique(question.model.steps)
    steps = steps[(steps >= bound - TOLERANCE) & (steps < largest)]
    nothing = np.zeros(question.model.programme.size)
    while len(steps):
        middle = (len(steps) - 1) // 2
        closed = np.flatnonzero(question.model.steps > steps[middle])
        solution = programme.minimise(nothing, question.clock, closed)
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


def frugal_purchase(question: Question) -> Booleans:
    """A purchase that is good but not proved best, for when the time is over.

    Without a budget: everything, less each offer in turn, the dearest first, that no need misses.
    With one: nothing, and again and again the offer that takes most of the shortfall for its price.
    """
    n = len(question.prices)
    if question.budget is None:
        bought = np.ones(n, dtype=bool)
        least = question.shortfall(bought)
        for offer in np.argsort(-question.prices, kind="stable"):
            bought[offer] = False
            bought[offer] = question.shortfall(bought) > least
        return bought
    bought = np.zeros(n, dtype=bool)
    while True:
        open_now = question.shortfall(bought)
        gains = np.zeros(n)
        for offer in np.flatnonzero(~bought & (question.prices <= _left(question, bought))):
            bought[offer] = True
            gains[offer] = open_now - question.shortfall(bought)
            bought[offer] = False
        if not (gains > TOLERANCE).any():
            return bought
        bought[np.argmax(gains / (question.prices + TOLERANCE))] = True


def _left(question: Question, bought: Booleans) -> float:
    return (question.budget or 0.0) - question.cost(bought) + TOLERANCE


def _merit(question: Question, bought: Booleans) -> tuple[float, float, int]:
    return (round(question.shortfall(bought), 6), question.cost(bought), int(bought.sum()))


def _unproved(question: Question) -> Stage:
    return Stage("shortfall" if question.may_fall_short else "cost", np.inf, 0.0, proved=False)
