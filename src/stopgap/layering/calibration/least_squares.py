"""Least squares within bounds: damped steps on the knobs that no bound holds.

For a fit of a few knobs `scipy.optimize.least_squares`, whose answers these are, takes longer to
load than to run.

References
----------
D. W. Marquardt (1963), "An algorithm for least-squares estimation of nonlinear parameters", Journal
of the Society for Industrial and Applied Mathematics 11(2), 431-441. D. P. Bertsekas (1982),
"Projected Newton methods for optimization problems with simple constraints", SIAM Journal on
Control and Optimization 20(2), 221-246.
"""

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Floats

_ENOUGH = 1e-8  # part of the squares; what gains less is the last step
_STEPS = 100  # at most
_DAMPING = 1e-3  # to begin with, of the curvature; ten times that where a step gains nothing
_TOO_MUCH = 1e12  # damping at which no step is left


class Fitted(NamedTuple):
    """Knobs (k,), and the slopes (m, k) of the residuals there."""

    knobs: Floats
    slopes: Floats


def least_squares(
    residuals: Callable[[Floats], Floats],
    slopes: Callable[[Floats], Floats],
    start: Floats,
    lowest: Floats,
    highest: Floats,
) -> Fitted:
    """Knobs (k,) from `lowest` to `highest` (k,) whose residuals (m,) have a least sum of squares.

    `slopes` (m, k) are those of the residuals, of full rank wherever they are asked for.
    """
    knobs, damping = np.clip(start, lowest, highest), _DAMPING
    there, its = residuals(knobs), slopes(knobs)
    for _ in range(_STEPS):
        uphill = its.T @ there
        held = np.where(uphill > 0.0, knobs <= lowest, knobs >= highest)
        free = np.flatnonzero(~held)
        curvature = its[:, free].T @ its[:, free]
        squares, gain, moved, found = float(there @ there), 0.0, knobs, there
        while gain <= 0.0 and damping < _TOO_MUCH:
            step = np.zeros_like(knobs)
            damped = curvature + damping * np.diag(np.diag(curvature))
            step[free] = -np.linalg.solve(damped, uphill[free])
            moved = np.clip(knobs + step, lowest, highest)
            found = residuals(moved)
            gain = squares - float(found @ found)
            damping *= 0.1 if gain > 0.0 else 10.0
        if gain <= 0.0:
            break
        knobs, there, its = moved, found, slopes(moved)
        if gain < _ENOUGH * squares:
            break
    return Fitted(knobs, its)
