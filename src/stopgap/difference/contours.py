"""The colours that lie one ΔE00 away from a colour: near enough, an ellipse.

Close to a colour the square of ΔE00 is a quadratic form of the step in L*, a*, b*, whose matrix is
the metric tensor of the formula there (see `stopgap.difference.local_metric`). ΔE00 is no metric
over long ways: the ellipse tells about the neighbourhood only, up to a ΔE00 of a few units.
"""

from enum import StrEnum

import numpy as np

from stopgap.arrays import Floats, FloatsLike, as_lab
from stopgap.difference.local_metric import metric_tensor
from stopgap.errors import InputError


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
    colour = as_lab(lab)
    if colour.ndim != 1:
        raise InputError(f"lab: expected one colour, shape is {colour.shape}.")
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
