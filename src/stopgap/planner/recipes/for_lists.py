"""Recipes for a list of colours, those that come nearer than one pencil, in the time there is."""

from collections.abc import Callable, Collection, Sequence
from typing import TYPE_CHECKING, TypeVar

from stopgap.arrays import Floats
from stopgap.defaults import JOBS
from stopgap.errors import Note
from stopgap.layering.recipe_search import Progress
from stopgap.planner.materials import labs_of
from stopgap.planner.nearness import differences, hue_keeping_difference
from stopgap.planner.recipes.index import RecipeIndex
from stopgap.planner.recipes.kept import recipes_for_list, recipes_under
from stopgap.planner.recipes.questions import (
    RECIPES_PER_COLOUR,
    BestPencil,
    most_unsure,
    nothing_near,
    perhaps_worth,
    recipes_by_hue,
)
from stopgap.planner.solver import Clock, OutOfTime
from stopgap.swatches import LaidStack, LayingConditions, Swatch

if TYPE_CHECKING:
    from stopgap.layering import Recipe
    from stopgap.planner.recipes.cache import RecipeCache
    from stopgap.planner.recipes.pruned import PrunedRecipes

    _Made = TypeVar("_Made", RecipeIndex, RecipeIndex | PrunedRecipes)

FOR_RECIPES = 0.6
"""Share of a time limit after which no more recipes are looked for, be it for a list or a kit: what
they are chosen from afterwards takes about as long as looking for them.
"""

FOR_PURCHASE = 0.4
"""The same for a purchase, which is chosen from all that is for sale as well."""

_AT_FIRST, _AT_ONCE = 8, 32  # colours between two looks at the clock, growing, as more cost less
_TOGETHER = 256  # searched at once where nothing is worked out ahead; the clock is looked at within
_NO_LIMIT = Clock(None)


def layered_stacks(
    conditions: LayingConditions,
    *,
    among: Collection[str] | None = None,
    always: bool = False,
    per_colour: int = RECIPES_PER_COLOUR,
    keep_hue: bool = False,
    cache: "RecipeCache | None" = None,
    jobs: int | None = JOBS,
    progress: Progress | None = None,
    clock: Clock = _NO_LIMIT,
    missed: Progress | None = None,
) -> Callable[[Sequence[Swatch], Floats], list[LaidStack]]:
    """What `translate` and `shopping_list` take as `recipes`: recipes and tints laid so.

    For each colour aimed at, its `per_colour` nearest recipes, and of these, unless `always`, only
    those that come nearer than the best pencil alone by more than their uncertainty; to `keep_hue`,
    those of `recipes_by_hue` instead where nothing is near. Only pencils whose address is in
    `among` are layered, where that is given. `cache` is where recipes are kept,
    if anywhere; `jobs` is as in `nearest_in_batches`; `progress` is told how many recipes of how
    many are worked out. Once the `clock` has run out no more colours get recipes, and `missed` is
    told how many of how many did not.
    """

    def stacks(swatches: Sequence[Swatch], aims: Floats) -> list[LaidStack]:
        chosen = [one for one in swatches if among is None or one.address in among]
        made: list[LaidStack] = []
        if not chosen or not len(aims):
            return made
        tried = 0
        try:
            # ranked by hue, recipes are asked one colour after the other
            find = recipes_under if keep_hue else recipes_for_list
            index = recipes_in_time(find, conditions, chosen, clock, cache, progress)
            whole = isinstance(index, RecipeIndex)
            while tried < len(aims):
                clock.check()
                many = min(_AT_ONCE, tried + _AT_FIRST) if whole else _TOGETHER
                some = aims[tried : tried + many]
                recipes = _nearer(
                    some, index, chosen, per_colour, jobs, always=always, keep_hue=keep_hue
                )
                made += [one.laid for one in recipes if not one.stack.single]
                tried += len(some)
        except OutOfTime:
            if missed is not None:
                missed(len(aims) - tried, len(aims))
        return made

    return stacks


def recipes_in_time(
    find: "Callable[..., _Made]",
    conditions: LayingConditions,
    swatches: Sequence[Swatch],
    clock: Clock,
    cache: "RecipeCache | None",
    progress: Progress | None,
) -> "_Made":
    """As `find`, `recipes_under` or `recipes_for_list`, has them; raises OutOfTime where the clock
    runs out before they are made, or while what is searched later tells its progress.
    """

    def told(done: int, total: int) -> None:
        if progress is not None:
            progress(done, total)
        if done < total:
            clock.check()

    clock.check()
    return find(conditions, swatches, cache=cache, progress=told)


def without_recipes_note(missed: int, total: int) -> Note:
    """That there was no time for the recipes of so many colours."""
    which = "for any need" if missed == total else f"for {missed} of {total} colours"
    return Note(f"The time ran out before recipes were tried {which}.")


def _nearer(
    aims: Floats,
    index: "RecipeIndex | PrunedRecipes",
    chosen: Sequence[Swatch],
    limit: int,
    jobs: int | None,
    *,
    always: bool,
    keep_hue: bool,
) -> "list[Recipe]":
    """The recipes of some colours (n, 3), as above."""
    from stopgap.layering import worth_offering

    labs = labs_of(chosen)
    alone = differences(aims, labs)
    singles = [chosen[one].uncertainty_there for one in alone.argmin(axis=1).tolist()]
    singly = alone.min(axis=1).tolist()
    if isinstance(index, RecipeIndex):
        found = index.search(aims, limit=limit, jobs=jobs)
    else:
        found = index.search(aims, limit=limit)
    most: list[Floats] | None = None
    if not always:
        found = list(map(perhaps_worth, found, singly, singles))
        most = list(map(most_unsure, found, singly, singles))
    made: list[Recipe] = []
    for (L, a, b), recipes, nearest, sigma in zip(
        aims.tolist(), index.described(found, most=most), singly, singles
    ):
        if not always:
            recipes = worth_offering(recipes, nearest, sigma)
        if keep_hue and nothing_near(recipes, nearest):
            recipes = [
                *recipes_by_hue(
                    (L, a, b),
                    index,
                    limit=limit,
                    always=always,
                    single=BestPencil(
                        nearest, sigma, float(hue_keeping_difference((L, a, b), labs).min())
                    ),
                )
            ]
        made += recipes
    return made
