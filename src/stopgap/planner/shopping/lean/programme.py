"""The shopping list as a mixed-integer programme, less what it can leave out and lose nothing.

One whole variable a pencil or set for sale says whether it is bought. Each blend is one unit of
flow from its start to its end over the steps of its routes; each listed colour is one unit shared
among what it can be laid with. What needs a pencil cannot carry more than the variables of all that
brings it. Only these are whole: then a unit of flow splits into chains, the best of them as good.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import Enum
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers, renumbered
from stopgap.planner.shopping.routes import Route
from stopgap.planner.shopping.steps import dominated, least_through, needless_steps, on_chains
from stopgap.planner.shopping.wanted import (
    NOTHING_AT_ALL,
    WantedBlend,
    WantedColour,
)
from stopgap.planner.solver import TOLERANCE, Clock, OutOfTime, Programme

MOST_STEPS = 60_000
"""More are not given to the solver, which takes some 3 kB for each of them."""

MOST_NODES = 2_000
"""More on a route where any step between them may count are too many from the beginning."""


class Chains(Enum):
    """Of which blends the chains are in a programme."""

    NONE = "of none"
    MISSED = "of those whose chain a purchase brings"
    ALL = "of all, and their toll"


class Counts(NamedTuple):
    """What each variable counts towards the aims, (n,) each.

    `shortfall`; what its need falls short `above` the least there is, at best, if it is used;
    `beside`, 1 for a blend that leaves its bent path for the chord; `toll`; and 1 for what is
    `second_best`, being of another core.
    """

    shortfall: Floats
    above: Floats
    beside: Floats
    toll: Floats
    second_best: Floats

    @classmethod
    def of(cls, shortfall: Floats, least: float, second_best: Floats | None = None) -> "Counts":
        """The shortfall of a need by one variable each, and what is second best."""
        none = np.zeros(len(shortfall))
        second = none if second_best is None else second_best
        return cls(shortfall, shortfall - least, none, none, second)


@dataclass(frozen=True, slots=True)
class Formulation:
    """The programme, the places of the `offers`, what can be bought, and what each variable counts.

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
    n_things: int,
    givers: Sequence[Integers],
    *,
    may_stay_open: bool,
    chains: Chains,
    steps: Mapping[tuple[int, int], Booleans] | None = None,
    clock: Clock | None = None,
) -> Formulation:
    """The programme that brings needs as near as can be; with `may_stay_open` at a price.

    `givers` are by pencil the things, of `n_things`, that bring it. Of a blend whose chain is left
    out what reaches its ends counts alone. `steps` (n, n) are all that matter, by blend and route.

    Raises
    ------
    OutOfTime
        If the clock runs out before it is made, or if it is too large for any time.
    """
    clock = clock or Clock(None)
    programme = Programme()
    offers = programme.add_variables(n_things, whole=True)
    bring = [offers[things] for things in givers]
    counts = [Counts.of(np.zeros(n_things), 0.0)]
    for place, blend in enumerate(blends):
        its = [(steps or {}).get((place, route)) for route in range(len(blend.routes))]
        counts.append(_add_blend(programme, bring, blend, may_stay_open, chains, its, clock))
    counts += [_add_colour(programme, bring, colour, may_stay_open) for colour in colours]
    needs: tuple[WantedBlend | WantedColour, ...] = (*blends, *colours)
    least = math.fsum(one.need.weight * one.least_shortfall for one in needs)
    return Formulation(programme, offers, Counts(*map(np.concatenate, zip(*counts))), least)


def _add_blend(
    programme: Programme,
    bring: Sequence[Integers],
    blend: WantedBlend,
    may_stay_open: bool,
    chains: Chains,
    steps: Sequence[Booleans | None],
    clock: Clock,
) -> Counts:
    """What each variable added counts: "not at all", then the flow on each step."""
    open_ = programme.add_variables(1 if may_stay_open else 0)
    from_start = [open_]
    weight, least = blend.need.weight, blend.need.weight * blend.least_shortfall
    counts = [Counts.of(np.full(len(open_), weight * blend.without_end), least)]
    if chains is Chains.NONE or (chains is Chains.MISSED and blend.has_chain):
        from_start.append(programme.add_variables(1))
        counts.append(Counts.of(np.array([least]), least))
    else:
        for place, (route, kept) in enumerate(_counting(blend, may_stay_open, clock)):
            if (its := steps[place]) is not None:
                kept = kept & its
            there = kept.any(axis=0) | kept.any(axis=1) | route.graph.must
            route, kept = route.part(there), kept[np.ix_(there, there)]
            far = blend.most(may_stay_open=may_stay_open)
            shortfall, toll, source, target = _steps(route, kept, far, chains, clock)
            flow = programme.add_variables(len(source))
            _conserve(programme, flow, source, target, len(shortfall) - 1)
            _need_offers(programme, bring, route, flow, target)
            from_start.append(flow[source == 0])
            if programme.size > MOST_STEPS:
                raise OutOfTime
            fallback = np.where(source == 0, float(place > 0), 0.0)
            above = weight * least_through(shortfall)[source, target] - least
            over, toll = weight * shortfall[source, target], toll[source, target]
            counts.append(Counts(over, above, fallback, toll, np.zeros(len(source))))
    leaving = np.concatenate(from_start)
    programme.add_row(leaving, np.ones(len(leaving)), 1.0, 1.0)
    counts += [
        _reach(programme, bring, end, leaving[len(open_) :])
        for end in blend.ends
        if (end.serving >= 0).any(axis=1).all()
    ]
    return Counts(*map(np.concatenate, zip(*counts)))


