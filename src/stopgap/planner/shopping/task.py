"""What a shopping list is to do, and the programmes that do it, each made when it is asked for."""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers
from stopgap.planner.shopping.answer import Aim
from stopgap.planner.shopping.lean.cheap_chains import CheapChains, cheap_chains
from stopgap.planner.shopping.lean.columns import RouteSteps
from stopgap.planner.shopping.lean.dominance import undercut
from stopgap.planner.shopping.lean.needed import all_needed
from stopgap.planner.shopping.lean.parts import coupled, of_use
from stopgap.planner.shopping.lean.programme import Chains, Formulation, formulate
from stopgap.planner.shopping.offers import Sale
from stopgap.planner.shopping.wanted import WantedBlend, WantedColour
from stopgap.planner.solver import TOLERANCE, Clock, Programme

Progress = Callable[[str], None]
"""Told the aim that is about to be pursued."""


@dataclass(frozen=True)
class Task:
    """The needs that a purchase brings nearer, what is for sale, and the means to ask.

    `known` is a purchase that is good already.
    """

    blends: tuple[WantedBlend, ...]
    colours: tuple[WantedColour, ...]
    sale: Sale
    budget: float | None
    clock: Clock
    progress: Progress
    known: Booleans | None = None

    @classmethod
    def of(
        cls,
        needs: Sequence[WantedBlend | WantedColour],
        sale: Sale,
        budget: float | None,
        clock: Clock,
        progress: Progress,
    ) -> "Task":
        """For these needs."""
        blends = tuple(one for one in needs if isinstance(one, WantedBlend))
        colours = tuple(one for one in needs if isinstance(one, WantedColour))
        return cls(blends, colours, sale, budget, clock, progress)

    @property
    def prices(self) -> Floats:
        """What each thing for sale costs."""
        return self.sale.prices

    @property
    def needs(self) -> tuple[WantedBlend | WantedColour, ...]:
        """The blends, then the colours."""
        return (*self.blends, *self.colours)

    @cached_property
    def parts(self) -> "tuple[Task, ...]":
        """The needs in parts that nothing for sale can be of use to in common, but by the toll:
        listed colours that no blend is coupled with, all in one, then blends, the fewest first.
        """
        blends = len(self.blends)
        groups = coupled(self._of_use)
        listed = sorted(need for group in groups if group[0] >= blends for need in group)
        others = sorted((group for group in groups if group[0] < blends), key=len)
        groups = [*filter(None, [listed]), *others]
        return (self,) if len(groups) < 2 else tuple(map(self.part, groups))

    def part(self, places: Sequence[int]) -> "Task":
        """The same for some of the needs, in their order."""
        needs = [self.needs[place] for place in sorted(places)]
        some = Task.of(needs, self.sale, self.budget, self.clock, self.progress)
        return replace(some, known=None if self.known is None else self.known & some.things)

    @cached_property
    def things(self) -> Booleans:
        """What is for sale and can bring any of the needs as near as can be; with a budget, which
        may not suffice for that, anything.
        """
        if self.budget is not None:
            return np.ones(len(self.prices), dtype=np.bool_)
        useful = np.zeros(len(self.prices), dtype=np.bool_)
        useful[np.concatenate(self._of_use)] = True
        return useful

    @cached_property
    def _of_use(self) -> list[Integers]:
        """What for sale can be of use to each need."""
        return [self.bringing(of_use(need)) for need in self.needs]

    def bringing(self, offers: Integers) -> Integers:
        """What for sale brings any of the offers."""
        none = np.empty(0, dtype=np.intp)
        return np.concatenate([none, *(self.sale.givers[offer] for offer in offers.tolist())])

    @cached_property
    def counting(self) -> Formulation:
        """The programme for the aims that count; raises OutOfTime as `formulate` does."""
        return self._formulated(self.blends, Chains.MISSED)

    def dearer(self, most: float) -> Formulation:
        """The same for lists that cost so much at most; raises as it."""
        return self.counting if self.cheap is None else self.with_steps(self.cheap.within(most))

    def with_steps(self, parts: Sequence[RouteSteps]) -> Formulation:
        """The same with these steps of the routes of blends that miss a chain; raises as it."""
        places = [place for place, one in enumerate(self.blends) if not one.has_chain]
        keys = [(at, route) for at in places for route in range(len(self.blends[at].routes))]
        steps = dict(zip(keys, (part.steps for part in parts), strict=True))
        return self._formulated(self.blends, Chains.MISSED, steps)

    def fine(
        self, things: Booleans, known: Mapping[WantedBlend, Sequence[RouteSteps]]
    ) -> Formulation:
        """The programme for the aims beyond, with what is bought among `things`; raises as it.

        Of the routes of some blends the steps that such a purchase can have are `known`.
        """
        pencils = self.sale.there(things)
        steps = {
            (place, route): part.among(pencils).steps
            for place, blend in enumerate(self.blends)
            for route, part in enumerate(known.get(blend, ()))
        }
        blends = [one if one in known else one.among(pencils) for one in self.blends]
        return self._formulated(blends, Chains.ALL, steps)

    @cached_property
    def cheap(self) -> CheapChains | None:
        """What is proved of the chains that purchases bring, where no aim comes before the cost."""
        if (
            self.budget is not None
            or self.minds_cores
            or self.known is None
            or not self.missed
            or not self.serves(self.known)
        ):
            return None
        parts = [
            RouteSteps.of(number, route.missing, kept)
            for number, blend in enumerate(self.missed)
            for route, kept in zip(blend.near, blend.nearest_steps)
        ]
        rest = self._formulated(self.blends, Chains.NONE)
        return cheap_chains(parts, rest, self.sale, self.known, self.serves, self.clock.half())

    @property
    def minds_cores(self) -> bool:
        """Whether anything is wanted of a core first."""
        ranked = [*self.colours, *(end for one in self.blends for end in one.ends)]
        return any(one.second_best is not None for one in ranked)

    @property
    def missed(self) -> list[WantedBlend]:
        """The blends whose chain a purchase brings."""
        return [one for one in self.blends if not one.has_chain]

    def serves(self, bought: Booleans) -> bool:
        """Whether a purchase brings every need as near as can be."""
        least = math.fsum(one.need.weight * one.least_shortfall for one in self.needs)
        return self.shortfall(bought) <= least + TOLERANCE

    def held_by_all(self, bought: Booleans) -> bool:
        """Whether every purchase that brings each need as near as can be holds all of this one."""
        return self.budget is None and all_needed(self.needs, self.sale, bought)

    def _formulated(
        self,
        blends: Sequence[WantedBlend],
        chains: Chains,
        steps: Mapping[tuple[int, int], Booleans] | None = None,
    ) -> Formulation:
        return formulate(
            blends,
            self.colours,
            len(self.prices),
            self.sale.givers,
            may_stay_open=self.budget is not None,
            chains=chains,
            steps=steps,
            clock=self.clock,
        )

    def not_reached(self, name: str, value: float, bound: float = 0.0) -> Aim:
        """An aim whose programme could not be made: as long as there is time, it is too large."""
        return Aim(name, value, min(value, bound), proved=False, too_large=self.clock.left != 0.0)

    def shortfall(self, bought: Booleans) -> float:
        """What the needs have over their limits in sum, weighted."""
        there = self.sale.there(bought)
        blends = math.fsum(one.need.weight * one.shortfall(there) for one in self.blends)
        return blends + math.fsum(one.need.weight * one.shortfall(there) for one in self.colours)

    def cost(self, bought: Booleans) -> float:
        """What a purchase costs."""
        return math.fsum(self.prices[bought])

    def toll(self, bought: Booleans) -> float:
        """The toll of the blends in sum."""
        there = self.sale.there(bought)
        return math.fsum(blend.toll(there) for blend in self.blends)

    def merit(self, bought: Booleans) -> tuple[float, int, float, int]:
        """Shortfall, another core, cost and number of things: the less, the better."""
        shortfall, cores = round(self.shortfall(bought), 6), self.second_best(bought)
        return shortfall, cores, self.cost(bought), int(bought.sum())

    def second_best(self, bought: Booleans) -> int:
        """How many needs are met with another core although the same one would serve as well."""
        there = self.sale.there(bought)
        return sum(one.is_second_best(there) for one in self.needs)

    def beside_path(self, bought: Booleans) -> int:
        """How many blends leave their bent paths for their chords."""
        there = self.sale.there(bought)
        return sum(blend.beside_path(there) for blend in self.blends)

    def within_budget(self, made: Formulation) -> Programme:
        """The programme, with the budget if there is one."""
        programme, offers = made.programme.copy(), made.offers
        programme.close(offers[~programme.used(offers)])
        if self.budget is not None:
            programme.close(offers[self.prices > self.budget + TOLERANCE])
            programme.add_row(offers, self.prices, 0.0, self.budget + TOLERANCE)
        return programme

    def undercut(self, *, mind_toll: bool = False, held: Booleans | None = None) -> Integers:
        """The things that no best list holds, or none that lacks some of what was `held`."""
        may = self.budget is not None
        return undercut(
            self.blends, self.colours, self.sale, may_stay_open=may, mind_toll=mind_toll, held=held
        )

    def aims_counted(self, made: Formulation) -> list[tuple[str, Floats]]:
        """Shortfall (with a budget), another core, cost and number of pencils, as objectives."""
        cost = ("cost", made.objective(self.prices))
        count = ("pencils", made.objective(np.ones(len(self.prices))))
        counts = made.counts
        shortfall = [] if self.budget is None else [("shortfall", counts.shortfall)]
        cores = [("another core", counts.second_best)] if counts.second_best.any() else []
        return [*shortfall, *cores, cost, count]
