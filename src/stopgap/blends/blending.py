"""The blend between two colours: the best chain of chosen pencils from one to the other."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stopgap.arrays import Floats, FloatsLike, as_lab
from stopgap.blends.chains import best_chain, chain_within
from stopgap.blends.filing import Family
from stopgap.blends.graph import DEFAULT_LIMIT, Prefer
from stopgap.blends.ways import Way, usual_corridor, way_through
from stopgap.difference import delta_E
from stopgap.errors import InputError, UsageError
from stopgap.swatches import Swatch

_PROGRESS = 1e-6

End = Swatch | FloatsLike
"""A pencil, or any colour as CIE L*a*b* of shape (3,)."""


@dataclass(frozen=True, slots=True)
class Point:
    """A colour of a blend: a pencil, or a bare colour where `swatch` is None.

    `progress` is 0 at the start of the way and 1 at its end; `stray` is the distance from the way
    in units of CAM16-UCS, 0 in a family, which is its own way.
    """

    lab: tuple[float, float, float]
    swatch: Swatch | None
    progress: float
    stray: float


@dataclass(frozen=True, slots=True)
class Blend:
    """A chain of colours and the ΔE00 `steps` between neighbours."""

    name: str
    points: tuple[Point, ...]
    steps: tuple[float, ...]
    limit: float

    @property
    def swatches(self) -> tuple[Swatch, ...]:
        """The pencils of the chain, in order."""
        return tuple(point.swatch for point in self.points if point.swatch is not None)

    @property
    def largest_step(self) -> float:
        """The largest step, ΔE00."""
        return max(self.steps)

    @property
    def over_limit(self) -> tuple[int, ...]:
        """Places of the steps over the limit: step i lies between points i and i + 1."""
        return tuple(place for place, step in enumerate(self.steps) if step > self.limit)

    @property
    def closed(self) -> bool:
        """Whether no step passes the limit."""
        return not self.over_limit

    @property
    def largest_stray(self) -> float:
        """How far the chain strays from the way, in units of CAM16-UCS."""
        return max(point.stray for point in self.points)


def blend(
    start: End,
    end: End,
    candidates: Sequence[Swatch],
    *,
    stops: Sequence[End] = (),
    by_lightness: bool = False,
    prefer: Prefer | str = Prefer.SMOOTHEST,
    limit: float = DEFAULT_LIMIT,
    max_pencils: int | None = None,
    corridor: float | None = None,
    name: str = "",
) -> Blend:
    """The chain of pencils from `start` to `end` whose largest step ΔE00 is smallest.

    Every pencil lies further along the way than the one before it. The way is straight in CAM16-UCS
    from stop to stop. A bare colour at an end belongs to the chain without being a pencil.

    Parameters
    ----------
    start, end
        Pencils, or colours as CIE L*a*b* (D50) of shape (3,).
    candidates
        The pencils to choose from; the caller leaves out what must not be offered.
    stops
        Colours that the way passes; a pencil among them is part of the chain.
    by_lightness
        Progress is measured by lightness alone, as within a family; the corridor is then open.
    prefer
        Among the chains of smallest largest step: `fewest` pencils, or `smoothest`, whose sum of
        squared steps is smallest. Or `enough`: the fewest pencils that keep every step within the
        limit, and where none do, those that leave the smallest largest step.
    limit
        The largest step [ΔE00] that still melts; steps over it are gaps.
    max_pencils
        No more pencils than that, those at the ends and stops included.
    corridor
        Pencils further from the way [units of CAM16-UCS] are not considered; by default a quarter
        of the way's length, but at least 8.

    Raises
    ------
    UsageError
        For equal ends, no candidates, a limit or corridor of zero or below, or too few pencils
        allowed.
    """
    check_limit(limit)
    if prefer not in list(Prefer):
        raise UsageError(f"prefer: {prefer!r} is not one of {', '.join(Prefer)}.")
    if corridor is not None and not corridor > 0.0:
        raise UsageError(f"corridor: expected more than 0, found {corridor}.")
    fixed = [start, *stops, end]
    pencils = [each for each in fixed if isinstance(each, Swatch)]
    addresses = {each.address for each in pencils}
    if len(addresses) < len(pencils):
        raise UsageError("the ends and stops of a blend must be different pencils.")
    if not candidates:
        raise UsageError("candidates: there are no pencils to blend with.")
    if max_pencils is not None and max_pencils < max(len(pencils), 1):
        raise UsageError(
            f"{max_pencils} is too few, the ends and stops alone are {len(pencils)}.",
            argument="max_pencils",
        )
    way = way_through([_lab(each) for each in fixed], by_lightness=by_lightness)
    points = _fixed_points(fixed, way) + _points_on(
        way, [each for each in candidates if each.address not in addresses], corridor
    )
    points.sort(key=lambda point: point.progress)
    must = [point for point in points if point.swatch in pencils]
    most_links = None if max_pencils is None else max_pencils - len(pencils) + _fixed_links(fixed)
    steps = _links(points, must)
    if Prefer(prefer) is Prefer.ENOUGH:
        chain = chain_within(steps, limit, most_links)
    else:
        chain = best_chain(steps, Prefer(prefer), most_links)
    return _blend_of(name, [points[row] for row in chain], limit)


def blend_of_family(family: Family, *, limit: float = DEFAULT_LIMIT) -> Blend:
    """A family from its lightest to its darkest, as the blend that all of its swatches make.

    Raises
    ------
    UsageError
        For a family of one swatch, or a limit of zero or below.
    """
    check_limit(limit)
    if len(family.filed) < 2:
        raise UsageError(f"family {family.name}: one swatch alone makes no blend.")
    swatches = [each.swatch for each in family.filed]
    lab = np.array([swatch.lab for swatch in swatches])
    share = np.linspace(0.0, 1.0, len(swatches))
    points = [
        Point(swatch.lab, swatch, float(progress), 0.0) for swatch, progress in zip(swatches, share)
    ]
    steps = delta_E(lab[:-1], lab[1:])
    return Blend(family.name, tuple(points), tuple(steps.tolist()), limit)


def check_limit(limit: float) -> None:
    """Raise UsageError unless the limit of a step is above zero."""
    if not limit > 0.0:
        raise UsageError(f"a step must be allowed more than 0, found {limit}.", argument="limit")


def _lab(end: End) -> Floats:
    colour = as_lab(end.lab if isinstance(end, Swatch) else end, "end of the blend")
    if colour.shape != (3,):
        raise InputError(f"end of the blend: expected one colour, shape is {colour.shape}.")
    return colour


def _fixed_points(fixed: Sequence[End], way: Way) -> list[Point]:
    """The ends, and the stops that are pencils, at the progress of their corner of the way."""
    lengths = np.linalg.norm(np.diff(way.corners, axis=0), axis=-1)
    shares = np.concatenate([[0.0], np.cumsum(lengths)]) / lengths.sum()
    if way.by_lightness:
        shares = way.locate([_lab(each) for each in fixed])[0]
        if (np.diff(shares) <= _PROGRESS).any():
            raise UsageError(
                "the stops of a blend by lightness must lie in order between its ends."
            )
    found = []
    for place, (each, share) in enumerate(zip(fixed, shares)):
        swatch = each if isinstance(each, Swatch) else None
        if swatch is not None or place in (0, len(fixed) - 1):
            L, a, b = _lab(each).tolist()
            found.append(Point((L, a, b), swatch, float(share), 0.0))
    return found


def _points_on(way: Way, candidates: Sequence[Swatch], corridor: float | None) -> list[Point]:
    """The candidates that lie between the ends of the way and near enough to it."""
    if not candidates:
        return []
    if corridor is None and not way.by_lightness:
        corridor = usual_corridor(way.length)
    progress, stray = way.locate([swatch.lab for swatch in candidates])
    inside = (progress > _PROGRESS) & (progress < 1.0 - _PROGRESS)
    if corridor is not None:
        inside &= stray <= corridor
    return [
        Point(candidates[row].lab, candidates[row], float(progress[row]), float(stray[row]))
        for row in np.flatnonzero(inside).tolist()
    ]


def _fixed_links(fixed: Sequence[End]) -> int:
    """Links of the chain that has only the ends and the stops that are pencils."""
    return 1 + sum(isinstance(stop, Swatch) for stop in fixed[1:-1])


def _links(points: Sequence[Point], must: Sequence[Point]) -> Floats:
    """ΔE00 from each point to each later one; infinite backwards and past a pencil that must be."""
    lab = np.array([point.lab for point in points])
    progress = np.array([point.progress for point in points])
    ahead = progress[None, :] - progress[:, None] > _PROGRESS
    for point in must:
        past = (progress[:, None] < point.progress) & (progress[None, :] > point.progress)
        ahead &= ~past
    return np.where(ahead, delta_E(lab[:, None], lab[None, :]), np.inf)


def _blend_of(name: str, points: Sequence[Point], limit: float) -> Blend:
    lab = np.array([point.lab for point in points])
    return Blend(name, tuple(points), tuple(delta_E(lab[:-1], lab[1:]).tolist()), limit)
