"""Stand-ins and recipes of every swatch, worked out before anybody asks; carried to the shop."""

from collections.abc import Sequence
from dataclasses import replace
from math import inf
from typing import TYPE_CHECKING, NamedTuple

from stopgap.defaults import POCKET_RECIPES, POCKET_STAND_INS
from stopgap.errors import InputError, Note, NothingFoundError, Remedy
from stopgap.layering import Recipe
from stopgap.layering.recipe_search import Progress
from stopgap.planner.nearness import BY_HUE, recipes_lead
from stopgap.planner.recipes.questions import BestPencil, LayerQuestion, recipes_for_each
from stopgap.planner.stand_ins.answer import without_lookalikes
from stopgap.planner.stand_ins.boxes import PencilBox
from stopgap.planner.stand_ins.carried import CarriedStandIn, carried, shown_as
from stopgap.planner.stand_ins.ranking import BY_DELTA_E, Ranking
from stopgap.swatches import Arrangement, LayingConditions, Selection, Swatch, Target

if TYPE_CHECKING:
    from stopgap.blends import Family
    from stopgap.planner.recipes.cache import RecipeCache

_RECIPES_AT_ONCE = 4096  # targets that share what is laid
_DESCRIBED_AT_ONCE = 8192  # targets; who errs alike is drawn once


class PrecomputedStandIns(NamedTuple):
    """What stands in for one swatch: `owned` pencils, `others` to buy, and recipes.

    `layers_first` says that some recipe promises more than every owned pencil.
    """

    swatch: Swatch
    owned: tuple[CarriedStandIn, ...]
    others: tuple[CarriedStandIn, ...]
    recipes: tuple[Recipe, ...]
    layers_first: bool = False


class _Single(NamedTuple):
    """The nearest single pencils of one target, what ranks them, and recipes beside them."""

    target: Target
    matches: tuple[CarriedStandIn, ...] = ()
    ranked_by: str = BY_DELTA_E
    layers: tuple[Recipe, ...] = ()
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
    near = _singles(swatches, owned, limit)
    far = _singles(swatches, others, limit)
    if layering := _with_recipes(layering):
        near = _with_layers(near, PencilBox.of(owned), layering, limit, progress)
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


def _with_layers(
    near: Sequence[_Single],
    box: PencilBox,
    question: LayerQuestion,
    limit: int,
    progress: Progress | None,
) -> list[_Single]:
    """Pencils of a box with recipes beside them, as `find_stand_ins` has them."""
    index, found = question.index(), [*near]
    # those as light have recipes in common, which are worked out once
    order = sorted(range(len(near)), key=lambda place: near[place].target.lab[0])
    for begin in range(0, len(near), _RECIPES_AT_ONCE):
        those = order[begin : begin + _RECIPES_AT_ONCE]
        some = [near[place] for place in those]
        # so far out that hue ranks, how they rank hangs on the recipes too
        rankings = {
            place: box.ranking(one.target)
            for place, one in enumerate(some)
            if one.ranked_by == BY_HUE
        }
        singles = [_best_pencil(one, box, rankings.get(place)) for place, one in enumerate(some)]
        recipes = recipes_for_each([one.target for one in some], question, index, singles)
        leading, anew = {}, []
        for place, ranking in rankings.items():
            target, ranked = some[place].target, ranking.beside(recipes[place])
            leading[place] = ranked.led_by(recipes[place], target)
            anew.append(box.ranked(target, ranked))
        for place, matches in zip(rankings, carried(anew, box.candidates, limit)):
            some[place] = some[place]._replace(matches=matches)
        for place, (one, laid) in enumerate(zip(some, recipes, strict=True)):
            nearest = one.matches[0].delta_E if one.matches else inf
            first = leading.get(place, recipes_lead(laid, nearest))
            matches = without_lookalikes(one.matches, question.below) if first else one.matches
            found[those[place]] = one._replace(matches=matches, layers=laid, layers_first=first)
            if progress is not None:
                progress(begin + place + 1, len(near))
    return found


def _best_pencil(single: _Single, box: PencilBox, ranking: Ranking | None) -> BestPencil:
    """The best of a box for one target, as hue may rank where there is a `ranking`."""
    if ranking is not None:
        first = box.candidates[ranking.order[0]]
        by_hue = None if ranking.by_hue is None else float(ranking.by_hue.min())
        return BestPencil(ranking.nearest, first.uncertainty_there, by_hue)
    if not single.matches:
        return BestPencil()
    return BestPencil(single.matches[0].delta_E, single.matches[0].swatch.uncertainty_there)


def _singles(targets: Sequence[Target], candidates: Sequence[Swatch], limit: int) -> list[_Single]:
    """For each target the nearest single pencils as `find_stand_ins` gives them; none where there
    is no candidate but the target itself.
    """
    box, found = PencilBox.of(candidates), []
    for begin in range(0, len(targets), _DESCRIBED_AT_ONCE):
        some = targets[begin : begin + _DESCRIBED_AT_ONCE]
        near = box.nearest(some, limit)
        asked, tied = [one.ranked for one in near if one], [one.tied for one in near if one]
        matches = iter(shown_as(asked, tied, box.candidates))
        found += [
            _Single(target, next(matches), one.ranked.ranked_by) if one else _Single(target)
            for target, one in zip(some, near, strict=True)
        ]
    return found
