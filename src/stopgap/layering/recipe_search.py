"""Every single pencil and every pair, at every pressure: which come nearest to a target.

All are tried, in blocks, so the answer is exact. Two pencils that do not cover make the same
colour in either order; such a pair is tried once, the lighter pencil first (common practice, no
source). Ties go to the earlier pencil.
"""

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats, FloatsLike, Integers, as_lab
from stopgap.difference import DEFAULT_METRIC, DifferenceFunction, difference_function
from stopgap.errors import InputError

if TYPE_CHECKING:
    from stopgap.layering.palette import Palette

Progress = Callable[[int, int], None]

_CLEAR_BLOCK = 16384  # recipes at a time: 5 MB an array of 36 bands
_COVERING_BLOCK = 1024  # 4 MB an array of 36 bands and 12 thicknesses


class Found(NamedTuple):
    """Recipes (m, 2) as layings of a Palette, -1 for no second layer; `delta_E` (m,), rising."""

    layings: Integers
    delta_E: Floats


def search(
    target_lab: FloatsLike,
    box: "Palette",
    *,
    limit: int = 5,
    per_pair: int = 1,
    metric: str | DifferenceFunction = DEFAULT_METRIC,
    progress: Progress | None = None,
) -> Found:
    """The `limit` recipes of one or two pencils that come nearest to `target_lab` (3,).

    At most `per_pair` recipes use the same pencil, or the same two. A pair is left out where one
    of its pencils alone comes at least as near. `progress` is told how many recipes of how many
    were tried.

    Raises
    ------
    InputError
        If the target is not one colour, a number is below 1, or the metric is unknown.
    """
    target = as_lab(target_lab, "target_lab")
    if target.shape != (3,):
        raise InputError(f"target_lab: expected one colour, found shape {target.shape}.")
    if limit < 1 or per_pair < 1:
        raise InputError("limit, per_pair: expected at least 1.")
    difference = difference_function(metric)
    p = len(box.pressures)
    every = np.arange(len(box.swatches) * p)
    alone = difference(target, box.colours(every)).reshape(-1, p)
    found = [
        _nearest(np.stack([every, -np.ones_like(every)], -1).reshape(-1, p, 2), alone, per_pair)
    ]
    simpler = alone.min(axis=1)
    blocks = list(pair_blocks(box.lab[:, 0], box.covering, p))
    total = sum(len(pairs) * options for pairs, options in blocks)
    done = 0
    for pairs, options in blocks:
        layings = pair_layings(pairs, p, both=options > p * p)
        first, second = layings.reshape(-1, 2).T
        near = difference(target, box.colours(first, second)).reshape(len(pairs), -1)
        useful = near < np.minimum(simpler[pairs[:, 0]], simpler[pairs[:, 1]])[:, None]
        found.append(_nearest(layings, np.where(useful, near, np.inf), per_pair, limit))
        done += len(pairs) * options
        if progress is not None:
            progress(done, total)
    return first_found(
        np.concatenate([f.layings for f in found]),
        np.concatenate([f.delta_E for f in found]),
        limit,
    )


def pair_blocks(lightness: Floats, covering: Booleans, p: int) -> Iterator[tuple[Integers, int]]:
    """Pairs (b, 2) of pencils (n,) at `p` pressures, in blocks, and how many recipes a pair has."""
    i, j = np.triu_indices(len(lightness), 1)
    darker = lightness[i] < lightness[j]
    pairs = np.stack([np.where(darker, j, i), np.where(darker, i, j)], axis=1)
    ordered = covering[i] | covering[j]
    for chosen, options, recipes in (
        (pairs[~ordered], p * p, _CLEAR_BLOCK),
        (pairs[ordered], 2 * p * p, _COVERING_BLOCK),
    ):
        size = max(1, recipes // options)
        for start in range(0, len(chosen), size):
            yield chosen[start : start + size], options


def pair_layings(pairs: Integers, p: int, *, both: bool) -> Integers:
    """All recipes (b, options, 2) of pairs (b, 2), in `both` orders if asked."""
    pressure = np.stack(np.meshgrid(np.arange(p), np.arange(p), indexing="ij"), -1).reshape(-1, 2)
    recipes = pairs[:, None, :] * p + pressure
    return np.concatenate([recipes, recipes[..., ::-1]], axis=1) if both else recipes


def _nearest(layings: Integers, near: Floats, per_pair: int, limit: int | None = None) -> Found:
    """The nearest `per_pair` recipes of every row, and of these the nearest `limit`."""
    order = np.argsort(near, axis=1, kind="stable")[:, :per_pair]
    kept = np.take_along_axis(layings, order[..., None], axis=1).reshape(-1, 2)
    values = np.take_along_axis(near, order, axis=1).ravel()
    return first_found(kept, values, len(values) if limit is None else limit)


def first_found(layings: Integers, values: Floats, limit: int) -> Found:
    """The nearest `limit` of recipes (m, 2) by `values` (m,), equal ones by their layings."""
    order = np.lexsort((layings[:, 1], layings[:, 0], values))[:limit]
    order = order[np.isfinite(values[order])]
    return Found(layings[order], values[order])
