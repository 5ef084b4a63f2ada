"""The nearest recipes over layers that lie on the work already, of which nothing is kept."""

from collections.abc import Sequence
from math import inf
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from stopgap.arrays import blocks
from stopgap.defaults import METRIC
from stopgap.difference import delta_E_ciede2000
from stopgap.errors import Note
from stopgap.layering.recipe_search import search, search_tints
from stopgap.planner.recipes.held import make_palette
from stopgap.planner.recipes.pruned import pruned_recipes
from stopgap.planner.recipes.shown import as_shown
from stopgap.swatches import Lab, LayingConditions, Stack, Swatch, as_layered

if TYPE_CHECKING:
    from stopgap.layering import Palette, Recipe
    from stopgap.layering.recipe_search import Progress

_FEW = 200  # pencils of which all pairs are tried sooner than they are made ready not to be
_AT_ONCE = 512  # pencils laid by themselves


def palette_over(conditions: LayingConditions, pencils: Sequence[Swatch], over: Stack) -> "Palette":
    """Pencils ready to be laid over it, as layers of theirs are reckoned."""
    return make_palette(conditions, [*map(as_layered, pencils)], over=_as_layered(over))


class Alone(NamedTuple):
    """Pencils among which are the nearest by themselves, and the highest L* that any comes to."""

    pencils: list[Swatch]
    lightest: float


def alone_over(
    target_lab: Lab,
    conditions: LayingConditions,
    pencils: Sequence[Swatch],
    over: Stack,
    *,
    limit: int,
    metric: str = METRIC,
) -> Alone:
    """Of pencils in their order those among which are the `limit` that laid over it come nearest,
    and the one that is nearest on bare paper. They are laid some at a time.

    Raises
    ------
    InputError
        As `palette_over` does.
    """
    chosen: list[Swatch] = []
    lightest, nearest = -inf, inf
    on_paper = {swatch.address: swatch.lab for swatch in pencils}
    for block in blocks(len(pencils), _AT_ONCE):
        some = pencils[block]
        box = palette_over(conditions, some, over)
        if not box.swatches:
            continue
        found = search_tints(target_lab, box, limit=limit, metric=metric)
        kept = set((found.layings[:, 0] // len(box.pressures)).tolist())
        near = delta_E_ciede2000(target_lab, [on_paper[one.address] for one in box.swatches])
        if near.min() < nearest:
            nearest = float(near.min())
            kept.add(int(near.argmin()))
        lightest = max(lightest, float(box.colours(np.arange(len(box.loads)))[:, 0].max()))
        addresses = {box.swatches[one].address for one in kept}
        chosen += [swatch for swatch in some if swatch.address in addresses]
    return Alone(chosen, lightest)


def _as_layered(over: Stack) -> Stack:
    return Stack(layer._replace(swatch=as_layered(layer.swatch)) for layer in over)


def recipes_over(
    target_lab: Lab,
    conditions: LayingConditions,
    pencils: Sequence[Swatch],
    over: Stack,
    *,
    limit: int,
    progress: "Progress | None" = None,
) -> "tuple[list[Recipe], tuple[Note, ...]]":
    """The `limit` nearest of one or two pencils over what lies there, exactly, and what is to be
    said where they could not be searched to the end.

    Raises
    ------
    InputError
        Where no surface has the colour of what lies there, or there is no pencil to lay.
    """
    if len(pencils) > _FEW:
        layered = [*map(as_layered, pencils)]
        ready = pruned_recipes(conditions, layered, pencils, progress, over=_as_layered(over))
        if ready is not None:
            (recipes,) = ready.described(ready.search([target_lab], limit=limit))
            return recipes, ready.cut_short
    from stopgap.layering import recipes_of

    box = palette_over(conditions, pencils, over)
    found = search(target_lab, box, limit=limit, progress=progress)
    return as_shown(recipes_of(found, box, spreads=conditions.spreads), pencils), ()
