"""What is said of pencils that are in no recipe."""

from collections.abc import Sequence

from stopgap.errors import Note
from stopgap.planner.recipes.conditions import make_palette
from stopgap.swatches import LayingConditions, Swatch

_MOST_NAMED = 8


def unattained_notes(swatches: Sequence[Swatch]) -> tuple[Note, ...]:
    """One sentence that names pencils of a colour that no surface has, none without any."""
    if not swatches:
        return ()
    named = [swatch.address for swatch in swatches[:_MOST_NAMED]]
    more = len(swatches) - len(named)
    names = ", ".join([*named, *([f"{more} more"] if more else [])])
    use, their = ("uses", "its") if len(swatches) == 1 else ("use", "their")
    return (
        Note(
            f"No recipe {use} {names}: no surface has {their} colour as it stands; check the "
            "values."
        ),
    )


def not_layered_notes(conditions: LayingConditions, swatches: Sequence[Swatch]) -> tuple[Note, ...]:
    """The same of those of `swatches` that cannot be layered; each colour is looked into once."""
    return unattained_notes(make_palette(conditions, swatches).unattained) if swatches else ()
