"""Stand-ins: which pencils come nearest to a colour, how they are off, and how sure that is."""

from collections.abc import Sequence
from dataclasses import replace
from math import inf
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers
from stopgap.defaults import METRIC, STAND_INS
from stopgap.difference import (
    delta_E,
    delta_E_ciede2000,
    difference_words,
    grade,
    metric_name,
    signed_differences,
)
from stopgap.errors import InputError, Note, NothingFoundError, Remedy, UsageError
from stopgap.planner.doubt import bounds_of, doubt_of, nearest_probabilities, tied_group
from stopgap.planner.nearness import (
    BY_HUE,
    FAR,
    core_first,
    hue_keeping_difference,
    laid_besides,
    of_core,
    recipes_lead,
    recipes_lead_by_hue,
)
from stopgap.planner.stand_ins.answer import (
    Likely,
    StandIn,
    StandIns,
    candidates_for,
    lightfastness_caution,
    stand_in_notes,
    without_lookalikes,
)
from stopgap.swatches import Selection, Swatch, Target, fades_sooner, marks_of

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
    Cost grows linearly with their number, and with the square of the number of pencils that may
    be layered, where `layering` asks for recipes.

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
    candidates, told = candidates_for(target, swatches, selection)
    ranking = _ranking(target, candidates, metric, cautious=cautious)
    if selection.for_laydown and isinstance(target, Swatch):
        ranking = ranking._replace(alike=of_core(target, [[each] for each in candidates]))
    recipes, more = _recipes(target, layering, ranking, candidates, progress)
    ranking = ranking.beside(recipes)
    within = inf if within is None else within
    recipes = _recipes_within(within, recipes, cautious=cautious)
    layers_first = ranking.led_by(recipes, target)
    near = ranking.order[ranking.reach[ranking.order] <= within]
    if not len(near) and not recipes:
        first = ranking.order[0]
        raise NothingFoundError(
            f"No candidate lies within ΔE {within:g}: the nearest, {candidates[first].address}, "
            f"is {ranking.reach[first]:.1f} away."
        )
    matches, likely = _described(target, candidates, ranking, near, limit)
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
    ranking: "_Ranking",
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
    recipes = tuple(_with_fading(target, recipe) for recipe in recipes)
    if layering.always and not recipes and not notes:
        return recipes, [Note("No recipe: there is no pencil to layer.", Remedy.SAY_OWNED)]
    return recipes, notes


def _with_fading(target: Target, recipe: "Recipe") -> "Recipe":
    """A recipe with what of its pencils is known to fade sooner than the target."""
    pencils = recipe.stack.swatches
    said = [f"{one.address} {why}" for one in pencils if (why := fades_sooner(target, one))]
    return replace(recipe, cautions=(*said, *recipe.cautions)) if said else recipe


def _recipes_within(
    within: float, recipes: "Sequence[Recipe]", *, cautious: bool
) -> "tuple[Recipe, ...]":
    """The recipes within that ΔE, or whose bound is where ranking is cautious."""
    reaches = (one.promise.bound if cautious else one.delta_E for one in recipes)
    return tuple(one for one, reach in zip(recipes, reaches) if reach <= within)


class _Ranking(NamedTuple):
    """Candidates (n,) by row: ΔE in the metric that ranks, ΔE00, and what a limit is held against,
    which is the bound of ΔE00 where ranking is cautious. `order` are the rows, the first first.
    `by_hue` is their `hue_keeping_difference` where that may rank, `alike` who has the core of a
    target that is replaced for its laydown.
    """

    delta_E: Floats
    delta_E00: Floats
    reach: Floats
    order: Integers
    ranked_by: str
    by_hue: Floats | None = None
    alike: Booleans | None = None

    @property
    def nearest(self) -> float:
        """The least ΔE00."""
        return float(self.delta_E00.min())

    def beside(self, recipes: "Sequence[Recipe]") -> "_Ranking":
        """By hue, unless one of these recipes is near; else what is of one core first."""
        if self.by_hue is None or any(recipe.delta_E <= FAR for recipe in recipes):
            order = self.order
            if self.alike is not None:
                order = np.argsort(core_first(self.reach, self.alike), kind="stable")
            return self._replace(by_hue=None, order=order)
        return self._replace(order=np.argsort(self.by_hue, kind="stable"), ranked_by=BY_HUE)

    def led_by(self, recipes: "Sequence[Recipe]", target: Target) -> bool:
        """Whether some recipe promises more than every candidate."""
        if self.by_hue is None:
            return recipes_lead(recipes, self.nearest)
        return recipes_lead_by_hue(target.lab, recipes, float(self.by_hue.min()))


