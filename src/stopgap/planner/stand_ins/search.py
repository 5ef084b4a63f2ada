"""Stand-ins: which pencils come nearest to a colour, how they are off, and how sure that is."""

from collections.abc import Sequence
from math import inf
from typing import TYPE_CHECKING

from stopgap.defaults import METRIC, STAND_INS
from stopgap.difference import (
    metric_name,
)
from stopgap.errors import InputError, Note, NothingFoundError, Remedy, UsageError
from stopgap.planner.nearness import (
    of_core,
)
from stopgap.planner.stand_ins.answer import (
    StandIns,
    stand_in_notes,
    without_lookalikes,
)
from stopgap.planner.stand_ins.candidates import candidates_for
from stopgap.planner.stand_ins.ranking import Ranked, Ranking, describe, rank
from stopgap.swatches import Selection, Swatch, Target

if TYPE_CHECKING:
    from stopgap.layering import Recipe
    from stopgap.layering.recipe_search import Progress
    from stopgap.planner.recipes.questions import LayerQuestion


def find_stand_ins(
    target: Target,
    swatches: Sequence[Swatch],
    *,
    selection: Selection | None = None,
    limit: int = STAND_INS,
    metric: str = METRIC,
    within: float | None = None,
    cautious: bool = False,
    layering: "LayerQuestion | None" = None,
    under: Sequence[str] = (),
    reconstruct: bool = False,
    progress: "Progress | None" = None,
) -> StandIns:
    """The nearest of `swatches` to `target`, exactly, the target itself never among them.

    With `cautious` they are ranked by the upper bound of ΔE00 that holds in 95 of 100 cases, and
    `within` is a limit for that bound: a colour that is known well comes before one that may be
    nearer. Where a recipe promises more than every pencil, `layering` says how many pencils stay.
    `under` names CIE illuminants under which each is looked at as well, where spectra are known or
    `reconstruct` may tell the likely size (`stand_ins.illuminants`).

    Where neither a pencil nor a recipe comes within FAR, ΔE00 would rather give up the hue than
    lightness: then all are ranked by `hue_keeping_difference`, unless another ranking is asked for.

    Where the selection is for laydown, the target lays badly: only what is known to lay better is
    offered, of the same word for nearness that of the same core first.

    Equal differences are in the order of range and code, so the order of `swatches` is immaterial.
    Cost grows about linearly with their number, also where `layering` asks for recipes.

    Raises
    ------
    InputError
        If `limit` is below 1, or the metric or an illuminant is unknown.
    UsageError
        If `cautious` is asked for in a metric other than ΔE00, or `reconstruct` without `under`.
    NothingFoundError
        If the selection leaves no candidate, none lies `within` that ΔE, or none lays better.
    """
    _check(limit, metric, cautious=cautious, reconstruct=reconstruct, under=under)
    selection = selection or Selection()
    candidates, own, told = candidates_for(target, swatches, selection)
    ranking = rank(target, candidates, metric, cautious=cautious, without=own)
    if selection.for_laydown and isinstance(target, Swatch):
        ranking = ranking._replace(alike=of_core(target, [[each] for each in candidates]))
    recipes, more = _recipes(target, layering, ranking, candidates, progress)
    ranking = ranking.beside(recipes)
    within = inf if within is None else within
    recipes = _recipes_within(within, recipes, cautious=cautious)
    layers_first = ranking.led_by(recipes, target)
    near = ranking.order[: len(candidates) - (own is not None)]
    near = near[ranking.reach[near] <= within]
    if not len(near) and not recipes:
        first = ranking.order[0]
        raise NothingFoundError(
            f"No candidate lies within ΔE {within:g}: the nearest, {candidates[first].address}, "
            f"is {ranking.reach[first]:.1f} away."
        )
    ((matches, likely),) = describe([Ranked.of(target, ranking, near)], candidates, limit)
    if layers_first and layering is not None:
        matches = without_lookalikes(matches, layering.below)
    notes = stand_in_notes(target, matches, likely, ranking.nearest, selection, ranking.ranked_by)
    answer = StandIns(
        target,
        metric_name(metric),
        matches,
        (*told, *notes, *more),
        recipes,
        layers_first or not matches,
        ranked_by=ranking.ranked_by,
    )
    if not under:
        return answer
    from stopgap.planner.stand_ins.illuminants import look_under

    return look_under(answer, under, reconstruct=reconstruct)


def _check(
    limit: int, metric: str, *, cautious: bool, reconstruct: bool, under: Sequence[str]
) -> None:
    """Refuse arguments that do not go together."""
    if limit < 1:
        raise InputError(f"expected 1 or more, found {limit}.", argument="limit")
    if cautious and metric_name(metric) != METRIC:
        raise UsageError(
            f"it ranks by {METRIC}, not by {metric}.",
            argument="cautious",
            remedy=Remedy.NO_METRIC,
        )
    if reconstruct and not under:
        raise UsageError(
            "it is for other illuminants, and none is named.",
            argument="reconstruct",
            remedy=Remedy.NAME_ILLUMINANT,
        )


def _recipes(
    target: Target,
    layering: "LayerQuestion | None",
    ranking: Ranking,
    candidates: Sequence[Swatch],
    progress: "Progress | None",
) -> "tuple[tuple[Recipe, ...], Sequence[Note]]":
    """Recipes, where they are asked for, and what is to be said of them."""
    if layering is None:
        return (), ()
    from stopgap.planner.recipes.questions import find_recipes

    recipes, notes = find_recipes(
        target,
        layering,
        single_delta_E=ranking.nearest,
        single_sigma=candidates[ranking.order[0]].uncertainty_there,
        single_by_hue=None if ranking.by_hue is None else float(ranking.by_hue.min()),
        progress=progress,
    )
    if layering.always and not recipes and not notes:
        return recipes, [Note("No recipe: there is no pencil to layer.", Remedy.SAY_OWNED)]
    return recipes, notes


def _recipes_within(
    within: float, recipes: "Sequence[Recipe]", *, cautious: bool
) -> "tuple[Recipe, ...]":
    """The recipes within that ΔE, or whose bound is where ranking is cautious."""
    reaches = (one.promise.bound if cautious else one.delta_E for one in recipes)
    return tuple(one for one, reach in zip(recipes, reaches) if reach <= within)
