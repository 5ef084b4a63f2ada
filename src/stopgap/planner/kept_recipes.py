"""The recipes of a hand and some pencils, from where they are kept or worked out anew."""

from collections.abc import Iterator, Sequence
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers
from stopgap.errors import InputError, Note
from stopgap.layering.enumeration import catalogue_of
from stopgap.neighbours import SwatchIndex
from stopgap.planner.hand import make_box
from stopgap.planner.recipe_index import RecipeIndex, unattained_notes
from stopgap.swatches import Hand, Swatch

if TYPE_CHECKING:
    from stopgap.layering import Pencils
    from stopgap.layering.alternatives import Alternatives
    from stopgap.layering.recipe_search import Progress
    from stopgap.planner.recipe_cache import Arrays, RecipeCache

_USABLE = "usable"  # which of the pencils can be layered at all
_REACHED = "reached"  # which have a colour that surfaces have


def recipes_of_hand(
    hand: Hand,
    swatches: Sequence[Swatch],
    *,
    cache: "RecipeCache | None" = None,
    progress: "Progress | None" = None,
) -> RecipeIndex:
    """An index of what that hand can lay with `swatches`; raises as `make_box` does.

    Pencils that cannot be layered are in none of its recipes.

    What was kept of the same hand and the same colours is used, and what was not is kept.
    """
    if cache is None:
        return RecipeIndex(make_box(hand, swatches), progress=progress)
    made_from = numbers_of(hand, swatches)
    arrays = cache.read(made_from)
    kept = None if arrays is None else _from_arrays(hand, swatches, arrays)
    if kept is not None:
        return kept
    box = make_box(hand, swatches)
    made = RecipeIndex(box, progress=progress)
    if not box.swatches:
        return made
    from stopgap.layering.palette import alternatives_of

    usable = {swatch.address for swatch in box.swatches}
    unattained = {swatch.address for swatch in box.unattained}
    known = alternatives_of(box, np.arange(len(box.swatches)))
    arrays = {
        _USABLE: np.array([swatch.address in usable for swatch in swatches]),
        _REACHED: np.array([swatch.address not in unattained for swatch in swatches]),
        **made.index.to_arrays(),
        **known.to_arrays(),
    }
    cache.write(made_from, arrays)
    # described as what is read will be, so that asking again gives the same to the last bit
    return _from_arrays(hand, swatches, arrays) or made


def not_layered_notes(hand: Hand, swatches: Sequence[Swatch]) -> tuple[Note, ...]:
    """Which of `swatches` no recipe of that hand can use, where there are any; see `RecipeIndex`.

    Nothing is read or kept: each colour is looked into once.
    """
    return unattained_notes(make_box(hand, swatches).unattained) if swatches else ()


def _from_arrays(hand: Hand, swatches: Sequence[Swatch], arrays: "Arrays") -> RecipeIndex | None:
    """None where the arrays are not what they should be."""
    usable = _marks(arrays, _USABLE, len(swatches))
    reached = _marks(arrays, _REACHED, len(swatches))
    if usable is None or reached is None:
        return None
    used = [swatch for swatch, use in zip(swatches, usable) if use]
    unattained = [swatch for swatch, has in zip(swatches, reached) if not has]
    lightness = np.array([swatch.lab[0] for swatch in used])
    covering = np.array([hand.opacity.get(swatch.range, 0.0) > 0.0 for swatch in used])
    recipes = catalogue_of(lightness, covering, len(hand.loads))
    boxes = partial(_box_of, hand, used, arrays)
    try:
        return RecipeIndex.kept(
            used, hand.loads, recipes, SwatchIndex.from_arrays(arrays), boxes, unattained
        )
    except InputError:
        return None


def _marks(arrays: "Arrays", name: str, count: int) -> Booleans | None:
    marks = arrays.get(name)
    right = marks is not None and marks.shape == (count,) and marks.dtype == np.bool_
    return marks if right else None


def _box_of(
    hand: Hand, swatches: Sequence[Swatch], arrays: "Arrays", chosen: Integers
) -> "tuple[Pencils, Alternatives | None]":
    """A box of the `chosen` pencils, and alternatives to them where these are kept."""
    from stopgap.layering.alternatives import Alternatives

    some = [swatches[pencil] for pencil in chosen.tolist()]
    try:
        known = Alternatives.from_arrays(arrays, len(swatches)).rows(chosen)
    except InputError:
        return make_box(hand, some), None
    return make_box(hand, some, known.optics), known


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
