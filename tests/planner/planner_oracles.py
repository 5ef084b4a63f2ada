"""Slow, obvious twins of the planner: everything is enumerated."""

import itertools
import math

import networkx as nx
import numpy as np

from stopgap.difference import delta_E
from stopgap.planner.shopping.needs import BlendNeed
from stopgap.swatches import FreeColour, LaidStack, Swatch


def swatch(code, lab, *, range_="A", **fields):
    return Swatch(range_, code, tuple(float(value) for value in lab), **fields)


def as_is(lab):
    """The space in which ways are straight here: Lab itself."""
    return lab


def random_lab(rng):
    return tuple(float(value) for value in rng.uniform([20, -40, -40], [95, 40, 40]))


def least_assignment(cost, without):
    """Least total of a table (n, m), each column used once, a row left out at its `without`.

    Dynamic programming over the sets of used columns: every set is looked at.
    """
    n_columns = len(cost[0])
    masks = np.arange(2**n_columns)
    best = np.full(2**n_columns, np.inf)
    best[0] = 0.0
    for row, left_out in zip(cost, without):
        after = best + left_out
        for column, value in enumerate(row):
            unused = (masks >> column) & 1 == 0
            target = masks[unused] | (1 << column)
            after[target] = np.minimum(after[target], best[unused] + value)
        best = after
    return float(best.min())


def least_ordered(cost, without, lightness, before, *, distinct):
    """As `least_assignment`, where g before h must come out lighter: every answer is tried."""
    n_rows, n_columns = len(cost), len(cost[0])
    best = math.inf

    def place(row, total, given):
        nonlocal best
        if total >= best:
            return
        if row == n_rows:
            best = total
            return
        for column in range(n_columns):
            if distinct and column in given:
                continue
            if all(
                other < 0
                or (
                    (not before[row][k] or lightness[column] > lightness[other])
                    and (not before[k][row] or lightness[other] > lightness[column])
                )
                for k, other in enumerate(given)
            ):
                place(row + 1, total + cost[row][column], [*given, column])
        place(row + 1, total + without[row], [*given, -1])

    place(0, 0.0, [])
    return best


def blend_graph(need, ways, metric="CIE 2000"):
    """The passage of a blend through `ways` as a networkx graph, edges with `step`, `over`."""
    start, end = np.array(need.start.lab), np.array(need.end.lab)
    length = np.linalg.norm(end - start)
    unit = (end - start) / length
    progress = {"start": 0.0, "end": 1.0}
    lab = {"start": start, "end": end}
    for number, way in enumerate(ways):
        point = np.array(way.lab)
        along = float((point - start) @ unit)
        stray = math.sqrt(max(0.0, float((point - start) @ (point - start)) - along**2))
        if 0.0 < along / length < 1.0 and stray <= need.width:
            progress[number], lab[number] = along / length, point
    graph = nx.DiGraph()
    graph.add_nodes_from(progress)
    for u, v in itertools.permutations(progress, 2):
        if progress[v] > progress[u] + 1e-9:
            step = float(delta_E(lab[u], lab[v], metric))
            graph.add_edge(u, v, step=step, over=max(0.0, step - need.step))
    return graph


def blend_shortfall(graph, there):
    """Least sum over the limit through the ways numbered in `there`, by Dijkstra."""
    part = graph.subgraph([n for n in graph if n in ("start", "end") or n in there])
    return nx.dijkstra_path_length(part, "start", "end", weight="over")


def blend_largest(graph, there):
    """Smallest largest step of the chains of least sum over the limit."""
    least = blend_shortfall(graph, there)
    for limit in sorted({step for _, _, step in graph.edges(data="step")}):
        part = nx.DiGraph()
        part.add_nodes_from(["start", "end"])
        part.add_edges_from(
            (u, v, data)
            for u, v, data in graph.edges(data=True)
            if data["step"] <= limit and all(n in ("start", "end") or n in there for n in (u, v))
        )
        if nx.has_path(part, "start", "end") and (
            nx.dijkstra_path_length(part, "start", "end", weight="over") <= least + 1e-9
        ):
            return limit
    raise AssertionError("the ends of a blend are always joined")


