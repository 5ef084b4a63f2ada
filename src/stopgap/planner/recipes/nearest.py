"""The recipes nearest to a colour; a pencil laid as in its swatch and alone is none."""

from collections.abc import Collection, Sequence
from typing import TYPE_CHECKING

import numpy as np

from stopgap.arrays import Integers
from stopgap.difference import DifferenceFunction
from stopgap.layering.recipe_search import Found
from stopgap.planner.materials import labs_of
from stopgap.swatches import Lab, Target

if TYPE_CHECKING:
    from stopgap.planner.recipes.beside import RecipesBeside
    from stopgap.planner.recipes.index import RecipeIndex
    from stopgap.planner.recipes.pruned import PrunedRecipes

    Recipes = RecipeIndex | PrunedRecipes | RecipesBeside

_SPARE = 5  # recipes asked for beyond those wanted: some are pencils laid heavily and alone


def nearest_of_each(
    targets: Sequence[Target],
    index: "Recipes",
    barred: Sequence[Collection[str]],
    *,
    limit: int,
) -> list[Found]:
    """What `nearest_recipes` finds for each without those `barred`, most of it in one search."""
    free = [place for place, its in enumerate(barred) if not its]
    labs, wanted = labs_of(targets)[free], limit + _SPARE
    found = dict(zip(free, index.search(labs, limit=wanted), strict=True)) if free else {}
    as_swatched = _as_swatched(index)
    answers = []
    for place, target in enumerate(targets):
        few = found.get(place)
        kept = None if few is None else _recipes_of(few, index, as_swatched, limit, wanted)
        if kept is None:
            kept = nearest_recipes(target.lab, index, limit=limit, without=barred[place])
        answers.append(kept)
    return answers


def nearest_recipes(
    target_lab: Lab,
    index: "Recipes",
    *,
    limit: int,
    without: Collection[str] = (),
    difference: DifferenceFunction | None = None,
) -> Found:
    """The `limit` nearest that are recipes, by the metric of the index or by another difference.

    Pencils whose address is in `without` are not used.
    """
    as_swatched, wanted = _as_swatched(index), limit + _SPARE
    while True:
        if difference is None:
            (found,) = index.search([target_lab], limit=wanted, without=without)
        else:
            found = index.scan(target_lab, difference, limit=wanted, without=without)
        kept = _recipes_of(found, index, as_swatched, limit, wanted)
        if kept is not None:
            return kept
        wanted *= 2


def _as_swatched(index: "Recipes") -> Integers:
    """The laying (n,) of each pencil that is laid as in its swatch, -1 where none is."""
    names = list(index.pressures)
    return np.array(
        [
            pencil * len(names) + names.index(swatch.pressure) if swatch.pressure in names else -1
            for pencil, swatch in enumerate(index.swatches)
        ]
    )


def _recipes_of(
    found: Found, index: "Recipes", as_swatched: Integers, limit: int, wanted: int
) -> Found | None:
    """The nearest `limit` that are recipes, of the nearest `wanted`; None where these are too few
    to tell.
    """
    first = found.layings[:, 0]
    alone = found.layings[:, 1] < 0
    rows = np.flatnonzero(~alone | (as_swatched[first // len(index.pressures)] != first))
    if len(rows) < limit and len(found.delta_E) >= wanted:
        return None
    return Found(found.layings[rows[:limit]], found.delta_E[rows[:limit]])
