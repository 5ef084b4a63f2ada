"""Recipes along a blend: the nearest few of each colour that it aims at."""

from collections.abc import Sequence
from itertools import accumulate, pairwise
from typing import TYPE_CHECKING

import numpy as np

from stopgap.arrays import Floats
from stopgap.errors import Note
from stopgap.layering.recipe_search import Found, Progress
from stopgap.planner.recipes.for_lists import recipes_in_time
from stopgap.planner.recipes.index import RecipeIndex
from stopgap.planner.recipes.kept import not_layered_notes, recipes_for_list
from stopgap.planner.solver import Clock
from stopgap.swatches import LayingConditions, Swatch

if TYPE_CHECKING:
    from stopgap.blends.recipes import RecipesAlong
    from stopgap.layering import Recipe
    from stopgap.planner.recipes.cache import RecipeCache
    from stopgap.planner.recipes.pruned import PrunedRecipes

RECIPES_ALONG = 6
"""How many recipes are asked for at each place along a blend: this project's choice."""


class RecipesOfIndex:
    """What `blend` takes as `recipes`: the nearest few of each colour aimed at, each of them once,
    at the colour that it is nearest to.
    """

    def __init__(self, index: "RecipeIndex | PrunedRecipes") -> None:
        self._index = index
        self._known: dict[bytes, RecipesAlong] = {}

    def __call__(self, aims: Floats) -> "RecipesAlong":
        """Those of one blend."""
        (along,) = self.each([aims])
        return along

    def ask_ahead(self, aims: Sequence[Floats]) -> None:
        """Search those of each of several blends together, for who will ask for them."""
        for one, found in zip(aims, self.each(aims), strict=True):
            self._known[one.tobytes()] = found

    def each(self, aims: Sequence[Floats]) -> "list[RecipesAlong]":
        """Those of each of several blends, all searched and laid together."""
        from stopgap.blends.recipes import RecipesAlong

        if all(one.tobytes() in self._known for one in aims):
            return [self._known[one.tobytes()] for one in aims]
        found = self._index.search(np.concatenate(aims), limit=RECIPES_ALONG)
        ends = [*accumulate(map(len, aims), initial=0)]
        parts = [_once(found[start:end]) for start, end in pairwise(ends)]
        laid = self._index.described(parts, sure=False)
        layings, delta_E = (np.concatenate(columns) for columns in zip(*parts, strict=True))
        first = accumulate((len(part.delta_E) for part in parts), initial=0)

        weighed: dict[int, Recipe] = {}  # a blend is laid before and after a purchase

        def weigh(numbers: Sequence[int]) -> "list[Recipe]":
            new = [each for each in dict.fromkeys(numbers) if each not in weighed]
            if new:
                (those,) = self._index.described([Found(layings[new], delta_E[new])])
                weighed.update(zip(new, those, strict=True))
            return [weighed[each] for each in numbers]

        along = []
        for begin, recipes in zip(first, laid, strict=False):
            keys = {k: one.stack.key for k, one in enumerate(recipes) if not one.stack.single}
            rows = sorted(keys, key=keys.__getitem__)
            along.append(RecipesAlong([recipes[k] for k in rows], [begin + k for k in rows], weigh))
        return along


def recipes_along(
    aims: Sequence[Floats],
    swatches: Sequence[Swatch],
    conditions: LayingConditions,
    clock: Clock,
    cache: "RecipeCache | None",
    progress: Progress | None,
) -> tuple[RecipesOfIndex | None, tuple[Note, ...]]:
    """What gives recipes for blends that aim at such colours, where there are any, searched ahead,
    and which pencils no recipe takes. Raises OutOfTime where the clock runs out before.
    """
    if not aims:
        return None, not_layered_notes(conditions, swatches)
    index = recipes_in_time(recipes_for_list, conditions, swatches, clock, cache, progress)
    recipes = RecipesOfIndex(index)
    if not isinstance(index, RecipeIndex):  # all at once takes hardly more than one
        recipes.ask_ahead(aims)
    return recipes, index.notes


def _once(found: Sequence[Found]) -> Found:
    """What was found for all colours of a blend, each of it once, where it is nearest."""
    layings, delta_E = (np.concatenate(columns) for columns in zip(*found, strict=True))
    order = np.lexsort((delta_E, *layings.T[::-1]))
    other = (np.diff(layings[order], axis=0, prepend=-2) != 0).any(axis=1)
    once = order[other]
    return Found(layings[once], delta_E[once])