class Shop:
    """A shopping question answered by looking at every purchase.

    Purchases are the numbers 0 to 2^m - 1, bit i for offer i; arrays hold a value for each of them.
    """

    def __init__(self, needs, owned, offers, ways=()):
        """`offers` have a price each; `ways` are recipes, pencils laid alone are added."""
        self.needs, self.offers = needs, offers
        self.owned = {pencil.address for pencil in owned}
        self.ways = [*map(LaidStack.of, owned), *map(LaidStack.of, offers), *ways]
        self.number = {pencil.address: place for place, pencil in enumerate(offers)}
        self.purchases = np.arange(2 ** len(offers))
        self.cost = sum(
            (((self.purchases >> i) & 1) * pencil.price for i, pencil in enumerate(offers)),
            np.zeros(len(self.purchases)),
        )
        self.count = np.array([int(purchase).bit_count() for purchase in self.purchases])
        self.there = [self._there(way.addresses) for way in self.ways]
        self.graphs = [
            blend_graph(need, self.ways) if isinstance(need, BlendNeed) else None for need in needs
        ]
        self.shortfalls = [
            self._colour(need) if graph is None else self._blend(need, graph)
            for need, graph in zip(needs, self.graphs)
        ]
        self.asked = [
            place for place, short in enumerate(self.shortfalls) if short[0] > 0 and short[-1] == 0
        ]

    def _there(self, addresses):
        """For each purchase, whether all these pencils are there."""
        there = np.ones(len(self.purchases), dtype=bool)
        for address in addresses - self.owned:
            there &= ((self.purchases >> self.number[address]) & 1) == 1
        return there

    def _colour(self, need):
        nearest = np.full(len(self.purchases), np.inf)
        for way, there in zip(self.ways, self.there):
            apart = float(delta_E(need.target.lab, way.lab))
            nearest = np.where(there, np.minimum(nearest, apart), nearest)
        return np.where(np.isinf(nearest), 100.0, np.maximum(nearest - need.tolerance, 0.0))

    def _blend(self, need, graph):
        over = {node: np.full(len(self.purchases), np.inf) for node in graph}
        over["start"] = np.zeros(len(self.purchases))
        for node in nx.topological_sort(graph):
            for before in graph.predecessors(node):
                through = over[before] + graph.edges[before, node]["over"]
                over[node] = np.minimum(over[node], through)
            if node not in ("start", "end"):
                over[node] = np.where(self.there[node], over[node], np.inf)
        ends = np.ones(len(self.purchases), dtype=bool)
        for end in (need.start, need.end):
            if not isinstance(end, FreeColour):
                known = end.address in self.owned or end.address in self.number
                ends &= self._there(frozenset({end.address})) if known else False
        return np.where(ends, over["end"], float(delta_E(need.start.lab, need.end.lab)))

    def best(self, budget=None, *, partial=False):
        """(shortfall, cost, number, largest step) of the best purchase, in that order."""
        if partial:
            self.asked = [
                place for place, short in enumerate(self.shortfalls) if short[0] > short[-1]
            ]
        short = sum(
            (self.needs[place].weight * self.shortfalls[place] for place in self.asked),
            np.zeros(len(self.purchases)),
        )
        left = np.isfinite(short) if budget is None else self.cost <= budget + 1e-9
        if budget is None and not partial:
            assert short[-1] == 0
        for values in (short, self.cost, self.count):
            left &= values <= values[left].min() + 1e-7
        largest = min(self.largest(purchase) for purchase in np.flatnonzero(left))
        first = np.flatnonzero(left)[0]
        return float(short[first]), float(self.cost[first]), int(self.count[first]), largest

    def largest(self, purchase):
        """The largest step of the blends that were asked for and whose ends are there."""
        there = {place for place, way in enumerate(self.there) if way[purchase]}
        steps = [0.0]
        for place in self.asked:
            need, graph = self.needs[place], self.graphs[place]
            if graph is None:
                continue
            ends = [end.address for end in (need.start, need.end) if isinstance(end, Swatch)]
            if all(self._there(frozenset({address}))[purchase] for address in ends):
                steps.append(blend_largest(graph, there))
        return max(steps)
