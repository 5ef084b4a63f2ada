"""What to buy, from names and files to an answer: needs looked up, pencils chosen, recipes made."""

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

from stopgap.defaults import PRICE, STEP, TIME_LIMIT, TOLERANCE
from stopgap.errors import UsageError
from stopgap.library import Listed, ListedBlend, find_swatch, find_target, find_targets
from stopgap.planner.shopping import BlendNeed, ColourNeed, ShoppingList, shopping_list
from stopgap.swatches import LayingConditions, Selection, Swatch, departure_notes

if TYPE_CHECKING:
    from stopgap.layering.recipe_search import Progress
    from stopgap.planner.recipes.cache import RecipeCache
    from stopgap.planner.shopping.lexicographic import Progress as Told

Need = BlendNeed | ColourNeed


class Terms(NamedTuple):
    """What may be spent, in money and in seconds; as `shopping_list` takes them."""

    budget: float | None = None
    default_price: float = PRICE
    partial: bool = False
    time_limit: float | None = TIME_LIMIT


def needs_of(
    swatches: Sequence[Swatch],
    *,
    blends: Sequence[ListedBlend] = (),
    colours: Sequence[Listed] = (),
    shades: Sequence[str] = (),
    step: float = STEP,
    tolerance: float = TOLERANCE,
) -> list[Need]:
    """The rows of a blends file and of a list, and shades by name, looked up among `swatches`.

    Raises
    ------
    UsageError
        If nothing is asked for.
    InputError, UnknownSwatchError
        As `find_target` does; rows of a file are named.
    """
    if not (blends or colours or shades):
        raise UsageError("Nothing is asked for: name blends, colours or shades.")
    needs: list[Need] = [
        BlendNeed(row.name, start, end, step=step if row.step is None else row.step)
        for row, (start, end) in zip(blends, find_targets(blends, swatches), strict=True)
    ]
    needs += [
        ColourNeed(f"{row.colour} {row.label}".strip(), target, tolerance, row.weight)
        for row, (target,) in zip(colours, find_targets(colours, swatches), strict=True)
    ]
    needs += [ColourNeed(text, find_target(text, swatches), tolerance) for text in shades]
    return needs


def plan_purchase(
    needs: Sequence[Need],
    swatches: Sequence[Swatch],
    *,
    selection: Selection | None = None,
    exclude: Sequence[str] = (),
    layers: LayingConditions | None = None,
    terms: Terms | None = None,
    cache: "RecipeCache | None" = None,
    counter: "Progress | None" = None,
    progress: "Told | None" = None,
) -> ShoppingList:
    """The pencils to buy for those needs, beside what is owned; see `shopping_list`.

    Bought are pencils of `selection` but those that `exclude` names. With `layers`, what is owned
    counts in layers laid so as well. `counter` is told how many recipes of how many are
    worked out, `progress` each aim as it is pursued.
    """
    owned = Selection(owned=True).of(swatches)
    excluded = {find_swatch(text, swatches).address for text in exclude}
    for_sale = [
        swatch
        for swatch in (selection or Selection()).of(swatches)
        if not swatch.owned and swatch.address not in excluded
    ]
    terms = terms or Terms()
    nearest = departure_notes((*owned, *for_sale))
    if layers is None or not owned:
        found = shopping_list(needs, owned, for_sale, **terms._asdict(), progress=progress)
        return replace(found, pencil_notes=nearest)
    from stopgap.planner.recipes.kept import not_layered_notes, recipes_under
    from stopgap.planner.recipes.questions import layered_stacks, recipes_along

    among = frozenset(swatch.address for swatch in owned)
    along = None
    if any(isinstance(need, BlendNeed) for need in needs):
        along = recipes_along(recipes_under(layers, owned, cache=cache, progress=counter))
    found = shopping_list(
        needs,
        owned,
        for_sale,
        recipes=layered_stacks(layers, among=among, cache=cache, progress=counter),
        recipes_along=along,
        **terms._asdict(),
        progress=progress,
    )
    return replace(found, pencil_notes=(*not_layered_notes(layers, owned), *nearest))
