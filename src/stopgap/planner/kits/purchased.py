"""What one's pencils reach before a purchase and after it."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from stopgap.planner.kits.holes import Holes, for_sale_beside, map_of_holes
from stopgap.planner.laying import Ground
from stopgap.swatches import Selection

if TYPE_CHECKING:
    from stopgap.planner.recipes.cache import RecipeCache
    from stopgap.planner.shopping.answer import Purchase


def holes_before_and_after(
    bought: "Sequence[Purchase]",
    ground: Ground,
    selection: Selection,
    *,
    layers: bool,
    cache: "RecipeCache | None" = None,
) -> tuple[Holes, Holes] | None:
    """The maps of what is owned, and of that with what is bought besides, on one paper.

    A selection says what is for sale. None where nothing is owned yet.
    """
    swatches, laying = ground.swatches, ground.conditions if layers else None
    own = Selection(owned=True).of(swatches)
    if not own:
        return None
    new = [purchase.swatch for purchase in bought]
    sale = for_sale_beside(selection, swatches, own)
    before = map_of_holes(own, sale, layers=laying, cache=cache)
    if not new:
        return before, before
    return before, map_of_holes([*own, *new], sale, layers=laying, cache=cache)
