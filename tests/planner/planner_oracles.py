"""Slow, obvious twins of the planner: everything is enumerated."""

import itertools
import math

import networkx as nx
import numpy as np

from stopgap.blends.path import path_through
from stopgap.colorimetry.cam16 import lab_to_cam16_ucs
from stopgap.difference import delta_E
from stopgap.planner.shopping.question import BlendNeed, ColourNeed
from stopgap.swatches import FreeColour, LaidStack, Swatch

ANY_END = 100.0
"""A tolerance with which every pencil reaches the ends of a blend, so that only its steps count."""


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


def blend_graphs(need, laid):
    """A blend through `laid` along its path and, where that is bent, its chord, as networkx graphs.

    Nodes are "start", "stop 1" and so on, "end" and numbers of `laid`; each step has its `over`,
    which is its shortfall and that of its later node, its `toll`, and whether it is a `gap`. Where
    a path runs is asked of `blends.path`, which is tested by itself; all else is worked out here,
    one step at a time.
    """
    labs = [each.lab for each in need.fixed]
    path = path_through(labs, need.path, by_lightness=need.by_lightness)
    ends = {each.address for each in need.fixed if isinstance(each, Swatch)}
    there = {k: one for k, one in enumerate(laid) if one.recipe or not one.addresses & ends}
    return [_graph(need, each, there) for each in ([path, path.chord()] if path.bent else [path])]


def _graph(need, path, laid):
    progress, tube, lab = {"start": 0.0, "end": 1.0}, {"start": 0.0, "end": 0.0}, {}
    lab["start"], lab["end"] = need.start.lab, need.end.lab
    corners = path.corner_shares.tolist()
    for k, stop in enumerate(need.stops, 1):
        if isinstance(stop, Swatch):
            progress[f"stop {k}"], tube[f"stop {k}"], lab[f"stop {k}"] = corners[k], 0.0, stop.lab
    must = [progress[node] for node in progress]
    if laid:
        located = path.locate([one.lab for one in laid.values()])
        usual = np.inf if need.by_lightness else path.usual_corridor
        width = usual if need.width is None else need.width
        for number, along, apart in zip(laid, located.progress, located.distance):
            if 1e-6 < along < 1.0 - 1e-6 and apart <= width:
                progress[number], lab[number] = float(along), laid[number].lab
                tube[number] = max(0.0, float(apart) - need.step)
    u = {node: lab_to_cam16_ucs(lab[node]) for node in progress}
    c = dict.fromkeys(progress, (need.step / 2) ** 2)
    c.update({node: 6 * c[node] for node in c if node in laid and laid[node].recipe})
    c.update({node: 0.0 for node in c if node not in laid})
    rises = np.diff([lab_to_cam16_ucs(each.lab)[0] for each in need.fixed])
    rises = np.where(np.abs(rises) > 1, np.sign(rises), 0)
    departing = {i: rises[sum(share <= progress[i] for share in corners[1:-1])] for i in progress}
    arriving = {j: rises[sum(share < progress[j] for share in corners[1:-1])] for j in progress}
    graph = nx.DiGraph()
    graph.add_nodes_from(sorted(progress, key=progress.get))
    for i, j in itertools.permutations(progress, 2):
        made = progress[j] - progress[i]
        jumped = any(progress[i] < share < progress[j] for share in must)
        if made > 1e-6 and not jumped:
            step = float(delta_E(lab[i], lab[j]))
            gap = step > need.step + 1e-9
            middle = (progress[i] + progress[j]) / 2
            o_i, o_j = (u[node] - path.at([progress[node]])[0] for node in (i, j))
            o_m = (u[i] + u[j]) / 2 - path.at([middle])[0]
            beside = made * (o_i @ o_i + 4 * o_m @ o_m + o_j @ o_j) / 6
            gone = -arriving[j] * (u[j][0] - u[i][0])
            back = max(0.0, gone) if arriving[j] == departing[i] else 0.0
            graph.add_edge(
                i,
                j,
                gap=gap,
                over=(step - need.step + 1 if gap else 0.0) + tube[j],
                toll=4 / need.step * path.length * beside + 4 * back**2 + c[j],
            )
    return graph


