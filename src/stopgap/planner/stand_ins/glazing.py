"""What can still be laid over layers that lie on the work already.

Layers take light away, so that what lies there decides what can be had: nothing lighter, unless a
pencil covers. Every pencil and every pair is searched over this very ground, so the answer is
exact; nothing of it is kept, since no two places of a drawing are alike.
"""

from collections.abc import Sequence
from dataclasses import replace
from math import inf
from typing import TYPE_CHECKING

import numpy as np

from stopgap.arrays import Integers
from stopgap.colorimetry.recovery.weights import WAVELENGTHS
from stopgap.defaults import METRIC
from stopgap.difference import COARSE_ABOVE, GRADES, delta_E_ciede2000, metric_name
from stopgap.errors import InputError, Note, NothingFoundError
from stopgap.layering.estimates import opacities_of
from stopgap.layering.recipe_search import Found, search_tints
from stopgap.planner.laying import lay
from stopgap.planner.nearness import by_promise
from stopgap.planner.recipes.lying import alone_over, palette_over, recipes_over
from stopgap.planner.recipes.questions import RECIPES_PER_COLOUR, LayerQuestion
from stopgap.planner.recipes.shown import as_shown
from stopgap.planner.stand_ins.answer import Over, StandIns
from stopgap.planner.stand_ins.search import find_stand_ins
from stopgap.swatches import (
    Finish,
    LayingConditions,
    Reflectance,
    Selection,
    Stack,
    Swatch,
    Target,
    as_layered,
    departure_notes,
)

if TYPE_CHECKING:
    from stopgap.layering import Palette, Recipe
    from stopgap.layering.recipe_search import Progress

_LIGHTER = 2.0  # L* from which a target counts as lighter than what lies there
_MOST_NAMED = 3
_ANY_FINISH = Selection(finishes=tuple(Finish), include_discontinued=True)


def find_glazes(
    target: Target,
    over: Stack,
    pencils: Sequence[Swatch],
    question: LayerQuestion,
    *,
    limit: int,
    metric: str = METRIC,
    within: float | None = None,
    cautious: bool = False,
    under: Sequence[str] = (),
    reconstruct: bool = False,
    progress: "Progress | None" = None,
) -> StandIns:
    """What to lay over `over` so that it looks like `target`, which may be laid itself.

    One or two of the pencils of `question`, those that promise most first, and the `limit` best of
    `pencils` alone, each with the pressure that suits it. Of the pencil that is nearest on bare
    paper it is said where it lands here. Single pencils are ranked as they look here, and all else
    is, as `find_stand_ins` does; recipes are looked for by ΔE00, and differences are told in it.

    Raises
    ------
    InputError
        Where no surface has the colour of what lies there, there is no pencil to lay, or as
        `find_stand_ins` does.
    UsageError, NothingFoundError
        As `find_stand_ins` does.
    """
    from stopgap.layering import recipes_of

    conditions = question.conditions
    ground = lay(over, conditions)
    many = max(len(pencils) if cautious else limit, 1)
    some = alone_over(target.lab, conditions, pencils, over, limit=many, metric=metric)
    if not some.pencils:
        raise InputError("pencils: there is none that can be laid; choose others.")
    alone = palette_over(conditions, some.pencils, over)
    layings = search_tints(target.lab, alone, limit=many, metric=metric).layings
    near = delta_E_ciede2000(target.lab, alone.colours(layings[:, 0]))

    def described(found: Found, box: "Palette", swatches: Sequence[Swatch]) -> "list[Recipe]":
        return as_shown(recipes_of(found, box, spreads=conditions.spreads), swatches)

    tints = described(Found(layings, near), alone, pencils)
    (on_paper,) = described(_nearest_on_paper(target, alone, pencils), alone, pencils)
    recipes: tuple[Recipe, ...] = ()
    cut_short: tuple[Note, ...] = ()
    if question.pencils:
        many = max(question.limit, RECIPES_PER_COLOUR)
        found, cut_short = recipes_over(
            target.lab, conditions, question.pencils, over, limit=many, progress=progress
        )
        recipes = by_promise(found, inf)[: question.limit]
        recipes = _within(within, recipes, cautious=cautious)
    laid = dict(zip((_called(one) for one in tints), tints, strict=True))
    looks = _as_they_look(tints, alone, layings[:, 0], over)
    try:
        ranked = find_stand_ins(
            target,
            looks,
            selection=_ANY_FINISH,
            limit=limit,
            metric=metric,
            within=within,
            cautious=cautious,
        )
    except NothingFoundError:
        if not recipes:
            raise
        ranked = StandIns(target, metric_name(metric), (), ())
    if under:
        from stopgap.planner.stand_ins.illuminants import look_under

        ranked = look_under(ranked._replace(notes=()), under, reconstruct=reconstruct)
    single = tuple(laid[match.swatch.address] for match in ranked.matches)
    lightest = max(some.lightest, ground.lab[0])
    every = (*recipes, *single)
    about = Over(
        ground=ground,
        delta_E=float(delta_E_ciede2000(target.lab, ground.lab)),
        pencils=single,
        on_paper=on_paper,
        lightest=lightest,
        under=tuple(match.under for match in ranked.matches) if under else (),
        out_of_reach=min(one.interval[0] for one in every) > GRADES["close"],
    )
    notes = (
        *_lost(target, about, every, pencils, conditions),
        *departure_notes(over.swatches),
        *_ranking_notes(ranked.metric, cautious=cautious),
        *cut_short,
        *(ranked.notes if under else ()),
    )
    return StandIns(target, ranked.metric, (), notes, recipes, layers_first=True, over=about)


