"""Layering as a stand-in: which recipes come nearer to a colour than any single pencil.

A pencil laid as in its swatch and alone is no recipe.
"""

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, replace
from math import hypot, inf
from typing import TYPE_CHECKING, NamedTuple, TypeVar

import numpy as np

from stopgap.arrays import Floats
from stopgap.defaults import PENCILS_BELOW
from stopgap.errors import Note, TooLargeError
from stopgap.layering.recipe_search import Found, Progress
from stopgap.planner.materials import labs_of
from stopgap.planner.nearness import FAR, by_promise, hue_keeping_difference
from stopgap.planner.recipes.beside import RecipesBeside
from stopgap.planner.recipes.index import RecipeIndex
from stopgap.planner.recipes.kept import recipes_for_few, recipes_under
from stopgap.planner.recipes.nearest import nearest_of_each, nearest_recipes
from stopgap.swatches import (
    Lab,
    LayingConditions,
    Selection,
    Swatch,
    Target,
    fades_sooner,
    is_target,
)

if TYPE_CHECKING:
    from stopgap.layering import Recipe
    from stopgap.planner.recipes.cache import RecipeCache
    from stopgap.planner.recipes.pruned import PrunedRecipes

    Recipes = RecipeIndex | PrunedRecipes | RecipesBeside
    _Found = TypeVar("_Found", RecipeIndex, Recipes)


RECIPES_PER_COLOUR = 12
"""How many recipes are made for each colour of a list: this project's choice."""

_NOTHING_IS = -1.0  # so near
_HAIR = 1e-6  # of a difference, which may come out otherwise by rounding


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
    single = BestPencil(single_delta_E, single_sigma, single_by_hue)
    if not isinstance(index, (RecipeIndex, RecipesBeside)):
        index.want(target.lab, *_reaches(single, always=question.always))
    (recipes,) = recipes_for_each([target], question, index, [single])
    return recipes, index.notes


class BestPencil(NamedTuple):
    """The ΔE00 and the standard uncertainty of the best single pencil, infinite and 0 where there
    is none, and where hue may rank its `hue_keeping_difference`.
    """

    delta_E: float = inf
    sigma: float = 0.0
    by_hue: float | None = None


def _reaches(single: BestPencil, *, always: bool) -> tuple[float, float, float]:
    """Beyond which ΔE00, and beyond which difference where hue ranks, no recipe is worth offering;
    and the ΔE00 that one must come within for hue not to rank. Where the best pencil is no further
    than it is unsure, none is worth it however near.
    """
    by_hue = inf if single.by_hue is None else single.by_hue
    nearer = (one - single.sigma for one in (single.delta_E, by_hue))
    worth = (each + _HAIR if each > 0.0 else _NOTHING_IS for each in nearer)
    may_rank = single.by_hue is not None and single.delta_E > FAR
    return (*((inf, inf) if always else worth), FAR if may_rank else inf)


def recipes_for_each(
    targets: Sequence[Target],
    question: LayerQuestion,
    index: "Recipes",
    singles: Sequence[BestPencil],
) -> "list[tuple[Recipe, ...]]":
    """What `find_recipes` finds for each of some targets, beside the best pencil of each: of all
    together, since what is laid for several is worked out once.
    """
    found, most = _considered(targets, question, index, singles)
    made = [
        offered(recipes, question, one)
        for recipes, one in zip(index.described(found, most=most), singles, strict=True)
    ]
    far = [
        place
        for place, (recipes, one) in enumerate(zip(made, singles, strict=True))
        if one.by_hue is not None and nothing_near(recipes, one.delta_E)
    ]
    barred = _barred([targets[place] for place in far], question)
    by_hue = [
        _nearest_by_hue(targets[place].lab, index, question.limit, own)
        for place, own in zip(far, barred, strict=True)
    ]
    for place, recipes in zip(far, index.described(by_hue), strict=True):
        asked, one = targets[place].lab, singles[place]
        made[place] = _keeping_hue(
            asked, recipes, one, limit=question.limit, always=question.always
        )
    return [
        tuple(_with_fading(target, recipe) for recipe in recipes)
        for target, recipes in zip(targets, made, strict=True)
    ]


