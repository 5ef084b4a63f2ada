"""Stand-ins and recipes of every swatch, worked out before anybody asks."""

from collections.abc import Sequence
from dataclasses import dataclass

from stopgap.defaults import POCKET_STAND_INS
from stopgap.errors import InputError, NothingFoundError
from stopgap.layering import Found, Recipe, worth_offering
from stopgap.layering.recipe_search import Progress
from stopgap.planner.recipes.index import RecipeIndex
from stopgap.planner.recipes.kept import recipes_under
from stopgap.planner.recipes.questions import LayerQuestion, nearest_recipes, promising
from stopgap.planner.stand_ins.answer import StandIn
from stopgap.planner.stand_ins.search import find_stand_ins
from stopgap.swatches import Selection, Swatch


@dataclass(frozen=True, slots=True)
class PrecomputedStandIns:
    """What stands in for one swatch: `owned` pencils, `others` to buy, and recipes."""

    swatch: Swatch
    owned: tuple[StandIn, ...]
    others: tuple[StandIn, ...]
    recipes: tuple[Recipe, ...]


def precompute_stand_ins(
    swatches: Sequence[Swatch],
    *,
    limit: int = POCKET_STAND_INS,
    layering: LayerQuestion | None = None,
    progress: Progress | None = None,
) -> list[PrecomputedStandIns]:
    """For each swatch up to `limit` stand-ins of either kind, and recipes worth offering.

    Plain pencils are offered, discontinued ones only where they are owned. A recipe is worth
    offering where it comes nearer than the best owned pencil by more than both uncertainties.
    The cost grows with the square of the number of pencils to layer, once for all swatches.

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
        PrecomputedStandIns(swatch, near, far, laid)
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
        index = recipes_under(question.conditions, question.pencils, cache=question.cache)
    except InputError:  # none that can be layered: the pages are written all the same
        return [()] * len(swatches)
    found = []
    for place, (swatch, single) in enumerate(zip(swatches, nearest, strict=True)):
        found.append(_promising(swatch, single, index, question))
        if progress is not None:
            progress(place + 1, len(swatches))
    described = index.described(found)
    offered: list[tuple[Recipe, ...]] = []
    for these, single in zip(described, nearest, strict=True):
        if single is not None and not question.always:
            these = worth_offering(these, single.delta_E, single.swatch.uncertainty)
        offered.append(tuple(these[: question.limit]))
    return offered


def _promising(
    swatch: Swatch, single: StandIn | None, index: RecipeIndex, question: LayerQuestion
) -> Found:
    """The nearest recipes without the swatch itself, nearer than the best pencil is uncertain."""
    found = nearest_recipes(swatch.lab, index, limit=question.limit, without={swatch.address})
    if single is None or question.always:
        return found
    return promising(found, single.delta_E, single.swatch.uncertainty)
