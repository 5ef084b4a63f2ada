"""Where a blend breaks, what could carry it across, and which pencils would close it."""

from collections.abc import Container, Sequence
from dataclasses import dataclass, replace
from itertools import compress, pairwise
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Floats
from stopgap.blends.blended import Blend, Point, steps_between
from stopgap.blends.blending import closed_by_recipes
from stopgap.blends.chain import best_chain
from stopgap.blends.graph import ROUNDING, Graph, graph_along, over_limit
from stopgap.blends.path import Path, path_through
from stopgap.blends.recipes import Recipes
from stopgap.colorimetry.cam16 import cam16_ucs_to_lab, lab_to_cam16_ucs
from stopgap.difference import delta_E
from stopgap.difference.formulas.ciede2000 import weighted_components
from stopgap.naming import iscc_nbs
from stopgap.swatches import Lab, Swatch

_LAYERED_HURTS = 0.5  # a gap that can be layered across hurts half as much: this project's choice
_WORTH_A_WORD = 0.3  # share of the squared step


@dataclass(frozen=True, slots=True)
class Crossing:
    """A gap layered across: the points of the chain that crosses it, and the ΔE00 steps."""

    points: tuple[Point, ...]
    steps: tuple[float, ...]

    @property
    def recipes(self) -> tuple[Point, ...]:
        """Those of the points that are layered."""
        return tuple(point for point in self.points if point.layered)


@dataclass(frozen=True, slots=True)
class Filler:
    """One pencil in the gap: its two steps, and how many of them are still over the limit."""

    swatch: Swatch
    steps: tuple[float, float]
    remaining: int


@dataclass(frozen=True, slots=True)
class Gap:
    """A step over the limit between two neighbours of a blend of pencils alone.

    `place` counts the steps of the blend from 0. `missing` is the colour halfway across and
    `missing_name` its ISCC-NBS name; `words` say what kind of colour is missing. `crossing` is how
    recipes carry the blend across, or None. `fillers` are single pencils, best first; `closing` are
    the pencils to buy on the best chain across, and `remaining` counts its steps over the limit.
    `hurt` is what gaps are sorted by.
    """

    blend: str
    place: int
    after: Point
    before: Point
    step: float
    limit: float
    missing: Lab
    missing_name: str
    words: str
    crossing: Crossing | None
    fillers: tuple[Filler, ...]
    closing: tuple[Swatch, ...]
    remaining: int

    @property
    def layered(self) -> bool:
        """Whether it can be layered across."""
        return self.crossing is not None

    @property
    def hurt(self) -> float:
        """How far the step is over the limit, halved where it can be layered across."""
        return (self.step - self.limit) * (_LAYERED_HURTS if self.layered else 1.0)


def find_gaps(
    blends: Sequence[Blend],
    candidates: Sequence[Swatch] = (),
    *,
    layered: Sequence[Blend] | None = None,
    most_fillers: int = 5,
) -> tuple[Gap, ...]:
    """Every step over its blend's limit, those that hurt most first.

    Parameters
    ----------
    blends
        Chains of pencils alone with their own limits, from `blend` or `blend_of_family`.
    candidates
        Pencils that could be bought; the caller leaves out what is owned or not to be offered.
    layered
        The same blends with recipes, one for each of `blends`: `blend` with recipes, or
        `layer_family`. A gap that has no step over the limit there is layered across.
    most_fillers
        How many single pencils to name for a gap.
    """
    pool = _Pool.of(candidates)
    gaps = [
        _gap(found, place, pool, across, most_fillers)
        for found, across in zip(blends, blends if layered is None else layered, strict=True)
        for place in found.over_limit
    ]
    return tuple(sorted(gaps, key=lambda gap: -gap.hurt))


def layer_family(found: Blend, recipes: Recipes) -> Blend:
    """A family with recipes where they close one of its gaps, each crossed as a blend of its own.

    A gap that recipes do not close stays as it is.
    """
    (layered,) = layer_families([found], recipes)
    return layered


def layer_families(found: Sequence[Blend], recipes: Recipes) -> list[Blend]:
    """The same of many families, whose recipes are asked for together."""
    gaps = {
        (which, place): (after.swatch, before.swatch, one.limit)
        for which, one in enumerate(found)
        for place, (after, before) in enumerate(pairwise(one.points))
        if place in one.over_limit and after.swatch and before.swatch
    }
    across = dict(zip(gaps, closed_by_recipes([*gaps.values()], recipes), strict=True))
    layered = []
    for which, one in enumerate(found):
        points = [one.points[0]]
        for place, (after, before) in enumerate(pairwise(one.points)):
            between = across.get((which, place)) or ()
            points += [_placed(point, after.progress, before.progress) for point in between[1:-1]]
            points.append(before)
        layered.append(Blend(one.name, tuple(points), steps_between(points), one.limit))
    return layered


def direction_words(lab_1: Lab, lab_2: Lab) -> str:
    """What kind of colour is missing between two: by lightness, hue or chroma, the most first."""
    lightness, chroma, hue, _ = (float(part) for part in weighted_components(lab_1, lab_2))
    squares = np.array([lightness, hue, chroma]) ** 2
    words = (
        "a value between",
        "a hue between",
        "a duller one" if chroma < 0 else "a more vivid one",
    )
    shares = squares / max(squares.sum(), 1e-12)
    order = np.argsort(-shares, kind="stable")
    chosen = [words[row] for row in order if shares[row] >= _WORTH_A_WORD]
    return "missing " + " and ".join(chosen or [words[order[0]]])


def _placed(point: Point, start: float, end: float) -> Point:
    """A point of a gap's own path at its progress through the whole blend."""
    return replace(point, progress=start + point.progress * (end - start))


