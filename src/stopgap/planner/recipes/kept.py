"""Recipes of pencils under laying conditions, from where they are kept or worked out anew."""

from collections.abc import Sequence
from contextlib import nullcontext
from typing import TYPE_CHECKING, NamedTuple, TypeVar

import numpy as np

from stopgap.arrays import Floats, Integers
from stopgap.errors import Note, Remedy, TooLargeError
from stopgap.layering.estimates import never_beneath, scattering_of, swatch_loads
from stopgap.layering.recipe_search import most_recipes
from stopgap.planner.recipes.held import Held, grows_to, make_palette
from stopgap.planner.recipes.index import RecipeIndex, index_recipes
from stopgap.planner.recipes.shown import unattained_notes
from stopgap.swatches import LayingConditions, Swatch, as_layered

if TYPE_CHECKING:
    from stopgap.layering.recipe_search import Progress
    from stopgap.planner.recipes.beside import RecipesBeside
    from stopgap.planner.recipes.cache import Lately, RecipeCache
    from stopgap.planner.recipes.pruned import PrunedRecipes

Numbers = list[list[float]]
"""What the colours of recipes depend on: of the conditions, then of each swatch."""

RECIPE_MEMORY = 2**30
"""How much memory all recipes of some pencils may take at most [bytes]: this project's choice."""

_Recipes = TypeVar("_Recipes", "RecipeIndex", "RecipesBeside")
_FEW = 2**19  # recipes that are worked out for a single question: a second, and 60 MB
_SCATTERING = 4  # which of a swatch's numbers is its S
_BYTES = 110  # of memory that a recipe takes at most, measured with 300 to 1,000 pencils


def not_layered_notes(conditions: LayingConditions, swatches: Sequence[Swatch]) -> tuple[Note, ...]:
    """What is said of those of `swatches` that no recipe takes; each is looked into once."""
    if not swatches:
        return ()
    return unattained_notes(make_palette(conditions, [*map(as_layered, swatches)]).unattained)


def numbers_of(conditions: LayingConditions, swatches: Sequence[Swatch]) -> Floats:
    """All numbers (m,) that the colours of recipes depend on, in an order that leaves no doubt.

    Names and uncertainties of swatches are not among them: they are looked up when asked for.
    """
    return np.concatenate(_numbers(conditions, swatches))


def _numbers(conditions: LayingConditions, swatches: Sequence[Swatch]) -> Numbers:
    numbers = [len(conditions.loads), *conditions.loads.values()]
    numbers += conditions.tooth, conditions.trapping
    numbers += *conditions.paper, *conditions.swatch_paper, conditions.heavy_first
    every = [numbers]
    for swatch, swatched in zip(swatches, swatch_loads(swatches, conditions.loads)):
        numbers = [*swatch.lab, swatched, scattering_of(swatch, conditions.opacity).middle]
        measured = swatch.reflectance
        numbers.append(0 if measured is None else len(measured.values))
        if measured is not None:
            numbers += *measured.wavelengths, *measured.values
        every.append(numbers)
    return every


class _Asked(NamedTuple):
    """`swatches` under conditions: as what they are `layered`, and their `numbers`."""

    conditions: LayingConditions
    swatches: Sequence[Swatch]
    layered: list[Swatch]
    numbers: Numbers

    @classmethod
    def of(cls, conditions: LayingConditions, swatches: Sequence[Swatch]) -> "_Asked":
        layered = list(map(as_layered, swatches))
        return cls(conditions, swatches, layered, _numbers(conditions, layered))

    @property
    def most(self) -> int:
        """How many recipes they have at most."""
        loads, heavy_first = self.conditions.loads, self.conditions.heavy_first
        covers = sum(each[_SCATTERING] > 0.0 for each in self.numbers[1:])
        heaviest = never_beneath(loads, heavy_first=heavy_first)
        return most_recipes(len(self.layered), covers, len(loads), heaviest)

    @property
    def fits(self) -> bool:
        """Whether all of them may be in memory at once."""
        return self.most * _BYTES <= RECIPE_MEMORY

    def showing(self, recipes: _Recipes) -> _Recipes:
        """Recipes of what is layered as those of the swatches."""
        return recipes if self.layered == list(self.swatches) else recipes.showing(self.swatches)


