"""The recipes of a hand and some pencils, from where they are kept or worked out anew."""

from collections.abc import Iterator, Sequence
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
    if cache is None:
        return RecipeIndex(make_box(hand, swatches), progress=progress)
    made_from = numbers_of(hand, swatches)
    arrays = cache.read(made_from)
    index = None if arrays is None else _from_arrays(hand, swatches, arrays)
    if index is None:
        index = RecipeIndex(make_box(hand, swatches), progress=progress)
        kept = {swatch.address for swatch in index.swatches}
        usable = np.array([swatch.address in kept for swatch in swatches])
        cache.write(made_from, {_USABLE: usable, **index.index.to_arrays()})
    return index


def _from_arrays(hand: Hand, swatches: Sequence[Swatch], arrays: "Arrays") -> RecipeIndex | None:
    """None where the arrays are not what they should be."""
    usable: Booleans | None = arrays.get(_USABLE)
    if usable is None or usable.shape != (len(swatches),) or usable.dtype != np.bool_:
        return None
    used = [swatch for swatch, use in zip(swatches, usable) if use]
    lightness = np.array([swatch.lab[0] for swatch in used])
    covering = np.array([hand.opacity.get(swatch.range, 0.0) > 0.0 for swatch in used])
    recipes = catalogue_of(lightness, covering, len(hand.loads))
    try:
        index = SwatchIndex.from_arrays(arrays)
    except InputError:
        return None
    if len(index) != len(recipes):
        return None
    return RecipeIndex.kept(used, hand.loads, recipes, index, lambda: make_box(hand, used))


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
