"""What could be laid for each need, and which needs a purchase meets, in the time that there is."""

from collections.abc import Sequence
from contextlib import suppress
from typing import NamedTuple

import numpy as np

from stopgap.planner.shopping.question import BlendNeed, ColourNeed, Need, Supply
from stopgap.planner.shopping.wanted import (
    WantedBlend,
    WantedColour,
    wanted_blend,
    wanted_colours,
)
from stopgap.planner.solver import Clock, OutOfTime

Wanted = WantedBlend | WantedColour

_COLOURS = 0.5  # of the time is for colours at most, the rest for blends


class ExaminedNeed(NamedTuple):
    """What could be laid for a need, None where there was no time to look."""

    need: Need
    wanted: Wanted | None


def look(needs: Sequence[Need], supply: Supply, clock: Clock) -> list[ExaminedNeed]:
    """Each need with what could be laid for it, in their order."""
    listed = [need for need in needs if isinstance(need, ColourNeed)]
    colours = iter(wanted_colours(listed, supply, clock.part(_COLOURS)))
    looked = []
    for need in needs:
        wanted: Wanted | None = None
        if isinstance(need, BlendNeed):
            with suppress(OutOfTime):
                wanted = _with_steps(wanted_blend(need, supply, clock))
        else:
            wanted = next(colours, None)
        looked.append(ExaminedNeed(need, wanted))
    return looked


def _with_steps(blend: WantedBlend) -> WantedBlend:
    """The same, once the steps of its graphs are there; raises OutOfTime if they cannot be."""
    tuple(route.steps for route in blend.routes)
    return blend


def asked_for(
    looked: Sequence[ExaminedNeed], n_offers: int, clock: Clock, *, partial: bool
) -> tuple[list[Wanted], list[Need]]:
    """The needs that a purchase meets, or with `partial` brings nearer, sorted; and those that
    there was no time for, and that may be such.
    """
    nothing, everything = np.zeros(n_offers, dtype=bool), np.ones(n_offers, dtype=bool)
    asked, unseen = [], []
    for need, one in sorted(looked, key=lambda one: one.need.key):
        if one is None or clock.left == 0.0:
            unseen.append(need)
            continue
        if one.met(nothing):
            continue
        nearer = partial and one.shortfall(nothing) > one.shortfall(everything)
        if nearer or one.met(everything):
            asked.append(one)
    return asked, unseen
