"""Stand-ins and recipes of every swatch, worked out before anybody asks."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stopgap.errors import InputError, NothingFoundError
from stopgap.layering import Found, Pencils, Recipe, recipes_of, search, worth_offering
from stopgap.planner.answers import StandIn
from stopgap.planner.recipes import LayerQuestion, Progress, make_box
from stopgap.planner.stand_ins import find_stand_ins
from stopgap.swatches import Selection, Swatch

_SPARE = 3  # recipes found beyond those wanted: those that use the swatch itself are left out


@dataclass(frozen=True, slots=True)
class Beforehand:
    """What stands in for one swatch: `owned` pencils, `others` to buy, and recipes."""

    swatch: Swatch
    owned: tuple[StandIn, ...]
    others: tuple[StandIn, ...]
    recipes: tuple[Recipe, ...]


def stand_ins_beforehand(
    swatches: Sequence[Swatch],
    *,
    limit: int = 3,
    layering: LayerQuestion | None = None,
    progress: Progress | None = None,
) -> list[Beforehand]:
    """For each swatch up to `limit` stand-ins of either kind, and recipes worth offering.

    Plain pencils are offered, discontinued ones only where they are owned. A recipe is worth
    offering where it comes nearer than the best owned pencil by more than both uncertainties.
    The cost grows with the number of swatches times the square of that of pencils to layer.

    Raises
    ------
    InputError
        If `limit` is below 1.
    """
    if limit < 1:
        raise InputError(f"limit: expected 1 or more, found {limit}.")
    if not swatches:
        return []
    owned = [swatch for swatch in swatches if swatch.owned]
    others = [swatch for swatch in swatches if not swatch.owned]
    singles = [
        (_stand_ins(swatch, owned, limit), _stand_ins(swatch, others, limit)) for swatch in swatches
    ]
    nearest = [near[0] if near else None for near, _ in singles]
    recipes = _recipes(swatches, nearest, layering, progress) if layering else [()] * len(swatches)
    return [
        Beforehand(swatch, near, far, laid)
        for swatch, (near, far), laid in zip(swatches, singles, recipes, strict=True)
    ]


def _stand_ins(swatch: Swatch, among: Sequence[Swatch], limit: int) -> tuple[StandIn, ...]:
    try:
        return find_stand_ins(swatch, among, selection=Selection(), limit=limit).matches
    except NothingFoundError:
        return ()


def _recipes(
    swatches: Sequence[Swatch],
    nearest: Sequence[StandIn | None],
    question: LayerQuestion,
    progress: Progress | None,
) -> list[tuple[Recipe, ...]]:
    """The uncertainties of all recipes at once: one by one they would cost most of the time."""
    try:
        box = make_box(question.hand, question.pencils)
    except InputError:  # none that can be layered: the pages are written all the same
        return [()] * len(swatches)
    found = []
    for place, (swatch, single) in enumerate(zip(swatches, nearest, strict=True)):
        found.append(_promising(swatch, single, box, question))
        if progress is not None:
            progress(place + 1, len(swatches))
    hand = question.hand
    together = Found(
        np.concatenate([each.layings for each in found]),
        np.concatenate([each.delta_E for each in found]),
    )
    recipes = iter(
        recipes_of(together, box, tooth_spread=hand.tooth_spread, load_spread=hand.load_spread)
    )
    offered: list[tuple[Recipe, ...]] = []
    for each, single in zip(found, nearest, strict=True):
        these = [next(recipes) for _ in each.delta_E]
        if single is not None and not question.always:
            these = worth_offering(these, single.delta_E, single.swatch.uncertainty)
        offered.append(tuple(these[: question.limit]))
    return offered


def _promising(
    swatch: Swatch, single: StandIn | None, box: Pencils, question: LayerQuestion
) -> Found:
    """The nearest recipes without the swatch itself, nearer than the best pencil is uncertain.

    A pencil laid heavily and alone is no recipe, but a single pencil.
    """
    pressures = list(box.pressures)
    heaviest = pressures.index(max(pressures, key=box.pressures.__getitem__))
    p = len(pressures)
    itself = [place for place, each in enumerate(box.swatches) if each.address == swatch.address]
    wanted = question.limit + _SPARE
    while True:
        found = search(swatch.lab, box, limit=wanted)
        own = np.isin(found.layings // p, itself).any(axis=1)
        alone = (found.layings[:, 1] < 0) & (found.layings[:, 0] % p == heaviest)
        rows = np.flatnonzero(~own & ~alone)[: question.limit]
        if len(rows) == question.limit or len(found.delta_E) < wanted:
            break
        wanted *= 2
    if single is not None and not question.always:
        rows = rows[found.delta_E[rows] < single.delta_E - single.swatch.uncertainty]
    return Found(found.layings[rows], found.delta_E[rows])
