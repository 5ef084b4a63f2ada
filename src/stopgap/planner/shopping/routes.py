"""What could be laid along one path of a blend, and the steps among it."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers
from stopgap.blends.graph import ROUNDING, Graph
from stopgap.difference.formulas.ciede2000 import delta_E_ciede2000
from stopgap.neighbours.within import pairs_perhaps_within
from stopgap.planner.shopping.question import available
from stopgap.planner.shopping.steps import on_chains, on_the_way
from stopgap.planner.solver import Clock

_FEW = 200  # nodes: pairs of so few are not worth ruling out
_AT_ONCE = 1024  # steps worked out together, unless those from one node are more


@dataclass(frozen=True, eq=False)
class Route:
    """All that could be laid along one path of a blend; `missing[i]` is what node i takes, or -1.

    Ends and stops take nothing here, being the same on every path: see `WantedBlend.ends`.
    """

    graph: Graph
    missing: Integers

    def shortfall(self, clock: Clock) -> Floats:
        """What a chain falls short by its step from node i to j and by j itself, (n, n), infinite
        where there is no such step; raises OutOfTime where there is no time left for it.
        """
        first, which = self.graph.once()
        graph = self.graph.among(first)
        table = np.full((len(graph),) * 2, np.inf)
        for start, end in _some_rows(len(table), clock):
            i, j = np.arange(start, end)[:, np.newaxis], np.arange(start + 1, len(table))
            table[i, j] = graph.shortfalls(i, j)[0] + graph.tube[j]
        return table if first.all() else table[np.ix_(which, which)]

    def steps_within(self, most: float, clock: Clock) -> Booleans:
        """Which steps (n, n) lie on chains that fall short by no more than that; as `shortfall`.

        Where that is less than any gap is, no more is asked than which steps are none.
        """
        graph = self.graph
        asked = most >= graph.gap_counts or graph.tube.any() or len(graph) <= _FEW
        if asked or graph.difference != delta_E_ciede2000:
            return on_chains(self.shortfall(clock), most)
        first, which = graph.once()
        graph = graph.among(first)
        table = np.zeros((len(graph),) * 2, dtype=np.bool_)
        for i, j in pairs_perhaps_within(graph.lab, graph.limit + ROUNDING):
            clock.check()
            table[i, j] = graph.shortfalls(i, j)[0] == 0.0
        table = on_the_way(table)
        return table if first.all() else table[np.ix_(which, which)]

    def toll(self, clock: Clock) -> Floats:
        """Toll of the step from node i to j, (n, n); as `shortfall`."""
        table = np.full((len(self.graph),) * 2, np.inf)
        for start, end in _some_rows(len(table), clock):
            table[start:end, start + 1 :] = self.graph.from_nodes(start, end)[1]
        return table

    @cached_property
    def free(self) -> Booleans:
        """Which nodes are there without a purchase."""
        return np.asarray((self.missing < 0).all(axis=1), dtype=np.bool_)

    def available(self, bought: Booleans) -> Booleans:
        """Which nodes are there once the offers marked in `bought` are."""
        return available(self.missing, bought)

    def among(self, offers: Booleans) -> "Route":
        """The same with what can be laid where nothing is bought but `offers`."""
        return self.part(self.available(offers))

    def near(self, most: float) -> "Route":
        """The same with what a chain may hold that falls short by no more than that."""
        return self.part(self.graph.tube <= most)

    def part(self, there: Booleans) -> "Route":
        """The same with some of its nodes."""
        return Route(self.graph.among(there), self.missing[there | self.graph.must])


def _some_rows(count: int, clock: Clock) -> Iterator[tuple[int, int]]:
    """The nodes whose steps are worked out together, from one to before another, and so on to the
    last; the time is looked at before each.
    """
    last, start = count - 1, 0
    while start < last:
        clock.check()
        end = min(start + max(_AT_ONCE // (last - start), 1), last)
        yield start, end
        start = end