def _within(
    within: float | None, recipes: "tuple[Recipe, ...]", *, cautious: bool
) -> "tuple[Recipe, ...]":
    """Those recipes that come so near, or as is promised where it is cautious."""
    if within is None:
        return recipes
    reaches = (one.promise.bound if cautious else one.delta_E for one in recipes)
    return tuple(one for one, reach in zip(recipes, reaches) if reach <= within)


def _ranking_notes(metric: str, *, cautious: bool) -> list[Note]:
    """By what single pencils are ranked, where it is not ΔE00."""
    notes = []
    if metric != METRIC:
        notes.append(Note(f"Single pencils are ranked by {metric}; the ΔE told is ΔE00."))
    if cautious:
        notes.append(
            Note(
                "Ranked cautiously, by the bound that ΔE00 stays below in 95 of 100.",
                plain="Ranked cautiously, by how far off each may be.",
            )
        )
    return notes


def _called(laid: "Recipe") -> str:
    """A pencil with the pressure it is laid at, as an address."""
    ((swatch, pressure),) = laid.stack
    return f"{swatch.address} {pressure}"


def _as_they_look(
    tints: "Sequence[Recipe]", box: "Palette", layings: Integers, over: Stack
) -> list[Swatch]:
    """Single pencils as swatches of what they look like here, called by their pressure too.

    Their spectra are told where those of all that lies there were measured.
    """
    known = all(as_layered(one).reflectance for one in over.swatches) and box.prepared is not None
    spectra = box.prepared.reflectance(layings).tolist() if known and box.prepared else ()
    looks = []
    for row, one in enumerate(tints):
        ((swatch, pressure),) = one.stack
        seen = None
        if known and as_layered(swatch).reflectance is not None:
            seen = Reflectance(tuple(WAVELENGTHS.tolist()), tuple(spectra[row]))
        looks.append(
            replace(
                swatch,
                code=f"{swatch.code} {pressure}",
                lab=one.lab,
                uncertainty=one.sigma,
                shared_uncertainty=0.0,
                ground_uncertainty=0.0,
                covering=None,
                covariance=None,
                readings=None,
                reflectance=seen,
                layered_as=None,
            )
        )
    return looks


def _nearest_on_paper(target: Target, box: "Palette", pencils: Sequence[Swatch]) -> Found:
    """How the pencil that is nearest on bare paper is laid best over what lies there."""
    on_paper = {swatch.address: swatch.lab for swatch in pencils}
    bare = [on_paper[swatch.address] for swatch in box.swatches]
    pencil = int(delta_E_ciede2000(target.lab, bare).argmin())
    p = len(box.pressures)
    rows = np.arange(pencil * p, (pencil + 1) * p)
    near = delta_E_ciede2000(target.lab, box.colours(rows))
    best = int(near.argmin())
    return Found(np.array([[rows[best], -1]]), near[best : best + 1])


def _lost(
    target: Target,
    about: Over,
    found: "Sequence[Recipe]",
    pencils: Sequence[Swatch],
    conditions: LayingConditions,
) -> tuple[Note, ...]:
    """What cannot be had here any more, and why."""
    lies = about.ground.lab[0]
    if target.lab[0] > lies + _LIGHTER:
        likely = opacities_of(pencils, conditions.opacity).middle
        order = np.argsort(-likely, kind="stable")[:_MOST_NAMED]
        named = [pencils[row].address for row in order if likely[row] > 0.0]
        covering = (
            f"only a pencil that covers can; of these {', '.join(named)} may best"
            if named
            else "only a pencil that covers can, and none of these is known to"
        )
        return (
            Note(
                f"The target is lighter than what lies there (L* {target.lab[0]:.0f} against "
                f"{lies:.0f}), and layers do not lighten: {covering}. Else lift some of it first.",
                plain="The target is lighter than what lies there, and layers do not lighten: "
                f"{covering}. Else lift some of it first.",
            ),
        )
    nearest = min(one.delta_E for one in found)
    if nearest > COARSE_ABOVE:
        return (
            Note(
                f"Nothing laid over it comes near: the nearest is expected at ΔE00 {nearest:.1f}, "
                "since what lies there shows through. Lift some of it first, or ask for a colour "
                "nearer to it.",
                plain="Nothing laid over it comes near, since what lies there shows through. Lift "
                "some of it first, or ask for a colour nearer to it.",
            ),
        )
    return ()