class _Pool(NamedTuple):
    """Pencils, their addresses, and their colours (n, 3)."""

    pencils: Sequence[Swatch]
    addresses: Sequence[str]
    lab: Floats

    @classmethod
    def of(cls, pencils: Sequence[Swatch]) -> "_Pool":
        lab = np.array([each.lab for each in pencils], dtype=np.float64).reshape(-1, 3)
        return cls(pencils, [each.address for each in pencils], lab)

    def without(self, taken: Container[str]) -> "_Pool":
        """Those whose address is not taken."""
        free = [one not in taken for one in self.addresses]
        pencils, addresses = compress(self.pencils, free), compress(self.addresses, free)
        return _Pool([*pencils], [*addresses], self.lab[free])


def _gap(found: Blend, place: int, candidates: _Pool, across: Blend, most_fillers: int) -> Gap:
    after, before = found.points[place], found.points[place + 1]
    missing = _halfway(after.lab, before.lab)
    inside = _Inside.of(found, place, candidates)
    closing, remaining = inside.closing()
    return Gap(
        blend=found.name,
        place=place,
        after=after,
        before=before,
        step=found.steps[place],
        limit=found.limit,
        missing=missing,
        missing_name=str(iscc_nbs(missing)),
        words=direction_words(after.lab, before.lab),
        crossing=_crossing(after, before, across),
        fillers=inside.fillers(most_fillers),
        closing=closing,
        remaining=remaining,
    )


def _halfway(lab_1: Lab, lab_2: Lab) -> Lab:
    between = (lab_to_cam16_ucs(lab_1) + lab_to_cam16_ucs(lab_2)) / 2.0
    L, a, b = cam16_ucs_to_lab(between).tolist()
    return L, a, b


def _crossing(after: Point, before: Point, across: Blend) -> Crossing | None:
    """The part of a chain with recipes that leads from before the gap to behind it, if closed."""
    progress = np.array([point.progress for point in across.points])
    first = int(np.flatnonzero(progress <= after.progress + ROUNDING)[-1])
    last = int(np.flatnonzero(progress >= before.progress - ROUNDING)[0])
    points, steps = across.points[first : last + 1], across.steps[first:last]
    if over_limit(steps, across.limit).any():
        return None
    return Crossing(points, steps)


@dataclass(frozen=True, slots=True)
class _Inside:
    """The graph from one side of a gap to the other, of pencils at hand and pencils to buy."""

    graph: Graph
    at_hand: Sequence[Swatch]
    to_buy: Sequence[Swatch]

    @classmethod
    def of(cls, found: Blend, place: int, candidates: _Pool) -> "_Inside":
        """Along the path of the blend; in a family, which has none, from one to the other."""
        after, before = found.points[place], found.points[place + 1]
        path = found.path or path_through([after.lab, before.lab])
        fixed = _stops_taken(found, path)
        taken = set(fixed.values())
        at_hand = _Pool.of(found.candidates).without(taken)
        taken.update(each.address for each in (*found.candidates, *found.swatches))
        to_buy = candidates.without(taken)
        graph = graph_along(
            path,
            np.concatenate([at_hand.lab, to_buy.lab]),
            [*at_hand.addresses, *to_buy.addresses],
            limit=found.limit,
            must=[stop for stop in fixed if 0 < stop < len(path.stops) - 1],
        )
        if found.path is not None:
            graph = graph.part(_node(graph, after), _node(graph, before))
        return cls(graph, at_hand.pencils, to_buy.pencils)

    def closing(self) -> tuple[tuple[Swatch, ...], int]:
        """The pencils to buy on the best chain across, and how many of its steps are gaps still."""
        nodes = list(best_chain(self.graph).nodes)
        lab = self.graph.lab[nodes]
        gaps = over_limit(delta_E(lab[:-1], lab[1:]), self.graph.limit)
        rows = self.graph.rows[nodes[1:-1]]
        return tuple(map(self._bought, rows[rows >= len(self.at_hand)].tolist())), int(gaps.sum())

    def fillers(self, most: int) -> tuple[Filler, ...]:
        """Single pencils that lessen the shortfall, best first."""
        last = len(self.graph) - 1
        inner = np.arange(1, last)
        inner = inner[self.graph.rows[inner] >= len(self.at_hand)]
        (direct, *_), _ = self.graph.step(0, np.array([last]))
        (into, toll_into), (out, toll_out) = self.graph.step(0, inner), self.graph.step(inner, last)
        shortfall = into + out + self.graph.tube[inner]
        order = np.lexsort((self.graph.rank[inner], toll_into + toll_out, shortfall))
        useful = order[shortfall[order] < direct - ROUNDING]
        return tuple(self._filler(node) for node in inner[useful[:most]].tolist())

    def _filler(self, node: int) -> Filler:
        lab = self.graph.lab[[0, node, len(self.graph) - 1]]
        first, second = delta_E(lab[:-1], lab[1:]).tolist()
        remaining = int(over_limit([first, second], self.graph.limit).sum())
        return Filler(self._bought(int(self.graph.rows[node])), (first, second), remaining)

    def _bought(self, row: int) -> Swatch:
        return self.to_buy[row - len(self.at_hand)]


def _stops_taken(found: Blend, path: Path) -> dict[int, str]:
    """The stops of the path that are pencils of the blend, and their addresses."""
    return {
        stop: point.swatch.address
        for stop, lab in enumerate(path.stops.tolist())
        for point in found.points
        if point.swatch is not None and list(point.lab) == lab
    }


def _node(graph: Graph, point: Point) -> int:
    """Where a point of a blend lies in a graph along its path."""
    apart = np.abs(graph.progress - point.progress)
    return int(np.argmin(apart + np.abs(graph.lab - point.lab).sum(axis=-1)))
