"""ΔE00 of small steps as a quadratic form, and how uncertainty of colours carries through it.

Near a colour ΔE00² of a step d in L*, a*, b* is d' G d with a matrix G of that colour. A colour
whose error is the same in every direction of ΔE00 therefore has the covariance u² G^-1.
The colours one ΔE00 away from a colour are, near enough, an ellipse: it tells about the
neighbourhood only, up to a ΔE00 of a few units.

References
----------
Propagation: JCGM 100:2008 (GUM), section 5.1.2, equation (10).
ΔE00 as a line element: D. Pant and I. Farup (2012), "Riemannian formulation and comparison of color
difference formulas", Color Research & Application 37(6), 429-440. They differentiate by hand; here
the formula itself is asked on tiny steps, centred on the colour, so that there is one formula.
"""

from enum import StrEnum

import numpy as np

from stopgap.arrays import Floats, FloatsLike, as_floats, as_lab, one_lab, read_only
from stopgap.difference.formulas.ciede2000 import delta_E_ciede2000
from stopgap.errors import InputError

_STEP = 0.01  # of L*, a*, b*: curvature is below 1e-4 of the form, rounding below 1e-9
_PAIRS = ((0, 1), (0, 2), (1, 2))
_AXES = np.eye(3)
_DIRECTIONS = read_only(
    [
        *_AXES,
        *(_AXES[row] + _AXES[column] for row, column in _PAIRS),
        *(_AXES[row] - _AXES[column] for row, column in _PAIRS),
    ]
)
_GROWTH_L, _GROWTH_C = 0.015, 0.045  # of S_L (18), far from L* = 50, and of S_C (19)
_NEARLY_EQUAL = 2.0
"""Below this many standard uncertainties a difference has no direction to propagate along."""


def metric_tensor(lab: FloatsLike) -> Floats:
    """G (..., 3, 3) of L*, a*, b* (..., 3): ΔE00² of a small step d is d' G d.

    >>> metric_tensor([50, 0, 0]).round(3).tolist()
    [[1.0, 0.0, 0.0], [0.0, 2.25, 0.0], [0.0, 0.0, 1.0]]
    """
    colours = as_lab(lab)[..., np.newaxis, :]
    half = _DIRECTIONS * _STEP / 2.0
    squared = (delta_E_ciede2000(colours - half, colours + half) / _STEP) ** 2
    along, sums, differences = np.split(squared, 3, axis=-1)
    form = np.empty((*along.shape[:-1], 3, 3))
    for axis in range(3):
        form[..., axis, axis] = along[..., axis]
    for place, (row, column) in enumerate(_PAIRS):
        mixed = (sums[..., place] - differences[..., place]) / 4.0  # polarisation
        form[..., row, column] = form[..., column, row] = mixed
    return form


def to_even_coordinates(lab: FloatsLike) -> Floats:
    """Colours (..., 3) where ΔE00 of a small step is nearly its length, whatever the colour.

    Lightness and chroma are S_L and S_C of ISO/CIE 11664-6, integrated from L* = 50 and from grey;
    hue stays. What ΔE00 adds to a* near grey, and its terms of hue, are left out: over the colours
    of pencils a length is within a third of ΔE00 for nine pairs in ten. Inverse of
    `from_even_coordinates`.

    >>> to_even_coordinates([50, 60, 0]).round(2).tolist()
    [0.0, 29.07, 0.0]
    """
    colours = as_lab(lab)
    off = colours[..., 0] - 50.0
    lightness = np.copysign(np.log1p(_GROWTH_L * np.abs(off)) / _GROWTH_L, off)
    chroma = np.hypot(colours[..., 1], colours[..., 2])
    shrunk = np.log1p(_GROWTH_C * chroma) / _GROWTH_C
    return _with_chroma(lightness, colours[..., 1:], chroma, shrunk)


def from_even_coordinates(places: FloatsLike) -> Floats:
    """L*, a*, b* (..., 3) of even coordinates."""
    even = as_lab(places, "places")
    lightness = (
        50.0 + np.copysign(np.expm1(_GROWTH_L * np.abs(even[..., 0])), even[..., 0]) / _GROWTH_L
    )
    shrunk = np.hypot(even[..., 1], even[..., 2])
    chroma = np.expm1(_GROWTH_C * shrunk) / _GROWTH_C
    return _with_chroma(lightness, even[..., 1:], shrunk, chroma)


def _with_chroma(lightness: Floats, hue: Floats, chroma: Floats, wanted: Floats) -> Floats:
    """Colours (..., 3) whose second and third coordinate (..., 2) get another length."""
    factor = np.divide(wanted, chroma, out=np.ones_like(chroma), where=chroma > 0.0)
    return np.concatenate([lightness[..., np.newaxis], hue * factor[..., np.newaxis]], axis=-1)