class Shop:
    """A shopping question answered by looking at every purchase.

    Purchases are the numbers 0 to 2^m - 1, bit i for the thing i: the offers that have a price,
    then the sets, a price and its pencils each; arrays hold a value for each of them:
    of each need what it falls `short`, whether it is `met`, the place of the path it takes, and its
    toll.
    """

    def __init__(self, needs, owned, offers, recipes=(), sets=()):
        """`recipes` are added to the pencils laid alone; `sets` are prices and addresses."""
        self.needs, self.offers = needs, offers
        self.owned = {pencil.address for pencil in owned}
        self.laid = [*map(LaidStack.of, owned), *map(LaidStack.of, offers), *recipes]
        singly = [(one.price, {one.address}) for one in offers if one.price is not None]
        things = [*singly, *sets]
        self.number = {next(iter(brings)): place for place, (_, brings) in enumerate(singly)}
        self.purchases = np.arange(2 ** len(things))
        self.brought = {pencil.address: self.purchases < 0 for pencil in offers}
        for place, (_, brings) in enumerate(things):
            for address in brings & self.brought.keys():
                self.brought[address] = self.brought[address] | ((self.purchases >> place) & 1 == 1)
        self.cost = sum(
            (((self.purchases >> i) & 1) * price for i, (price, _) in enumerate(things)),
            np.zeros(len(self.purchases)),
        )
        self.count = np.array([int(purchase).bit_count() for purchase in self.purchases])
        self.there = [self._there(one.addresses) for one in self.laid]
        answers = [
            self._blend(need) if isinstance(need, BlendNeed) else self._colour(need)
            for need in needs
        ]
        self.shortfalls, self.met, self.path, self.toll = zip(*answers)
        self.asked = [place for place, met in enumerate(self.met) if met[-1] and not met[0]]

    def _there(self, addresses):
        """For each purchase, whether all these pencils are there."""
        there = np.ones(len(self.purchases), dtype=bool)
        for address in addresses - self.owned:
            there &= self.brought[address]
        return there

    def _colour(self, need):
        nearest = np.full(len(self.purchases), np.inf)
        for one, there in zip(self.laid, self.there):
            apart = float(delta_E(need.target.lab, one.lab))
            nearest = np.where(there, np.minimum(nearest, apart), nearest)
        short = np.where(np.isinf(nearest), 100.0, np.maximum(nearest - need.tolerance, 0.0))
        return short, nearest <= need.tolerance, np.zeros(len(short)), np.zeros(len(short))

    def _blend(self, need):
        first, *rest = (self._along(graph) for graph in blend_graphs(need, self.laid))
        values, path = first, np.zeros(len(self.purchases))
        for other in rest:  # the chord serves where the path falls short and the chord less
            better = (first[0] > 1e-9) & (other[0] < first[0] - 1e-9)
            values = [np.where(better, b, a) for a, b in zip(first, other)]
            path = np.where(better, 1.0, 0.0)
        short, toll, gaps = values
        ends = np.ones(len(self.purchases), dtype=bool)
        stops = [stop for stop in need.stops if not isinstance(stop, FreeColour)]
        for end in (need.start, *stops, need.end):
            ends &= self._colour(ColourNeed("", FreeColour("", end.lab), need.tolerance))[1]
        legs = itertools.pairwise(each.lab for each in need.fixed)
        whole = 1.0 + sum(float(delta_E(one, other)) for one, other in legs)
        short = np.where(ends, short, whole)
        return short, ends & (gaps == 0), np.where(ends, path, 0.0), np.where(ends, toll, 0.0)

    def _along(self, graph):
        """Least shortfall, then least toll of a chain, and its gaps."""
        best = {node: [np.full(len(self.purchases), np.inf)] * 3 for node in graph}
        best["start"] = [np.zeros(len(self.purchases))] * 3
        for node in nx.topological_sort(graph):
            for before in graph.predecessors(node):
                step = graph.edges[before, node]
                through = [a + step[k] for a, k in zip(best[before], ("over", "toll", "gap"))]
                with np.errstate(invalid="ignore"):
                    less, cheaper = (a - b for a, b in zip(through[:2], best[node][:2]))
                better = np.isfinite(through[0]) & (
                    np.isinf(best[node][0]) | (less < -1e-9) | ((less <= 1e-9) & (cheaper < 0))
                )
                best[node] = [np.where(better, a, b) for a, b in zip(through, best[node])]
            if node in range(len(self.laid)):
                best[node] = [np.where(self.there[node], a, np.inf) for a in best[node]]
        return best["end"]

    def best(self, budget=None, *, partial=False):
        """(shortfall, cost, number, blends beside their path, toll) of the best purchase."""
        if partial:
            self.asked = [
                place
                for place, (short, met) in enumerate(zip(self.shortfalls, self.met))
                if not met[0] and (met[-1] or short[0] > short[-1])
            ]
        short = sum(
            (self.needs[place].weight * self.shortfalls[place] for place in self.asked),
            np.zeros(len(self.purchases)),
        )
        left = np.isfinite(short) if budget is None else self.cost <= budget + 1e-9
        beside, toll = self.fine(slice(None))
        for values in (short, self.cost, self.count, beside, toll):
            left &= values <= values[left].min() + 1e-7
        if budget is None and not partial:
            assert short[left].max() <= short[-1] + 1e-7
        first = np.flatnonzero(left)[0]
        return tuple(
            float(values[first]) for values in (short, self.cost, self.count, beside, toll)
        )

    def fine(self, purchase):
        """How many of the blends asked for leave their path, and their toll in sum."""
        none = np.zeros(len(self.purchases))
        return tuple(
            sum((values[place] for place in self.asked), none)[purchase]
            for values in (self.path, self.toll)
        )