def _counting(
    blend: WantedBlend, may_stay_open: bool, clock: Clock
) -> Iterator[tuple[Route, Booleans]]:
    """Each route, and its steps (n, n) on chains that count."""
    if not may_stay_open:
        yield from zip(blend.near, blend.nearest_steps, strict=True)
        return
    most = blend.most(may_stay_open=True)
    for each in blend.routes:
        route = each.near(most)
        if len(route.graph) > MOST_NODES:
            raise OutOfTime
        yield route, on_chains(route.shortfall(clock), most)


def _steps(
    route: Route, kept: Booleans, most: float, chains: Chains, clock: Clock
) -> tuple[Floats, Floats, Integers, Integers]:
    """Shortfall and toll of the steps that matter of those `kept`, (n, n), and their sources and
    targets.

    They lie on chains that fall short by no more than `most`.
    """
    toll = route.toll(clock) if chains is Chains.ALL else None
    shortfall = route.shortfall(clock)
    _leave(kept, shortfall, toll)
    kept = kept & ~needless_steps(shortfall, toll, route.free, clock)
    clock.check()
    _leave(kept, shortfall, toll)
    out = dominated(shortfall, toll, route.free, clock)
    kept[out] = kept[:, out] = False
    _leave(kept, shortfall, toll)
    kept = on_chains(shortfall, most)
    _leave(kept, shortfall, toll)
    source, target = np.nonzero(kept)
    return shortfall, np.zeros(kept.shape) if toll is None else toll, source, target


def _leave(kept: Booleans, *costs: Floats | None) -> None:
    """Leave nothing but the steps that are kept."""
    for cost in costs:
        if cost is not None:
            cost[~kept] = np.inf


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
    programme: Programme, bring: Sequence[Integers], route: Route, flow: Integers, target: Integers
) -> None:
    """What comes to a node is no more than what brings each pencil that it takes."""
    by_target = np.argsort(target, kind="stable")
    nodes, starts = np.unique(target[by_target], return_index=True)
    for node, through in zip(nodes, np.split(flow[by_target], starts[1:])):
        for offer in route.missing[node][route.missing[node] >= 0]:
            no_more_than(programme, through, bring[offer])


def _reach(
    programme: Programme, bring: Sequence[Integers], end: WantedColour, flow: Integers
) -> Counts:
    """No more flow than what serves the end is there; what each variable added, a share, counts."""
    serving = end.serving
    share = programme.add_variables(len(serving))
    values = np.append(np.ones(len(flow)), -np.ones(len(share)))
    programme.add_row(np.append(flow, share), values, -np.inf, 0.0)
    for offer in renumbered(serving[serving >= 0])[0].tolist():
        no_more_than(programme, share[(serving == offer).any(axis=1)], bring[offer])
    return Counts.of(np.zeros(len(share)), 0.0, end.serving_second_best.astype(np.float64))


def no_more_than(programme: Programme, parts: Integers, bring: Integers) -> None:
    """No more of the parts in sum than of what brings them."""
    values = np.append(np.ones(len(parts)), -np.ones(len(bring)))
    programme.add_row(np.append(parts, bring), values, -np.inf, 0.0)


def _add_colour(
    programme: Programme, bring: Sequence[Integers], colour: WantedColour, may_stay_open: bool
) -> Counts:
    """What each variable added counts: the share of each laying, then "not at all"."""
    ways = np.flatnonzero(useful(colour, may_stay_open=may_stay_open))
    share = programme.add_variables(len(ways))
    open_ = programme.add_variables(1 if may_stay_open else 0)
    every = np.concatenate([share, open_])
    programme.add_row(every, np.ones(len(every)), 1.0, 1.0)
    taking: dict[int, list[np.intp]] = {}
    for place, row in zip(share, ways):
        for offer in colour.missing[row][colour.missing[row] >= 0].tolist():
            taking.setdefault(offer, []).append(place)
    for offer, places in sorted(taking.items()):
        no_more_than(programme, np.array(places, dtype=np.intp), bring[offer])
    nothing = np.full(len(open_), NOTHING_AT_ALL)
    weight = colour.need.weight
    shortfall = weight * np.concatenate([colour.over[ways], nothing])
    second = np.zeros(len(shortfall))
    if colour.second_best is not None:
        second[: len(ways)] = colour.second_best[ways]
    return Counts.of(shortfall, weight * colour.least_shortfall, second)


def useful(colour: WantedColour, *, may_stay_open: bool) -> Booleans:
    """Those as near as can be; if it may stay open, all as far as the nearest that is there."""
    if not may_stay_open:
        return colour.nearest
    if not colour.free.any():
        return np.ones(len(colour.rows), dtype=bool)
    as_far: Booleans = np.arange(len(colour.rows)) <= colour.free.argmax()
    return as_far
