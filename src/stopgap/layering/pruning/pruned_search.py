"""What `search` finds, to the last bit, without trying every pair.

Colours of pairs are nearly inner products (`separation`). By these alone some pairs are found that
come near, and how far the last of them is says how far is to be looked at most. From a tree of the
layers beneath those pairs are found that may lie as near (`descent`, `regions`, `voxels`). These
are few, and laid as `search` lays them, those first that may be nearest.

Memory and time grow about linearly with the pencils; nothing is kept of a pair.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import product
from time import monotonic

import numpy as np

from stopgap.arrays import Booleans, Floats, FloatsLike, Integers, one_lab, renumbered
from stopgap.colorimetry.cielab import lab_of
from stopgap.difference import DifferenceFunction, delta_E_ciede2000
from stopgap.difference.bounds.boxes import Bounded
from stopgap.difference.bounds.ciede2000 import bound_ciede2000
from stopgap.errors import InputError
from stopgap.layering.estimates import TO_COVER
from stopgap.layering.optics import Optics
from stopgap.layering.palette import Palette
from stopgap.layering.pruning.alike import passed_over
from stopgap.layering.pruning.descent import Pairs
from stopgap.layering.pruning.regions import Slabs, region_within
from stopgap.layering.pruning.tried import Tried, together
from stopgap.layering.pruning.voxels import Ball
from stopgap.layering.recipe_search import (
    Found,
    Progress,
    best_of_groups,
    pair_options,
)
from stopgap.swatches import Swatch

CIE_2000 = Bounded(delta_E_ciede2000, bound_ciede2000)
Laid = Callable[[Sequence[Swatch], Optics | None], Palette]

_FIRST, _BATCH = 2**13, 2**17  # pairs, of which those that may be nearest are laid first
_LAID = 2**14  # pairs at once: 5 MB an array of 36 bands
_SEEDS = 12  # pairs, for each recipe asked for
_NEAR = 29.0  # ΔE00, of one pencil; recipes are as the square of pencils
_FURTHER = 4.0  # times as far is asked, and again where too few are found
_FAR = 0.75  # part of what is asked from which on all lies on one side of the target
_SLACK = 1e-9


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class PrunedSearch:
    """Pencils (n,) made ready to be searched; a laying is numbered as in a `Palette` of them all.

    `tints` (n p, 3) are the colours of all layings by themselves, `known` the optics of the
    pencils, `alike` (n,) says which lay the same, `lay` makes a palette of some. Threads may ask at
    once.
    """

    swatches: tuple[Swatch, ...]
    unattained: tuple[Swatch, ...]
    pressures: int
    never_first: int | None
    lightness: Floats
    covering: Booleans
    tints: Floats
    known: Optics
    alike: Integers
    kinds: tuple[Pairs, ...]
    lay: Laid

    @property
    def nbytes(self) -> int:
        """How many bytes its arrays take."""
        own = self.lightness, self.covering, self.tints, self.known.layers, self.alike
        return sum(array.nbytes for array in own) + sum(kind.nbytes for kind in self.kinds)

    def search(
        self,
        target_lab: FloatsLike,
        *,
        limit: int = 5,
        per_pair: int = 1,
        barred: Booleans | None = None,
        difference: DifferenceFunction = delta_E_ciede2000,
        parts: Sequence[Bounded] = (CIE_2000,),
        within: float = np.inf,
        unless: float = np.inf,
        seconds: float = np.inf,
        cut: Callable[[float], object] = float,
        progress: Progress | None = None,
    ) -> Found:
        """What `recipe_search.search` finds, pencils (n,) that are `barred` passed over; of this
        what is `within` a difference, and nothing `unless` something is as near as that.

        A `difference` other than ΔE00 comes as the least of some `parts` with their bounds as well.
        After so many `seconds` it is the nearest of what was tried, and `cut` is told the
        difference that no other is below.

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
        none = np.zeros(len(alone), dtype=np.bool_)
        # of one group a recipe takes another pencil too, hence one more
        passed = passed_over(none if barred is None else barred, self.alike, limit + 1)
        alone[passed] = np.inf
        passed = np.repeat(passed, p)
        simpler = alone.min(axis=1, initial=np.inf)
        every = np.arange(len(self.tints))
        kept = best_of_groups(every // p, every, alone.ravel(), per_pair)
        single = Found(np.stack([kept, np.full_like(kept, -1)], axis=-1), alone.ravel()[kept])
        near = Tried(single, limit, per_pair, within, unless)
        until = monotonic() + seconds

        def take(group: Integers, option: Integers, layings: Integers) -> None:
            delta_E = difference(target, self.laid(layings))
            useful = delta_E < simpler[layings // p].min(axis=1)
            near.take(group[useful], option[useful], layings[useful], delta_E[useful])

        def apart(first: Integers, second: Integers, tristimulus: Floats) -> Floats:
            about = difference(target, lab_of(tristimulus))
            most = np.minimum(simpler[first // p, np.newaxis], simpler[second // p])
            useful = (about < most) & ~passed[first, np.newaxis] & ~passed[second]
            return np.where(useful, about, np.inf)

        for kind in self.kinds:
            take(*self.allowed(*kind.seeds(apart, _SEEDS * limit)))
        asked = _NEAR / max(len(self.swatches), 1) ** (2.0 / 3.0)
        while True:
            asked = near.to_ask(_FURTHER * asked)
            balls = [Ball(target, _beyond(asked), *part) for part in parts]
            sought = [
                (ball, region) for ball in balls if (region := self._region(ball, near)) is not None
            ]
            for some in self._batches(sought, passed, lambda: _beyond(near.reach), until, progress):
                for layings in near.hopeful(*some):
                    take(*self.allowed(*layings))
            if monotonic() > until:
                cut(min(self._least(sought, passed), asked, near.reach))
                return near.found
            if near.settled(asked):
                return near.answer

    def _region(self, ball: Ball, near: Tried) -> Slabs | None:
        """Where so near colours are; None where there are none."""
        known = self.colours(near.found.layings[:1])
        apart = ball.difference(ball.target, known)
        if not (np.isfinite(apart) & (apart > _FAR * ball.limit)).any():
            known = self.tints[ball.difference(ball.target, self.tints).argmin()][np.newaxis]
        return region_within(ball.target, ball.limit, known[0], ball.difference, ball.bound)

    def _least(self, sought: Sequence[tuple[Ball, Slabs]], passed: Booleans) -> float:
        """The difference that none is below, whatever was not tried of what was sought."""
        left = (kind.least(*one, passed) for one in sought for kind in self.kinds)
        return min(left, default=np.inf)

    def colours(self, layings: Integers) -> Floats:
        """Colours (m, 3) of recipes (m, 2), -1 for no second layer."""
        colours = self.tints[layings[:, 0]]
        pairs = layings[:, 1] >= 0
        colours[pairs] = self.laid(layings[pairs])
        return colours

    def laid(self, layings: Integers) -> Floats:
        """Colours (m, 3) of pairs (m, 2): those with a pencil that covers apart, since its palette
        takes much more of every pencil.
        """
        covered = self.covering[layings // self.pressures].any(axis=1)
        colours = np.zeros((len(layings), 3))
        for some in (covered, ~covered):
            if some.any():
                colours[some] = self._laid_together(layings[some])
        return colours

    def _laid_together(self, layings: Integers) -> Floats:
        """The same, laid with a palette of the pencils they use."""
        used, place = renumbered(layings // self.pressures)
        layers = place * self.pressures + layings % self.pressures
        box, colours = self.palette(used), np.zeros((len(layers), 3))
        for begin in range(0, len(layers), _LAID):
            some = slice(begin, begin + _LAID)
            colours[some] = box.colours(*layers[some].T)
        return colours

    def palette(self, pencils: Integers) -> Palette:
        """A palette of some pencils (k,)."""
        known = self.known._replace(
            layers=self.known.layers[pencils], reached=np.ones(len(pencils), dtype=np.bool_)
        )
        return self.lay([self.swatches[one] for one in pencils.tolist()], known)

    def _batches(
        self,
        sought: Sequence[tuple[Ball, Slabs]],
        passed: Booleans,
        reach: Callable[[], float],
        until: float,
        progress: Progress | None,
    ) -> Iterator[tuple[Integers, Integers, Floats]]:
        """Layings (m,) beneath and above of pairs that may lie there, and the least differences."""
        parts: list[tuple[Integers, Integers, Floats]] = []
        many, batch, done = 0, _FIRST, 0
        total = len(sought) * sum(kind.pairs for kind in self.kinds)

        def told(pairs: int) -> None:
            nonlocal done
            done += pairs
            if progress is not None and done < total:
                progress(done, total)

        for kind, one in product(self.kinds, sought):
            for part in kind.within(*one, passed, reach, told):
                parts.append(part)
                many += len(part[0])
                if many >= batch:
                    yield together(parts)
                    parts, many, batch = [], 0, min(2 * batch, _BATCH)
                if monotonic() > until:
                    break
            if many:
                yield together(parts)
                parts, many = [], 0
        if progress is not None:
            progress(total, total)

    def allowed(self, first: Integers, second: Integers) -> tuple[Integers, Integers, Integers]:
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


def _beyond(reach: float) -> float:
    """How far is to be looked so that nothing as near as that is missed by rounding."""
    return reach * (1.0 + _SLACK) + _SLACK
