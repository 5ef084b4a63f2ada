"""Layering as a stand-in: which recipes come nearer to a colour than any single pencil."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from stopgap.difference import GRADES
from stopgap.layering import (
    DEFAULT_TOOTH,
    LOAD_SPREAD,
    PRESSURES,
    TOOTH,
    TOOTH_SPREAD,
    Pencils,
    Recipe,
    best_recipes,
    pencils,
    worth_offering,
)
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

NEAR_ENOUGH = GRADES["noticeable"]
"""The largest ΔE00 at which a recipe counts as the colour between two others."""


@dataclass(frozen=True, slots=True)
class LayerQuestion:
    """What may be layered, how the hand lays, and whether recipes are shown in any case.

    Without `always`, only recipes are offered that come nearer than the best single pencil by more
    than their uncertainty.
    """

    hand: Hand
    pencils: Sequence[Swatch]
    always: bool = False
    limit: int = 3


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
    chosen = [swatch for swatch in question.pencils if not _is_target(swatch, target)]
    if not chosen:
        return ()
    box = make_box(question.hand, chosen)
    recipes = _nearest_recipes(target, box, question, progress)
    if not question.always:
        recipes = worth_offering(recipes, single_delta_E, single_sigma)
    return tuple(recipes)


def middle_by_layering(hand: Hand, swatches: Sequence[Swatch]) -> Middle:
    """What lies between two colours, asked of the best recipe of `swatches`."""
    box = make_box(hand, swatches)

    def middle(target: Lab) -> tuple[Lab, float, object] | None:
        (nearest,) = best_recipes(
            target, box, limit=1, tooth_spread=hand.tooth_spread, load_spread=hand.load_spread
        )
        if nearest.delta_E > NEAR_ENOUGH:
            return None
        return nearest.lab, nearest.delta_E, nearest

    return middle


def _nearest_recipes(
    target: Target, box: Pencils, question: LayerQuestion, progress: Progress | None
) -> list[Recipe]:
    heaviest = max(question.hand.loads, key=lambda name: question.hand.loads[name])
    wanted = question.limit + 5
    while True:
        found = best_recipes(
            target.lab,
            box,
            limit=wanted,
            tooth_spread=question.hand.tooth_spread,
            load_spread=question.hand.load_spread,
            progress=progress,
        )
        recipes = [
            recipe
            for recipe in found
            if recipe.second is not None or recipe.first_pressure != heaviest
        ]
        if len(recipes) >= question.limit or len(found) < wanted:
            return recipes[: question.limit]
        wanted *= 2


def _is_target(swatch: Swatch, target: Target) -> bool:
    return isinstance(target, Swatch) and swatch.address == target.address
