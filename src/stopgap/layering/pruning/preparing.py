"""Pencils made ready for the pruned search, some at a time, so that memory stays bounded."""

from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers
from stopgap.layering.estimates import TO_COVER
from stopgap.layering.optics import Optics
from stopgap.layering.palette import Palette
from stopgap.layering.pruning.alike import alike
from stopgap.layering.pruning.descent import Pairs, pairs_of
from stopgap.layering.pruning.pruned_search import Laid, PrunedSearch
from stopgap.layering.pruning.separation import (
    Above,
    Beneath,
    Separation,
    products,
    separation,
)
from stopgap.layering.pruning.tried import together
from stopgap.layering.recipe_search import Progress
from stopgap.swatches import Swatch

_AT_ONCE = 1024  # pencils laid at once
_SAMPLE = 100  # clear pencils, and as many that cover, that rows are projected by


def prepare_search(
    swatches: Sequence[Swatch], scattering: Floats, lay: Laid, *, progress: Progress | None = None
) -> PrunedSearch | None:
    """Swatches (n,) made ready to be searched; None where their model cannot be taken apart.

    `scattering` (n,) is S of each, and `lay` makes a palette of some of them, of optics that are
    known or not. `progress` is told how many of how many are ready.

    Raises
    ------
    InputError
        As `lay` does.
    """

    def told(ready: int) -> None:
        if progress is not None and len(swatches):
            progress(ready, len(swatches))

    sampled = np.concatenate([_evenly(scattering > 0.0), _evenly(scattering <= 0.0)])
    sample = lay([swatches[one] for one in np.sort(sampled).tolist()], None)
    told(0)
    kinds = _kinds(sample, float(scattering.max(initial=0.0)))
    if not kinds:
        return None
    told(0)
    boxes: list[Palette] = []
    tints = []
    pencils = 0
    for begin in range(0, len(swatches), _AT_ONCE):
        box = lay(swatches[begin : begin + _AT_ONCE], None)
        taken = sum(kind.take(box, pencils) for kind in kinds)
        if taken < len(box.swatches) * len(box.pressures):
            return None  # of a kind that the sample has none of
        tints.append(box.colours(np.arange(taken)))
        boxes.append(replace(box, prepared=None))
        pencils += len(box.swatches)
        told(min(begin + _AT_ONCE, len(swatches)))
    return _put_together(boxes, np.concatenate(tints), kinds, sample, lay)


def _put_together(
    boxes: Sequence[Palette], tints: Floats, kinds: Sequence["_Kind"], sample: Palette, lay: Laid
) -> PrunedSearch:
    power = np.concatenate([box.opacities.middle for box in boxes])
    covers = power > 0.0
    lab = np.concatenate([box.lab for box in boxes])
    lightness = lab[:, 0]
    swatched = np.concatenate([box.swatched for box in boxes])
    layers = np.concatenate([box.layers for box in boxes])
    known = np.ones(len(lightness), np.bool_)
    return PrunedSearch(
        swatches=tuple(one for box in boxes for one in box.swatches),
        unattained=tuple(one for box in boxes for one in box.unattained),
        pressures=len(sample.pressures),
        never_first=sample.never_first,
        lightness=lightness,
        covering=covers,
        tints=tints,
        known=Optics(layers, known, sample.seen_on, sample.ground),
        alike=alike(lightness, np.column_stack([lab, power, swatched, layers])),
        kinds=tuple(kind.pairs(sample, lightness, covers) for kind in kinds),
        lay=lay,
    )


def _evenly(chosen: Booleans) -> Integers:
    places = np.flatnonzero(chosen)
    return places[:: max(1, len(places) // _SAMPLE)]


class _Kind(NamedTuple):
    """Layers of which those above scatter, or do not, as they are taken from box after box."""

    covering: bool
    apart: Separation
    beneath: list[tuple[Integers, Beneath]]
    above: list[tuple[Integers, Above]]

    def take(self, box: Palette, before: int) -> int:
        """Take the layers of a box after so many pencils; how many of them may be above."""
        if box.prepared is None or not box.swatches:
            return 0
        p = len(box.pressures)
        lower = np.arange(len(box.swatches) * p)
        upper = lower[box.prepared.scatters == self.covering]
        lower = lower[lower % p != (-1 if box.never_first is None else box.never_first)]
        self.beneath.append((lower + before * p, self.apart.beneath(box.prepared, lower)))
        if len(upper):
            self.above.append((upper + before * p, self.apart.above(box.prepared, upper)))
        return len(upper)

    def pairs(self, sample: Palette, lightness: Floats, covers: Booleans) -> Pairs:
        """All that were taken, ready to be searched."""
        p = len(sample.pressures)
        first, *beneath = together([(numbers, *rows) for numbers, rows in self.beneath])
        second, *above = together([(numbers, *rows) for numbers, rows in self.above])
        lightest = np.where(covers, np.inf, lightness)[first // p]
        # only what is laid as the lower one never is lies over what is a little darker
        over = np.where(second % p == sample.never_first, TO_COVER, 0.0)
        darkest = np.where(covers, -np.inf, lightness)[second // p] - over
        missed = self.apart.missed(sample.ground, sample.tooth, sample.trapping)
        return pairs_of(first, Beneath(*beneath), lightest, second, Above(*above), darkest, missed)


def _kinds(sample: Palette, most: float) -> list[_Kind]:
    """The kinds that a sample has layers of, none of which scatters more."""
    prepared = sample.prepared
    if prepared is None or not sample.swatches:
        return []
    every = np.arange(len(prepared.depth))
    lower = every[every % len(sample.pressures) != sample.never_first]
    heaviest = most * max(sample.pressures.values())
    kinds = []
    for covering in (False, True):
        upper = every[prepared.scatters == covering]
        if len(upper):
            how = products(prepared, heaviest, covering=covering)
            apart = separation(how, prepared, lower, upper, sample.model.bands.weights())
            kinds.append(_Kind(covering, apart, [], []))
    return kinds
