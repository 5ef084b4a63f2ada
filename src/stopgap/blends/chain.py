"""The best chain of colours along a path: least shortfall, then least toll, then by address.

The steps of a graph only lead forward, so that one sweep over its nodes finds the lexicographic
optimum (R. Bellman (1958), "On a routing problem", Quarterly of Applied Mathematics 16(1), 87-90).
Steps are worked out a row at a time and forgotten: memory grows with the number of colours, not
with its square. What lies further off the path than the best chain so far falls short cannot be on
the best one, so where there are many the sweep begins with what lies next to the path and takes in
more only as needed.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers
from stopgap.blends.graph import ROUNDING, Graph

_MANY = 512  # steps from one node: of more, those alone that may better a chain are worked out
_TOGETHER = 4096  # of fewer, so many with those of the next nodes
_HAIR = 1e-6  # many times what rounding makes of the shortfall of a chain
_FEW = 128  # nodes, of which one sweep over all costs less than two over some


@dataclass(frozen=True, slots=True)
class Chain:
    """Nodes of a graph from its first to its last, what they fall short, and their toll.

    Where no chain leads there, it has no nodes, and both are infinite.
    """

    nodes: tuple[int, ...]
    shortfall: float
    toll: float


def _on_and_on() -> None:
    """Nobody waits."""


def best_chain(
    graph: Graph,
    *,
    available: Booleans | None = None,
    max_pencils: int | None = None,
    at_most: float = np.inf,
    tick: Callable[[], None] = _on_and_on,
) -> Chain:
    """The chain of least (shortfall, toll, addresses) from the first node to the last.

    Of two chains equal in both, the one is taken that has the first address in which they differ.

    Parameters
    ----------
    available
        Which nodes there are, (n,); the stops always are.
    max_pencils
        No more nodes than that beside the stops.
    at_most
        A chain that falls short by more is of no use, and perhaps not found.
    tick
        Called before the steps of each node; what it raises ends the search.
    """
    there = graph.must | (True if available is None else available)
    there[there] = graph.among(there).once()[0]
    off = 2.0 * _HAIR if np.count_nonzero(there) > _FEW else np.inf
    while True:
        near = there & (graph.must | (graph.tube <= off))
        part = graph if near.all() else graph.among(near)
        chain = chain_over_all(part, max_pencils, at_most, tick)
        at_most = min(at_most, chain.shortfall + _HAIR)
        if at_most <= off or not (there & ~near).any():
            return replace(chain, nodes=tuple(np.flatnonzero(near)[list(chain.nodes)].tolist()))
        off = min(max(graph.limit, 2.0 * off), at_most)


def chain_over_all(
    graph: Graph,
    max_pencils: int | None = None,
    at_most: float = np.inf,
    tick: Callable[[], None] = _on_and_on,
) -> Chain:
    """The best chain of all nodes of a graph, where one falls short by no more than `at_most`."""
    sweep = _Sweep(graph, max_pencils, at_most)
    for i in range(len(graph) - 1):
        tick()
        sweep.leave(i)
    return sweep.best()


def best_of(
    graphs: Sequence[Graph],
    *,
    availables: Sequence[Booleans] | None = None,
    max_pencils: int | None = None,
    tick: Callable[[], None] = _on_and_on,
) -> tuple[int, Chain]:
    """Which of `graphs` has the best chain, and the chain: a later one only if it falls short less.

    A blend whose path is bent is asked along the path and, where that leaves a shortfall, along the
    chord: give both graphs in this order.
    """
    best: tuple[int, Chain] | None = None
    for place, graph in enumerate(graphs):
        if best is not None and best[1].shortfall <= ROUNDING:
            break
        available = None if availables is None else availables[place]
        most = np.inf if best is None else best[1].shortfall
        chain = best_chain(
            graph, available=available, max_pencils=max_pencils, at_most=most, tick=tick
        )
        if best is None or chain.shortfall < best[1].shortfall - ROUNDING:
            best = (place, chain)
    if best is None:
        raise ValueError("graphs: there is none.")
    return best


class _Sweep:
    """The best chains so far to each node, by how many nodes that are no stops they have.

    Without a limit on these there is one layer, which holds the best whatever their number.
    """

    def __init__(self, graph: Graph, max_pencils: int | None, at_most: float) -> None:
        n = len(graph)
        layers = 1 if max_pencils is None else min(max_pencils, int((~graph.must).sum())) + 1
        self.graph, self.at_most = graph, at_most
        self.shift = 0 if layers == 1 and max_pencils is None else 1
        self.up = np.where(graph.must, 0, self.shift)  # layers that a step to each node goes up
        self.shortfall, self.toll = np.full((layers, n), np.inf), np.full((layers, n), np.inf)
        self.shortfall[0, 0] = self.toll[0, 0] = 0.0
        self.parent = np.full((layers, n), -1)
        self._first = self._end = 0  # of the nodes whose steps are worked out already
        self._steps = (self.shortfall[:0], self.toll[:0])

    def leave(self, i: int) -> None:
        """Take every step from node i, to which all steps were taken before."""
        layers = [
            layer for layer in range(len(self.parent)) if self._may_lead_to_the_best(layer, i)
        ]
        if not layers:
            return
        j, shortfall, toll = self._steps_from(i, layers)
        shortfall = shortfall + self.graph.tube[j]
        there = np.isfinite(shortfall)
        j, shortfall, toll = j[there], shortfall[there], toll[there]
        for layer in layers:
            at = layer + self.up[j]
            fits = slice(None) if layer + self.shift < len(self.parent) else at < len(self.parent)
            self._offer(
                layer,
                i,
                at[fits],
                j[fits],
                self.shortfall[layer, i] + shortfall[fits],
                self.toll[layer, i] + toll[fits],
            )

    def _steps_from(self, i: int, layers: Sequence[int]) -> tuple[Integers, Floats, Floats]:
        """The nodes that steps from node i lead to, their shortfall and toll: where these are few,
        worked out with those of the next few nodes, else those alone that may better a chain.
        """
        last = len(self.graph) - 1
        if last - i > _MANY and i >= self._end:
            j = np.arange(i + 1, last + 1)
            j = j[self._may_better(i, j, layers)]
            shortfall, apart = self.graph.shortfalls(i, j)
            may = self._may_better(i, j, layers, shortfall)
            return j[may], shortfall[may], self.graph.tolls(i, j[may], apart[may])
        if i >= self._end:
            self._first, self._end = i, min(i + _TOGETHER // (last - i), last)
            self._steps = self.graph.from_nodes(self._first, self._end)
        row = i - self._first
        shortfall, toll = (each[row, row:] for each in self._steps)
        return np.arange(i + 1, last + 1), shortfall, toll

    def _may_better(
        self, i: int, j: Integers, layers: Sequence[int], shortfall: float | Floats = 0.0
    ) -> Booleans:
        """Which steps from i to j, that fall short at least so much, may be in a chain to j that is
        no worse than the best so far: none has less toll than what j counts by itself.
        """
        may = np.zeros(len(j), dtype=np.bool_)
        for layer in layers:
            at = np.minimum(layer + self.up[j], len(self.parent) - 1), j
            short = self.shortfall[layer, i] + (shortfall + self.graph.tube[j])
            known = self.shortfall[at]
            cheaper = self.toll[layer, i] + self.graph.weight[j] <= self.toll[at] + 2.0 * ROUNDING
            may |= (short < known - ROUNDING / 2.0) | (cheaper & (short <= known + 2.0 * ROUNDING))
        return may

    def best(self) -> Chain:
        """The best chain to the last node."""
        layer = 0
        for other in range(1, len(self.parent)):
            if self._better(other, layer):
                layer = other
        if not np.isfinite(self.shortfall[layer, -1]):
            return Chain((), np.inf, np.inf)
        nodes = self._nodes(layer, len(self.graph) - 1)
        shortfall, toll = self.shortfall[layer, -1], self.toll[layer, -1]
        return Chain(tuple(nodes), float(shortfall), float(toll))

    def _may_lead_to_the_best(self, layer: int, i: int) -> bool:
        """No step costs less than nothing: what is worse than a chain to the end is of no use."""
        here = self.shortfall[layer, i], self.toll[layer, i]
        best = self.shortfall[layer, -1], self.toll[layer, -1]
        if not np.isfinite(here[0]) or here[0] > min(best[0] + ROUNDING, self.at_most):
            return False
        return bool(here[0] < best[0] - ROUNDING or here[1] <= best[1] + ROUNDING)

    def _offer(
        self, layer: int, i: int, at: Integers, j: Integers, shortfall: Floats, toll: Floats
    ) -> None:
        """Chains by way of node i to nodes j, each in layer `at`."""
        less = shortfall - self.shortfall[at, j]
        cheaper = toll - self.toll[at, j]
        equal = np.abs(less) <= ROUNDING
        better = (less < -ROUNDING) | (equal & (cheaper < -ROUNDING))
        for place in np.flatnonzero(equal & (np.abs(cheaper) <= ROUNDING)).tolist():
            known = self._nodes(int(at[place]), int(j[place]))
            better[place] = self._first_in([*self._nodes(layer, i), int(j[place])], known)
        rows, columns = at[better], j[better]
        self.shortfall[rows, columns] = shortfall[better]
        self.toll[rows, columns] = toll[better]
        self.parent[rows, columns] = i

    def _better(self, layer: int, other: int) -> bool:
        """Whether the chain to the end in one layer is better than that in another."""
        if not np.isfinite(self.shortfall[layer, -1]):
            return False
        less = self.shortfall[layer, -1] - self.shortfall[other, -1]
        if not abs(less) <= ROUNDING:
            return bool(less < 0.0)
        cheaper = self.toll[layer, -1] - self.toll[other, -1]
        if not abs(cheaper) <= ROUNDING:
            return bool(cheaper < 0.0)
        last = len(self.graph) - 1
        return self._first_in(self._nodes(layer, last), self._nodes(other, last))

    def _first_in(self, one: Sequence[int], other: Sequence[int]) -> bool:
        """Whether the first address in which they differ is in `one`."""
        ranks = {int(self.graph.rank[node]) for node in one}
        apart = ranks ^ {int(self.graph.rank[node]) for node in other}
        return bool(apart) and min(apart) in ranks

    def _nodes(self, layer: int, node: int) -> list[int]:
        """The chain to a node."""
        nodes = [node]
        while node != 0:
            parent = int(self.parent[layer, node])
            layer -= 0 if self.graph.must[node] else self.shift
            node = parent
            nodes.append(node)
        return nodes[::-1]
