"""CAM16-UCS, the uniform space of the CAM16 colour appearance model, in which blends are laid out.

Straight lines in CIELAB bend in hue, above all between blue and white. CAM16-UCS was fitted to both
small and large colour differences and keeps lines of constant hue straighter.

References
----------
C. Li, Z. Li, Z. Wang, Y. Xu, M. R. Luo, G. Cui, M. Melgosa, M. H. Brill, M. Pointer (2017),
"Comprehensive color solutions: CAM16, CAT16, and CAM16-UCS", Color Research & Application 42(6),
703-718. Step numbers below are those of its appendix; the coefficients of the uniform space are
c1 = 0.007 and c2 = 0.0228, from its section on CAM16-UCS.

Viewing conditions: D50, 500 lx (ISO 3664, condition P2) on a background of one fifth of the white,
so L_A = 500 / (5 pi) cd/m2 and Y_b = 20; average surround.
"""

from typing import NamedTuple

import numpy as np

from stopgap.arrays import Floats, FloatsLike, as_floats, read_only
from stopgap.colorimetry.cielab import lab_to_xyz, xyz_to_lab
from stopgap.colorimetry.whites import CAT16, D50

ADAPTING_LUMINANCE = 500.0 / (5.0 * np.pi)
_BACKGROUND = 20.0
_F, _C, _N_C = 1.0, 0.69, 1.0  # average surround
_LEAST = 1e-3  # of step 9's divisor, 0.305 for black; less only where a colour cannot be seen

_OPPONENT = read_only([[2.0, 1.0, 0.05], [1.0, -12.0 / 11.0, 1.0 / 11.0], [1 / 9, 1 / 9, -2 / 9]])
"""Rows: achromatic signal without N_bb, a and b, from the compressed responses (steps 4 and 6)."""


class _Viewing(NamedTuple):
    """Step 0: all that depends on the viewing conditions only."""

    D_RGB: Floats
    F_L: float
    n: float
    z: float
    N_bb: float
    A_w: float


def lab_to_cam16_ucs(lab: FloatsLike) -> Floats:
    """J', a', b' of CAM16-UCS from CIELAB D50, (..., 3) -> (..., 3)."""
    view = _viewing()
    RGB_a = _compress(lab_to_xyz(lab) @ CAT16.T * view.D_RGB, view.F_L)  # steps 1 to 3
    achromatic, a, b = np.moveaxis(RGB_a @ _OPPONENT.T, -1, 0)
    h = np.arctan2(b, a)  # step 4
    A = np.maximum(achromatic * view.N_bb, 0.0)  # step 6
    J = 100.0 * (A / view.A_w) ** (_C * view.z)  # step 7
    u = np.maximum(RGB_a @ np.array([1.0, 1.0, 1.05]) + 0.305, _LEAST)
    t = 50000.0 / 13.0 * _N_C * view.N_bb * _eccentricity(h) * np.hypot(a, b) / u  # step 9
    C = t**0.9 * np.sqrt(J / 100.0) * (1.64 - 0.29**view.n) ** 0.73
    M = C * view.F_L**0.25
    M_prime = np.log1p(0.0228 * M) / 0.0228
    return np.stack(
        [1.7 * J / (1.0 + 0.007 * J), M_prime * np.cos(h), M_prime * np.sin(h)], axis=-1
    )


def cam16_ucs_to_lab(jab: FloatsLike) -> Floats:
    """CIELAB D50 from J', a', b' of CAM16-UCS, (..., 3) -> (..., 3): the appendix backwards."""
    view = _viewing()
    J_prime, a_prime, b_prime = np.moveaxis(as_floats(jab, "jab"), -1, 0)
    h = np.arctan2(b_prime, a_prime)
    J = np.maximum(J_prime / (1.7 - 0.007 * J_prime), 0.0)
    M = np.expm1(0.0228 * np.hypot(a_prime, b_prime)) / 0.0228
    chromatic = np.sqrt(np.maximum(J, 1e-12) / 100.0) * (1.64 - 0.29**view.n) ** 0.73
    t = (M / view.F_L**0.25 / chromatic) ** (1.0 / 0.9)
    achromatic = view.A_w * (J / 100.0) ** (1.0 / (_C * view.z)) / view.N_bb
    # a = r cos h and b = r sin h, with r from step 9 solved together with the achromatic signal
    p_1 = 50000.0 / 13.0 * _N_C * view.N_bb * _eccentricity(h)
    inverse = np.linalg.inv(_OPPONENT)
    per_achromatic, per_a, per_b = np.moveaxis(inverse.T @ np.array([1.0, 1.0, 1.05]), -1, 0)
    per_r = per_a * np.cos(h) + per_b * np.sin(h)
    r = t * (per_achromatic * achromatic + 0.305) / (p_1 - t * per_r)
    signals = np.stack([achromatic, r * np.cos(h), r * np.sin(h)], axis=-1)
    RGB = _expand(signals @ inverse.T, view.F_L) / view.D_RGB
    return xyz_to_lab(RGB @ np.linalg.inv(CAT16).T)


def _viewing() -> _Viewing:
    RGB_w = CAT16 @ D50
    degree = _F * (1.0 - np.exp((-ADAPTING_LUMINANCE - 42.0) / 92.0) / 3.6)
    D_RGB = degree * 100.0 / RGB_w + 1.0 - degree
    k = 1.0 / (5.0 * ADAPTING_LUMINANCE + 1.0)
    F_L = k**4 * ADAPTING_LUMINANCE + 0.1 * (1.0 - k**4) ** 2 * np.cbrt(5.0 * ADAPTING_LUMINANCE)
    n = _BACKGROUND / 100.0
    N_bb = 0.725 * n**-0.2
    A_w = float(_compress(RGB_w * D_RGB, F_L) @ _OPPONENT[0]) * N_bb
    return _Viewing(D_RGB, float(F_L), n, 1.48 + np.sqrt(n), N_bb, A_w)


def _compress(RGB: Floats, F_L: float) -> Floats:
    """Step 3, without the constant 0.1, which cancels but for 0.305 in step 9."""
    x = (F_L * np.abs(RGB) / 100.0) ** 0.42
    return np.copysign(400.0 * x / (x + 27.13), RGB)


def _expand(RGB_a: Floats, F_L: float) -> Floats:
    magnitude = np.minimum(np.abs(RGB_a), 399.9)
    x = 27.13 * magnitude / (400.0 - magnitude)
    return np.copysign(100.0 / F_L * x ** (1.0 / 0.42), RGB_a)


def _eccentricity(h: Floats) -> Floats:
    return (np.cos(h + 2.0) + 3.8) / 4.0  # step 5
