"""The way of a blend: the line of colours that a chain of pencils should follow."""

from dataclasses import dataclass

import numpy as np

from stopgap.arrays import Floats, FloatsLike, as_lab
from stopgap.colorimetry.cam16 import cam16_ucs_to_lab, lab_to_cam16_ucs
from stopgap.errors import UsageError

_CORRIDOR_SHARE, _LEAST_CORRIDOR = 0.25, 8.0  # this project's choice; of the length, and units


@dataclass(frozen=True, slots=True)
class Way:
    """Straight in CAM16-UCS from stop to stop; `corners` (n, 3) are J', a', b' of the stops.

    `by_lightness` measures progress by lightness alone, as within a family.
    """

    corners: Floats
    by_lightness: bool = False

    @property
    def length(self) -> float:
        """Length in units of CAM16-UCS."""
        return float(np.linalg.norm(np.diff(self.corners, axis=0), axis=-1).sum())

    def locate(self, lab: FloatsLike) -> tuple[Floats, Floats]:
        """Progress along the way (0 at its start, 1 at its end) and distance from it, (n, 3).

        The distance is in units of CAM16-UCS from the nearest point of the way.
        """
        points = lab_to_cam16_ucs(lab)
        starts, legs = self.corners[:-1], np.diff(self.corners, axis=0)
        squared = np.maximum(np.sum(legs**2, axis=-1), 1e-12)
        share = np.sum((points[:, None] - starts) * legs, axis=-1) / squared
        nearest = starts + np.clip(share, 0.0, 1.0)[..., None] * legs
        strays = np.linalg.norm(points[:, None] - nearest, axis=-1)
        leg = np.argmin(strays, axis=-1)
        row = np.arange(len(points))
        if self.by_lightness:
            first, last = self.corners[0, 0], self.corners[-1, 0]
            return (points[:, 0] - first) / (last - first), strays[row, leg]
        lengths = np.sqrt(squared)
        before = np.concatenate([[0.0], np.cumsum(lengths)])
        inside = share[row, leg]
        # short of the start or past the end counts; at a bend between two legs it does not
        inside = np.where(leg > 0, np.maximum(inside, 0.0), inside)
        inside = np.where(leg < len(legs) - 1, np.minimum(inside, 1.0), inside)
        return (before[leg] + inside * lengths[leg]) / before[-1], strays[row, leg]


def way_through(stops: FloatsLike, *, by_lightness: bool = False) -> Way:
    """The way through the stops (n, 3), CIE L*a*b* D50, the first and last being the ends.

    Raises
    ------
    UsageError
        For fewer than two stops, for two equal stops in a row, or, by lightness, for ends of equal
        lightness.
    """
    colours = as_lab(stops, "stops").reshape(-1, 3)
    if len(colours) < 2:
        raise UsageError("a way needs two ends.")
    if (np.abs(np.diff(colours, axis=0)).max(axis=-1) < 1e-6).any():
        raise UsageError("two neighbouring ends or stops of the blend are the same colour.")
    if by_lightness and abs(colours[0, 0] - colours[-1, 0]) < 1e-3:
        raise UsageError("the ends are of equal lightness, so there is no way by lightness.")
    return Way(lab_to_cam16_ucs(colours), by_lightness)


def usual_corridor(length: float) -> float:
    """How far from a way of that length a pencil may lie, where nobody says: units of its space."""
    return max(_CORRIDOR_SHARE * length, _LEAST_CORRIDOR)


def between(lab_1: FloatsLike, lab_2: FloatsLike, shares: FloatsLike) -> Floats:
    """Colours at the `shares` (n,) of the straight way from one colour to the other, as CIELAB."""
    first, last = lab_to_cam16_ucs(lab_1), lab_to_cam16_ucs(lab_2)
    return cam16_ucs_to_lab(first + np.asarray(shares)[:, None] * (last - first))
