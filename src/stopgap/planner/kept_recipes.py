"""The recipes of a hand and some pencils, from where they are kept or worked out anew."""

from collections.abc import Iterator, Sequence
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from stopgap.arrays import Booleans, Floats
from stopgap.errors import InputError
from stopgap.layering.cataloguing import catalogue_of
from stopgap.neighbours import SwatchIndex
from stopgap.planner.hand import make_box
from stopgap.planner.recipe_index import RecipeIndex
from stopgap.swatches import Hand, Swatch

if TYPE_CHECKING:
    from stopgap.layering.searching import Progress
    from stopgap.planner.recipe_cache import Arrays, RecipeCache

_USABLE = "usable"  # which of the pencils can be layered at all


def recipes_of_hand(
    hand: Hand,
    swatches: Sequence[Swatch],
    *,
    cache: "RecipeCache | None" = None,
    progress: "Progress | None" = None,
) -> RecipeIndex:
    """An index of what that hand can lay with `swatches`; raises as `make_box` does.

    What was kept of the same hand and the same colours is used, and what was not is kept.
    """
    made_from = numbers_of(hand, swatches)
    arrays = None if cache is None else cache.read(made_from)
    kept = None if arrays is None else _from_arrays(hand, swatches, arrays)
    if kept is not None:
        return kept
    made = RecipeIndex(make_box(hand, swatches), progress=progress)
    if cache is not None:
        usable = {swatch.address for swatch in made.swatches}
        rows = np.array([swatch.address in usable for swatch in swatches])
        cache.write(made_from, {_USABLE: rows, **made.index.to_arrays()})
    # described as what is read will be, so that asking again gives the same to the last bit
    return _of_index(hand, made.swatches, made.index)


def _from_arrays(hand: Hand, swatches: Sequence[Swatch], arrays: "Arrays") -> RecipeIndex | None:
    """None where the arrays are not what they should be."""
    usable: Booleans | None = arrays.get(_USABLE)
    if usable is None or usable.shape != (len(swatches),) or usable.dtype != np.bool_:
        return None
    try:
        index = SwatchIndex.from_arrays(arrays)
        return _of_index(hand, [one for one, use in zip(swatches, usable) if use], index)
    except InputError:
        return None


def _of_index(hand: Hand, used: Sequence[Swatch], index: SwatchIndex) -> RecipeIndex:
    lightness = np.array([swatch.lab[0] for swatch in used])
    covering = np.array([hand.opacity.get(swatch.range, 0.0) > 0.0 for swatch in used])
    recipes = catalogue_of(lightness, covering, len(hand.loads))
    return RecipeIndex.kept(used, hand.loads, recipes, index, partial(make_box, hand))


def numbers_of(hand: Hand, swatches: Sequence[Swatch]) -> Floats:
    """All numbers (m,) that the colours of recipes depend on, in an order that leaves no doubt.

    Names and uncertainties of swatches are not among them: they are looked up when asked for.
    """
    return np.array(list(_numbers_of(hand, swatches)), dtype=np.float64)


def _numbers_of(hand: Hand, swatches: Sequence[Swatch]) -> Iterator[float]:
    yield from (len(hand.loads), *hand.loads.values(), hand.tooth)
    yield from (*hand.paper, *hand.swatch_paper)
    for swatch in swatches:
        yield from (*swatch.lab, hand.opacity.get(swatch.range, 0.0))
        measured = swatch.reflectance
        yield 0 if measured is None else len(measured.values)
        if measured is not None:
            yield from (*measured.wavelengths, *measured.values)
