"""The shopping list as a mixed-integer programme.

One whole variable an offer says whether it is bought. Each blend is one unit of flow from its start
to its end over the steps of its routes; each listed colour is one unit shared among what it can be
laid with. What needs an offer cannot carry more than the variable of that offer. Only the offers
are whole: once they are, a unit of flow always splits into chains, and the best of them is as good.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers
from stopgap.blends.graph import ROUNDING
from stopgap.planner.shopping.reduction import (
    dominated,
    least_through,
    needless_steps,
    on_chains,
)
from stopgap.planner.shopping.wanted import NOTHING_AT_ALL, Route, WantedBlend, WantedColour
from stopgap.planner.solver import TOLERANCE, Programme


class Counts(NamedTuple):
    """What each variable counts towards the aims, (n,) each.

    `shortfall`; what its need falls short `above` the least there is, at best, if it is used;
    `beside`, 1 for a blend that leaves its bent path for the chord; `toll`; and whether it is
    `needless` to any aim but the toll.
    """

    shortfall: Floats
    above: Floats
    beside: Floats
    toll: Floats
    needless: Booleans

    @classmethod
    def of(cls, shortfall: Floats, least: float) -> "Counts":
        """The shortfall of a need by one variable each, and nothing else."""
        none = np.zeros(len(shortfall))
        return cls(shortfall, shortfall - least, none, none, none > 0.0)


@dataclass(frozen=True, slots=True)
class Formulation:
    """The programme, the places of its `offers`, and what each variable counts.

    `least` is the shortfall with everything for sale.
    """

    programme: Programme
    offers: Integers
    counts: Counts
    least: float

    def objective(self, per_offer: Floats) -> Floats:
        """An objective that counts what is bought."""
        whole = np.zeros(self.programme.size)
        whole[self.offers] = per_offer
        return whole

    def beyond(self, shortfall: float) -> Integers:
        """The variables of which no purchase makes use that falls short by no more than that."""
        spare = shortfall - self.least + 2 * TOLERANCE * (1.0 + shortfall)
        return np.flatnonzero(self.counts.above > spare)


def formulate(
    blends: Sequence[WantedBlend],
    colours: Sequence[WantedColour],
    n_offers: int,
    *,
    may_stay_open: bool,
) -> Formulation:
    """The programme that brings needs as near as can be; with `may_stay_open` at a price."""
    programme = Programme()
    offers = programme.add_variables(n_offers, whole=True)
    counts = [Counts.of(np.zeros(n_offers), 0.0)]
    counts += [_add_blend(programme, offers, blend, may_stay_open) for blend in blends]
    counts += [_add_colour(programme, offers, colour, may_stay_open) for colour in colours]
    least = math.fsum(one.need.weight * one.least_shortfall for one in blends)
    least += math.fsum(one.need.weight * one.least_shortfall for one in colours)
    return Formulation(programme, offers, Counts(*map(np.concatenate, zip(*counts))), least)


def _add_blend(
    programme: Programme, offers: Integers, blend: WantedBlend, may_stay_open: bool
) -> Counts:
    """What each variable added counts: "not at all", then the flow on each step."""
    open_ = programme.add_variables(1 if may_stay_open else 0)
    from_start, to_end = [open_], []
    weight, least = blend.need.weight, blend.need.weight * blend.least_shortfall
    counts = [Counts.of(np.full(len(open_), weight * blend.without_end), least)]
    most = np.inf if may_stay_open else blend.least_shortfall + ROUNDING
    for place, route in enumerate(blend.routes):
        shortfall, toll, source, target = _steps(route, most)
        flow = programme.add_variables(len(source))
        last = len(shortfall) - 1
        _conserve(programme, flow, source, target, last)
        _need_offers(programme, offers, route, flow, target)
        from_start.append(flow[source == 0])
        to_end.append(flow[target == last])
        fallback = np.where(source == 0, float(place > 0), 0.0)
        needless = needless_steps(shortfall, None, route.free)[source, target]
        above = weight * least_through(shortfall)[source, target] - least
        over, toll = weight * shortfall[source, target], toll[source, target]
        counts.append(Counts(over, above, fallback, toll, needless))
    leaving = np.concatenate(from_start)
    programme.add_row(leaving, np.ones(len(leaving)), 1.0, 1.0)
    for end, through in zip(blend.ends, (leaving[len(open_) :], np.concatenate(to_end))):
        for offer in end or ():
            _no_more_than(programme, through, offers[offer])
    return Counts(*map(np.concatenate, zip(*counts)))


def _steps(route: Route, most: float) -> tuple[Floats, Floats, Integers, Integers]:
    """Shortfall and toll of the steps that matter, (n, n), and their sources and targets.

    They lie on chains that fall short by no more than `most`.
    """
    kept = on_chains(route.shortfall, most)
    shortfall, toll = (np.where(kept, cost, np.inf) for cost in (route.shortfall, route.toll))
    kept &= ~needless_steps(shortfall, toll, route.free)
    out = dominated(np.where(kept, shortfall, np.inf), np.where(kept, toll, np.inf), route.free)
    kept[out] = kept[:, out] = False
    kept = on_chains(np.where(kept, shortfall, np.inf), most)
    shortfall, toll = (np.where(kept, cost, np.inf) for cost in (shortfall, toll))
    source, target = np.nonzero(kept)
    return shortfall, toll, source, target


def _conserve(
    programme: Programme, flow: Integers, source: Integers, target: Integers, last: int
) -> None:
    """What comes to a node between the ends leaves it."""
    leaves, comes = source > 0, target < last
    programme.add_rows(
        np.concatenate([source[leaves], target[comes]]) - 1,
        np.concatenate([flow[leaves], flow[comes]]),
        np.concatenate([np.ones(leaves.sum()), -np.ones(comes.sum())]),
        np.zeros(last - 1),
        np.zeros(last - 1),
    )


def _need_offers(
    programme: Programme, offers: Integers, route: Route, flow: Integers, target: Integers
) -> None:
    """What comes to a node is no more than the variable of each offer that it takes."""
    for node, missing in enumerate(route.missing):
        through = flow[target == node] if missing else flow[:0]
        for offer in missing if len(through) else ():
            _no_more_than(programme, through, offers[offer])


def _no_more_than(programme: Programme, parts: Integers, whole: np.intp) -> None:
    values = np.append(np.ones(len(parts)), -1.0)
    programme.add_row(np.append(parts, whole), values, -np.inf, 0.0)


def _add_colour(
    programme: Programme, offers: Integers, colour: WantedColour, may_stay_open: bool
) -> Counts:
    """What each variable added counts: the share of each laying, then "not at all"."""
    over = np.maximum(colour.delta_E - colour.need.tolerance, 0.0)
    useful = np.flatnonzero(_useful(colour, over, may_stay_open))
    share = programme.add_variables(len(useful))
    open_ = programme.add_variables(1 if may_stay_open else 0)
    every = np.concatenate([share, open_])
    programme.add_row(every, np.ones(len(every)), 1.0, 1.0)
    taking: dict[int, list[np.intp]] = {}
    for place, row in zip(share, useful):
        for offer in colour.missing[row]:
            taking.setdefault(offer, []).append(place)
    for offer, places in sorted(taking.items()):
        _no_more_than(programme, np.array(places, dtype=np.intp), offers[offer])
    nothing = np.full(len(open_), NOTHING_AT_ALL)
    weight = colour.need.weight
    shortfall = weight * np.concatenate([over[useful], nothing])
    return Counts.of(shortfall, weight * colour.least_shortfall)


def _useful(colour: WantedColour, over: Floats, may_stay_open: bool) -> Booleans:
    """Those as near as can be; if it may stay open, all as far as the nearest that is there."""
    if not may_stay_open:
        nearest: Booleans = over <= colour.least_shortfall
        return nearest
    there = np.array([not offers for offers in colour.missing], dtype=bool)
    if not there.any():
        return np.ones(len(over), dtype=bool)
    as_far: Booleans = np.arange(len(over)) <= there.argmax()
    return as_far
