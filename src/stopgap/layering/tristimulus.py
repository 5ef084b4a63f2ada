"""CIE L*a*b* and tristimulus values relative to the white, in both directions.

ISO/CIE 11664-4:2019, equations (1) to (9); the inverse follows from them. Values are relative to
the perfect diffuser (X/Xn, Y/Yn, Z/Zn), so no white point enters.
"""

import numpy as np

from stopgap.arrays import Floats

_DELTA = 6.0 / 29.0


def relative_tristimulus(lab: Floats) -> Floats:
    """X/Xn, Y/Yn, Z/Zn of L*a*b*, (..., 3) -> (..., 3)."""
    middle = (lab[..., 0] + 16.0) / 116.0
    roots = np.stack([middle + lab[..., 1] / 500.0, middle, middle - lab[..., 2] / 200.0], axis=-1)
    straight = 3.0 * _DELTA**2 * (roots - 4.0 / 29.0)
    return np.asarray(np.where(roots > _DELTA, roots**3, straight))


def lab_of(relative: Floats) -> Floats:
    """L*a*b* of X/Xn, Y/Yn, Z/Zn, (..., 3) -> (..., 3)."""
    straight = relative / (3.0 * _DELTA**2) + 4.0 / 29.0
    roots = np.where(relative > _DELTA**3, np.cbrt(relative), straight)
    x, y, z = np.moveaxis(roots, -1, 0)
    return np.stack([116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)], axis=-1)
