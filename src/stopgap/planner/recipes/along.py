"""Recipes along a blend: the nearest few of each colour that it aims at."""

from collections.abc import Sequence
from itertools import accumulate, pairwise
from typing import TYPE_CHECKING

import numpy as np

from stopgap.arrays import Floats
from stopgap.layering.recipe_search import Found
from stopgap.planner.recipes.index import RecipeIndex

if TYPE_CHECKING:
    from stopgap.blends.recipes import RecipesAlong
    from stopgap.layering import Recipe

RECIPES_ALONG = 6
"""How many recipes are asked for at each place along a blend: this project's choice."""


class RecipesOfIndex:
    """What `blend` takes as `recipes`: the nearest few of each colour aimed at, each of them once,
    at the colour that it is nearest to.
    """

    def __init__(self, index: RecipeIndex) -> None:
        self._index = index

    def __call__(self, aims: Floats) -> "RecipesAlong":
        """Those of one blend."""
        (along,) = self.each([aims])
        return along

    def each(self, aims: Sequence[Floats]) -> "list[RecipesAlong]":
        """Those of each of several blends, all searched and laid together."""
        from stopgap.blends.recipes import RecipesAlong

        if not aims:
            return []
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


def _once(found: Sequence[Found]) -> Found:
    """What was found for all colours of a blend, each of it once, where it is nearest."""
    layings, delta_E = (np.concatenate(columns) for columns in zip(*found, strict=True))
    order = np.lexsort((delta_E, *layings.T[::-1]))
    other = (np.diff(layings[order], axis=0, prepend=-2) != 0).any(axis=1)
    once = order[other]
    return Found(layings[once], delta_E[once])
