"""Recipes of pencils under laying conditions, from where they are kept or worked out anew."""

from collections.abc import Sequence
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from stopgap.arrays import Floats, renumbered
from stopgap.errors import InputError, Note, Remedy, TooLargeError
from stopgap.layering.estimates import never_beneath, scattering_of, swatch_loads
from stopgap.layering.recipe_search import Found, catalogue_of, most_recipes
from stopgap.neighbours import SwatchIndex
from stopgap.planner.recipes.index import RecipeIndex, index_recipes, unattained_notes
from stopgap.swatches import BARE_PAPER, LayingConditions, Stack, Swatch, as_layered

if TYPE_CHECKING:
    from stopgap.layering import Palette, Recipe
    from stopgap.layering.optics import Optics
    from stopgap.layering.recipe_search import Progress
    from stopgap.planner.recipes.cache import Arrays, RecipeCache

RECIPE_MEMORY = 2**30
"""How much memory all recipes of some pencils may take at most [bytes]: this project's choice."""

_BYTES = 110  # of memory that a recipe takes at most, measured with 300 to 1,000 pencils

_FATE = "fate"  # of each pencil, one of these
_LAYERED, _LIGHTER, _UNATTAINED = range(3)


def make_palette(
    conditions: LayingConditions,
    swatches: Sequence[Swatch],
    known: "Optics | None" = None,
    over: Stack = BARE_PAPER,
) -> "Palette":
    """Pencils ready to be layered under those conditions, as `layering.palette_of` makes them."""
    from stopgap.layering import palette_of

    return palette_of(
        swatches,
        conditions.paper,
        pressures=conditions.loads,
        tooth=conditions.tooth,
        trapping=conditions.trapping,
        opacity=conditions.opacity,
        swatch_paper_lab=conditions.swatch_paper,
        heavy_first=conditions.heavy_first,
        over=over,
        known=known,
    )


def not_layered_notes(conditions: LayingConditions, swatches: Sequence[Swatch]) -> tuple[Note, ...]:
    """What is said of those of `swatches` that no recipe takes; each is looked into once."""
    if not swatches:
        return ()
    return unattained_notes(make_palette(conditions, [*map(as_layered, swatches)]).unattained)


def numbers_of(conditions: LayingConditions, swatches: Sequence[Swatch]) -> Floats:
    """All numbers (m,) that the colours of recipes depend on, in an order that leaves no doubt.

    Names and uncertainties of swatches are not among them: they are looked up when asked for.
    """
    numbers = [len(conditions.loads), *conditions.loads.values()]
    numbers += conditions.tooth, conditions.trapping
    numbers += *conditions.paper, *conditions.swatch_paper, conditions.heavy_first
    for swatch, swatched in zip(swatches, swatch_loads(swatches, conditions.loads)):
        numbers += *swatch.lab, swatched, scattering_of(swatch, conditions.opacity).middle
        measured = swatch.reflectance
        numbers.append(0 if measured is None else len(measured.values))
        if measured is not None:
            numbers += *measured.wavelengths, *measured.values
    return np.array(numbers, dtype=np.float64)


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
    layered = list(map(as_layered, swatches))
    _check_memory(conditions, layered)
    index = _recipes_under(conditions, layered, cache, progress)
    return index if layered == list(swatches) else index.showing(swatches)


def _check_memory(conditions: LayingConditions, swatches: Sequence[Swatch]) -> None:
    """Refuse so many pencils that their recipes would take too much."""
    covers = sum(scattering_of(one, conditions.opacity).middle > 0.0 for one in swatches)
    heaviest = never_beneath(conditions.loads, heavy_first=conditions.heavy_first)
    most = most_recipes(len(swatches), covers, len(conditions.loads), heaviest)
    if most * _BYTES > RECIPE_MEMORY:
        raise TooLargeError(
            f"Recipes of {len(swatches):,} pencils are up to {most:,}, which would take "
            f"{most * _BYTES / 2**30:.1f} GB of memory; {RECIPE_MEMORY / 2**30:g} GB are allowed.",
            remedy=Remedy.FEWER_TO_LAYER,
        )


def _recipes_under(
    conditions: LayingConditions,
    swatches: Sequence[Swatch],
    cache: "RecipeCache | None",
    progress: "Progress | None",
) -> RecipeIndex:
    made_from = numbers_of(conditions, swatches)
    arrays = None if cache is None else cache.read(made_from)
    kept = None if arrays is None else _from_arrays(conditions, swatches, arrays)
    if kept is not None:
        return kept
    box = make_palette(conditions, swatches)
    made = index_recipes(box, spreads=conditions.spreads, progress=progress)
    if cache is None or not box.swatches:
        return made
    arrays = _arrays_of(made, box, swatches)
    cache.write(made_from, arrays)
    # described as what is read will be, so that asking again gives the same to the last bit
    return _from_arrays(conditions, swatches, arrays) or made


def _arrays_of(made: RecipeIndex, box: "Palette", swatches: Sequence[Swatch]) -> "Arrays":
    from stopgap.layering.palette import alternatives_of

    fate = dict.fromkeys((swatch.address for swatch in box.left_out), _LIGHTER)
    fate |= dict.fromkeys((swatch.address for swatch in box.unattained), _UNATTAINED)
    return {
        _FATE: np.array([fate.get(swatch.address, _LAYERED) for swatch in swatches]),
        **made.index.to_arrays(),
        **alternatives_of(box, np.arange(len(box.swatches))).to_arrays(),
    }


def _from_arrays(
    conditions: LayingConditions, swatches: Sequence[Swatch], arrays: "Arrays"
) -> RecipeIndex | None:
    """None where the arrays are not what they should be."""
    fate = arrays.get(_FATE)
    if fate is None or fate.shape != (len(swatches),) or fate.dtype.kind != "i":
        return None
    if not all(array.dtype.kind != "f" or np.isfinite(array).all() for array in arrays.values()):
        return None
    used = [swatch for swatch, its in zip(swatches, fate) if its == _LAYERED]
    unattained = [swatch for swatch, its in zip(swatches, fate) if its == _UNATTAINED]
    lightness = np.array([swatch.lab[0] for swatch in used])
    covering = np.array([scattering_of(swatch, conditions.opacity).middle > 0.0 for swatch in used])
    never_first = never_beneath(conditions.loads, heavy_first=conditions.heavy_first)
    recipes = catalogue_of(lightness, covering, len(conditions.loads), never_first)
    describe = partial(_described, conditions, used, arrays)
    try:
        index = SwatchIndex.from_arrays(arrays)
        return RecipeIndex(used, conditions.loads, recipes, index, describe, unattained)
    except InputError:
        return None


def _described(
    conditions: LayingConditions,
    swatches: Sequence[Swatch],
    arrays: "Arrays",
    found: Found,
    sure: bool,
) -> "list[Recipe]":
    """Recipes of a box that has only the pencils they use, with what is kept of these."""
    from stopgap.layering import recipes_of
    from stopgap.layering.alternatives import Alternatives

    p = len(conditions.loads)
    layings, single = found.layings, found.layings < 0
    chosen, pencils = renumbered(np.where(single, layings[:, :1], layings) // p)
    some = [swatches[pencil] for pencil in chosen.tolist()]
    try:
        known = Alternatives.from_arrays(arrays, len(swatches)).rows(chosen)
    except InputError:
        known = None
    return recipes_of(
        Found(np.where(single, layings, pencils * p + layings % p), found.delta_E),
        make_palette(conditions, some, None if known is None else known.optics),
        known=known,
        spreads=conditions.spreads if sure else None,
    )
