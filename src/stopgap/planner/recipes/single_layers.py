"""What each pencil looks like laid alone under laying conditions, kept as recipes are."""

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from stopgap.arrays import Floats, blocks
from stopgap.difference import from_even_coordinates, to_even_coordinates
from stopgap.layering.estimates import scattering_of
from stopgap.planner.recipes.held import make_palette
from stopgap.planner.recipes.kept import numbers_of
from stopgap.swatches import LayingConditions, Swatch

if TYPE_CHECKING:
    from stopgap.planner.recipes.cache import RecipeCache

_ALONE = "alone"  # of each pencil a row as of LaidAlone, NaN where it cannot be laid
_SHORTEST = 1e-12  # ΔE00
_AT_ONCE = 1024  # pencils laid at once
_NO_RECIPES = -1.0  # where those of recipes have how many pressures there are


class LaidAlone(NamedTuple):
    """Pencils as one layer each, laid as in their swatches; NaN where the model cannot lay one.

    `lab` (n, 3) is what they look like, `laying` (n,) the standard uncertainty in ΔE00 of all but
    how well they cover, `covers` (n,) what that adds. `mean` (n, 3) is what they look like at the
    mean over how well they may cover, `better` (n, 3) where they cover one standard deviation
    better than that, `scatter` (n,) how far that is in ΔE00.
    """

    lab: Floats
    laying: Floats
    covers: Floats
    mean: Floats
    better: Floats
    scatter: Floats


def laid_alone(
    conditions: LayingConditions,
    swatches: Sequence[Swatch],
    *,
    cache: "RecipeCache | None" = None,
) -> LaidAlone:
    """What each of `swatches` looks like under those conditions, laid once and as in its swatch.

    What was kept of these conditions and the same swatches is used, and what was not is kept.
    Raises InputError as `make_palette` does.
    """
    once = [each if each.passes == 1 else replace(each, passes=1) for each in swatches]
    made_from = _numbers_alone(conditions, once)
    kept = None if cache is None else (cache.read(made_from) or {}).get(_ALONE)
    if kept is None or kept.shape != (len(once), 12) or kept.dtype != np.float64:
        kept = _laid_anew(conditions, once)
        if cache is not None:
            cache.write(made_from, {_ALONE: kept})
    return LaidAlone(kept[:, :3], kept[:, 3], kept[:, 4], kept[:, 5:8], kept[:, 8:11], kept[:, 11])


def _numbers_alone(conditions: LayingConditions, swatches: Sequence[Swatch]) -> Floats:
    doubts = [_NO_RECIPES, *conditions.spreads]
    for swatch in swatches:
        S = scattering_of(swatch, conditions.opacity)
        doubts += S.low, S.high, swatch.total_uncertainty
    return np.concatenate([doubts, numbers_of(conditions, swatches)])


def _laid_anew(conditions: LayingConditions, swatches: Sequence[Swatch]) -> Floats:
    """Some at a time, so that memory stays bounded."""
    every = blocks(len(swatches), _AT_ONCE)
    return np.concatenate([_laid(conditions, swatches[some]) for some in every])


def _laid(conditions: LayingConditions, swatches: Sequence[Swatch]) -> Floats:
    from stopgap.layering import uncertainty_of

    box = make_palette(conditions, swatches)
    pressures = list(box.pressures)
    laid_as = np.array([pressures.index(swatch.pressure) for swatch in box.swatches], dtype=np.intp)
    layings = np.arange(len(box.swatches)) * len(pressures) + laid_as
    spread = uncertainty_of(layings[:, np.newaxis], box, spreads=conditions.spreads)
    found = np.full((len(swatches), 12), np.nan)
    left_out = {swatch.address for swatch in box.left_out}
    laid = np.array([swatch.address not in left_out for swatch in swatches])
    parts = box.colours(layings), spread.laying, spread.covers, *_by_covering(spread.covered)
    found[laid] = np.column_stack(parts)
    return found


def _by_covering(colours: Floats) -> tuple[Floats, Floats, Floats]:
    """Mean, better and scatter of colours (n, steps, 3) by how well a pencil covers, rising: they
    lie on a straight line nearly.
    """
    even = to_even_coordinates(colours)
    mean = even.mean(axis=1)
    along = even[:, -1] - even[:, 0]
    length = np.linalg.norm(along, axis=-1, keepdims=True)
    scatter = np.sqrt(np.sum((even - mean[:, np.newaxis]) ** 2, axis=-1).mean(axis=-1))
    better = mean + along / np.maximum(length, _SHORTEST) * scatter[:, np.newaxis]
    return from_even_coordinates(mean), from_even_coordinates(better), scatter
