"""Slow, obvious twins of the planner: everything is enumerated."""

import itertools
import math

import networkx as nx
import numpy as np

from stopgap.difference import delta_E
from stopgap.planner.needs import BlendNeed
from stopgap.swatches import FreeColour, Swatch


def swatch(code, lab, *, range_="A", **fields):
    return Swatch(range_, code, tuple(float(value) for value in lab), **fields)


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
                or (not before[row][k] or lightness[column] > lightness[other])
                and (not before[k][row] or lightness[other] > lightness[column])
                for k, other in enumerate(given)
            ):
                place(row + 1, total + cost[row][column], [*given, column])
        place(row + 1, total + without[row], [*given, -1])

    place(0, 0.0, [])
    return best


def subsets(items):
    return itertools.chain.from_iterable(
        itertools.combinations(items, size) for size in range(len(items) + 1)
    )


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
    """A shopping question by enumeration of every purchase."""

    def __init__(self, needs, owned, offers, ways):
        """`ways` are all ways, single pencils included; `offers` have a price each."""
        self.needs, self.offers, self.ways = needs, offers, ways
        self.owned = {pencil.address for pencil in owned}
        self.graphs = [
            blend_graph(need, ways) if isinstance(need, BlendNeed) else None for need in needs
        ]

    def shortfall(self, need, graph, bought):
        have = self.owned | {pencil.address for pencil in bought}
        there = {n for n, way in enumerate(self.ways) if way.addresses <= have}
        if graph is None:
            near = [float(delta_E(need.target.lab, self.ways[n].lab)) for n in there]
            return max(0.0, min(near) - need.tolerance) if near else 100.0
        for end in (need.start, need.end):
            if not isinstance(end, FreeColour) and end.address not in have:
                return float(delta_E(need.start.lab, need.end.lab))
        return blend_shortfall(graph, there)

    def largest(self, need, graph, bought):
        have = self.owned | {pencil.address for pencil in bought}
        there = {n for n, way in enumerate(self.ways) if way.addresses <= have}
        return blend_largest(graph, there)

    def open_and_closable(self):
        return [
            (need, graph)
            for need, graph in zip(self.needs, self.graphs)
            if self.shortfall(need, graph, ()) > 0 and self.shortfall(need, graph, self.offers) == 0
        ]

    def best(self, budget=None):
        """(shortfall, cost, number, largest step) of the best purchase, in that order."""
        asked = self.open_and_closable()
        ranked = []
        for bought in subsets(self.offers):
            cost = math.fsum(pencil.price for pencil in bought)
            if budget is not None and cost > budget + 1e-9:
                continue
            short = sum(need.weight * self.shortfall(need, graph, bought) for need, graph in asked)
            if budget is None and short > 0:
                continue
            ranked.append((round(short, 7), round(cost, 7), len(bought), bought))
        least = min(entry[:3] for entry in ranked)
        blends = [(need, graph) for need, graph in asked if graph is not None]
        largest = min(
            max((self.largest(need, graph, bought) for need, graph in blends), default=0.0)
            for *values, bought in ranked
            if tuple(values) == least
        )
        return (*least, largest)
