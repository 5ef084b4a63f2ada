"""A blend as a graph: the colours along its path, what each step falls short, and its toll.

*Shortfall* is what keeps a chain from being a blend: for each step over the limit what it has over,
and 1, which keeps one gap from being split in two; and for each pencil what its distance from the
path, or from the chord, has over the limit, since a pencil further off than one melting step is no
bridge. *Toll* is what a chain without shortfall may still be judged by: how far it runs beside the
path, how far it goes back in lightness, and what its pencils count (see `Graph.from_node`).
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING, Self

import numpy as np

from stopgap.arrays import Booleans, Floats, FloatsLike, Integers, distinct_rows
from stopgap.blends.path import Located, Path
from stopgap.colorimetry.cam16 import lab_to_cam16_ucs
from stopgap.defaults import PREFER, STEP
from stopgap.difference import DEFAULT_METRIC, DifferenceFunction, difference_function

if TYPE_CHECKING:
    from _typeshed import SupportsRichComparison

DEFAULT_LIMIT = STEP
"""The largest step [ΔE00] that still melts."""

ROUNDING = 1e-9
"""Shortfalls, tolls and steps that differ by no more are equal."""

_PROGRESS = 1e-6
_BESIDE, _BACK = 4.0, 4.0  # weights of the area beside the path and of lightness gone back
_RECIPE = 6.0  # pencils that a recipe counts as


class Prefer(StrEnum):
    """What a chain without gaps should be like: of few pencils, or of small steps.

    `enough` and `fewest` count pencils, `smoothest` the squares of the steps.
    """

    ENOUGH = "enough"
    FEWEST = "fewest"
    SMOOTHEST = "smoothest"


def over_limit(steps: FloatsLike, limit: float) -> Booleans:
    """Which steps are over the limit, and so gaps."""
    over: Booleans = np.asarray(steps) > limit + ROUNDING
    return over


def _squared(vectors: Floats) -> Floats:
    lengths: Floats = np.sum(vectors**2, axis=-1)
    return lengths


@dataclass(frozen=True, slots=True, eq=False)
class Graph:
    """Colours along a path, sorted by (progress, key), the ends outermost: arrays of length n.

    Attributes
    ----------
    rows
        Which of the colours given each node is; -1 - k for stop k of the path.
    lab, ucs, progress, offset, distance
        The colour (n, 3), in J'a'b' (n, 3), and where it lies; see `Located`.
    tube
        What the distance of each has over the limit: part of the shortfall of a chain through it.
    weight
        What each counts in the toll of a chain through it, whatever the steps; 0 for stops.
    must
        The stops, which no chain passes by.
    is_recipe
        Which are recipes.
    rank
        Their places in the order of keys: what decides between chains equal in all else.
    gap_counts
        What a gap counts beside its size: 1; infinite to ask for chains without gaps alone.
    """

    path: Path
    limit: float
    prefer: Prefer
    difference: DifferenceFunction
    rows: Integers
    lab: Floats
    ucs: Floats
    progress: Floats
    offset: Floats
    distance: Floats
    tube: Floats
    weight: Floats
    must: Booleans
    is_recipe: Booleans
    rank: Integers
    gap_counts: float = 1.0

    def __len__(self) -> int:
        return len(self.progress)

    def part(self, first: int, last: int) -> "Graph":
        """The graph of the nodes from `first` to `last`, these its ends."""
        inner = slice(first, last + 1)
        arrays = {name: getattr(self, name)[inner] for name in _ARRAYS}
        arrays["must"] = arrays["must"].copy()
        arrays["must"][[0, -1]] = True
        return replace(self, **arrays)

    def among(self, available: Booleans) -> Self:
        """The graph of the nodes that are available (n,) and of the stops, which always are."""
        there = available | self.must
        return replace(self, **{name: getattr(self, name)[there] for name in _ARRAYS})

    def once(self) -> tuple[Booleans, Integers]:
        """Of nodes that are alike in all but their key the first (n,), and which of these each is.

        A chain through another is one through the first as well, no chain is through two of them,
        and of equal chains the one through the first is taken. Stops are never alike.
        """
        apart = np.where(self.must, np.arange(1.0, 1.0 + len(self)), 0.0)
        columns = np.column_stack([self.lab, self.is_recipe, apart])
        _, which = distinct_rows(columns.view(np.int64))
        first = np.full(which.max() + 1, len(self))
        np.minimum.at(first, which, np.arange(len(self)))
        firsts = np.zeros(len(self), dtype=np.bool_)
        firsts[first] = True
        return firsts, (np.cumsum(firsts) - 1)[first][which]

    def from_node(self, i: int) -> tuple[Floats, Floats]:
        """Shortfall and toll of the steps from node i to each later node, (n - i - 1,) each.

        Infinite where a step makes no progress or passes a stop by.
        """
        shortfall, toll = self.from_nodes(i, i + 1)
        return shortfall[0], toll[0]

    def from_nodes(self, first: int, end: int) -> tuple[Floats, Floats]:
        """The same from each of the nodes from `first` to before `end`, a row each; all rows begin
        behind `first`.
        """
        i, j = np.arange(first, end)[:, np.newaxis], np.arange(first + 1, len(self))
        shortfall, toll = self.step(i, j)
        passed = self._passed(i, j)
        shortfall[passed] = toll[passed] = np.inf
        return shortfall, toll

    def shortfalls(self, i: int | Integers, j: Integers) -> tuple[Floats, Floats]:
        """The shortfall of the steps from nodes i to nodes j, which broadcast, and how far these
        are apart, by which `tolls` are soon told. Infinite as from one node, which takes twice the
        time.
        """
        apart = self.difference(self.lab[i], self.lab[j])
        shortfall = self._excess(i, j, apart)
        shortfall[self._passed(i, j)] = np.inf
        return shortfall, apart

    def _passed(self, i: int | Integers, j: Integers) -> Booleans:
        """Whether the step from i to j passes a stop by."""
        stops = np.append(np.flatnonzero(self.must), len(self))
        return np.asarray(j > stops[np.searchsorted(stops, i, side="right")])

    def step(self, i: int | Integers, j: int | Integers) -> tuple[Floats, Floats]:
        """Shortfall and toll of the steps from nodes i to nodes j, which broadcast.

        Infinite where a step makes no progress. The tube of the later node is not among them, its
        weight is. With o the offset and m the middle of a step from i to j:

            toll = (4 / limit) len (t_j - t_i) (|o_i|^2 + 4 |o_m|^2 + |o_j|^2) / 6 + 4 back^2 + c_j

        The first term is Simpson's rule for the area beside the path and does not depend on how
        many pencils share it; back is the J' gone the wrong way where the ends of the leg differ by
        more than 1; c is (limit / 2)^2 a pencil and six times that a recipe. Where the smoothest is
        preferred a step counts its square, and only a recipe counts beside.
        """
        apart = self.difference(self.lab[i], self.lab[j])
        return self._excess(i, j, apart), self.tolls(i, j, apart)

    def tolls(self, i: int | Integers, j: int | Integers, apart: Floats) -> Floats:
        """The toll of steps so far apart, as above."""
        t_i, t_j = self.progress[i], self.progress[j]
        middle = (self.ucs[i] + self.ucs[j]) / 2.0 - self.path.at((t_i + t_j) / 2.0)
        beside = (_squared(self.offset[i]) + 4.0 * _squared(middle) + _squared(self.offset[j])) / 6
        toll = _BESIDE / self.limit * self.path.length * (t_j - t_i) * beside
        toll += _BACK * self._back(i, j) ** 2 + self.weight[j]
        if self.prefer is Prefer.SMOOTHEST:
            toll += apart**2
        return np.where(t_j - t_i > _PROGRESS, toll, np.inf)

    def _excess(self, i: int | Integers, j: int | Integers, apart: Floats) -> Floats:
        """What steps so far apart fall short, infinite where they make no progress."""
        over = over_limit(apart, self.limit)
        excess = np.where(over, apart - self.limit + self.gap_counts, 0.0)
        return np.where(self.progress[j] - self.progress[i] > _PROGRESS, excess, np.inf)

    def _back(self, i: int | Integers, j: int | Integers) -> Floats:
        """The J' gone the wrong way from i to each of j, both on legs of one direction."""
        inner = self.path.corner_shares[1:-1]
        departs = self.path.directions[np.searchsorted(inner, self.progress[i], side="right")]
        arrives = self.path.directions[np.searchsorted(inner, self.progress[j], side="left")]
        gone = self.ucs[i][..., 0] - self.ucs[j][..., 0]
        return np.where(arrives == departs, np.maximum(departs * gone, 0.0), 0.0)


