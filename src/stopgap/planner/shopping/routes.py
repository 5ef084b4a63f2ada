"""What could be laid along one path of a blend, and the steps among it."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers
from stopgap.blends.graph import Graph
from stopgap.planner.shopping.question import available
from stopgap.planner.solver import Clock


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
        for i in range(len(table) - 1):
            clock.check()
            table[i, i + 1 :] = graph.shortfalls_from(i) + graph.tube[i + 1 :]
        return table if first.all() else table[np.ix_(which, which)]

    def toll(self, clock: Clock) -> Floats:
        """Toll of the step from node i to j, (n, n); as `shortfall`."""
        table = np.full((len(self.graph),) * 2, np.inf)
        for i in range(len(table) - 1):
            clock.check()
            table[i, i + 1 :] = self.graph.from_node(i)[1]
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
