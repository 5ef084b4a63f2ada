"""Layering as a stand-in: which recipes come nearer to a colour than any single pencil."""

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass

import numpy as np

from stopgap.difference import GRADES
from stopgap.layering import (
    DEFAULT_TOOTH,
    LOAD_SPREAD,
    PRESSURES,
    TOOTH,
    TOOTH_SPREAD,
    Found,
    Pencils,
    Recipe,
    pencils,
    worth_offering,
)
from stopgap.planner.recipe_cache import RecipeCache
from stopgap.planner.recipe_index import RecipeIndex
from stopgap.swatches import Hand, Swatch, Target

__all__ = [
    "LayerQuestion",
    "Progress",
    "Recipe",
    "estimated_hand",
    "find_recipes",
    "make_box",
    "middle_by_layering",
]

Progress = Callable[[int, int], None]
Lab = tuple[float, float, float]
Middle = Callable[[Lab], tuple[Lab, float, object] | None]

_SPARE = 5  # recipes asked for beyond those wanted: some are pencils laid heavily and alone

NEAR_ENOUGH = GRADES["noticeable"]
"""The largest ΔE00 at which a recipe counts as the colour between two others."""


@dataclass(frozen=True, slots=True)
class LayerQuestion:
    """What may be layered, how the hand lays, and whether recipes are shown in any case.

    Without `always`, only recipes are offered that come nearer than the best single pencil by more
    than their uncertainty. `cache` is where recipes are kept, if anywhere.
    """

    hand: Hand
    pencils: Sequence[Swatch]
    always: bool = False
    limit: int = 3
    cache: RecipeCache | None = None


def estimated_hand() -> Hand:
    """The hand before any calibration: this project's estimates on white drawing paper."""
    return Hand(
        tooth=TOOTH[DEFAULT_TOOTH],
        tooth_spread=TOOTH_SPREAD,
        load_spread=LOAD_SPREAD,
        loads=PRESSURES,
    )


def make_box(hand: Hand, swatches: Sequence[Swatch]) -> Pencils:
    """Pencils ready to be layered by that hand; raises as `layering.pencils` does."""
    return pencils(
        swatches,
        hand.paper,
        pressures=hand.loads,
        tooth=hand.tooth,
        opacity=hand.opacity,
        swatch_paper_lab=hand.swatch_paper,
    )


def find_recipes(
    target: Target,
    question: LayerQuestion,
    *,
    single_delta_E: float,
    single_sigma: float,
    progress: Progress | None = None,
) -> tuple[Recipe, ...]:
    """The best recipes, nearest first; the target itself is never layered.

    `single_delta_E` and `single_sigma` are the ΔE00 and the standard uncertainty of the best single
    pencil, infinite and 0 where there is none. A pencil laid heavily and alone is no recipe.
    """
    if all(_is_target(swatch, target) for swatch in question.pencils):
        return ()
    box = make_box(question.hand, question.pencils)
    index = RecipeIndex(box, progress=progress, cache=question.cache)
    barred = {swatch.address for swatch in question.pencils if _is_target(swatch, target)}
    found = nearest_recipes(target.lab, index, limit=question.limit, without=barred)
    hand = question.hand
    (recipes,) = index.described(
        [found], tooth_spread=hand.tooth_spread, load_spread=hand.load_spread
    )
    if not question.always:
        recipes = worth_offering(recipes, single_delta_E, single_sigma)
    return tuple(recipes)


def middle_by_layering(
    hand: Hand,
    swatches: Sequence[Swatch],
    *,
    cache: RecipeCache | None = None,
    progress: Progress | None = None,
) -> Middle:
    """What lies between two colours, asked of the best recipe of `swatches`."""
    index = RecipeIndex(make_box(hand, swatches), cache=cache, progress=progress)

    def middle(target: Lab) -> tuple[Lab, float, object] | None:
        found = index.search([target], limit=1)
        if found[0].delta_E[0] > NEAR_ENOUGH:
            return None
        ((nearest,),) = index.described(
            found, tooth_spread=hand.tooth_spread, load_spread=hand.load_spread
        )
        return nearest.lab, nearest.delta_E, nearest

    return middle


def nearest_recipes(
    target_lab: Lab, index: RecipeIndex, *, limit: int, without: Collection[str] = ()
) -> Found:
    """The `limit` nearest that are recipes: a pencil laid heavily and alone is none.

    Pencils whose address is in `without` are not used.
    """
    pressures = index.box.pressures
    heaviest = list(pressures).index(max(pressures, key=pressures.__getitem__))
    wanted = limit + _SPARE
    while True:
        (found,) = index.search([target_lab], limit=wanted, without=without)
        alone = found.layings[:, 1] < 0
        rows = np.flatnonzero(~alone | (found.layings[:, 0] % len(pressures) != heaviest))
        if len(rows) >= limit or len(found.delta_E) < wanted:
            return Found(found.layings[rows[:limit]], found.delta_E[rows[:limit]])
        wanted *= 2


def _is_target(swatch: Swatch, target: Target) -> bool:
    return isinstance(target, Swatch) and swatch.address == target.address