_ARRAYS = (
    *("rows", "lab", "ucs", "progress", "offset", "distance"),
    *("tube", "weight", "must", "is_recipe", "rank"),
)


def graph_along(
    path: Path,
    lab: FloatsLike,
    keys: "Sequence[SupportsRichComparison] | Callable[[int], SupportsRichComparison]",
    *,
    limit: float = DEFAULT_LIMIT,
    prefer: Prefer | str = PREFER,
    is_recipe: Booleans | None = None,
    must: Iterable[int] = (),
    corridor: float | None = None,
    metric: str | DifferenceFunction = DEFAULT_METRIC,
) -> Graph:
    """The colours `lab` (m, 3) that lie between the ends of the path and near enough to it.

    Parameters
    ----------
    keys
        What colours are sorted by where all else is equal: unlike each other, of one kind; or what
        tells that of a row, since most rows lie too far off to be sorted.
    limit
        The largest step [ΔE] that still melts.
    is_recipe
        Which of them are recipes, (m,).
    must
        The inner stops of the path that a chain must take, from 1; the ends are always among it.
    corridor
        Colours further than that [J'a'b'] from path and chord are left out; by default a quarter
        of the chord, but at least 8, and by lightness none is.
    """
    lab = np.asarray(lab, dtype=np.float64).reshape(-1, 3)
    recipe = np.zeros(len(lab), dtype=bool) if is_recipe is None else np.asarray(is_recipe)
    if corridor is None:
        corridor = np.inf if path.by_lightness else path.usual_corridor
    rows = path.about(lab, corridor)
    found = path.locate(lab[rows])
    inside = (found.progress > _PROGRESS) & (found.progress < 1.0 - _PROGRESS)
    inside &= found.distance <= corridor
    rows, found = rows[inside], Located(*(part[inside] for part in found))

    stops = np.array([0, *must, len(path.stops) - 1])
    order = sorted(rows.tolist(), key=keys if callable(keys) else keys.__getitem__)
    rank = np.full(len(lab), -1)
    rank[order] = np.arange(len(order))
    none = np.zeros(len(stops))
    progress = np.concatenate([path.corner_shares[stops], found.progress])
    ranks = np.concatenate([np.full(len(stops), -1), rank[rows]])
    at = np.lexsort((ranks, progress))

    distance = np.concatenate([none, found.distance])
    a_pencil = 0.0 if Prefer(prefer) is Prefer.SMOOTHEST else (limit / 2.0) ** 2
    weight = np.where(recipe[rows], _RECIPE * (limit / 2.0) ** 2, a_pencil)
    colours = np.concatenate([path.stops[stops], lab[rows]])[at]
    return Graph(
        path=path,
        limit=limit,
        prefer=Prefer(prefer),
        difference=difference_function(metric),
        rows=np.concatenate([-1 - stops, rows])[at],
        lab=colours,
        ucs=lab_to_cam16_ucs(colours),
        progress=progress[at],
        offset=np.concatenate([np.zeros((len(stops), 3)), found.offset])[at],
        distance=distance[at],
        tube=np.maximum(distance - limit, 0.0)[at],
        weight=np.concatenate([none, weight])[at],
        must=np.concatenate([none == 0.0, np.zeros(len(rows), dtype=bool)])[at],
        is_recipe=np.concatenate([none > 0.0, recipe[rows]])[at],
        rank=ranks[at],
    )
