"""ΔE00 of small steps as a quadratic form, and how uncertainty of colours carries through it.

Near a colour ΔE00² of a step d in L*, a*, b* is d' G d with a matrix G of that colour. A colour
whose error is the same in every direction of ΔE00 therefore has the covariance u² G^-1.

References
----------
Propagation: JCGM 100:2008 (GUM), section 5.1.2, equation (10).
ΔE00 as a line element: D. Pant and I. Farup (2012), "Riemannian formulation and comparison of color
difference formulas", Color Research & Application 37(6), 429-440. They differentiate by hand; here
the formula itself is asked on tiny steps, centred on the colour, so that there is one formula.
"""

import numpy as np

from stopgap.arrays import Floats, FloatsLike, as_floats, as_lab
from stopgap.difference.ciede2000 import delta_E_ciede2000

_STEP = 0.01  # of L*, a*, b*: curvature is below 1e-4 of the form, rounding below 1e-9
_PAIRS = ((0, 1), (0, 2), (1, 2))
_NEARLY_EQUAL = 2.0
"""Below this many standard uncertainties a difference has no direction to propagate along."""


def metric_tensor(lab: FloatsLike) -> Floats:
    """G (..., 3, 3) of L*, a*, b* (..., 3): ΔE00² of a small step d is d' G d.

    >>> metric_tensor([50, 0, 0]).round(3).tolist()
    [[1.0, 0.0, 0.0], [0.0, 2.25, 0.0], [0.0, 0.0, 1.0]]
    """
    colours = as_lab(lab)

    def squared(direction: Floats) -> Floats:
        half = direction * _STEP / 2.0
        squares: Floats = (delta_E_ciede2000(colours - half, colours + half) / _STEP) ** 2
        return squares

    form = np.empty((*colours.shape[:-1], 3, 3))
    axes = np.eye(3)
    for row in range(3):
        form[..., row, row] = squared(axes[row])
    for row, column in _PAIRS:
        mixed = (squared(axes[row] + axes[column]) - squared(axes[row] - axes[column])) / 4.0
        form[..., row, column] = form[..., column, row] = mixed
    return form


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
    by_first, by_second = np.empty(first.shape), np.empty(first.shape)
    for axis, step in enumerate(_STEP / 2.0 * np.eye(3)):
        rise = delta_E_ciede2000(first + step, second) - delta_E_ciede2000(first - step, second)
        by_first[..., axis] = rise / _STEP
        rise = delta_E_ciede2000(first, second + step) - delta_E_ciede2000(first, second - step)
        by_second[..., axis] = rise / _STEP
    return by_first, by_second


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
