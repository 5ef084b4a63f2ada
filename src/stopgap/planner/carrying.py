"""The library as it is carried to the shop: stand-ins of every pencil, and what is to be bought."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from stopgap.blends import Pin, file_swatches
from stopgap.defaults import POCKET_RECIPES
from stopgap.errors import Note, NothingFoundError, Remedy
from stopgap.library import Listed, find_swatches
from stopgap.planner.recipes.kept import not_layered_notes
from stopgap.planner.recipes.questions import LayerQuestion
from stopgap.planner.shopping import ShoppingList
from stopgap.planner.stand_ins.precomputed import PrecomputedStandIns, precompute_stand_ins
from stopgap.swatches import LayingConditions, Selection, Swatch

if TYPE_CHECKING:
    from stopgap.layering.recipe_search import Progress
    from stopgap.planner.recipes.cache import RecipeCache


@dataclass(frozen=True, slots=True)
class ToBuy:
    """A pencil on the shopping list, what it costs where that is known, and what for."""

    swatch: Swatch
    price: float | None = None
    purpose: str = ""


class CarriedLibrary(NamedTuple):
    """Stand-ins of every swatch, its family by address, and what must be said of the pencils."""

    stand_ins: tuple[PrecomputedStandIns, ...]
    families: Mapping[str, str]
    notes: tuple[Note, ...] = ()


def carry_library(
    swatches: Sequence[Swatch],
    *,
    layers: LayingConditions | None = None,
    pins: Mapping[str, Pin] | None = None,
    cache: "RecipeCache | None" = None,
    progress: "Progress | None" = None,
) -> CarriedLibrary:
    """What the page for the phone holds; with `layers` recipes of what is owned, laid so.

    Raises
    ------
    NothingFoundError
        If there is no swatch.
    """
    if not swatches:
        raise NothingFoundError("The library holds no swatch yet.", remedy=Remedy.IMPORT_RANGE)
    owned = Selection(owned=True).of(swatches)
    question: LayerQuestion | None = None
    notes: tuple[Note, ...] = ()
    if layers is not None and owned:
        question = LayerQuestion(layers, owned, limit=POCKET_RECIPES, cache=cache)
        notes = tuple(not_layered_notes(layers, owned))
    found = precompute_stand_ins(swatches, layering=question, progress=progress)
    families = {filed.swatch.address: filed.family for filed in file_swatches(swatches, pins or {})}
    return CarriedLibrary(tuple(found), families, notes)


def listed_to_buy(
    listed: Sequence[Listed], swatches: Sequence[Swatch], file_name: str = ""
) -> list[ToBuy]:
    """The pencils of a list, with its labels as what they are for; raises as `find_swatches`."""
    found = find_swatches(listed, swatches, file_name)
    return [
        ToBuy(swatch, swatch.price, row.label) for row, swatch in zip(listed, found, strict=True)
    ]


def planned_to_buy(plan: ShoppingList) -> list[ToBuy]:
    """The pencils that a shopping list buys, and what each is for."""
    return [
        ToBuy(one.swatch, one.price, f"for {', '.join(one.purposes)}" if one.purposes else "")
        for one in plan.buy
    ]
