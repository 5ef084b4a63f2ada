"""What recipes a blend may take: asked for all along its path, and weighed where they are taken."""

from collections.abc import Callable, Iterable, Sequence
from itertools import accumulate, pairwise
from typing import TYPE_CHECKING, NamedTuple, Protocol, runtime_checkable

import numpy as np

from stopgap.arrays import Floats
from stopgap.blends.path import Path

if TYPE_CHECKING:
    from stopgap.layering import Recipe


Taken = Callable[[Sequence[int]], "Sequence[Recipe]"]
"""Recipes by their numbers, with how sure each is."""


class RecipesAlong(NamedTuple):
    """Recipes that were asked for, each once; how sure those of some places are is worked out when
    they are taken, since most never are.

    `numbers` are what `weigh` knows them by, which those of several blends may have in common.
    """

    recipes: "Sequence[Recipe]"
    numbers: Sequence[int]
    weigh: Taken

    @classmethod
    def of(cls, recipes: "Iterable[Recipe]") -> "RecipesAlong":
        """Each stack once, as near as it comes, in their order."""
        nearest: dict[tuple[object, ...], Recipe] = {}
        for recipe in recipes:
            known = nearest.setdefault(recipe.stack.key, recipe)
            if recipe.delta_E < known.delta_E:
                nearest[recipe.stack.key] = recipe
        every = [nearest[key] for key in sorted(nearest)]
        return cls(every, range(len(every)), lambda numbers: [every[each] for each in numbers])

    def taken(self, places: Sequence[int]) -> "Sequence[Recipe]":
        """Those of some places, with how sure they are."""
        return self.weigh([self.numbers[place] for place in places])

    def among(self, addresses: frozenset[str]) -> "RecipesAlong":
        """Those of these pencils alone."""
        kept = [k for k, one in enumerate(self.recipes) if one.stack.addresses <= addresses]
        numbers = [self.numbers[k] for k in kept]
        return RecipesAlong([self.recipes[k] for k in kept], numbers, self.weigh)


Recipes = Callable[[Floats], "RecipesAlong | Iterable[Recipe]"]
"""Recipes for the colours aimed at, CIE L*a*b* of shape (n, 3)."""


@runtime_checkable
class RecipesOfEach(Protocol):
    """The same of several blends at once, which takes less than one after the other. All that it
    gives at once is known by the same numbers.
    """

    def each(self, aims: Sequence[Floats]) -> list[RecipesAlong]:
        """Those of each blend."""


AIMS_PER_STEP = 4
"""Recipes are asked for at so many places along one step of the limit."""


def aims_along(paths: Sequence[Path], limit: float) -> Floats:
    """The colours all along the paths that recipes are asked for, CIE L*a*b* (n, 3)."""
    return np.concatenate([path.aims(limit / AIMS_PER_STEP) for path in paths])


def asked_for(recipes: Recipes, paths: Sequence[Path], limit: float) -> RecipesAlong:
    """Recipes all along the paths."""
    found = recipes(aims_along(paths, limit))
    return found if isinstance(found, RecipesAlong) else RecipesAlong.of(found)


def asked_for_each(
    recipes: Recipes, ways: Sequence[tuple[Sequence[Path], float]]
) -> list[RecipesAlong]:
    """The same of several blends, each with the paths of one and its limit."""
    if isinstance(recipes, RecipesOfEach):
        return recipes.each([aims_along(*way) for way in ways])
    return [asked_for(recipes, *way) for way in ways]


def taken_of_each(
    asked: Sequence[RecipesAlong], places: Sequence[Sequence[int]]
) -> "list[Sequence[Recipe]]":
    """Those of some places of each, with how sure they are; what has `weigh` in common is weighed
    together.
    """
    if not asked or any(one.weigh is not asked[0].weigh for one in asked):
        return [one.taken(its) for one, its in zip(asked, places, strict=True)]
    numbers = [[one.numbers[k] for k in its] for one, its in zip(asked, places, strict=True)]
    every = asked[0].weigh([number for its in numbers for number in its])
    ends = accumulate(map(len, numbers), initial=0)
    return [every[start:end] for start, end in pairwise(ends)]
