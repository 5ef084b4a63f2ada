"""A blend that is asked for: the graphs of its paths, and what each colour on them takes."""

from dataclasses import dataclass, fields
from functools import cached_property

import numpy as np

from stopgap.arrays import Booleans, Floats
from stopgap.blends.blended import Blend, Point
from stopgap.blends.blending import AIMS_PER_STEP
from stopgap.blends.chain import Chain, best_of
from stopgap.blends.graph import Graph, graph_along
from stopgap.blends.path import path_through
from stopgap.difference import DifferenceFunction
from stopgap.planner.materials import labs_of
from stopgap.planner.shopping.answer import LaidBlend
from stopgap.planner.shopping.needs import BlendNeed
from stopgap.planner.shopping.supply import Missing, Supply, available
from stopgap.swatches import FreeColour, LaidStack, Swatch, Target


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class TabulatedGraph(Graph):
    """A graph that is asked many times, whose steps are therefore all worked out beforehand.

    `shortfall` and `toll` (n, n) are those of the step from node i to j, infinite where there is
    none.
    """

    shortfall: Floats
    toll: Floats

    @classmethod
    def of(cls, graph: Graph) -> "TabulatedGraph":
        """The same graph, with its steps."""
        n = len(graph)
        shortfall, toll = np.full((n, n), np.inf), np.full((n, n), np.inf)
        for i in range(n - 1):
            shortfall[i, i + 1 :], toll[i, i + 1 :] = graph.from_node(i)
        of_graph = {each.name: getattr(graph, each.name) for each in fields(graph)}
        return cls(**of_graph, shortfall=shortfall, toll=toll)

    def from_node(self, i: int) -> tuple[Floats, Floats]:
        """As of any graph."""
        return self.shortfall[i, i + 1 :], self.toll[i, i + 1 :]


@dataclass(frozen=True, eq=False)
class Route:
    """All that could be laid along one path of a blend; `missing[i]` is what node i takes.

    The ends take nothing here, since they are the same on every path: see `WantedBlend.ends`.
    """

    graph: TabulatedGraph
    missing: tuple[Missing, ...]

    @cached_property
    def shortfall(self) -> Floats:
        """What a chain falls short by its step from node i to j and by j itself, (n, n)."""
        return self.graph.shortfall + self.graph.tube

    @cached_property
    def free(self) -> Booleans:
        """Which nodes are there without a purchase."""
        return np.array([not offers for offers in self.missing], dtype=bool)


@dataclass(frozen=True, eq=False)
class WantedBlend:
    """`routes` are its path and, where that is bent, its chord, which serves where the path fails.

    `laid` is what the rows of their graphs are; `ends` is what the pencils at start and end take,
    None for one that can be neither had nor bought.
    """

    need: BlendNeed
    laid: tuple[LaidStack, ...]
    routes: tuple[Route, ...]
    ends: tuple[Missing | None, Missing | None]

    @property
    def missing(self) -> tuple[Missing, ...]:
        """What each colour takes that may be laid."""
        return tuple(offers for route in self.routes for offers in route.missing)

    @property
    def without_end(self) -> float:
        """What the blend counts as long as an end is missing: the whole way in one step."""
        return 1.0 + float(self.routes[0].graph.difference(self.need.start.lab, self.need.end.lab))

    @cached_property
    def least_shortfall(self) -> float:
        """What the best chain falls short with everything that could be had."""
        return best_of([route.graph for route in self.routes])[1].shortfall

    def shortfall(self, bought: Booleans) -> float:
        """What the best chain falls short; the whole way where an end is missing."""
        if not all(self.ends_there(bought)):
            return self.without_end
        return self._chain(bought)[1].shortfall

    def toll(self, bought: Booleans) -> tuple[int, float]:
        """Whether the best chain leaves a bent path for the chord, and its toll; 0 without ends."""
        if not all(self.ends_there(bought)):
            return 0, 0.0
        which, chain = self._chain(bought)
        return which, chain.toll

    def ends_there(self, bought: Booleans) -> tuple[bool, bool]:
        """Whether start and end are there once the offers marked in `bought` are."""
        start, end = (offers is not None and all(bought[list(offers)]) for offers in self.ends)
        return start, end

    def answer(self, bought: Booleans) -> LaidBlend:
        """The blend to lay once the offers marked in `bought` are there."""
        which, chain = self._chain(bought)
        graph = self.routes[which].graph
        points = tuple(self._point(graph, node) for node in chain.nodes)
        lab = graph.lab[list(chain.nodes)]
        steps = tuple(np.asarray(graph.difference(lab[:-1], lab[1:])).tolist())
        blend = Blend(self.need.label, points, steps, self.need.step, graph.path)
        return LaidBlend(blend, self.need.ends, *self.ends_there(bought))

    def _chain(self, bought: Booleans) -> tuple[int, Chain]:
        return best_of(
            [route.graph for route in self.routes],
            availables=[available(route.missing, bought) for route in self.routes],
        )

    def _point(self, graph: Graph, node: int) -> Point:
        L, a, b = graph.lab[node].tolist()
        row = int(graph.rows[node])
        end = self.need.start if row == -1 else self.need.end
        if row >= 0:
            laid: LaidStack | None = self.laid[row]
        else:
            laid = LaidStack.of(end) if isinstance(end, Swatch) else None
        return Point((L, a, b), laid, float(graph.progress[node]), float(graph.distance[node]))


def wanted_blend(need: BlendNeed, supply: Supply, metric: str | DifferenceFunction) -> WantedBlend:
    """The graphs of a blend over everything that the supply can lay."""
    path = path_through([need.start.lab, need.end.lab])
    paths = [path, path.chord()] if path.bent else [path]
    aims = np.concatenate([each.aims(need.step / AIMS_PER_STEP) for each in paths])
    pencils = frozenset(end.address for end in (need.start, need.end) if isinstance(end, Swatch))
    laid = supply.laid(aims, leave_out=pencils)
    taken = [supply.missing_for(one.addresses) or () for one in laid]
    routes = []
    for each in paths:
        graph = graph_along(
            each,
            labs_of(laid),
            [one.key for one in laid],
            limit=need.step,
            is_recipe=np.array([one.recipe for one in laid], dtype=bool),
            corridor=need.width,
            metric=metric,
        )
        routes.append(
            Route(
                TabulatedGraph.of(graph),
                tuple(taken[row] if row >= 0 else () for row in graph.rows),
            )
        )
    ends = (_missing_end(need.start, supply), _missing_end(need.end, supply))
    return WantedBlend(need, tuple(laid), tuple(routes), ends)


def _missing_end(end: Target, supply: Supply) -> Missing | None:
    return () if isinstance(end, FreeColour) else supply.missing_for(frozenset({end.address}))
