"""What is asked for, with all it can be laid with: a blend, a listed colour."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers, distinct_rows, renumbered
from stopgap.blends.blending import Colours, blend_along, far_off_notes
from stopgap.blends.chain import Chain, best_of
from stopgap.blends.graph import ROUNDING
from stopgap.errors import Note
from stopgap.planner.shopping.answer import LaidBlend, LaidColour
from stopgap.planner.shopping.layings import Layings
from stopgap.planner.shopping.question import BlendNeed, ColourNeed, available
from stopgap.planner.shopping.routes import Route
from stopgap.planner.solver import Clock


@dataclass(frozen=True, eq=False)
class WantedBlend:
    """`routes` are its path and, where that is bent, its chord, which serves where the path fails.

    `colours` is what the rows of their graphs are; `ends` are the needs of its start, of stops
    that are pencils, and of its end: something laid must lie within a tolerance of each.
    """

    need: BlendNeed
    colours: Colours
    routes: tuple[Route, ...]
    ends: "tuple[WantedColour, ...]"
    _chains: dict[bytes, tuple[int, Chain]] = field(init=False, default_factory=dict)
    _notes: dict[bytes, tuple[Note, ...]] = field(init=False, default_factory=dict)
    _steps: dict[float, list[Booleans]] = field(init=False, default_factory=dict)

    @property
    def without_end(self) -> float:
        """What the blend counts as long as an end is not reached: its legs in a step each."""
        lab = np.array([each.lab for each in self.need.fixed])
        return 1.0 + float(self.routes[0].graph.difference(lab[:-1], lab[1:]).sum())

    @cached_property
    def least_shortfall(self) -> float:
        """What the best chain falls short with everything that could be had."""
        if self._chain_there.shortfall <= ROUNDING:
            return self._chain_there.shortfall
        if any(steps.any() for steps in self._without_gaps(Clock(None))):
            return 0.0
        return self.chain(self._all_or_nothing(buy=True))[1].shortfall

    @property
    def can_be_met(self) -> bool:
        """Whether everything for sale meets it."""
        return self.met(self._all_or_nothing(buy=True))

    @property
    def has_chain(self) -> bool:
        """Whether no purchase brings a chain that falls short less than the best that is there."""
        return self._chain_there.shortfall <= self.least_shortfall + ROUNDING

    @cached_property
    def _chain_there(self) -> Chain:
        """The best chain of what is there without a purchase."""
        return self.chain(self._all_or_nothing(buy=False))[1]

    def find_chains(self, clock: Clock) -> None:
        """Find the best chain of what is there and, where it falls short, whether one of all that
        could be does not, and else the best one; raises OutOfTime where there is no time for it.
        """
        there = self.chain(self._all_or_nothing(buy=False), clock)[1]
        if there.shortfall <= ROUNDING:
            return
        if not any(steps.any() for steps in self._without_gaps(clock)):
            self.chain(self._all_or_nothing(buy=True), clock)

    def _without_gaps(self, clock: Clock) -> Sequence[Booleans]:
        """Of what each route has next to it the steps (n, n) on chains that do not fall short."""
        return self._steps_within(ROUNDING, clock)

    def _steps_within(self, most: float, clock: Clock) -> Sequence[Booleans]:
        if most not in self._steps:
            near = [route.near(most) for route in self.routes]
            self._steps[most] = [route.steps_within(most, clock) for route in near]
        return self._steps[most]

    def among(self, offers: Booleans) -> "WantedBlend":
        """The same where of all that is for sale nothing but `offers` is bought."""
        return replace(self, routes=tuple(route.among(offers) for route in self.routes))

    @cached_property
    def near(self) -> tuple[Route, ...]:
        """Its routes with what a chain may hold that falls short as little as can be."""
        return tuple(route.near(self.least_shortfall + ROUNDING) for route in self.routes)

    def find_steps(self, clock: Clock) -> None:
        """Find these; raises OutOfTime where they cannot be found in time."""
        self._steps_within(self.least_shortfall + ROUNDING, clock)

    @property
    def nearest_steps(self) -> Sequence[Booleans]:
        """Of each of these routes the steps (n, n) on chains that fall short so little."""
        return self._steps_within(self.least_shortfall + ROUNDING, Clock(None))

    def most(self, *, may_stay_open: bool) -> float:
        """What a chain that counts falls short at most: as little as can be, or, where it may fall
        short more than need be, as much as the one that is there.
        """
        there = self._chain_there.shortfall if may_stay_open else self.least_shortfall
        return there + ROUNDING

    def shortfall(self, bought: Booleans) -> float:
        """What the best chain falls short; the whole way where an end is not reached."""
        if self.lacking(bought):
            return self.without_end
        return self._chain_there.shortfall if self.has_chain else self.chain(bought)[1].shortfall

    def toll(self, bought: Booleans) -> float:
        """The toll of the best chain, 0 where an end is not reached."""
        return 0.0 if self.lacking(bought) else self.chain(bought)[1].toll

    def beside_path(self, bought: Booleans) -> bool:
        """Whether the best chain leaves a bent path for its chord."""
        return not self.lacking(bought) and self.chain(bought)[0] > 0

    def met(self, bought: Booleans) -> bool:
        """Whether ends and stops are reached and no step of the best chain is a gap."""
        if self.lacking(bought):
            return False
        everything = bool(bought[self.every_offer].all())
        least = self.least_shortfall if everything else self._chain_there.shortfall
        if least <= ROUNDING:
            return True
        which, chain = self.chain(bought)
        nodes = np.array(chain.nodes)
        return not self.routes[which].graph.step(nodes[:-1], nodes[1:])[0].any()

    def is_second_best(self, bought: Booleans) -> bool:
        """Whether an end or a stop is reached by what is but second best."""
        return any(end.is_second_best(bought) for end in self.ends)

    def lacking(self, bought: Booleans) -> bool:
        """Whether an end or a stop is not reached once the offers marked in `bought` are there."""
        return not all(end.met(bought) for end in self.ends)

    def answer(self, bought: Booleans) -> LaidBlend:
        """The blend to lay once the offers marked in `bought` are there."""
        there = self._there(bought)
        if (key := _key(there)) not in self._notes:
            graphs, found = [route.graph for route in self.routes], self.chain(bought)
            self._notes[key] = far_off_notes(graphs, found, self.colours, availables=there)
        return self._laid(bought, self._notes[key])

    def at_best(self, everything: Booleans) -> LaidBlend:
        """The blend with everything for sale, of which nothing is to be said."""
        return self._laid(everything, ())

    def _laid(self, bought: Booleans, notes: tuple[Note, ...]) -> LaidBlend:
        graphs = [route.graph for route in self.routes]
        blend = blend_along(self.need.label, self.colours, graphs, self.chain(bought))
        ends = tuple((end.need.label, end.answer(bought)) for end in self.ends)
        return LaidBlend(replace(blend, notes=notes), ends)

    @cached_property
    def every_offer(self) -> Integers:
        """The offers that something of it takes."""
        taken = [route.missing.ravel() for route in self.routes]
        every = np.concatenate([*taken, *(end.serving.ravel() for end in self.ends)])
        return renumbered(every[every >= 0])[0]

    @cached_property
    def offers(self) -> Integers:
        """Those of them that could bring it nearer: of one whose chain is there, what its ends
        take.
        """
        if not self.has_chain:
            return self.every_offer
        reaching = np.concatenate([end.serving.ravel() for end in self.ends])
        return renumbered(reaching[reaching >= 0])[0]

    def _all_or_nothing(self, *, buy: bool) -> Booleans:
        return np.full(self.every_offer.max(initial=-1) + 1, buy)

    def chain(self, bought: Booleans, clock: Clock | None = None) -> tuple[int, Chain]:
        """The best of what is there, and which route has it."""
        there = self._there(bought)
        if (key := _key(there)) not in self._chains:
            graphs, clock = [route.graph for route in self.routes], clock or Clock(None)
            self._chains[key] = best_of(graphs, availables=there, tick=clock.check)
        return self._chains[key]

    def _there(self, bought: Booleans) -> list[Booleans]:
        """Which nodes of each route are there."""
        return [route.available(bought) for route in self.routes]


def _key(there: Sequence[Booleans]) -> bytes:
    return b"".join(each.tobytes() for each in there)


NOTHING_AT_ALL = 100.0
"""What a colour counts as long as nothing at all can be laid for it: black against white."""


@dataclass(frozen=True, eq=False)
class WantedColour:
    """The `rows` of all layings that count for it, with their `delta_E`: see `Layings.near`.

    Of what lies within the tolerance the first may be of the core that is wanted instead; what is
    `second_best` is of another, and what is of the core would serve as well.
    """

    need: ColourNeed
    layings: Layings
    rows: Integers
    delta_E: Floats
    second_best: Booleans | None = None

    @cached_property
    def missing(self) -> Integers:
        """What each takes, a table (rows, most)."""
        return self.layings.missing[self.rows]

    @cached_property
    def free(self) -> Booleans:
        """What is there without a purchase."""
        return self.layings.free[self.rows]

    @cached_property
    def offers(self) -> Integers:
        """The offers that those take that are nearer than anything that is there."""
        nearer = self.missing[: int(self.free.argmax())] if self.free.any() else self.missing
        return renumbered(nearer[nearer >= 0])[0]

    @cached_property
    def over(self) -> Floats:
        """What each has over it."""
        return np.maximum(self.delta_E - self.need.tolerance, 0.0)

    @property
    def least_shortfall(self) -> float:
        """What the nearest of all has over the tolerance."""
        return float(self.over[0]) if len(self.rows) else NOTHING_AT_ALL

    @property
    def nearest(self) -> Booleans:
        """Which are as near as can be."""
        return np.asarray(self.over <= self.least_shortfall, dtype=np.bool_)

    @cached_property
    def serving(self) -> Integers:
        """What each that lies within the tolerance takes, a table; one row of none if it is met."""
        near = self.missing[: self._within]
        free = near[(near < 0).all(axis=1)]
        return free[:1] if len(free) else distinct_rows(near)[0]

    @cached_property
    def serving_second_best(self) -> Booleans:
        """Which rows of `serving` give nothing but what is second best, (rows,)."""
        if self.second_best is None:
            return np.zeros(len(self.serving), dtype=np.bool_)
        near = slice(self._within)
        best = set(map(tuple, self.missing[near][~self.second_best[near]].tolist()))
        second = [tuple(row) not in best for row in self.serving.tolist()]
        return np.array(second, dtype=np.bool_)

    @property
    def _within(self) -> int:
        """How many lie within the tolerance."""
        return int((self.delta_E <= self.need.tolerance).sum())

    def is_second_best(self, bought: Booleans) -> bool:
        """Whether what lies within the tolerance is but second best."""
        there = available(self.serving, bought)
        return bool(there.any() and self.serving_second_best[there].all())

    def met(self, bought: Booleans) -> bool:
        """Whether the nearest lies within the tolerance."""
        return bool(available(self.serving, bought).any())

    def shortfall(self, bought: Booleans) -> float:
        """What the nearest has over the tolerance."""
        answer = self.answer(bought)
        return NOTHING_AT_ALL if answer is None else max(0.0, answer.delta_E - answer.tolerance)

    def at_best(self, everything: Booleans) -> LaidColour | None:
        """The nearest with everything for sale."""
        return self.answer(everything)

    def answer(self, bought: Booleans) -> LaidColour | None:
        """The nearest once the offers marked in `bought` are there."""
        there, need = available(self.missing, bought), self.need
        kept = zip(self.rows[there].tolist(), self.delta_E[there].tolist())
        found = next(kept, None) or self.layings.nearest_there(need, bought)
        if found is None:
            return None
        row, delta_E = found
        laid = self.layings.laid[row]
        return LaidColour(need.lab, laid, delta_E, need.tolerance, need.target, need.laid_badly)
