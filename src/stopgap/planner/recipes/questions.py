"""Layering as a stand-in: which recipes come nearer to a colour than any single pencil.

A pencil laid as in its swatch and alone is no recipe.
"""

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass
from math import hypot
from typing import TYPE_CHECKING, TypeVar

import numpy as np

from stopgap.arrays import Floats
from stopgap.defaults import PENCILS_BELOW
from stopgap.difference import DifferenceFunction
from stopgap.errors import Note, TooLargeError
from stopgap.layering.recipe_search import Found, Progress
from stopgap.planner.materials import labs_of
from stopgap.planner.nearness import FAR, by_promise, hue_keeping_difference
from stopgap.planner.recipes.index import RecipeIndex
from stopgap.planner.recipes.kept import recipes_for_few, recipes_under
from stopgap.swatches import Lab, LayingConditions, Selection, Swatch, Target, is_target

if TYPE_CHECKING:
    from stopgap.layering import Recipe
    from stopgap.planner.recipes.cache import RecipeCache
    from stopgap.planner.recipes.pruned import PrunedRecipes

    Recipes = RecipeIndex | PrunedRecipes
    _Found = TypeVar("_Found", RecipeIndex, Recipes)


_SPARE = 5  # recipes asked for beyond those wanted: some are pencils laid heavily and alone


RECIPES_PER_COLOUR = 12
"""How many recipes are made for each colour of a list: this project's choice."""


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class LayerQuestion:
    """What may be layered, under which conditions, and whether recipes are shown in any case.

    Without `always`, only recipes are offered that come nearer than the best single pencil by more
    than their uncertainty. `below` is how many pencils, no two the same to the eye, are listed
    where recipes stand first. `cache` is where recipes are kept, if anywhere; `made` are those
    made already.
    """

    conditions: LayingConditions
    pencils: Sequence[Swatch]
    always: bool = False
    limit: int = 3
    below: int = PENCILS_BELOW
    cache: "RecipeCache | None" = None
    made: RecipeIndex | None = None

    def index(self, progress: Progress | None = None) -> RecipeIndex:
        """All that can be laid; raises as `recipes_under` does."""
        return self._found(recipes_under, progress)

    def for_few(self, progress: Progress | None = None) -> "Recipes":
        """The same for few targets; raises as `recipes_for_few` does."""
        return self._found(recipes_for_few, progress)

    def _found(
        self, find: "Callable[..., _Found]", progress: Progress | None
    ) -> "_Found | RecipeIndex":
        if self.made is not None:
            return self.made
        return find(self.conditions, self.pencils, cache=self.cache, progress=progress)

    @classmethod
    def among(
        cls,
        swatches: Sequence[Swatch],
        selection: Selection,
        conditions: LayingConditions,
        *,
        owned: bool = True,
        always: bool = False,
        below: int = PENCILS_BELOW,
        cache: "RecipeCache | None" = None,
    ) -> "LayerQuestion":
        """What may be layered of the pencils that a selection leaves, of those `owned` or of any.

        Recipes are for the hand that draws now, so they are of what is owned unless somebody asks.
        """
        laid = selection._replace(owned=True) if owned else selection
        return cls(conditions, laid.of(swatches), always=always, below=below, cache=cache)


def find_recipes(
    target: Target,
    question: LayerQuestion,
    *,
    single_delta_E: float,
    single_sigma: float,
    single_by_hue: float | None = None,
    progress: Progress | None = None,
) -> "tuple[tuple[Recipe, ...], tuple[Note, ...]]":
    """The recipes that promise most of the nearest few, and what is to be said of pencils that are
    in none.

    The target itself is never layered. However many pencils there are, they are searched; where a
    model is not to be taken apart and recipes would take too much memory, that is said; with
    `always` it is an error, TooLargeError.

    `single_delta_E` and `single_sigma` are the ΔE00 and the standard uncertainty of the best single
    pencil, infinite and 0 where there is none. With `single_by_hue`, its `hue_keeping_difference`,
    recipes are ranked by that where neither it nor they come within FAR.
    """
    if all(is_target(swatch, target) for swatch in question.pencils):
        return (), ()
    try:
        index = question.for_few(progress)
    except TooLargeError as error:
        if question.always:
            raise
        return (), (Note(error.sentence, error.remedy),)
    found = considered(target, question, index, single_delta_E, single_sigma)
    (described,) = index.described([found])
    recipes = offered(described, question, single_delta_E, single_sigma)
    if single_by_hue is not None and nothing_near(recipes, single_delta_E):
        recipes = recipes_by_hue(
            target.lab,
            index,
            limit=question.limit,
            always=question.always,
            without=_barred(target, question),
            single_by_hue=single_by_hue,
            single_sigma=single_sigma,
        )
    return recipes, index.notes


