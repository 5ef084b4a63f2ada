"""The path of a blend: the line of colours that a chain of pencils should follow.

Between ends P and Q in J'a'b' of CAM16-UCS lie the chord S(t) = P + t (Q - P) and the arc A(t), on
which J' and M' change evenly and the hue takes the shorter way round. The path is

    W = (1 - r) S + r A,   r = smooth(min(M'_P, M'_Q); 8, 16) (1 - smooth(|h_Q - h_P|; 90°, 150°))

with smooth = 3 s^2 - 2 s^3. So neighbouring hues keep their chroma, complementaries pass a neutral,
and beside a near-neutral end, whose hue means nothing, the path is the chord: what CSS Color 4
(section 12.2, "powerless" hues) does by a switch is continuous here. The limits of the two ramps
are this project's choice.
"""

from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Floats, FloatsLike, Integers, as_lab
from stopgap.colorimetry.cam16 import cam16_ucs_to_lab, lab_to_cam16_ucs
from stopgap.defaults import PATH
from stopgap.errors import UsageError

_HAIR = 1e-6  # many times what rounding makes of a distance
_POINTS = 25  # of a bent leg
_VIVID = (8.0, 16.0)  # M' from which hue begins to count, and counts in full
_FAR_HUES = (np.radians(90.0), np.radians(150.0))  # from where the arc gives way to the chord
_CORRIDOR_SHARE, _LEAST_CORRIDOR = 0.25, 8.0  # of the chord, and units of J'a'b'


class PathKind(StrEnum):
    """How the path runs: as the hues suggest, along the chord, or round by the hues."""

    AUTO = "auto"
    STRAIGHT = "straight"
    ROUND = "round"


class Located(NamedTuple):
    """Where colours lie: `progress` (n,), `offset` (n, 3) from the path there, `distance` (n,).

    Progress is 0 at the start and 1 at the end of the path. `offset` is in J'a'b'; `distance` is
    that from the path or from the chord, whichever is nearer.
    """

    progress: Floats
    offset: Floats
    distance: Floats


@dataclass(frozen=True)
class Path:
    """The path through `stops` (k, 3), CIE L*a*b* D50, the first and the last being the ends.

    `points` (m, 3) are the corners of its polyline in J'a'b', `shares` (m,) their progress, by arc
    length or, with `by_lightness`, by J' alone; `places` (k,) says which of them are the stops.
    `bent` says whether it leaves the chord anywhere.
    """

    stops: Floats
    points: Floats
    shares: Floats
    places: tuple[int, ...]
    bent: bool
    by_lightness: bool = False

    @cached_property
    def length(self) -> float:
        """Length in units of CAM16-UCS."""
        return _length(self.points)

    @cached_property
    def corners(self) -> Floats:
        """The stops in J'a'b', (k, 3); the chord runs straight from one to the next."""
        corners: Floats = self.points[list(self.places)]
        return corners

    @cached_property
    def corner_shares(self) -> Floats:
        """Progress of the stops, (k,)."""
        shares: Floats = self.shares[list(self.places)]
        return shares

    @cached_property
    def directions(self) -> Floats:
        """Per leg 1 where it goes lighter, -1 darker, 0 where the ends differ by at most 1."""
        rise = np.diff(self.corners[:, 0])
        return np.where(np.abs(rise) > 1.0, np.sign(rise), 0.0)

    @property
    def usual_corridor(self) -> float:
        """How far from the path a pencil may lie, where nobody says: units of CAM16-UCS."""
        return max(_CORRIDOR_SHARE * _length(self.corners), _LEAST_CORRIDOR)

    def at(self, progress: FloatsLike) -> Floats:
        """J'a'b' of the path at `progress` (n,), (n, 3)."""
        asked = np.asarray(progress, dtype=np.float64)
        return np.stack([np.interp(asked, self.shares, part) for part in self.points.T], axis=-1)

    def aims(self, spacing: float) -> Floats:
        """CIE L*a*b* of points about `spacing` [J'a'b'] apart along the path, ends left out."""
        count = max(int(np.ceil(self.length / spacing)), 2)
        return cam16_ucs_to_lab(self.at(np.arange(1, count) / count))

    def chord(self) -> "Path":
        """The path straight from stop to stop."""
        return path_through(self.stops, PathKind.STRAIGHT, by_lightness=self.by_lightness)

    def about(self, lab: FloatsLike, corridor: float) -> Integers:
        """Rows of the colours `lab` (n, 3) in a ball about the path, with all within `corridor` of
        path or chord.
        """
        corners = np.concatenate([self.points, self.corners])
        middle = (corners.min(axis=0) + corners.max(axis=0)) / 2.0
        reach = float(np.linalg.norm(corners - middle, axis=-1).max()) + corridor
        apart = np.linalg.norm(lab_to_cam16_ucs(as_lab(lab, "lab")) - middle, axis=-1)
        return np.flatnonzero(apart <= reach + _HAIR)

    def locate(self, lab: FloatsLike) -> Located:
        """Where the colours `lab` (n, 3) lie; before the start is 0, past the end is 1."""
        colours = lab_to_cam16_ucs(as_lab(lab, "lab").reshape(-1, 3))
        if self.by_lightness:
            first, last = self.points[0, 0], self.points[-1, 0]
            progress = np.clip((colours[:, 0] - first) / (last - first), 0.0, 1.0)
        else:
            leg, share = _nearest(colours, self.points)
            progress = self.shares[leg] + share * np.diff(self.shares)[leg]
        offset = colours - self.at(progress)
        distance = np.linalg.norm(offset, axis=-1)
        if self.bent:
            leg, share = _nearest(colours, self.corners)
            chord = self.corners[leg] + share[:, None] * np.diff(self.corners, axis=0)[leg]
            distance = np.minimum(distance, np.linalg.norm(colours - chord, axis=-1))
        return Located(progress, offset, distance)