def _with_fading(target: Target, recipe: "Recipe") -> "Recipe":
    """A recipe with what of its pencils is known to fade sooner than the target."""
    pencils = recipe.stack.swatches
    said = [f"{one.address} {why}" for one in pencils if (why := fades_sooner(target, one))]
    return replace(recipe, cautions=(*said, *recipe.cautions)) if said else recipe


def _considered(
    targets: Sequence[Target],
    question: LayerQuestion,
    index: "Recipes",
    singles: Sequence[BestPencil],
) -> tuple[list[Found], list[Floats] | None]:
    """The nearest recipes of each without the target itself, and of these, unless `always`, those
    that may be worth offering, and the standard uncertainty (n,) from which each is not.
    """
    many = max(question.limit, RECIPES_PER_COLOUR)
    barred = _barred(targets, question)
    found = nearest_of_each(targets, index, barred, limit=many)
    if question.always:
        return found, None
    found = [perhaps_worth(few, one.delta_E, one.sigma) for few, one in zip(found, singles)]
    return found, [most_unsure(few, one.delta_E, one.sigma) for few, one in zip(found, singles)]


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
    single: BestPencil,
) -> "tuple[Recipe, ...]":
    """Of the recipes beyond FAR those that keep the hue best and, unless `always`, better than the
    best pencil by more than their uncertainty.
    """
    (recipes,) = index.described([_nearest_by_hue(target, index, limit, without)])
    return _keeping_hue(target, recipes, single, limit=limit, always=always)


def _nearest_by_hue(target: Lab, index: "Recipes", limit: int, without: Collection[str]) -> Found:
    """The nearest beyond FAR where hue ranks."""
    many = max(limit, RECIPES_PER_COLOUR)
    found = nearest_recipes(
        target, index, limit=many, without=without, difference=hue_keeping_difference
    )
    beyond = found.delta_E > FAR
    return Found(found.layings[beyond], found.delta_E[beyond])


def _keeping_hue(
    target: Lab, recipes: "Sequence[Recipe]", single: BestPencil, *, limit: int, always: bool
) -> "tuple[Recipe, ...]":
    """Of these the ones that are to be offered."""
    if not recipes or single.by_hue is None:
        return ()
    apart = hue_keeping_difference(target, labs_of([one.laid for one in recipes]))
    worth = [
        recipe
        for recipe, own in zip(recipes, apart.tolist())
        if always or single.by_hue - own > hypot(recipe.sigma, single.sigma)
    ]
    return tuple(worth[:limit])


def _barred(targets: Sequence[Target], question: LayerQuestion) -> list[set[str]]:
    """Of each target its own pencil, which is never layered."""
    pencils = {swatch.address for swatch in question.pencils}
    return [{one.address} & pencils if isinstance(one, Swatch) else set() for one in targets]


def perhaps_worth(found: Found, single_delta_E: float, single_sigma: float) -> Found:
    """Those of the nearest that `worth_offering` may take, were they sure."""
    near = single_delta_E - found.delta_E >= single_sigma
    return Found(found.layings[near], found.delta_E[near])


def most_unsure(found: Found, single_delta_E: float, single_sigma: float) -> Floats:
    """The standard uncertainty (n,) from which `worth_offering` takes none of those found."""
    nearer = single_delta_E - found.delta_E
    return np.asarray(np.sqrt(np.maximum(nearer**2 - single_sigma**2, 0.0)))


def offered(
    recipes: "Sequence[Recipe]", question: LayerQuestion, single: BestPencil
) -> "tuple[Recipe, ...]":
    """Of those considered the ones that promise most, unless `always` only what is worth it."""
    if not question.always:
        from stopgap.layering import worth_offering

        recipes = worth_offering(recipes, single.delta_E, single.sigma)
    return by_promise(recipes, single.delta_E)[: question.limit]
