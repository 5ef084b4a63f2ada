"""The blend between two colours: the best chain of pencils and recipes from one to the other."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from stopgap.arrays import Booleans, Floats, FloatsLike, one_lab
from stopgap.blends.blended import Blend, Point, check_limit, steps_between
from stopgap.blends.chain import Chain, best_of
from stopgap.blends.graph import DEFAULT_LIMIT, Graph, Prefer, graph_along, over_limit
from stopgap.blends.path import Path, PathKind, path_through
from stopgap.blends.recipes import (
    Recipes,
    RecipesAlong,
    asked_for,
    asked_for_each,
    taken_of_each,
)
from stopgap.defaults import PATH, PREFER
from stopgap.difference import delta_E
from stopgap.errors import Note, UsageError
from stopgap.swatches import LaidStack, Swatch

if TYPE_CHECKING:
    from stopgap.layering import Recipe


End = Swatch | FloatsLike
"""A pencil, or any colour as CIE L*a*b* of shape (3,)."""


def blend(
    start: End,
    end: End,
    candidates: Sequence[Swatch],
    *,
    stops: Sequence[End] = (),
    path: PathKind | str = PATH,
    by_lightness: bool = False,
    prefer: Prefer | str = PREFER,
    limit: float = DEFAULT_LIMIT,
    max_pencils: int | None = None,
    corridor: float | None = None,
    recipes: Recipes | None = None,
) -> Blend:
    """The chain from `start` to `end` with the least shortfall, and of those the least toll.

    See `graph` for the two, and `path` for the line that the chain should follow. A chain lies
    further along the path with every pencil. Where one along a bent path falls short, the chord is
    tried as well. A bare colour at an end belongs to the chain without being a pencil.

    Parameters
    ----------
    start, end
        Pencils, or colours as CIE L*a*b* (D50) of shape (3,).
    candidates
        The pencils to choose from; the caller leaves out what must not be offered.
    stops
        Colours that the path passes; a pencil among them is part of the chain.
    path
        `auto`, `straight` or `round`: how the path runs between the stops.
    by_lightness
        Progress is measured by lightness alone, as within a family; the corridor is then open.
    prefer
        What the toll counts: pencils, with `enough` and `fewest`, or the squares of the steps, with
        `smoothest`.
    limit
        The largest step [ΔE00] that still melts; steps over it are gaps.
    max_pencils
        No more pencils and recipes than that, those at the ends and stops included.
    corridor
        Pencils further from path and chord [units of CAM16-UCS] are not considered; by default a
        quarter of the chord, but at least 8.
    recipes
        What may be layered as well; asked for colours all along the path.

    Raises
    ------
    UsageError
        For equal ends, no candidates, a limit or corridor of zero or below, or too few pencils
        allowed.
    """
    fixed = [start, *stops, end]
    pencils = _checked(fixed, candidates, prefer, limit, max_pencils, corridor)
    wanted = path_through([_lab(each) for each in fixed], path, by_lightness=by_lightness)
    paths = along(wanted)
    colours = Colours.of(
        [LaidStack.of(each) for each in candidates if each.address not in pencils],
        None if recipes is None else asked_for(recipes, paths, limit),
        fixed,
    )
    graphs = [colours.graph(each, limit=limit, prefer=prefer, corridor=corridor) for each in paths]
    inner = None if max_pencils is None else max_pencils - len(pencils)
    best = best_of(graphs, max_pencils=inner)
    found = blend_along("", colours, graphs, best)
    notes = far_off_notes(graphs, best, colours, max_pencils=inner)
    return replace(found, candidates=tuple(candidates), notes=notes)


def along(path: Path) -> list[Path]:
    """The path and, where it is bent, its chord, which serves where the path falls short."""
    return [path, path.chord()] if path.bent else [path]


@dataclass(frozen=True, slots=True)
class Colours:
    """What a blend may be made of, and what its stops are.

    The last of `laid` are the recipes that were `asked` for along the path, if any.
    """

    laid: Sequence[LaidStack]
    stops: Sequence[Swatch | None]
    asked: RecipesAlong | None = None

    @classmethod
    def of(
        cls, pencils: Iterable[LaidStack], asked: RecipesAlong | None, stops: Sequence[object]
    ) -> "Colours":
        """Pencils as in their swatches, and recipes; a stop that is no pencil is a bare colour."""
        recipes = () if asked is None else asked.recipes
        return cls(
            laid=[*pencils, *(each.laid for each in recipes)],
            stops=[each if isinstance(each, Swatch) else None for each in stops],
            asked=asked,
        )

    def graph(
        self,
        path: Path,
        *,
        limit: float,
        prefer: Prefer | str = PREFER,
        corridor: float | None = None,
    ) -> Graph:
        """These colours along a path; row k of the graph is `laid[k]`."""
        return graph_along(
            path,
            [each.lab for each in self.laid],
            lambda row: self.laid[row].key,
            limit=limit,
            prefer=prefer,
            is_recipe=np.array([each.recipe for each in self.laid], dtype=bool),
            must=[k for k in range(1, len(self.stops) - 1) if self.stops[k] is not None],
            corridor=corridor,
        )

    def points(
        self, graph: Graph, chain: Chain, recipes: "Sequence[Recipe] | None" = None
    ) -> tuple[Point, ...]:
        """The colours of a chain; the `recipes` at its `places` are weighed unless they are."""
        taken: dict[int, Recipe] = {}
        if self.asked is not None:
            first, places = len(self.laid) - len(self.asked.recipes), self.places(graph, chain)
            weighed = self.asked.taken(places) if recipes is None else recipes
            rows = [first + place for place in places]
            taken = dict(zip(rows, weighed, strict=True))
        return tuple(self._point(graph, node, taken) for node in chain.nodes)

    def places(self, graph: Graph, chain: Chain) -> list[int]:
        """Which of the recipes that were asked for a chain takes."""
        first = len(self.laid) - (0 if self.asked is None else len(self.asked.recipes))
        return [row - first for row in graph.rows[list(chain.nodes)].tolist() if row >= first]

    def _point(self, graph: Graph, node: int, taken: "Mapping[int, Recipe]") -> Point:
        L, a, b = graph.lab[node].tolist()
        place = float(graph.progress[node]), float(graph.distance[node])
        row = int(graph.rows[node])
        if row >= 0:
            recipe = taken.get(row)
            laid = self.laid[row] if recipe is None else recipe.laid
            return Point((L, a, b), laid, *place, recipe)
        swatch = self.stops[-1 - row]
        return Point((L, a, b), None if swatch is None else LaidStack.of(swatch), *place)


def blend_along(
    name: str, colours: Colours, graphs: Sequence[Graph], found: tuple[int, Chain]
) -> Blend:
    """The blend of `colours` that a chain makes, with the number of its graph as `best_of` has
    them.
    """
    which, chain = found
    points = colours.points(graphs[which], chain)
    limit, path = graphs[which].limit, graphs[which].path
    return Blend(name, points, steps_between(points), limit, path)


def far_off_notes(
    graphs: Sequence[Graph],
    found: tuple[int, Chain],
    colours: Colours,
    *,
    availables: Sequence[Booleans] | None = None,
    max_pencils: int | None = None,
) -> tuple[Note, ...]:
    """That the best chain `found`, as `best_of` has it, is without gaps, or another would be, only
    through a colour far off the path.
    """
    which, chain = found
    if chain.shortfall == 0.0:
        return ()
    nodes = np.array(chain.nodes, dtype=np.intp)
    if graphs[which].step(nodes[:-1], nodes[1:])[0].any():  # else no chain without gaps is better
        closed = [replace(graph, gap_counts=np.inf) for graph in graphs]
        which, chain = best_of(closed, availables=availables, max_pencils=max_pencils)
    graph = graphs[which]
    far = [
        (float(graph.distance[node]), colours.laid[graph.rows[node]].label)
        for node in chain.nodes
        if graph.tube[node] > 0.0
    ]
    if not far:
        return ()
    stray, label = max(far)
    return (
        Note(
            f"closes through {label}, {stray:.0f} off the way",
            plain=f"closes through {label}, which goes off hue",
        ),
    )


def closed_by_recipes(
    gaps: Sequence[tuple[Swatch, Swatch, float]], recipes: Recipes
) -> list[tuple[Point, ...] | None]:
    """Of each gap, two pencils and the limit of a step, the colours that lead across: those of
    `blend` between the two of nothing but recipes, where it is closed. All are asked together.
    """
    ways = [(along(path_through([one.lab, other.lab])), limit) for one, other, limit in gaps]
    across = []
    for place, asked in enumerate(asked_for_each(recipes, ways)):
        paths, limit = ways[place]
        colours = Colours.of([], asked, gaps[place][:2])
        graphs = [colours.graph(path, limit=limit) for path in paths]
        which, chain = best_of(graphs)
        lab = graphs[which].lab[list(chain.nodes)]
        if not over_limit(delta_E(lab[:-1], lab[1:]), limit).any():
            across.append((place, asked, colours, graphs[which], chain))
    weighed = taken_of_each(
        [asked for _, asked, *_ in across],
        [colours.places(graph, chain) for *_, colours, graph, chain in across],
    )
    closed: list[tuple[Point, ...] | None] = [None] * len(gaps)
    for (place, _, colours, graph, chain), its in zip(across, weighed, strict=True):
        closed[place] = colours.points(graph, chain, its)
    return closed


def _checked(
    fixed: Sequence[End],
    candidates: Sequence[Swatch],
    prefer: Prefer | str,
    limit: float,
    max_pencils: int | None,
    corridor: float | None,
) -> set[str]:
    """The addresses of the pencils among the ends and stops, once all is as it must be."""
    check_limit(limit)
    if prefer not in list(Prefer):
        raise UsageError(f"prefer: {prefer!r} is not one of {', '.join(Prefer)}.")
    if corridor is not None and not corridor > 0.0:
        raise UsageError(f"corridor: expected more than 0, found {corridor}.")
    pencils = [each.address for each in fixed if isinstance(each, Swatch)]
    if len(set(pencils)) < len(pencils):
        raise UsageError("the ends and stops of a blend must be different pencils.")
    if not candidates:
        raise UsageError("candidates: there are no pencils to blend with.")
    if max_pencils is not None and max_pencils < max(len(pencils), 1):
        raise UsageError(
            f"{max_pencils} is too few, the ends and stops alone are {len(pencils)}.",
            argument="max_pencils",
        )
    return set(pencils)


def _lab(end: End) -> Floats:
    return one_lab(end.lab if isinstance(end, Swatch) else end, "end of the blend")
