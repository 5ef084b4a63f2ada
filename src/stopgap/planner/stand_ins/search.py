"""Stand-ins: which pencils come nearest to a colour, how they are off, and how sure that is."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from stopgap.arrays import Floats, Integers
from stopgap.defaults import METRIC, STAND_INS
from stopgap.difference import (
    COVERAGE_FACTOR,
    difference_words,
    grade,
    metric_name,
    signed_differences,
)
from stopgap.errors import InputError, Note, NothingFoundError, Remedy, UsageError
from stopgap.neighbours import SwatchIndex
from stopgap.planner.doubt import doubt_of, nearest_probabilities, tied_group
from stopgap.planner.nearness import apart_to_the_eye, recipes_lead
from stopgap.planner.stand_ins.answer import (
    StandIn,
    StandIns,
    lightfastness_caution,
    stand_in_notes,
)
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
        If the selection leaves no candidate, or none lies `within` that ΔE.
    """
    _check(limit, metric, cautious=cautious, reconstruct=reconstruct, under=under)
    selection = selection or Selection()
    candidates = sorted(
        (swatch for swatch in selection.of(swatches) if not _is_same_pencil(swatch, target)),
        key=lambda swatch: (swatch.range, swatch.code),
    )
    if not candidates:
        raise _nothing(swatches, selection)
    matches, nearest = _nearest(target, candidates, limit, metric, cautious=cautious)
    recipes, more = _recipes(target, layering, nearest, matches[0], progress)
    if within is not None:
        recipes = _recipes_within(within, recipes, cautious=cautious)
    layers_first = recipes_lead(recipes, nearest)
    if layers_first and layering is not None:
        matches = without_lookalikes(target, matches, layering.below, metric, cautious=cautious)
    notes = stand_in_notes(target, matches, nearest, selection, cautious=cautious)
    if within is not None:
        matches = _within(within, matches, recipes, cautious=cautious)
    answer = StandIns(
        target, metric_name(metric), matches, (*notes, *more), recipes, layers_first or not matches
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


def without_lookalikes(
    target: Target,
    matches: tuple[StandIn, ...],
    most: int,
    metric: str = METRIC,
    *,
    cautious: bool = False,
) -> tuple[StandIn, ...]:
    """The first `most` matches of which no two are the same to the eye; all where they are fewer.

    What is said of them beside each other is said anew.
    """
    if len(matches) <= most:
        return matches
    kept = apart_to_the_eye([match.swatch for match in matches], most)
    kept.sort(key=lambda swatch: (swatch.range, swatch.code))
    return _nearest(target, kept, most, metric, cautious=cautious)[0]


def _recipes(
    target: Target,
    layering: "LayerQuestion | None",
    nearest: float,
    first: StandIn,
    progress: "Progress | None",
) -> "tuple[tuple[Recipe, ...], Sequence[Note]]":
    """Recipes, where they are asked for, and what is to be said of them."""
    if layering is None:
        return (), ()
    from stopgap.planner.recipes.questions import find_recipes

    recipes, notes = find_recipes(
        target,
        layering,
        single_delta_E=nearest,
        single_sigma=first.swatch.uncertainty_there,
        progress=progress,
    )
    if layering.always and not recipes and not notes:
        return recipes, [Note("No recipe: there is no pencil to layer.", Remedy.SAY_OWNED)]
    return recipes, notes


def _within(
    within: float, matches: Sequence[StandIn], recipes: "Sequence[Recipe]", *, cautious: bool
) -> tuple[StandIn, ...]:
    """The matches within that ΔE; raises NothingFoundError where neither they nor recipes are."""
    near = tuple(match for match in matches if _reach(match, cautious=cautious) <= within)
    if not near and not recipes:
        raise NothingFoundError(
            f"No candidate lies within ΔE {within:g}: the nearest, {matches[0].swatch.address}, "
            f"is {_reach(matches[0], cautious=cautious):.1f} away."
        )
    return near


def _recipes_within(
    within: float, recipes: "Sequence[Recipe]", *, cautious: bool
) -> "tuple[Recipe, ...]":
    """The recipes within that ΔE, or whose bound is where ranking is cautious."""
    reaches = (one.promise.bound if cautious else one.delta_E for one in recipes)
    return tuple(one for one, reach in zip(recipes, reaches) if reach <= within)


def _nearest(
    target: Target, candidates: Sequence[Swatch], limit: int, metric: str, *, cautious: bool
) -> tuple[tuple[StandIn, ...], float]:
    """The nearest, and the least ΔE00, in which grades, uncertainties and ties are stated whatever
    metric ranks.
    """
    if cautious:
        differences, rows = _rank_by_bound(target, candidates, limit)
    else:
        lab = np.array([swatch.lab for swatch in candidates])
        differences, rows = (
            found[0] for found in SwatchIndex(lab, metric).nearest(target.lab, limit)
        )
    chosen = [candidates[row] for row in rows]
    doubt = doubt_of(target, chosen)
    delta_E00 = doubt.differences
    probabilities = nearest_probabilities(doubt)
    tied = tied_group(probabilities)
    matches = tuple(
        _stand_in(
            target,
            swatch,
            delta_E=float(delta_E00[place] if cautious else differences[place]),
            delta_E00=float(delta_E00[place]),
            sigma=float(doubt.sigmas[place]),
            probability=float(probabilities[place]),
            tied=bool(tied[place]),
        )
        for place, swatch in enumerate(chosen)
    )
    return matches, float(delta_E00.min())


def _reach(match: StandIn, *, cautious: bool) -> float:
    """What a limit is held against: the bound of ΔE00 where ranking is cautious, else ΔE."""
    return match.upper if cautious else match.delta_E


def _rank_by_bound(
    target: Target, candidates: Sequence[Swatch], limit: int
) -> tuple[Floats, Integers]:
    """Upper bounds of ΔE00 and rows of the candidates with the least."""
    doubt = doubt_of(target, candidates)
    bounds = doubt.differences + COVERAGE_FACTOR * doubt.sigmas
    rows = np.argsort(bounds, kind="stable")[:limit]
    return bounds[rows], rows


def _is_same_pencil(swatch: Swatch, target: Target) -> bool:
    return isinstance(target, Swatch) and swatch.address == target.address


def _stand_in(
    target: Target,
    swatch: Swatch,
    *,
    delta_E: float,
    delta_E00: float,
    sigma: float,
    probability: float,
    tied: bool,
) -> StandIn:
    delta_L, delta_C, delta_H = signed_differences(target.lab, swatch.lab)
    caution = lightfastness_caution(target, swatch)
    return StandIn(
        swatch=swatch,
        delta_E=delta_E,
        grade=grade(delta_E00),
        delta_L=float(delta_L),
        delta_C=float(delta_C),
        delta_H=float(delta_H),
        words=difference_words(target.lab, swatch.lab),
        sigma=sigma,
        tied=tied,
        cautions=(caution,) if caution else (),
        upper=delta_E00 + COVERAGE_FACTOR * sigma,
        probability=probability,
    )


def _nothing(swatches: Sequence[Swatch], selection: Selection) -> NothingFoundError:
    if not swatches:
        return NothingFoundError("The library holds no swatch yet.", remedy=Remedy.IMPORT_RANGE)
    asked = [
        *(["owned"] if selection.owned else []),
        *([f"from {' or '.join(selection.ranges)}"] if selection.ranges else []),
        *([f"of finish {' or '.join(selection.finishes)}"]),
        *([] if selection.include_discontinued else ["still made or owned"]),
        *(
            [f"at least {selection.min_lightfastness} lightfast"]
            if selection.min_lightfastness
            else []
        ),
    ]
    return NothingFoundError(f"No other swatch of the library is {', '.join(asked)}. Ask for less.")
