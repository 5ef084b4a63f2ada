"""Recipes as they are shown, with one's own pencils, and what is said of those that none uses."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from stopgap.arrays import Floats, Integers, renumbered
from stopgap.errors import Note
from stopgap.layering.recipe_search import Found
from stopgap.swatches import Layer, Spreads, Stack, Swatch

if TYPE_CHECKING:
    from stopgap.layering import Palette, Recipe
    from stopgap.layering.alternatives import Alternatives

_MOST_NAMED = 8  # pencils in one sentence


class Prepared(NamedTuple):
    """Recipes found, laid with the pencils of a box, and what is known of these and how far what
    is laid spreads.
    """

    found: Found
    box: "Palette"
    known: "Alternatives | None"
    spreads: Spreads


def of_their_pencils(found: Found, pressures: int) -> tuple[Integers, Found]:
    """Which pencils (k,) what was found takes, and the same as layings of these alone."""
    layings, single = found.layings, found.layings < 0
    used, pencils = renumbered(np.where(single, layings[:, :1], layings) // pressures)
    laid = np.where(single, layings, pencils * pressures + layings % pressures)
    return used, Found(laid, found.delta_E)


def as_shown(recipes: "Sequence[Recipe]", swatches: Sequence[Swatch]) -> "list[Recipe]":
    """Recipes with these swatches, by their addresses, in the place of what layers are reckoned
    from.
    """
    by_address = {swatch.address: swatch for swatch in swatches}

    def shown(layer: Layer) -> Layer:
        return layer._replace(swatch=by_address[layer.swatch.address])

    return [replace(one, stack=Stack(map(shown, one.stack))) for one in recipes]


def unattained_notes(swatches: Sequence[Swatch]) -> tuple[Note, ...]:
    """One sentence that names pencils of a colour that no surface has, none without any."""
    if not swatches:
        return ()
    named = [swatch.address for swatch in swatches[:_MOST_NAMED]]
    more = len(swatches) - len(named)
    names = ", ".join([*named, *([f"{more} more"] if more else [])])
    use, their = ("uses", "its") if len(swatches) == 1 else ("use", "their")
    why = f"no surface has {their} colour as it stands; check the values."
    return (Note(f"No recipe {use} {names}: {why}"),)


def described(
    found: Sequence[Found],
    prepare: Callable[[Found], Prepared],
    swatches: Sequence[Swatch],
    *,
    sure: bool,
    most: Sequence[Floats] | None = None,
) -> "list[list[Recipe]]":
    """Recipes that were found, all worked out together, with these swatches, where there are any;
    unless `sure`, without how sure they are, which takes nearly all of the time. Those are left out
    whose standard uncertainty is surely above the `most` of each.
    """
    from stopgap.layering import recipes_sure_enough

    if not any(len(one.delta_E) for one in found):
        return [[] for _ in found]
    ready = prepare(Found(*(np.concatenate(parts) for parts in zip(*found, strict=True))))
    above = None if most is None else np.concatenate(most)
    spreads = ready.spreads if sure else None
    rows, recipes = recipes_sure_enough(
        ready.found, ready.box, above, known=ready.known, spreads=spreads
    )
    if swatches:
        recipes = as_shown(recipes, swatches)
    ends = np.searchsorted(rows, np.cumsum([0, *(len(one.delta_E) for one in found)])).tolist()
    return [recipes[start:end] for start, end in pairwise(ends)]
