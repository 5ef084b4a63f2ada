"""Aims in turn, each one reached becoming a row that those after it must keep."""

import math
from collections.abc import Sequence

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers
from stopgap.planner.shopping.answer import Aim
from stopgap.planner.shopping.lean.programme import Formulation
from stopgap.planner.shopping.task import Task
from stopgap.planner.solver import Clock, Programme

COUNTED = ("shortfall", "another core", "cost", "pencils")
"""The aims that two purchases are compared by."""

FINER = ("blends beside their path", "toll", "order of addresses")
"""Those that decide among purchases that are as good by these."""


def pursue(
    task: Task,
    made: Formulation,
    programme: Programme,
    objectives: Sequence[tuple[str, Floats]],
    closed: Integers | None = None,
    clock: Clock | None = None,
    known: float = np.inf,
) -> tuple[Booleans | None, tuple[Aim, ...]]:
    """The aims in turn, each one reached becoming a row of `programme`, which is that of what is
    `made` with rows added; None if nothing is found.

    What is `known` to be had of an only aim need not be found again. A proof is as good as the
    solver's tolerance, one part in a million.
    """
    bought: Booleans | None = None
    aims: list[Aim] = []
    offers = made.offers
    for name, objective in objectives:
        task.progress(name)
        solution = programme.minimise(objective, clock or task.clock, closed, known=known)
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
        hold(made, programme, name, objective, value)
    return bought, tuple(aims)


def hold(
    made: Formulation, programme: Programme, name: str, objective: Floats, value: float
) -> None:
    """Keep an aim from getting worse than `value`."""
    programme.hold(objective, value)
    if name == "shortfall":
        programme.close(made.beyond(value))


def settled(aims: Sequence[Aim]) -> bool:
    """Whether what counts is proved."""
    return all(aim.proved for aim in aims if aim.name in COUNTED)


def in_sum(each: Sequence[Sequence[Aim]]) -> tuple[Aim, ...]:
    """The aims of parts that nothing couples as those of the whole, as far as all are proved."""
    found: list[Aim] = []
    for name in (*COUNTED, *FINER):
        aims = [aim for aims in each for aim in aims if aim.name == name]
        if aims:
            values, bounds = (math.fsum(parts) for parts in zip(*(aim[1:3] for aim in aims)))
            proved, large = all(aim.proved for aim in aims), any(aim.too_large for aim in aims)
            found.append(Aim(name, values, bounds, proved, large))
            if not found[-1].proved:
                break
    return tuple(found)
