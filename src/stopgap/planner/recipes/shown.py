"""Recipes as they are shown, with one's own pencils, and what is said of those that none uses."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from stopgap.arrays import Floats
from stopgap.errors import Note
from stopgap.layering.recipe_search import Found
from stopgap.swatches import Layer, Spreads, Stack, Swatch

if TYPE_CHECKING:
    from stopgap.layering import Palette, Recipe
    from stopgap.layering.alternatives import Alternatives

_MOST_NAMED = 8  # pencils in one sentence
_SLACK = 1e-9  # above what rounding makes of an uncertainty


class Prepared(NamedTuple):
    """Recipes found, laid with the pencils of a box, and what is known of these and how far what
    is laid spreads.
    """

    found: Found
    box: "Palette"
    known: "Alternatives | None"
    spreads: Spreads


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
) -> "list[list[Recipe]]":
    """Recipes that were found, all worked out together, with these swatches, where there are any;
    unless `sure`, without how sure they are, which takes nearly all of the time.
    """
    from stopgap.layering import recipes_of

    if not any(len(one.delta_E) for one in found):
        return [[] for _ in found]
    joined, ends = _joined(found)
    ready = prepare(joined)
    spreads = ready.spreads if sure else None
    recipes = recipes_of(ready.found, ready.box, known=ready.known, spreads=spreads)
    if swatches:
        recipes = as_shown(recipes, swatches)
    return [recipes[start:end] for start, end in pairwise(ends)]


def sure_enough(
    found: Sequence[Found], most: Sequence[Floats], prepare: Callable[[Found], Prepared]
) -> list[Found]:
    """Of what was found all but some whose standard uncertainty is above the `most` of each, by a
    bound that costs far less than how sure they are.
    """
    from stopgap.layering import least_uncertainty

    if not any(len(one.delta_E) for one in found):
        return [*found]
    joined, ends = _joined(found)
    ready = prepare(joined)
    layings, spreads = ready.found.layings, ready.spreads
    least = least_uncertainty(layings, ready.box, known=ready.known, spreads=spreads)
    enough = least * (1.0 - _SLACK) <= np.concatenate(most)
    rows = [start + np.flatnonzero(enough[start:end]) for start, end in pairwise(ends)]
    return [Found(joined.layings[some], joined.delta_E[some]) for some in rows]


def _joined(found: Sequence[Found]) -> tuple[Found, list[int]]:
    """All that was found in one, and where each begins and ends there."""
    layings, delta_E = (np.concatenate(parts) for parts in zip(*found, strict=True))
    return Found(layings, delta_E), np.cumsum([0, *(len(one.delta_E) for one in found)]).tolist()
