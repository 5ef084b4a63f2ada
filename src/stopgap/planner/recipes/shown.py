"""Recipes as they are shown, with one's own pencils, and what is said of those that none uses."""

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

from stopgap.errors import Note
from stopgap.swatches import Layer, Spreads, Stack, Swatch

if TYPE_CHECKING:
    from stopgap.layering import Palette, Recipe
    from stopgap.layering.alternatives import Alternatives
    from stopgap.layering.recipe_search import Found

_MOST_NAMED = 8  # pencils in one sentence


class Prepared(NamedTuple):
    """Recipes found, laid with the pencils of a box, and what is known of these and how far what
    is laid spreads.
    """

    found: "Found"
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