def even_covariance(lab: FloatsLike, uncertainty: FloatsLike) -> Floats:
    """Covariance (..., 3, 3) of L*, a*, b* that is `uncertainty` in ΔE00 in every direction."""
    inverse = np.linalg.inv(metric_tensor(lab))
    squared = as_floats(uncertainty, "uncertainty")[..., np.newaxis, np.newaxis] ** 2
    covariance: Floats = squared * inverse
    return covariance


def mean_uncertainty(lab: FloatsLike, covariance: FloatsLike) -> Floats:
    """Standard uncertainty in ΔE00 of a covariance: its root mean square over the directions."""
    product = metric_tensor(lab) @ as_floats(covariance, "covariance")
    uncertainty: Floats = np.sqrt(np.trace(product, axis1=-2, axis2=-1) / 3.0)
    return uncertainty


def difference_gradient(lab_1: FloatsLike, lab_2: FloatsLike) -> tuple[Floats, Floats]:
    """Derivatives (..., 3) of ΔE00 by L*, a*, b* of colour 1 and of colour 2."""
    first, second = np.broadcast_arrays(as_lab(lab_1, "lab_1"), as_lab(lab_2, "lab_2"))
    half = _STEP / 2.0 * np.concatenate([_AXES, -_AXES])

    def slopes(moved: Floats, other: Floats) -> Floats:
        above, below = np.split(delta_E_ciede2000(moved[..., np.newaxis, :] + half, other), 2, -1)
        return (above - below) / _STEP

    return slopes(first, second[..., np.newaxis, :]), slopes(second, first[..., np.newaxis, :])


def difference_uncertainty(
    lab_1: FloatsLike, covariance_1: FloatsLike, lab_2: FloatsLike, covariance_2: FloatsLike
) -> Floats:
    """Standard uncertainty (...) of ΔE00 between colours of independent covariances (..., 3, 3).

    Linear propagation. Where the colours are nearer than two standard uncertainties the difference
    has no direction to speak of; there it is the root mean square over all directions, which is
    what either colour would have to move.
    """
    first, second = as_lab(lab_1, "lab_1"), as_lab(lab_2, "lab_2")
    one, two = as_floats(covariance_1, "covariance_1"), as_floats(covariance_2, "covariance_2")
    along_1, along_2 = difference_gradient(first, second)
    along = _form(along_1, one) + _form(along_2, two)
    anywhere = mean_uncertainty((first + second) / 2.0, one + two)
    near = delta_E_ciede2000(first, second) < _NEARLY_EQUAL * anywhere
    return np.where(near, anywhere, np.sqrt(along))


def _form(direction: Floats, matrix: Floats) -> Floats:
    result: Floats = np.einsum("...i,...ij,...j->...", direction, matrix, direction)
    return result


class Plane(StrEnum):
    """Where a contour is drawn: at equal lightness over a*, b*, or at equal hue over C*ab, L*."""

    AB = "ab"
    LIGHTNESS = "lightness"


def unit_contour(
    lab: FloatsLike, plane: Plane | str = Plane.AB, *, delta_E: float = 1.0, points: int = 72
) -> Floats:
    """The ellipse of colours at a ΔE00 of `delta_E` from one colour (3,), as (points, 2).

    Columns are a*, b* at the colour's lightness, or C*ab, L* at its hue. The curve is closed: its
    last point is its first.

    Raises
    ------
    InputError
        If `lab` is not one colour, `plane` unknown, or `delta_E` not above 0.
    """
    colour = one_lab(lab)
    if plane not in list(Plane):
        raise InputError(f"plane: {plane!r} is not one of {', '.join(Plane)}.")
    if not delta_E > 0.0:
        raise InputError(f"delta_E: expected more than 0, found {delta_E}.")
    L, a, b = colour.tolist()
    chroma = np.hypot(a, b)
    if plane == Plane.AB:
        axes, centre = np.eye(3)[1:], np.array([a, b])
    else:
        outward = [0.0, a / chroma, b / chroma] if chroma > 0.0 else [0.0, 1.0, 0.0]
        axes, centre = np.array([outward, [1.0, 0.0, 0.0]]), np.array([chroma, L])
    tensor = axes @ metric_tensor(colour) @ axes.T
    angle = np.linspace(0.0, 2.0 * np.pi, points)
    circle = np.column_stack([np.cos(angle), np.sin(angle)])
    # with G = Q Qᵀ, the points x of xᵀ G x = r² are r Q⁻ᵀ u for the unit vectors u
    return np.asarray(
        centre + delta_E * np.linalg.solve(np.linalg.cholesky(tensor).T, circle.T).T,
        dtype=np.float64,
    )
