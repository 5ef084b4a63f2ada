"""What `search` finds, to the last bit, without trying every pair.

Colours of pairs are nearly inner products (`separation`), so that from a tree of the layers beneath
those pairs are found that may lie as near to a target as is asked (`descent`, `regions`). These are
few, and laid as `search` lays them. How near that is is found by trial: where too few recipes lie
within a difference, it is asked again up to the farthest of those that will do.

Memory and time grow about linearly with the pencils; nothing is kept of a pair.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from stopgap.arrays import Booleans, Floats, FloatsLike, Integers, one_lab, renumbered
from stopgap.difference import DifferenceFunction, delta_E_ciede2000
from stopgap.difference.bounds.boxes import LowerBound
from stopgap.difference.bounds.ciede2000 import bound_ciede2000
from stopgap.errors import InputError
from stopgap.layering.estimates import TO_COVER
from stopgap.layering.optics import Optics
from stopgap.layering.palette import Palette
from stopgap.layering.pruning.descent import Pairs
from stopgap.layering.pruning.regions import Slabs, region_within
from stopgap.layering.recipe_search import (
    Found,
    best_of_groups,
    first_found,
    pair_options,
)
from stopgap.swatches import Swatch

Laid = Callable[[Sequence[Swatch], Optics | None], Palette]

_BATCH = 2**17  # pairs laid at once
_NEARER = 0.95  # part of a difference that is worth asking for anew
_NEAR = 116.0  # ΔE00 that is asked first of one pencil; recipes are as the square of pencils
_SPARE, _FURTHER = 1.2, 4.0
_EVERYTHING = 1000.0
_SLACK = 1e-9


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class PrunedSearch:
    """Pencils (n,) made ready to be searched; a laying is numbered as in a `Palette` of them all.

    `tints` (n p, 3) are the colours of all layings by themselves, `known` the optics of the
    pencils, `lay` makes a palette of some. Threads may ask at once.
    """

    swatches: tuple[Swatch, ...]
    unattained: tuple[Swatch, ...]
    pressures: int
    never_first: int | None
    lightness: Floats
    covering: Booleans
    tints: Floats
    known: Optics
    kinds: tuple[Pairs, ...]
    lay: Laid

    def search(
        self,
        target_lab: FloatsLike,
        *,
        limit: int = 5,
        per_pair: int = 1,
        barred: Booleans | None = None,
        difference: DifferenceFunction = delta_E_ciede2000,
        bound: LowerBound = bound_ciede2000,
    ) -> Found:
        """What `recipe_search.search` finds, pencils (n,) that are `barred` passed over.

        A `difference` other than ΔE00 comes with its lower `bound` over boxes of colours.

        Raises
        ------
        InputError
            If the target is not one colour, or a number is below 1.
        """
        target = one_lab(target_lab, "target_lab")
        if limit < 1 or per_pair < 1:
            raise InputError("limit, per_pair: expected at least 1.")
        p = self.pressures
        alone = difference(target, self.tints).reshape(-1, p)
        if barred is not None:
            alone = np.where(barred[:, np.newaxis], np.inf, alone)
        simpler = alone.min(axis=1, initial=np.inf)
        every = np.arange(len(self.tints))
        kept = best_of_groups(every // p, every, alone.ravel(), per_pair)
        single = Found(np.stack([kept, np.full_like(kept, -1)], axis=-1), alone.ravel()[kept])
        towards = self.tints[alone.argmin()]
        within = _NEAR / max(len(self.swatches), 1) ** (2.0 / 3.0)
        within = min(within, _reach(first_found(*single, limit), limit))
        while True:
            found = first_found(*single, limit)
            near: list[tuple[Integers, Integers, Integers, Floats]] = []
            region = region_within(
                target, within * (1.0 + _SLACK) + _SLACK, towards, difference, bound
            )
            for group, option, layings in self._batches(region, barred):
                if _reach(found, limit) < _NEARER * within:
                    break  # of what is left most is too far
                delta_E = difference(target, self._laid(layings))
                useful = delta_E < simpler[layings // p].min(axis=1)
                useful &= delta_E <= _reach(found, limit)
                near.append((group[useful], option[useful], layings[useful], delta_E[useful]))
                group, option, layings, delta_E = together(near)
                kept = best_of_groups(group, option, delta_E, per_pair)
                found = first_found(
                    np.concatenate([single.layings, layings[kept]]),
                    np.concatenate([single.delta_E, delta_E[kept]]),
                    limit,
                )
            else:
                if _reach(found, limit) <= within or within >= _EVERYTHING:
                    return found
            reach = _reach(found, limit)
            # they lie about evenly in space
            many = max(int((found.delta_E <= within).sum()), 1)
            further = min(max(_SPARE * np.cbrt(limit / many), _SPARE), _FURTHER)
            within = min(reach, further * within, _EVERYTHING)

    def colours(self, layings: Integers) -> Floats:
        """Colours (m, 3) of recipes (m, 2), -1 for no second layer."""
        colours = self.tints[layings[:, 0]]
        pairs = layings[:, 1] >= 0
        colours[pairs] = self._laid(layings[pairs])
        return colours

    def _laid(self, layings: Integers) -> Floats:
        """Colours (m, 3) of pairs (m, 2), laid with a palette of the pencils they use."""
        if not len(layings):
            return np.zeros((0, 3))
        used, place = renumbered(layings // self.pressures)
        known = self.known._replace(
            layers=self.known.layers[used], reached=np.ones(len(used), dtype=np.bool_)
        )
        box = self.lay([self.swatches[one] for one in used.tolist()], known)
        return box.colours(*(place * self.pressures + layings % self.pressures).T)

    def _batches(
        self, region: Slabs, barred: Booleans | None
    ) -> Iterator[tuple[Integers, Integers, Integers]]:
        """Recipes that may lie in it: the number (m,) of the pair, which it is of the ways to lay
        it, and layings (m, 2).
        """
        parts: list[tuple[Integers, Integers, Integers]] = []
        many = 0
        for kind in self.kinds:
            for first, second in kind.within(region):
                parts.append(self._allowed(first, second, barred))
                many += len(parts[-1][0])
                if many >= _BATCH:
                    yield together(parts)
                    parts, many = [], 0
        if many:
            yield together(parts)

    def _allowed(
        self, first: Integers, second: Integers, barred: Booleans | None
    ) -> tuple[Integers, Integers, Integers]:
        """Of layings (m,) over each other those that are tried, as `pair_blocks` has them."""
        p = self.pressures
        lower, upper = first // p, second // p
        low, high = np.minimum(lower, upper), np.maximum(lower, upper)
        lighter = np.where(self.lightness[low] < self.lightness[high], high, low)
        ordered = self.covering[lower] | self.covering[upper]
        alike = np.abs(self.lightness[lower] - self.lightness[upper]) <= TO_COVER
        kind = np.where(ordered, 2, np.where(alike, 0, 1))
        option = self._options()[kind, (lower != lighter).astype(int), first % p, second % p]
        kept = (lower != upper) & (option >= 0)
        if barred is not None:
            kept &= ~(barred[lower] | barred[upper])
        layings = np.stack([first, second], axis=-1)
        return (low * len(self.swatches) + high)[kept], option[kept], layings[kept]

    def _options(self) -> Integers:
        """Which of the ways to lay a pair each is (3, 2, p, p), -1 where it is none: by its kind,
        which pencil is first, and both pressures.
        """
        p = self.pressures
        table = np.full((3, 2, p, p), -1)
        for kind, laid in enumerate(pair_options(p, self.never_first)):
            ((which, one), (_, other)) = laid.transpose(1, 2, 0)
            table[kind, which, one, other] = np.arange(len(laid))
        return table


def _reach(found: Found, limit: int) -> float:
    """How far the last of so many recipes is, infinite where there are fewer."""
    return float(found.delta_E[-1]) if len(found.delta_E) == limit else np.inf


def together(parts: Sequence[Any]) -> Any:
    """Arrays of several parts one after the other."""
    return tuple(map(np.concatenate, zip(*parts, strict=True)))
