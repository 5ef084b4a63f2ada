"""Recipes along a blend: the nearest few of each colour that it aims at."""

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

import numpy as np

from stopgap.arrays import Floats
from stopgap.layering.recipe_search import Found
from stopgap.planner.recipes.index import RecipeIndex

if TYPE_CHECKING:
    from stopgap.blends.blending import RecipesAlong
    from stopgap.layering import Recipe

RECIPES_ALONG = 6
"""How many recipes are asked for at each place along a blend: this project's choice."""


def recipes_along(index: RecipeIndex) -> "Callable[[Floats], RecipesAlong]":
    """What `blend` takes as `recipes`: the nearest few of each colour aimed at, each of them once,
    at the colour that it is nearest to.
    """
    from stopgap.blends.blending import RecipesAlong

    def recipes(aims: Floats) -> RecipesAlong:
        found = index.search(aims, limit=RECIPES_ALONG)
        layings = np.concatenate([each.layings for each in found])
        delta_E = np.concatenate([each.delta_E for each in found])
        order = np.lexsort((delta_E, *layings.T[::-1]))
        other = (np.diff(layings[order], axis=0, prepend=-2) != 0).any(axis=1)
        once = order[other]
        (laid,) = index.described([Found(layings[once], delta_E[once])], sure=False)
        stacks = {row: one.stack for row, one in enumerate(laid) if not one.stack.single}
        by_key = sorted(stacks, key=lambda row: stacks[row].key)
        once = once[by_key]

        def taken(places: Sequence[int]) -> "list[Recipe]":
            these = once[list(places)]
            return index.described([Found(layings[these], delta_E[these])])[0]

        return RecipesAlong([laid[row] for row in by_key], taken)

    return recipes
