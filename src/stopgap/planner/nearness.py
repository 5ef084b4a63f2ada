"""What is promised of pencils and recipes beside each other, and which of them stand first.

A pencil promises the ΔE00 of its swatch, a recipe the upper end of its interval. So the word beside
a recipe that stands above the pencils is never worse than the best of theirs.
"""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from stopgap.difference import GRADES, Promise, delta_E_ciede2000, promise
from stopgap.planner.sameness import SAME_TO_THE_EYE
from stopgap.swatches import LaidStack, Swatch

if TYPE_CHECKING:
    from stopgap.layering import Recipe

Lab = tuple[float, float, float]


def promise_of(target: Lab, laid: LaidStack) -> Promise:
    """How near what is laid is said to be to a colour, in ΔE00."""
    delta_E = float(delta_E_ciede2000(target, laid.lab))
    return promise(delta_E, laid.uncertainty if laid.recipe else 0.0)


def by_promise(recipes: "Sequence[Recipe]", nearest: float) -> "tuple[Recipe, ...]":
    """Recipes for one target: those that promise more than every pencil, then by the word for what
    they promise, and among equals the one that is expected to be nearest; `nearest` as below.
    """

    def key(recipe: "Recipe") -> tuple[bool, float, float]:
        promised = recipe.promise
        return promised.bound >= nearest, GRADES[promised.grade], promised.delta_E

    return tuple(sorted(recipes, key=key))


def recipes_lead(recipes: "Sequence[Recipe]", nearest: float) -> bool:
    """Whether some recipe promises more than every pencil; `nearest` is their least ΔE00."""
    return any(recipe.promise.bound < nearest for recipe in recipes)


def apart_to_the_eye(ranked: Sequence[Swatch], count: int) -> list[Swatch]:
    """The first `count` of swatches of which no two are the same to the eye."""
    chosen: list[Swatch] = []
    for swatch in ranked:
        if len(chosen) == count:
            break
        apart = (delta_E_ciede2000(swatch.lab, other.lab) for other in chosen)
        if all(delta_E > SAME_TO_THE_EYE for delta_E in apart):
            chosen.append(swatch)
    return chosen