def path_through(
    stops: FloatsLike, kind: PathKind | str = PATH, *, by_lightness: bool = False
) -> Path:
    """The path through the stops (k, 3), CIE L*a*b* D50.

    Raises
    ------
    UsageError
        For fewer than two stops, for two equal stops in a row, for an unknown kind, or, by
        lightness, for stops that do not lie in order between ends of different lightness.
    """
    colours = as_lab(stops, "stops").reshape(-1, 3)
    if kind not in list(PathKind):
        raise UsageError(f"{kind!r} is not one of {', '.join(PathKind)}.", argument="path")
    if len(colours) < 2:
        raise UsageError("a blend needs two ends.")
    if (np.abs(np.diff(colours, axis=0)).max(axis=-1) < 1e-6).any():
        raise UsageError("two neighbouring ends or stops of the blend are the same colour.")
    corners = lab_to_cam16_ucs(colours)
    if by_lightness:
        _check_order(colours[:, 0], corners[:, 0])
    legs = [_leg(P, Q, PathKind(kind)) for P, Q in pairwise(corners)]
    points = np.concatenate([legs[0][:1], *(leg[1:] for leg in legs)])
    places = (0, *np.cumsum([len(leg) - 1 for leg in legs]).tolist())
    along = points[:, 0] - points[0, 0] if by_lightness else _run(points)
    bent = any(len(leg) > 2 for leg in legs)
    return Path(colours, points, along / along[-1], places, bent, by_lightness)


def roundness(P: Floats, Q: Floats) -> float:
    """The share r of the arc in the path from P to Q, both J'a'b' (3,): 0 for the chord alone."""
    least = float(min(np.hypot(*P[1:]), np.hypot(*Q[1:])))
    return _smooth(least, *_VIVID) * (1.0 - _smooth(abs(_turn(P, Q)), *_FAR_HUES))


def _leg(P: Floats, Q: Floats, kind: PathKind) -> Floats:
    r = {PathKind.STRAIGHT: 0.0, PathKind.ROUND: 1.0}.get(kind, roundness(P, Q))
    if r == 0.0:
        return np.stack([P, Q])
    t = np.linspace(0.0, 1.0, _POINTS)
    straight = P + t[:, None] * (Q - P)
    M = (1.0 - t) * np.hypot(*P[1:]) + t * np.hypot(*Q[1:])
    h = np.arctan2(P[2], P[1]) + t * _turn(P, Q)
    arc = np.stack([straight[:, 0], M * np.cos(h), M * np.sin(h)], axis=-1)
    return np.concatenate([P[None], ((1.0 - r) * straight + r * arc)[1:-1], Q[None]])


def _turn(P: Floats, Q: Floats) -> float:
    """The hue of Q less that of P the shorter way round [radians], from -pi to pi."""
    return float(np.arctan2(P[1] * Q[2] - P[2] * Q[1], P[1] * Q[1] + P[2] * Q[2]))


def _smooth(value: float, low: float, high: float) -> float:
    s = min(max((value - low) / (high - low), 0.0), 1.0)
    return s * s * (3.0 - 2.0 * s)


def _run(points: Floats) -> Floats:
    """Length of the polyline up to each of its points."""
    return np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=-1))])


def _length(points: Floats) -> float:
    return float(_run(points)[-1])


def _nearest(colours: Floats, points: Floats) -> tuple[np.ndarray, Floats]:
    """The leg of a polyline that is nearest to each colour, and the share of it gone by there."""
    starts, legs = points[:-1], np.diff(points, axis=0)
    squared = np.maximum(np.sum(legs**2, axis=-1), 1e-12)
    along = colours @ legs.T - np.sum(starts * legs, axis=-1)
    share = np.clip(along / squared, 0.0, 1.0)
    # |u - s|^2 without |u|^2, which is the same for every leg
    apart = np.sum(starts**2, axis=-1) - 2.0 * colours @ starts.T
    leg = np.argmin(apart + share * (share * squared - 2.0 * along), axis=-1)
    return leg, share[np.arange(len(colours)), leg]


def _check_order(L: Floats, J: Floats) -> None:
    if abs(L[-1] - L[0]) < 1e-3:
        raise UsageError("the ends are of equal lightness, so there is no path by lightness.")
    if (np.diff(J) * np.sign(J[-1] - J[0]) <= 0.0).any():
        raise UsageError("the stops of a blend by lightness must lie in order between its ends.")