def _ranking(
    target: Target, candidates: Sequence[Swatch], metric: str, *, cautious: bool
) -> _Ranking:
    lab = np.array([swatch.lab for swatch in candidates])
    differences = delta_E(target.lab, lab, metric)
    default = metric_name(metric) == METRIC
    delta_E00 = differences if default else delta_E_ciede2000(target.lab, lab)
    if cautious:
        reach = bounds_of([target], candidates).upper
        return _Ranking(differences, delta_E00, reach, np.argsort(reach, kind="stable"), "upper")
    order = np.argsort(differences, kind="stable")
    far = default and delta_E00.min() > FAR
    by_hue = hue_keeping_difference(target.lab, lab) if far else None
    return _Ranking(differences, delta_E00, differences, order, "delta_E", by_hue)


def _described(
    target: Target, candidates: Sequence[Swatch], ranking: _Ranking, near: Integers, limit: int
) -> tuple[tuple[StandIn, ...], tuple[Likely, ...]]:
    """The first `limit` of those `near`, and which of all of these are likely the nearest.

    Uncertainties, ties and grades are stated in ΔE00, whatever metric ranks.
    """
    if not len(near):
        return (), ()
    by_row = np.sort(near)  # so that the order asked for decides nothing
    (found,) = nearest_probabilities([target], [candidates[row] for row in by_row])
    group = tied_group(found)
    probabilities = dict(zip(by_row.tolist(), found.tolist()))
    tied = dict(zip(by_row.tolist(), group.tolist()))
    likeliest = sorted(by_row.tolist(), key=lambda row: -probabilities[row])
    likely = tuple(
        Likely(candidates[row], probabilities[row])
        for place, row in enumerate(likeliest)
        if tied[row] or not place
    )
    rows = near[:limit].tolist()
    chosen = [candidates[row] for row in rows]
    sigmas, bounds = doubt_of(target, chosen).sigmas, bounds_of([target], chosen)
    matches = tuple(
        _stand_in(target, swatch, float(ranking.delta_E00[row]))._replace(
            delta_E=float(ranking.delta_E[row]),
            sigma=sigma,
            probability=probabilities[row],
            tied=tied[row],
            upper=upper,
            grade_probability=sure,
            besides=laid_besides(target, swatch) if ranking.alike is not None else "",
        )
        for row, swatch, sigma, upper, sure in zip(
            rows, chosen, sigmas.tolist(), bounds.upper.tolist(), bounds.grade_probability.tolist()
        )
    )
    return matches, likely if len(near) > 1 else ()


def _stand_in(target: Target, swatch: Swatch, delta_E00: float) -> StandIn:
    """How it is off, as if it were surely so."""
    delta_L, delta_C, delta_H = signed_differences(target.lab, swatch.lab)
    cautions = (lightfastness_caution(target, swatch), *marks_of(swatch))
    return StandIn(
        swatch=swatch,
        delta_E=delta_E00,
        grade=grade(delta_E00),
        delta_L=float(delta_L),
        delta_C=float(delta_C),
        delta_H=float(delta_H),
        words=difference_words(target.lab, swatch.lab),
        sigma=0.0,
        tied=False,
        cautions=tuple(filter(None, cautions)),
    )
