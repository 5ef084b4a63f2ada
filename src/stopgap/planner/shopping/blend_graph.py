"""A blend as a graph: the colours along the way between its ends and the steps between them.

Progress of a colour is its projection on the straight segment from start to end, 0 to 1, in a
uniform space that the caller gives; a step must make progress, and no colour may lie farther from
the segment than the width of the need.
"""

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from stopgap.arrays import Booleans, Floats, as_lab
from stopgap.blends.path import usual_corridor
from stopgap.difference import DifferenceFunction
from stopgap.planner.chains import ROUNDING, best_chain, excess, least_largest, least_sums
from stopgap.planner.materials import labs_of
from stopgap.planner.sameness import differences
from stopgap.planner.shopping.answer import Chain, Stop
from stopgap.planner.shopping.needs import BlendNeed
from stopgap.planner.shopping.supply import Supply, available
from stopgap.swatches import FreeColour, LaidStack, Target

Space = Callable[[Floats], Floats]
"""From CIE L*a*b* to coordinates in which the way is straight, (n, 3) -> (n, 3)."""


@dataclass(frozen=True, slots=True)
class Passage:
    """The stops of a blend in order of progress, start and end among them.

    `missing[i]` are the numbers of the offers that stop i takes; None at an end that can be neither
    had nor bought. `steps` is as in `chains`.
    """

    need: BlendNeed
    stops: tuple[Stop, ...]
    missing: tuple[tuple[int, ...] | None, ...]
    steps: Floats

    @property
    def reachable_ends(self) -> bool:
        """Whether both ends are owned, for sale, or places without a pencil."""
        return self.missing[0] is not None and self.missing[-1] is not None

    def available(self, bought: Booleans) -> Booleans:
        """Which stops are there once the offers marked in `bought` are."""
        return available([() if offers is None else offers for offers in self.missing], bought)

    def shortfall(self, bought: Booleans) -> float:
        """What the best chain has over the limit in sum; the whole way where an end is missing."""
        there = self.available(bought)
        if not (self.reachable_ends and there[0] and there[-1]):
            return self.without_end
        usable = there[:, np.newaxis] & there
        over = np.where(usable, excess(self.steps, self.need.step), np.inf)
        return float(least_sums(over)[1][0])

    def smallest_largest_step(self, bought: Booleans) -> float:
        """The smallest largest step of any chain, whatever its sum over the limit."""
        there = self.available(bought)
        return least_largest(np.where(there[:, np.newaxis] & there, self.steps, np.inf))

    def inside_gaps(self, bought: Booleans) -> Floats:
        """Points in Lab that divide each gap of the best chain into steps within the limit."""
        chain = self.chain(bought)
        points = [np.empty((0, 3))]
        for place in chain.gaps:
            first, last = np.array([stop.lab for stop in chain.stops[place : place + 2]])
            inner = int(np.ceil(chain.steps[place] / chain.limit)) - 1
            share = np.arange(1, inner + 1)[:, np.newaxis] / (inner + 1)
            points.append(first + share * (last - first))
        return np.concatenate(points)

    @property
    def without_end(self) -> float:
        """What the blend counts as long as an end is missing: the whole way in one step."""
        return float(self.steps[0, -1])

    def chain(self, bought: Booleans) -> Chain:
        """The chain to lay once the offers marked in `bought` are there, of few recipes."""
        return self._chain(bought, self._recipes())

    def smoothest(self, bought: Booleans) -> Chain:
        """The chain of smallest largest step, however many recipes it takes."""
        return self._chain(bought, None)

    def _recipes(self) -> Floats:
        ways = (stop.way for stop in self.stops)
        return np.array([float(way is not None and way.recipe) for way in ways])

    def _chain(self, bought: Booleans, burden: Floats | None) -> Chain:
        there = self.available(bought)
        places = best_chain(self.steps, self.need.step, there, burden)
        stops = [self.stops[place] for place in places]
        start_there, end_there = (
            self.missing[end] is not None and bool(there[end]) for end in (0, -1)
        )
        steps = tuple(float(self.steps[i, j]) for i, j in pairwise(places))
        return Chain(tuple(stops), steps, self.need.step, start_there, end_there)


def passage_of(
    need: BlendNeed, supply: Supply, metric: str | DifferenceFunction, space: Space
) -> Passage:
    """The graph of a blend over everything that the supply can lay."""
    progress, stray, length = _along(need, labs_of(supply.ways), space)
    width = usual_corridor(length) if need.width is None else need.width
    inside = (progress > ROUNDING) & (progress < 1.0 - ROUNDING) & (stray <= width)
    places = np.flatnonzero(inside)
    places = places[np.argsort(progress[places], kind="stable")]
    ways = [supply.ways[place] for place in places]
    inner = [Stop(way.label, way.lab, way) for way in ways]
    stops = (_stop(need.start), *inner, _stop(need.end))
    missing = (
        _missing_end(need.start, supply),
        *(supply.missing[place] for place in places),
        _missing_end(need.end, supply),
    )
    labs = np.array([stop.lab for stop in stops], dtype=np.float64)
    at = np.concatenate([[0.0], progress[places], [1.0]])
    forward = at - at[:, np.newaxis] > ROUNDING
    steps = np.where(forward, differences(labs, labs, metric), np.inf)
    return Passage(need, stops, missing, steps)


def _along(need: BlendNeed, labs: Floats, space: Space) -> tuple[Floats, Floats, float]:
    """Progress of each colour, its distance from the straight segment, and the segment's length."""
    ends = np.array([need.start.lab, need.end.lab], dtype=np.float64)
    points = as_lab(space(np.concatenate([ends, labs])), "space: the coordinates it returns")
    start, end, rest = points[0], points[1], points[2:]
    way = end - start
    progress = (rest - start) @ way / (way @ way)
    stray = np.linalg.norm(rest - start - progress[:, np.newaxis] * way, axis=1)
    return progress, stray, float(np.linalg.norm(way))


def _stop(end: Target) -> Stop:
    if isinstance(end, FreeColour):
        return Stop(end.label, end.lab, None)
    return Stop(end.address, end.lab, LaidStack.of(end))


def _missing_end(end: Target, supply: Supply) -> tuple[int, ...] | None:
    return () if isinstance(end, FreeColour) else supply.missing_for(LaidStack.of(end))
