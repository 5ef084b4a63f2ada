"""Layering recipes as stacks, for lists and shopping lists."""

from collections.abc import Callable, Collection, Sequence

from stopgap.arrays import Floats
from stopgap.defaults import JOBS
from stopgap.layering import Recipe, worth_offering
from stopgap.planner.kept_recipes import recipes_of_hand
from stopgap.planner.materials import labs_of
from stopgap.planner.recipe_cache import RecipeCache
from stopgap.planner.recipes import Progress
from stopgap.planner.sameness import differences
from stopgap.swatches import Hand, LaidStack, Layer, Stack, Swatch

RECIPES_PER_COLOUR = 12
"""How many recipes are made for each colour aimed at: this project's choice."""


def layered_ways(
    hand: Hand,
    *,
    among: Collection[str] | None = None,
    always: bool = False,
    per_colour: int = RECIPES_PER_COLOUR,
    cache: RecipeCache | None = None,
    jobs: int | None = JOBS,
    progress: Progress | None = None,
) -> Callable[[Sequence[Swatch], Floats], list[LaidStack]]:
    """What `translate` and `shopping_list` take as `ways`: recipes and tints laid by that hand.

    For each colour aimed at, its `per_colour` nearest recipes, and of these, unless `always`, only
    those that come nearer than the best pencil alone by more than their uncertainty. Only pencils
    whose address is in `among` are layered, where that is given. A pencil laid heavily and alone is
    no recipe. `cache` is where recipes are kept, if anywhere; `jobs` is
    as in `nearest_in_batches`; `progress` is told how many recipes of how many are worked out.
    """

    def ways(swatches: Sequence[Swatch], aims: Floats) -> list[LaidStack]:
        chosen = [one for one in swatches if among is None or one.address in among]
        if not chosen or not len(aims):
            return []
        index = recipes_of_hand(hand, chosen, cache=cache, progress=progress)
        found = index.recipes(
            aims,
            limit=per_colour,
            tooth_spread=hand.tooth_spread,
            load_spread=hand.load_spread,
            jobs=jobs,
        )
        heaviest = max(hand.loads, key=lambda name: hand.loads[name])
        alone = differences(aims, labs_of(chosen))
        made = []
        for recipes, apart in zip(found, alone):
            if not always:
                single = int(apart.argmin())
                sigma = chosen[single].uncertainty
                recipes = worth_offering(recipes, float(apart[single]), sigma)
            made += [
                stack_of(recipe)
                for recipe in recipes
                if recipe.second is not None or recipe.first_pressure != heaviest
            ]
        return made

    return ways


def stack_of(recipe: Recipe) -> LaidStack:
    """The recipe as a stack: pencils in the order they are laid."""
    layers = [Layer(recipe.first, recipe.first_pressure)]
    if recipe.second is not None and recipe.second_pressure is not None:
        layers.append(Layer(recipe.second, recipe.second_pressure))
    return LaidStack(Stack(layers), recipe.lab, recipe.sigma)