def recipes_under(
    conditions: LayingConditions,
    swatches: Sequence[Swatch],
    *,
    cache: "RecipeCache | None" = None,
    progress: "Progress | None" = None,
) -> RecipeIndex:
    """An index of what `swatches` can lay under those conditions.

    Pencils that cannot be layered are in none of its recipes. What was kept of these conditions and
    the same colours is used, and what was not is kept. Recipes are reckoned from what each pencil
    is `layered_as`, and show it as it is here.

    Raises
    ------
    TooLargeError
        Where all recipes may take more memory than RECIPE_MEMORY, before any is worked out.
    InputError
        As `make_palette` does.
    """
    return _whole(_Asked.of(conditions, swatches), cache, progress)


def recipes_for_few(
    conditions: LayingConditions,
    swatches: Sequence[Swatch],
    *,
    cache: "RecipeCache | None" = None,
    progress: "Progress | None" = None,
) -> "RecipeIndex | PrunedRecipes | RecipesBeside":
    """The same for one target or a few: what is kept, and where nothing is and recipes are many,
    these are searched without all being worked out. The answers are the same, to the last bit.

    Raises
    ------
    TooLargeError
        As `recipes_under`, where the pencils can only be searched so.
    InputError
        As `make_palette` does.
    """
    asked = _Asked.of(conditions, swatches)
    if (beside := _beside(asked, cache)) is not None:
        return beside
    return _unless_kept(asked, cache, progress) or _whole(asked, cache, progress)


def recipes_for_list(
    conditions: LayingConditions,
    swatches: Sequence[Swatch],
    *,
    cache: "RecipeCache | None" = None,
    progress: "Progress | None" = None,
) -> "RecipeIndex | PrunedRecipes":
    """The same for many targets that are asked together; raises as `recipes_under` does."""
    asked = _Asked.of(conditions, swatches)
    pruned = _unless_kept(asked, cache, progress) if asked.fits else None
    return pruned or _whole(asked, cache, progress)


def recipes_beside_lately(
    conditions: LayingConditions, swatches: Sequence[Swatch], cache: "RecipeCache | None"
) -> "RecipesBeside | None":
    """Recipes of what was asked lately and of the few that came since or went, at hand for the next
    question; None where none did, or many.
    """
    return _beside(_Asked.of(conditions, swatches), cache)


def _beside(asked: _Asked, cache: "RecipeCache | None") -> "RecipesBeside | None":
    if cache is None or cache.lately is None:
        return None
    with cache.lately.making:
        beside = _beside_boxes(asked, cache.lately)
    return None if beside is None else asked.showing(beside)


def _beside_boxes(asked: _Asked, lately: "Lately") -> "RecipesBeside | None":
    from stopgap.planner.recipes.beside import recipes_beside

    conditions, _, layered, numbers = asked
    boxes = [one for one in lately.boxes if one[0][0] == numbers[0]]
    if not boxes or any(its == numbers for its, *_ in boxes):
        return None
    if lately.beside is not None and lately.beside[:2] == (conditions, layered):
        return lately.beside[2]
    if not asked.fits:
        return None
    for its, were, held in boxes:
        made = recipes_beside(conditions, were, held, layered, _places(its[1:], numbers[1:]))
        if made is not None:
            lately.beside = conditions, layered, made
            return made
    return None


def _unless_kept(
    asked: _Asked, cache: "RecipeCache | None", progress: "Progress | None"
) -> "PrunedRecipes | None":
    """What searches without all being worked out, where they are many and none are kept."""
    if asked.most <= _FEW or (asked.fits and _is_kept(asked, cache)):
        return None
    lately = None if cache is None else cache.lately
    with nullcontext() if lately is None else lately.making:
        return _pruned(asked, lately, progress)


