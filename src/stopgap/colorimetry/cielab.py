"""CIE 1976 L*a*b* to and from tristimulus values.

Reference: CIE 015:2018, Colorimetry, section 8.2.1; ISO/CIE 11664-4:2019, equations (1) to (9).
The formulas are used below black and above white as they stand, so that both directions are
inverse to each other.
"""

import numpy as np

from stopgap.arrays import Floats, FloatsLike, as_floats, as_lab
from stopgap.colorimetry.whites import D50
from stopgap.errors import InputError

_KNEE = 6.0 / 29.0
_SLOPE = 3.0 * _KNEE**2


def as_xyz(values: FloatsLike, name: str = "xyz") -> Floats:
    """`values` as float64 of shape (..., 3), finite: tristimulus values, Y = 100 for white."""
    array = as_floats(values, name)
    if array.ndim == 0 or array.shape[-1] != 3:
        raise InputError(f"{name}: expected X, Y, Z on the last axis, shape is {array.shape}.")
    return array


def xyz_to_lab(xyz: FloatsLike, white: FloatsLike = D50) -> Floats:
    """L*, a*, b* of tristimulus values (..., 3) on the scale of `white`.

    >>> xyz_to_lab(D50).tolist()
    [100.0, 0.0, 0.0]
    """
    return lab_of(as_xyz(xyz) / as_xyz(white, "white"))


def lab_to_xyz(lab: FloatsLike, white: FloatsLike = D50) -> Floats:
    """Tristimulus values of L*, a*, b* (..., 3), on the scale of `white`."""
    ratio = relative_tristimulus(as_lab(lab))
    return np.asarray(ratio * as_xyz(white, "white"), dtype=np.float64)


def lab_of(relative: Floats) -> Floats:
    """L*, a*, b* of X/Xn, Y/Yn, Z/Zn (..., 3), values relative to the perfect diffuser.

    Nothing is checked: for arrays that come from inside.
    """
    f = np.where(relative > _KNEE**3, np.cbrt(relative), relative / _SLOPE + 4.0 / 29.0)
    f_X, f_Y, f_Z = np.moveaxis(f, -1, 0)
    return np.stack([116.0 * f_Y - 16.0, 500.0 * (f_X - f_Y), 200.0 * (f_Y - f_Z)], axis=-1)


def relative_tristimulus(lab: Floats) -> Floats:
    """X/Xn, Y/Yn, Z/Zn of L*, a*, b* (..., 3), as `lab_of` backwards."""
    L, a, b = np.moveaxis(lab, -1, 0)
    f_Y = (L + 16.0) / 116.0
    f = np.stack([f_Y + a / 500.0, f_Y, f_Y - b / 200.0], axis=-1)
    return np.asarray(np.where(f > _KNEE, f**3, _SLOPE * (f - 4.0 / 29.0)))
