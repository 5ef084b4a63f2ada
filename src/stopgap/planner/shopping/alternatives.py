"""Other lists near the best one, and pencils that are not worth buying."""

from collections.abc import Sequence

import numpy as np

from stopgap.arrays import Booleans
from stopgap.planner.materials import labs_of
from stopgap.planner.sameness import SAME_TO_THE_EYE, differences
from stopgap.planner.shopping.answer import Alternative, DoNotBuy
from stopgap.planner.shopping.lexicographic import Task, pursue
from stopgap.planner.shopping.supply import Offer
from stopgap.planner.solver import TOLERANCE
from stopgap.swatches import Swatch

NEAR = 1.5
"""Alternatives cost at most this many times the best list: this project's choice."""


def alternatives_to(
    bought: Booleans, task: Task, offers: Sequence[Offer], count: int
) -> tuple[Alternative, ...]:
    """Up to `count` next best lists.

    Each lacks at least one pencil of every list before it, so none is a longer copy of another;
    without a budget each meets the same needs at no more than NEAR times the cost.
    """
    programme = task.within_budget()
    needless = np.flatnonzero(task.formulation.counts.needless)
    if task.budget is None:
        most = NEAR * task.cost(bought) + TOLERANCE
        programme.add_row(task.formulation.offers, task.prices, 0.0, most)
    found: list[Alternative] = []
    last: Booleans | None = bought
    while last is not None and last.any() and len(found) < count:
        pencils = task.formulation.offers[last]
        programme.add_row(pencils, np.ones(len(pencils)), 0.0, len(pencils) - 1.0)
        last, aims = pursue(task, programme.copy(), task.counting(), needless)
        if last is None or not last.any() or not all(aim.proved for aim in aims):
            break
        swatches = tuple(offer.swatch for offer, taken in zip(offers, last) if taken)
        found.append(Alternative(swatches, task.cost(last), task.shortfall(last)))
    return tuple(found)


def same_as_owned(offers: Sequence[Offer], owned: Sequence[Swatch]) -> tuple[DoNotBuy, ...]:
    """Each offer that is the same to the eye as an owned pencil, with the nearest such."""
    if not offers or not owned:
        return ()
    table = differences(labs_of([offer.swatch for offer in offers]), labs_of(owned))
    nearest = table.argmin(axis=1)
    return tuple(
        DoNotBuy(offer.swatch, owned[place], float(row[place]))
        for offer, place, row in zip(offers, nearest, table)
        if row[place] <= SAME_TO_THE_EYE
    )
