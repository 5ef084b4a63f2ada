"""What could be laid along one path of a blend, and the steps among it, worked out once."""

from dataclasses import dataclass, fields, replace
from functools import cached_property
from typing import Self

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers
from stopgap.blends.graph import Graph
from stopgap.planner.shopping.question import available
from stopgap.planner.solver import Clock


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Tabulated(Graph):
    """A graph that is asked many times, whose steps are therefore all worked out beforehand.

    `shortfall` and `toll` (n, n) are those of the step from node i to j, infinite where there is
    none.
    """

    shortfall: Floats
    toll: Floats

    @classmethod
    def of(cls, graph: Graph, clock: Clock) -> "Tabulated":
        """The same graph, with its steps; raises OutOfTime where there is none left for them."""
        n = len(graph)
        shortfall, toll = np.full((n, n), np.inf), np.full((n, n), np.inf)
        for i in range(n - 1):
            clock.check()
            shortfall[i, i + 1 :], toll[i, i + 1 :] = graph.from_node(i)
        of_graph = {each.name: getattr(graph, each.name) for each in fields(graph)}
        return cls(**of_graph, shortfall=shortfall, toll=toll)

    def from_nodes(self, first: int, end: int) -> tuple[Floats, Floats]:
        """As of any graph."""
        return self.shortfall[first:end, first + 1 :], self.toll[first:end, first + 1 :]

    def among(self, available: Booleans) -> Self:
        """As of any graph."""
        there = np.flatnonzero(available | self.must)
        table = np.ix_(there, there)
        fewer = Graph.among(self, available)
        return replace(fewer, shortfall=self.shortfall[table], toll=self.toll[table])


@dataclass(frozen=True, eq=False)
class Route:
    """All that could be laid along one path of a blend; `missing[i]` is what node i takes, or -1.

    Ends and stops take nothing here, being the same on every path: see `WantedBlend.ends`.
    """

    graph: Graph
    missing: Integers
    clock: Clock

    @cached_property
    def steps(self) -> Tabulated:
        """The graph with its steps; raises OutOfTime where there is none left for them."""
        graph = self.graph
        return graph if isinstance(graph, Tabulated) else Tabulated.of(graph, self.clock)

    @property
    def shortfall(self) -> Floats:
        """What a chain falls short by its step from node i to j and by j itself, (n, n)."""
        return self.steps.shortfall + self.graph.tube

    @property
    def toll(self) -> Floats:
        """Toll of the step from node i to j, (n, n)."""
        return self.steps.toll

    @cached_property
    def free(self) -> Booleans:
        """Which nodes are there without a purchase."""
        return np.asarray((self.missing < 0).all(axis=1), dtype=np.bool_)

    def available(self, bought: Booleans) -> Booleans:
        """Which nodes are there once the offers marked in `bought` are."""
        return available(self.missing, bought)

    def among(self, offers: Booleans) -> "Route":
        """The same with what can be laid where nothing is bought but `offers`."""
        return self._nodes(self.graph, self.available(offers))

    def near(self, most: float) -> "Route":
        """The same with what a chain may hold that falls short by no more than that."""
        return self._nodes(self.graph, self.graph.tube <= most)

    def part(self, there: Booleans) -> "Route":
        """The same, its steps worked out, with some of its nodes."""
        return self._nodes(self.steps, there)

    def _nodes(self, graph: Graph, there: Booleans) -> "Route":
        return Route(graph.among(there), self.missing[there | graph.must], self.clock)