def _pruned(
    asked: _Asked, lately: "Lately | None", progress: "Progress | None"
) -> "PrunedRecipes | None":
    """What was made ready last, if it is of these pencils; else anew, and at hand for the next."""
    from stopgap.planner.recipes.pruned import pruned_recipes

    conditions, swatches, layered, _ = asked
    known = None if lately is None else lately.pruned
    if known is not None and known.is_of(conditions, layered):
        return known.showing(swatches, progress)
    made = pruned_recipes(conditions, layered, swatches, progress)
    if lately is None or made is None:
        return made
    lately.remember_pruned(made.showing(swatches))
    return made  # what is said of a search is said once


def _is_kept(asked: _Asked, cache: "RecipeCache | None") -> bool:
    """Whether recipes of these very pencils are at hand, grow from such, or are in a file."""
    if cache is None:
        return False
    numbers = asked.numbers
    for its, *_ in [] if cache.lately is None else cache.lately.boxes:
        if its[0] == numbers[0] and grows_to(_places(its[1:], numbers[1:])):
            return True
    return cache.holds(np.concatenate(numbers))


def _whole(asked: _Asked, cache: "RecipeCache | None", progress: "Progress | None") -> RecipeIndex:
    """All recipes, refused where they would take too much."""
    if not asked.fits:
        raise TooLargeError(
            f"Recipes of {len(asked.layered):,} pencils are up to {asked.most:,}, which would take "
            f"{asked.most * _BYTES / 2**30:.1f} GB of memory; {RECIPE_MEMORY / 2**30:g} GB are "
            "allowed.",
            remedy=Remedy.FEWER_TO_LAYER,
        )
    with nullcontext() if cache is None or cache.lately is None else cache.lately.making:
        index = _recipes_under(asked, cache, progress)
    return asked.showing(index)


def _recipes_under(
    asked: _Asked, cache: "RecipeCache | None", progress: "Progress | None"
) -> RecipeIndex:
    conditions, _, swatches, numbers = asked
    made_from = np.concatenate(numbers)
    found = None if cache is None else _held(asked, cache)
    if found is not None:
        found = found.with_catalogue(conditions, swatches)
    kept = None if found is None else found.shown(conditions, swatches)
    if cache is not None and found is not None and kept is not None:
        if cache.lately is not None:
            cache.lately.remember(numbers, swatches, found)
        return kept
    box = make_palette(conditions, swatches)
    made = index_recipes(box, spreads=conditions.spreads, progress=progress)
    if cache is None or not box.swatches:
        return made
    held = Held.made(box, swatches, made.index)
    cache.write(made_from, held.to_arrays())
    if cache.lately is not None:
        cache.lately.remember(numbers, swatches, held)
    # described as what is read will be, so that asking again gives the same to the last bit
    return held.shown(conditions, swatches) or made


def _held(asked: _Asked, cache: "RecipeCache") -> Held | None:
    """What is known of the very same numbers, else grown from what was asked lately."""
    conditions, _, swatches, numbers = asked
    boxes = [] if cache.lately is None else cache.lately.boxes
    lately = [one for one in boxes if one[0][0] == numbers[0]]
    for its, _, held in lately:
        if its == numbers:
            return held
    if (arrays := cache.read(np.concatenate(numbers))) is not None:
        return Held.of_arrays(arrays, len(swatches))
    for its, were, held in lately:
        grown = held.grown(conditions, were, swatches, _places(its[1:], numbers[1:]))
        if grown is not None:
            return grown
    return None


def _places(known: Numbers, numbers: Numbers) -> Integers:
    """Of each swatch by its numbers its place among those known, rising, -1 where it is new."""
    places: dict[tuple[float, ...], list[int]] = {}
    for at, each in enumerate(known):
        places.setdefault(tuple(each), []).append(at)
    found, last = [], -1
    for each in numbers:
        found.append(next((at for at in places.get(tuple(each), ()) if at > last), -1))
        last = max(found[-1], last)
    return np.array(found, dtype=np.intp)
