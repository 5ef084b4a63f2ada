"""Stand-ins: which pencils come nearest to a colour, how they are off, and how sure that is."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stopgap.arrays import Booleans, Floats
from stopgap.difference import (
    COARSE_ABOVE,
    DEFAULT_METRIC,
    DIRECTION_ABOVE,
    delta_E_ciede2000,
    difference_words,
    grade,
    metric_name,
    signed_differences,
)
from stopgap.errors import InputError, NothingFoundError
from stopgap.neighbours import SwatchIndex
from stopgap.planner.cautions import lightfastness_caution
from stopgap.planner.recipes import LayerQuestion, Progress, Recipe, find_recipes
from stopgap.swatches import Selection, Swatch, Target

CONFIDENCE = 1.645
"""Standard deviations within which two candidates cannot be told apart: 95 per cent, one-sided."""


@dataclass(frozen=True, slots=True)
class StandIn:
    """One candidate: differences are the candidate's minus the target's.

    `delta_E` is in the metric asked for, `delta_L`, `delta_C`, `delta_H` are CIE L*, C*ab, H*ab;
    `sigma` is the standard uncertainty of `delta_E` in ΔE00; `tied` says that it cannot be told
    apart from the nearest at the accuracy of the swatches.
    """

    swatch: Swatch
    delta_E: float
    grade: str
    delta_L: float
    delta_C: float
    delta_H: float
    words: str
    sigma: float
    tied: bool
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class StandIns:
    """The answer to one question: single pencils and layering recipes, nearest first."""

    target: Target
    metric: str
    matches: tuple[StandIn, ...]
    notes: tuple[str, ...]
    layers: tuple[Recipe, ...] = ()


def find_stand_ins(
    target: Target,
    swatches: Sequence[Swatch],
    *,
    selection: Selection | None = None,
    limit: int = 5,
    metric: str = DEFAULT_METRIC,
    within: float | None = None,
    layering: LayerQuestion | None = None,
    progress: Progress | None = None,
) -> StandIns:
    """The nearest of `swatches` to `target`, exactly, the target itself never among them.

    Equal differences are in the order of range and code, so the order of `swatches` is immaterial.
    Cost grows linearly with their number, and with the square of the number of pencils that may
    be layered, where `layering` asks for recipes.

    Raises
    ------
    InputError
        If `limit` is below 1 or the metric is unknown.
    NothingFoundError
        If the selection leaves no candidate, or none lies `within` that ΔE.
    """
    if limit < 1:
        raise InputError(f"limit: expected 1 or more, found {limit}.")
    selection = selection or Selection()
    candidates = sorted(
        (swatch for swatch in selection.of(swatches) if not _is_same_pencil(swatch, target)),
        key=lambda swatch: (swatch.range, swatch.code),
    )
    if not candidates:
        raise NothingFoundError(_why_nothing(swatches, selection))
    matches = _nearest(target, candidates, limit, metric)
    # grades, uncertainties and so ties are stated in ΔE00 whatever metric ranks
    nearest = float(delta_E_ciede2000(target.lab, matches[0].swatch.lab))
    recipes: tuple[Recipe, ...] = ()
    if layering is not None:
        recipes = find_recipes(
            target,
            layering,
            single_delta_E=nearest,
            single_sigma=matches[0].swatch.uncertainty,
            progress=progress,
        )
    notes = _notes(target, matches, nearest, selection)
    if layering is not None and layering.always and not recipes:
        notes.append(
            "No recipe: there is no pencil to layer. 'stopgap own' says which pencils you own."
        )
    if within is not None:
        recipes = tuple(recipe for recipe in recipes if recipe.delta_E <= within)
        near = tuple(match for match in matches if match.delta_E <= within)
        if not near and not recipes:
            raise NothingFoundError(
                f"No candidate lies within ΔE {within:g}: the nearest, "
                f"{matches[0].swatch.address}, is {matches[0].delta_E:.1f} away."
            )
        matches = near
    return StandIns(target, metric_name(metric), matches, tuple(notes), recipes)


def _nearest(
    target: Target, candidates: Sequence[Swatch], limit: int, metric: str
) -> tuple[StandIn, ...]:
    lab = np.array([swatch.lab for swatch in candidates])
    differences, rows = SwatchIndex(lab, metric).nearest(target.lab, limit)
    chosen = [candidates[row] for row in rows[0]]
    delta_E00 = np.atleast_1d(delta_E_ciede2000(target.lab, lab[rows[0]]))
    tied = _tied_with_nearest(target, chosen, delta_E00)
    return tuple(
        _stand_in(
            target, swatch, float(differences[0, place]), float(delta_E00[place]), tied[place]
        )
        for place, swatch in enumerate(chosen)
    )


def _is_same_pencil(swatch: Swatch, target: Target) -> bool:
    return isinstance(target, Swatch) and swatch.address == target.address


def _stand_in(
    target: Target, swatch: Swatch, difference: float, delta_E00: float, tied: bool
) -> StandIn:
    delta_L, delta_C, delta_H = signed_differences(target.lab, swatch.lab)
    caution = lightfastness_caution(target, swatch)
    return StandIn(
        swatch=swatch,
        delta_E=difference,
        grade=grade(delta_E00),
        delta_L=float(delta_L),
        delta_C=float(delta_C),
        delta_H=float(delta_H),
        words=difference_words(target.lab, swatch.lab),
        sigma=float(np.hypot(_uncertainty(target), swatch.uncertainty)),
        tied=bool(tied),
        cautions=(caution,) if caution else (),
    )


def _uncertainty(target: Target) -> float:
    """A free colour is the question itself and has none."""
    return target.uncertainty if isinstance(target, Swatch) else 0.0


def _tied_with_nearest(target: Target, chosen: Sequence[Swatch], delta_E00: Floats) -> Booleans:
    """Which candidates cannot be told apart from the nearest at the accuracy of the swatches.

    To first order the difference of two distances to one target has the variance
    s_1² + s_2² + s_t² |e_1 - e_2|², e being the unit vectors from the target to the candidates
    (GUM, JCGM 100:2008, section 5.1.2): the target's own error moves both distances together
    where they lie in the same direction. Directions are taken in Lab.
    """
    away = np.array([swatch.lab for swatch in chosen], dtype=np.float64) - target.lab
    length = np.linalg.norm(away, axis=-1, keepdims=True)
    direction = np.divide(away, length, out=np.zeros_like(away), where=length > 0.0)
    turned = np.sum((direction - direction[0]) ** 2, axis=-1)
    sigma = np.array([swatch.uncertainty for swatch in chosen])
    variance = sigma**2 + sigma[0] ** 2 + _uncertainty(target) ** 2 * turned
    tied: Booleans = np.abs(delta_E00 - delta_E00[0]) <= CONFIDENCE * np.sqrt(variance)
    tied[0] = tied[1:].any()
    return tied


def _notes(
    target: Target, matches: Sequence[StandIn], nearest: float, selection: Selection
) -> list[str]:
    notes = []
    if nearest > DIRECTION_ABOVE:
        notes.append(
            f"No pencil is near: the nearest is ΔE00 {nearest:.1f} away, which tells a direction "
            "and is no match."
        )
    elif nearest > COARSE_ABOVE:
        notes.append(
            f"No pencil is near: the nearest is ΔE00 {nearest:.1f} away, a different colour. So "
            "far out the ranking is coarse."
        )
    elif matches[0].grade == "same":
        notes.append("ΔE00 below 0.8 is less than one hand laying one pencil twice makes.")
    tied = sum(match.tied for match in matches)
    if tied:
        notes.append(
            f"The {tied} marked ≈ cannot be told apart at the accuracy of these swatches: try them "
            "side by side on your paper."
        )
    if isinstance(target, Swatch) and target.finish not in selection.finishes:
        notes.append(
            f"The target is {target.finish}; --finish {target.finish} looks among such pencils."
        )
    if selection.min_lightfastness is not None:
        notes.append(
            "Pencils whose lightfastness is unknown or on another scale than "
            f"{selection.min_lightfastness.scale} were left out."
        )
    return notes


def _why_nothing(swatches: Sequence[Swatch], selection: Selection) -> str:
    if not swatches:
        return "The library holds no swatch yet. Import a range with 'stopgap range import'."
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
    return f"No other swatch of the library is {', '.join(asked)}. Ask for less."