def nothing_near(recipes: "Sequence[Recipe]", single_delta_E: float) -> bool:
    """Whether neither the best pencil nor any recipe is within FAR, so that hue may rank."""
    return single_delta_E > FAR and all(recipe.delta_E > FAR for recipe in recipes)


def recipes_by_hue(
    target: Lab,
    index: "Recipes",
    *,
    limit: int,
    always: bool,
    without: Collection[str] = (),
    single_by_hue: float,
    single_sigma: float,
) -> "tuple[Recipe, ...]":
    """Of the recipes beyond FAR those that keep the hue best and, unless `always`, better than the
    best pencil by more than their uncertainty.
    """
    found = nearest_recipes(
        target,
        index,
        limit=max(limit, RECIPES_PER_COLOUR),
        without=without,
        difference=hue_keeping_difference,
    )
    beyond = found.delta_E > FAR
    (recipes,) = index.described([Found(found.layings[beyond], found.delta_E[beyond])])
    apart = hue_keeping_difference(target, labs_of([one.laid for one in recipes]))
    worth = [
        recipe
        for recipe, own in zip(recipes, apart.tolist())
        if always or single_by_hue - own > hypot(recipe.sigma, single_sigma)
    ]
    return tuple(worth[:limit])


def _barred(target: Target, question: LayerQuestion) -> set[str]:
    """The target itself is never layered."""
    return {swatch.address for swatch in question.pencils if is_target(swatch, target)}


def considered(
    target: Target,
    question: LayerQuestion,
    index: "Recipes",
    single_delta_E: float,
    single_sigma: float,
) -> Found:
    """The nearest recipes without the target, and of these, unless `always`, those that may be
    worth offering, whatever their own uncertainty.
    """
    many = max(question.limit, RECIPES_PER_COLOUR)
    found = nearest_recipes(target.lab, index, limit=many, without=_barred(target, question))
    return found if question.always else perhaps_worth(found, single_delta_E, single_sigma)


def perhaps_worth(found: Found, single_delta_E: float, single_sigma: float) -> Found:
    """Those of the nearest that `worth_offering` may take, were they sure."""
    near = single_delta_E - found.delta_E >= single_sigma
    return Found(found.layings[near], found.delta_E[near])


def most_unsure(found: Found, single_delta_E: float, single_sigma: float) -> Floats:
    """The standard uncertainty (n,) from which `worth_offering` takes none of those found."""
    nearer = single_delta_E - found.delta_E
    return np.asarray(np.sqrt(np.maximum(nearer**2 - single_sigma**2, 0.0)))


def offered(
    recipes: "Sequence[Recipe]",
    question: LayerQuestion,
    single_delta_E: float,
    single_sigma: float,
) -> "tuple[Recipe, ...]":
    """Of those considered the ones that promise most, unless `always` only what is worth it."""
    if not question.always:
        from stopgap.layering import worth_offering

        recipes = worth_offering(recipes, single_delta_E, single_sigma)
    return by_promise(recipes, single_delta_E)[: question.limit]


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
    names = list(index.pressures)
    as_swatched = np.array(
        [
            pencil * len(names) + names.index(swatch.pressure) if swatch.pressure in names else -1
            for pencil, swatch in enumerate(index.swatches)
        ]
    )
    wanted = limit + _SPARE
    while True:
        if difference is None:
            (found,) = index.search([target_lab], limit=wanted, without=without)
        else:
            found = index.scan(target_lab, difference, limit=wanted, without=without)
        alone = found.layings[:, 1] < 0
        first = found.layings[:, 0]
        rows = np.flatnonzero(~alone | (as_swatched[first // len(names)] != first))
        if len(rows) >= limit or len(found.delta_E) < wanted:
            return Found(found.layings[rows[:limit]], found.delta_E[rows[:limit]])
        wanted *= 2
