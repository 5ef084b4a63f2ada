"""Every single pencil and every pair, at every pressure: which come nearest to a target.

All are tried, in blocks, so the answer is exact (`pruning` finds it without). A heavy layer leaves
no tooth for the next, so the lower of two is laid light or medium unless heavy ones are allowed
first. Two pencils that do not cover make nearly the same colour in either order; such a pair is
tried once, the lighter pencil first, or where that is to be heavy, the other if it is hardly darker
(all common practice, no source). Ties go to the earlier pencil.

A catalogue numbers every recipe of a box, for what does not depend on a target: tints first and
then pair by pair as `search` tries them. Their colours are computed in its blocks, so that asking a
catalogue gives what searching gives, to the last bit.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import pairwise, product
from math import comb
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats, FloatsLike, Integers, as_lab, one_lab
from stopgap.difference import DEFAULT_METRIC, DifferenceFunction, difference_function
from stopgap.errors import InputError
from stopgap.layering.estimates import TO_COVER

if TYPE_CHECKING:
    from stopgap.layering.palette import Palette


Progress = Callable[[int, int], None]
Pairs = tuple[Integers, Integers] | None  # the earlier and the later of each; None for all

_CLEAR_BLOCK = 16384  # recipes at a time: 5 MB an array of 36 bands
_COVERING_BLOCK = 4096  # 14 MB an array of 36 bands and 12 thicknesses at most


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
    target = one_lab(target_lab, "target_lab")
    if limit < 1 or per_pair < 1:
        raise InputError("limit, per_pair: expected at least 1.")
    difference = difference_function(metric)
    p = len(box.pressures)
    every = np.arange(len(box.swatches) * p)
    alone = difference(target, box.colours(every)).reshape(-1, p)
    found = [_nearest(_alone(every, p), alone, per_pair)]
    simpler = alone.min(axis=1)
    blocks = list(pair_blocks(box.lab[:, 0], box.covering, pair_options(p, box.never_first)))
    total = sum(len(pairs) * len(laid) for pairs, laid in blocks)
    done = 0
    for pairs, laid in blocks:
        layings = pair_layings(pairs, laid, p)
        first, second = layings.reshape(-1, 2).T
        near = difference(target, box.colours(first, second)).reshape(len(pairs), -1)
        useful = near < np.minimum(simpler[pairs[:, 0]], simpler[pairs[:, 1]])[:, None]
        found.append(_nearest(layings, np.where(useful, near, np.inf), per_pair, limit))
        done += len(pairs) * len(laid)
        if progress is not None:
            progress(done, total)
    return first_found(
        np.concatenate([f.layings for f in found]),
        np.concatenate([f.delta_E for f in found]),
        limit,
    )


def search_tints(
    target_lab: FloatsLike,
    box: "Palette",
    *,
    limit: int,
    metric: str | DifferenceFunction = DEFAULT_METRIC,
) -> Found:
    """The same of single pencils, each once, with the pressure that suits it best."""
    p = len(box.pressures)
    every = np.arange(len(box.swatches) * p)
    near = difference_function(metric)(as_lab(target_lab, "target_lab"), box.colours(every))
    return _nearest(_alone(every, p), near.reshape(-1, p), 1, limit)


def _alone(layings: Integers, pressures: int) -> Integers:
    """Recipes (n, p, 2) of one layer."""
    return np.stack([layings, -np.ones_like(layings)], axis=-1).reshape(-1, pressures, 2)


def pair_options(pressures: int, never_first: int | None) -> tuple[Integers, ...]:
    """How two pencils are laid, (o, 2, 2) of each kind of pair: clear and of like lightness, clear
    otherwise, and one of which covers.

    First layer first, each says which of the two it is, the lighter being 0, and its pressure. None
    is laid with the pressure `never_first` beneath the other. Of a clear pair each two pressures
    are tried once, the lighter pencil first. Where it may not be, the other comes first, but only
    beneath one of like lightness, which need not cover it.
    """
    every = list(product(range(pressures), repeat=2))
    orders = [[((0, one), (1, other)), ((1, other), (0, one))] for one, other in every]
    allowed = [[laid for laid in both if laid[0][1] != never_first] for both in orders]
    alike = [both[0] for both in allowed if both]
    clear = [laid for laid in alike if laid[0][0] == 0]
    turned = sorted((laid for both in allowed for laid in both), key=lambda laid: laid[0][0])
    kinds = (alike, clear, turned)
    return tuple(np.array(laid, dtype=np.intp).reshape(-1, 2, 2) for laid in kinds)


def pair_blocks(
    lightness: Floats, covering: Booleans, options: tuple[Integers, ...], of: Pairs = None
) -> Iterator[tuple[Integers, Integers]]:
    """Pairs (b, 2) of pencils (n,), the lighter first, in blocks, and how a pair is laid."""
    i, j = of or np.triu_indices(len(lightness), 1)
    darker = lightness[i] < lightness[j]
    pairs = np.stack([np.where(darker, j, i), np.where(darker, i, j)], axis=1)
    ordered = covering[i] | covering[j]
    alike = np.abs(lightness[i] - lightness[j]) <= TO_COVER
    kinds = (alike & ~ordered, ~alike & ~ordered, ordered)
    blocks = (_CLEAR_BLOCK, _CLEAR_BLOCK, _COVERING_BLOCK)
    for kind, laid, recipes in zip(kinds, options, blocks, strict=True):
        chosen = pairs[kind]
        size = max(1, recipes // max(len(laid), 1))
        for start in range(0, len(chosen), size):
            yield chosen[start : start + size], laid


def pair_layings(pairs: Integers, laid: Integers, pressures: int) -> Integers:
    """All recipes (b, o, 2) of pairs (b, 2), as layings of a Palette."""
    return pairs[:, laid[..., 0]] * pressures + laid[..., 1]


def _nearest(layings: Integers, near: Floats, per_pair: int, limit: int | None = None) -> Found:
    """The nearest `per_pair` recipes of every row, and of these the nearest `limit`."""
    order = np.argsort(near, axis=1, kind="stable")[:, :per_pair]
    kept = np.take_along_axis(layings, order[..., None], axis=1).reshape(-1, 2)
    values = np.take_along_axis(near, order, axis=1).ravel()
    return first_found(kept, values, len(values) if limit is None else limit)


def best_of_groups(group: Integers, option: Integers, delta_E: Floats, per_pair: int) -> Integers:
    """Of recipes (m,) the places of the nearest `per_pair` of each group, equal ones by option."""
    order = np.lexsort((option, delta_E, group))
    return order[np.arange(len(order)) - np.searchsorted(group[order], group[order]) < per_pair]


def first_found(layings: Integers, values: Floats, limit: int) -> Found:
    """The nearest `limit` of recipes (m, 2) by `values` (m,), equal ones by their layings."""
    order = np.lexsort((layings[:, 1], layings[:, 0], values))[:limit]
    order = order[np.isfinite(values[order])]
    return Found(layings[order], values[order])


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Catalogue:
    """The recipes of `pencils` pencils at `pressures` pressures.

    `pairs` (b, 2) are the pencils of each pair, the lighter before the other, kind by kind; there
    are `counts` of each kind, laid as its `options` say (`pair_options`). A group is one pencil or
    one pair: pencil i is group i, pair j is group `pencils` + j.
    """

    pencils: int
    pressures: int
    pairs: Integers
    counts: tuple[int, ...]
    options: tuple[Integers, ...]

    def __len__(self) -> int:
        """How many recipes there are."""
        return self.tints + sum(
            count * len(laid) for count, laid in zip(self.counts, self.options, strict=True)
        )

    @property
    def tints(self) -> int:
        """Recipes of one pencil, which are the first rows."""
        return self.pencils * self.pressures

    def groups(self, rows: Integers) -> Integers:
        """The group of each row, same shape."""
        return self._located(rows)[0]

    def layings(self, rows: Integers) -> Integers:
        """Recipes (m, 2) as layings of a Palette, -1 for no second layer, of rows (m,)."""
        group, option = self._located(rows)
        single = rows < self.tints
        layers = np.stack([rows, -np.ones_like(rows)], axis=-1)
        if not single.all():
            laid = np.concatenate(self.options)[np.where(single, 0, option)]
            pair = self.pairs[np.where(single, 0, group - self.pencils)]
            pencils = np.take_along_axis(pair, laid[..., 0], axis=-1)
            layers = np.where(single[:, None], layers, pencils * self.pressures + laid[..., 1])
        return layers

    def using(self, pencils: Booleans) -> Booleans:
        """Which rows (m,) take any of the pencils that are true in `pencils` (n,)."""
        options = np.repeat([len(laid) for laid in self.options], self.counts)
        pairs = np.repeat(pencils[self.pairs].any(axis=1), options)
        return np.concatenate([np.repeat(pencils, self.pressures), pairs])

    def best(self, rows: Integers, delta_E: Floats, *, limit: int, per_pair: int) -> list[Found]:
        """What `search` would choose of `rows` (m, k) at `delta_E` (m, k), were there no others."""
        group, useful = self.groups(rows), rows < self.tints
        simpler = np.full((len(rows), self.pencils), np.inf)  # each pencil alone
        which, place = np.nonzero(useful)
        np.minimum.at(simpler, (which, group[which, place]), delta_E[which, place])
        which, place = np.nonzero(~useful)
        alone = simpler[which[:, np.newaxis], self.pairs[group[which, place] - self.pencils]]
        useful[which, place] = (delta_E[which, place, np.newaxis] < alone).all(axis=1)
        which, place = np.nonzero(useful)
        rows, delta_E = rows[which, place], delta_E[which, place]
        group = group[which, place] + which * (self.pencils + len(self.pairs))
        kept = best_of_groups(group, rows, delta_E, per_pair)
        layings, delta_E, which = self.layings(rows[kept]), delta_E[kept], which[kept]
        ends = np.searchsorted(which, np.arange(len(simpler) + 1)).tolist()
        return [first_found(layings[s:e], delta_E[s:e], limit) for s, e in pairwise(ends)]

    def _located(self, rows: Integers) -> tuple[Integers, Integers]:
        """Group of each row, and which it is of `options`, one after the other."""
        group, option = rows // self.pressures, np.zeros_like(rows)
        start, pairs, before = self.tints, self.pencils, 0
        for count, laid in zip(self.counts, self.options, strict=True):
            here = rows >= start
            if count and here.any():
                pair, which = np.divmod(rows - start, len(laid))
                group = np.where(here, pairs + pair, group)
                option = np.where(here, before + which, option)
            start, pairs, before = start + count * len(laid), pairs + count, before + len(laid)
        return group, option


def catalogue(box: "Palette") -> Catalogue:
    """The recipes of a box."""
    return catalogue_of(box.lab[:, 0], box.covering, len(box.pressures), box.never_first)


def catalogue_of(
    lightness: Floats, covering: Booleans, pressures: int, never_first: int | None, of: Pairs = None
) -> Catalogue:
    """The recipes of pencils (n,) of these L*, of which some cover, at so many pressures."""
    options = pair_options(pressures, never_first)
    blocks = list(pair_blocks(lightness, covering, options, of))
    pairs = [np.empty((0, 2), dtype=np.intp), *(pairs for pairs, _ in blocks)]
    counts = (sum(len(some) for some, laid in blocks if laid is its) for its in options)
    return Catalogue(len(lightness), pressures, np.concatenate(pairs), tuple(counts), options)


def most_recipes(pencils: int, covering: int, pressures: int, never_first: int | None) -> int:
    """How many recipes so many pencils have at most, `covering` of which cover.

    >>> most_recipes(2, 0, 3, None)
    15
    """
    alike, clear, ordered = map(len, pair_options(pressures, never_first))
    pairs, uncovered = comb(pencils, 2), comb(pencils - covering, 2)
    return pencils * pressures + uncovered * max(alike, clear) + (pairs - uncovered) * ordered


def catalogue_colours(box: "Palette", *, progress: Progress | None = None) -> Floats:
    """Predicted colours (m, 3) of every recipe of a box, in the order of its catalogue.

    24 bytes a recipe; what is in between is bounded by the blocks. `progress` is told how many
    recipes of how many are done.
    """
    p = len(box.pressures)
    every = np.arange(len(box.swatches) * p)
    parts = [box.colours(every)]
    blocks = list(pair_blocks(box.lab[:, 0], box.covering, pair_options(p, box.never_first)))
    total = sum(len(pairs) * len(laid) for pairs, laid in blocks)
    done = 0
    for pairs, laid in blocks:
        layings = pair_layings(pairs, laid, p).reshape(-1, 2)
        parts.append(box.colours(*layings.T))
        done += len(layings)
        if progress is not None:
            progress(done, total)
    return np.concatenate(parts)
