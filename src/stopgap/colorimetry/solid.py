"""The optimal colour solid: which colours a surface that does not fluoresce can have at all.

Reflectance factors between 0 and 1 give tristimulus values within the Rösch-MacAdam solid, the sum
of one line segment a nanometre, from black to the weights of that nanometre: a zonotope. Its faces
are spanned by pairs of the segments, so a colour is inside if and only if, along the normal n of
every pair, its distance from mid grey is at most half the sum of |n . w| over all segments w. No
hull has to be computed, and there is no interpolation.

References
----------
S. Rösch (1928), "Die Kennzeichnung der Farben", Physikalische Zeitschrift 29, 83-91.
D. L. MacAdam (1935), "Maximum visual efficiency of colored materials", JOSA 25(11), 361-367.
G. M. Ziegler (1995), Lectures on Polytopes, section 7.3: zonotopes.
"""

from functools import cache
from pathlib import Path
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats, FloatsLike, as_lab, read_only
from stopgap.colorimetry.cielab import lab_to_xyz, xyz_to_lab
from stopgap.errors import InputError

TOLERANCE = 1.0
"""How far outside, in ΔE*ab towards grey, still passes: readings every 10 nm, rounded Lab."""

_COARSE, _FINE = (20, 5), 1  # nm, each of which the one before is a multiple of
_ROWS = 32  # colours at a time before all faces: 22 MB an array
_HALVINGS = 40


class _Zonotope(NamedTuple):
    """`normals` (f, 3) of the faces, and the `reach` (f,) from the centre along each."""

    centre: Floats
    normals: Floats
    reach: Floats

    def contains(self, points: Floats) -> Booleans:
        inside = np.empty(len(points), dtype=np.bool_)
        for start in range(0, len(points), _ROWS):
            rows = slice(start, start + _ROWS)
            along = np.abs((points[rows] - self.centre) @ self.normals.T)
            inside[rows] = (along <= self.reach).all(axis=1)
        return inside


def within_optimal_solid(lab: FloatsLike, tolerance: float = TOLERANCE) -> Booleans:
    """Whether L*, a*, b* (..., 3), D50, 2 degree observer, can be the colour of a surface, (...).

    Colours outside fluoresce, shine, or were measured or typed wrongly. `tolerance` is how far
    outside still passes, as ΔE*ab on the way to the grey of the same lightness.

    Raises
    ------
    InputError
        For values that are not finite, a last axis that is not 3, or a negative tolerance.

    >>> within_optimal_solid([[50, 0, 0], [95, 40, 0], [97, -7, 60]]).tolist()
    [True, False, True]
    """
    if not tolerance >= 0.0:
        raise InputError(f"tolerance: expected 0 or more ΔE*ab, found {tolerance!r}.")
    colours = as_lab(lab).reshape(-1, 3)
    # What a small solid of few faces holds, the large one holds, and what it holds as it is, it
    # holds towards grey; few colours are left to ask.
    inside = np.zeros(len(colours), dtype=np.bool_)
    for step in _COARSE:
        if not inside.all():
            inside[~inside] = _zonotope(step).contains(lab_to_xyz(colours[~inside], _white()))
    if not inside.all():
        inside[~inside] = _zonotope(_FINE).contains(_towards_grey(colours[~inside], tolerance))
    return inside.reshape(np.shape(lab)[:-1])


def _towards_grey(lab: Floats, distance: float) -> Floats:
    """X, Y, Z of colours (n, 3) after `distance` ΔE*ab of the way to their grey, or the grey.

    The way is straight in X, Y, Z, where the solid is convex: having entered, it does not leave.
    """
    white = _white()
    points = lab_to_xyz(lab, white)
    greys = points[:, 1:2].clip(0.0, 100.0) / 100.0 * white
    low, high = np.zeros((len(lab), 1)), np.ones((len(lab), 1))
    if distance > 0.0:
        for _ in range(_HALVINGS):
            middle = (low + high) / 2.0
            there = xyz_to_lab(points + middle * (greys - points), white)
            near = np.linalg.norm(there - lab, axis=1, keepdims=True) <= distance
            low, high = np.where(near, middle, low), np.where(near, high, middle)
    return np.asarray(points + low * (greys - points))


@cache
def _zonotope(step: int) -> _Zonotope:
    """The solid of reflectances that are constant over every `step` nanometres."""
    weights = _weights()
    segments = np.add.reduceat(weights, np.arange(0, len(weights), step))
    first, second = np.triu_indices(len(segments), 1)
    normals = np.cross(segments[first], segments[second])
    length = np.linalg.norm(normals, axis=1)
    # Far in the red neighbours are parallel up to rounding. Whatever normal that leaves is tested
    # against its own reach, which holds for any direction.
    faces = length > 0.0
    normals = normals[faces] / length[faces, np.newaxis]
    reach = np.zeros(len(normals))
    for segment in segments:  # all at once would take 300 MB
        reach += np.abs(normals @ segment) / 2.0
    return _Zonotope(weights.sum(axis=0) / 2.0, normals, reach * (1.0 + 1e-12) + 1e-12)


def _white() -> Floats:
    white: Floats = _weights().sum(axis=0)
    return white


@cache
def _weights() -> Floats:
    """X, Y, Z of each nanometre from 360 to 780 under D50, 2 degree observer: (421, 3)."""
    file = Path(__file__).parent / "data" / "d50_2_degree.csv"
    with file.open(encoding="utf-8") as rows:
        return read_only(np.loadtxt(rows, delimiter=",", skiprows=6, usecols=(1, 2, 3)))
