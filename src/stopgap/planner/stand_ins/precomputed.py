"""Stand-ins and recipes of every swatch, worked out before anybody asks; carried to the shop."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import inf
from typing import TYPE_CHECKING, NamedTuple

from stopgap.defaults import POCKET_RECIPES, POCKET_STAND_INS
from stopgap.errors import InputError, Note, NothingFoundError, Remedy
from stopgap.layering import Recipe
from stopgap.layering.recipe_search import Progress
from stopgap.planner.nearness import BY_HUE, recipes_lead
from stopgap.planner.recipes.questions import LayerQuestion, considered, offered
from stopgap.planner.stand_ins.answer import StandIn, StandIns, without_lookalikes
from stopgap.planner.stand_ins.ranking import single_stand_ins
from stopgap.planner.stand_ins.search import find_stand_ins
from stopgap.swatches import Arrangement, LayingConditions, Selection, Swatch

if TYPE_CHECKING:
    from stopgap.blends import Family
    from stopgap.planner.recipes.cache import RecipeCache


@dataclass(frozen=True, slots=True)
class PrecomputedStandIns:
    """What stands in for one swatch: `owned` pencils, `others` to buy, and recipes.

    `layers_first` says that some recipe promises more than every owned pencil.
    """

    swatch: Swatch
    owned: tuple[StandIn, ...]
    others: tuple[StandIn, ...]
    recipes: tuple[Recipe, ...]
    layers_first: bool = False


class CarriedLibrary(NamedTuple):
    """Stand-ins of every swatch, the families in their order, and what must be said."""

    stand_ins: "tuple[PrecomputedStandIns, ...]"
    families: "tuple[Family, ...]"
    notes: tuple[Note, ...] = ()


def carry_library(
    swatches: Sequence[Swatch],
    *,
    layers: LayingConditions | None = None,
    selection: Selection | None = None,
    arrangement: Arrangement | None = None,
    cache: "RecipeCache | None" = None,
    progress: "Progress | None" = None,
) -> CarriedLibrary:
    """What the page for the phone holds: stand-ins of `selection`, and with `layers` recipes of
    what is owned, laid so.

    Raises
    ------
    NothingFoundError
        If there is no swatch.
    """
    if not swatches:
        raise NothingFoundError("The library holds no swatch yet.", remedy=Remedy.IMPORT_RANGE)
    from stopgap.blends import families_named

    selection = selection or Selection()
    owned = selection.at_home.of(swatches)
    question: LayerQuestion | None = None
    notes: tuple[Note, ...] = ()
    if layers is not None and owned:
        question = LayerQuestion(layers, owned, limit=POCKET_RECIPES, cache=cache)
        recipes = question.index()
        question, notes = replace(question, made=recipes), recipes.notes
    found = precompute_stand_ins(
        swatches, layering=question, selection=selection, progress=progress
    )
    return CarriedLibrary(tuple(found), families_named(swatches, (), arrangement), notes)


def precompute_stand_ins(
    swatches: Sequence[Swatch],
    *,
    limit: int = POCKET_STAND_INS,
    layering: LayerQuestion | None = None,
    selection: Selection | None = None,
    progress: Progress | None = None,
) -> list[PrecomputedStandIns]:
    """For each swatch up to `limit` stand-ins of either kind, and recipes worth offering.

    Pencils of `selection` are offered: plain ones, discontinued ones only where they are owned. A
    recipe is worth offering where it comes nearer than the best owned pencil by more than both
    uncertainties; where one promises more than every owned pencil, fewer of those are listed.
    The cost grows with the square of the number of pencils to layer, once for all swatches.

    Raises
    ------
    InputError
        If `limit` is below 1.
    """
    if limit < 1:
        raise InputError(f"limit: expected 1 or more, found {limit}.")
    if not swatches:
        return []
    those = (selection or Selection()).of(swatches)
    owned = [swatch for swatch in those if swatch.at_hand]
    others = [swatch for swatch in those if not swatch.at_hand]
    near = single_stand_ins(swatches, owned, limit)
    far = single_stand_ins(swatches, others, limit)
    layering = _with_recipes(layering)
    if layering is not None:
        recipes = _recipes(swatches, near, layering, progress)
        for place, laid in enumerate(recipes):
            if near[place].ranked_by == BY_HUE:
                # what ranks hangs on the recipes too, which are then sought by hue
                near[place] = find_stand_ins(
                    swatches[place], owned, selection=selection, limit=limit, layering=layering
                )
            else:
                near[place] = _beside(near[place], laid, layering)
    return [
        PrecomputedStandIns(one, own.matches, other.matches, own.layers, own.layers_first)
        for one, own, other in zip(swatches, near, far, strict=True)
    ]


def _with_recipes(question: LayerQuestion | None) -> LayerQuestion | None:
    """The question with its recipes made, which every swatch asks for.

    None where nothing can be layered: pages are written all the same.
    """
    if question is None:
        return None
    try:
        return replace(question, made=question.index())
    except InputError:
        return None


def _recipes(
    swatches: Sequence[Swatch],
    near: Sequence[StandIns],
    question: LayerQuestion,
    progress: Progress | None,
) -> list[tuple[Recipe, ...]]:
    """The uncertainties of all recipes at once: one by one they would cost most of the time."""
    index = question.index()
    nearest = [answer.matches[0] if answer.matches else None for answer in near]
    found = []
    for place, (swatch, single) in enumerate(zip(swatches, nearest, strict=True)):
        found.append(considered(swatch, question, index, *_reach(single)))
        if progress is not None:
            progress(place + 1, len(swatches))
    described = index.described(found)
    return [
        offered(these, question, *_reach(single))
        for these, single in zip(described, nearest, strict=True)
    ]


def _reach(single: StandIn | None) -> tuple[float, float]:
    """The ΔE00 and the standard uncertainty of the best pencil, infinite and 0 without any."""
    return (inf, 0.0) if single is None else (single.delta_E, single.swatch.uncertainty_there)


def _beside(near: StandIns, recipes: tuple[Recipe, ...], question: LayerQuestion) -> StandIns:
    """Pencils and recipes beside each other: fewer owned pencils where recipes promise more."""
    matches = near.matches
    first = recipes_lead(recipes, matches[0].delta_E if matches else inf)
    if first:
        matches = without_lookalikes(matches, question.below)
    return near._replace(matches=matches, layers=recipes, layers_first=first)
