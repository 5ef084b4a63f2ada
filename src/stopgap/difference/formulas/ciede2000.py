"""CIEDE2000, the default difference of stopgap.

References
----------
ISO/CIE 11664-6:2022, Colorimetry, Part 6: CIEDE2000 colour-difference formula.
G. Sharma, W. Wu, E. N. Dalal (2005), "The CIEDE2000 color-difference formula: implementation
notes, supplementary test data, and mathematical observations", Color Research & Application
30(1), 21-30. Equation numbers below are theirs.

The branch at opposite hues
---------------------------
Equations (10) and (14) ask whether two hue angles lie more than 180 degrees apart. Beyond 180 the
mean hue jumps to the other side of the circle and the result with it: by up to 8.4 for two colours
of L* = 50 and C*ab = 20. Angles from `arctan2` carry rounding errors, so asking them would decide
an exactly opposite pair by chance. The factor 1 + G stretches a* of both colours alike, so that
opposite hues stay opposite: they are found before it is applied, and taken by the letter of the
equations as not more than 180 degrees apart.

Beside a neutral colour ΔH' is 0 whatever its hue, and S_H and R_T only divide or multiply it: the
cases C1' C2' = 0 of equations (10) and (14) change nothing and are not written out.
"""

import math
from collections.abc import Iterator

import numpy as np

from stopgap.arrays import Floats, FloatsLike, as_lab
from stopgap.difference.formulas.cie_1976 import opposite_hues

COS_30, SIN_30 = math.cos(math.radians(30.0)), math.sin(math.radians(30.0))
COS_6, SIN_6 = math.cos(math.radians(6.0)), math.sin(math.radians(6.0))
COS_63, SIN_63 = math.cos(math.radians(63.0)), math.sin(math.radians(63.0))
"""Cosines and sines of the angles [degrees] of equation (15)."""

_AT_ONCE = 2**12  # pairs: all that is in between stays in the processor's nearest cache


def delta_E_ciede2000(
    lab_1: FloatsLike, lab_2: FloatsLike, *, k_L: float = 1.0, k_C: float = 1.0, k_H: float = 1.0
) -> Floats:
    """ΔE00 between Lab arrays of shapes that broadcast, (..., 3) -> (...). Symmetric; no metric.

    `k_L`, `k_C`, `k_H` are the parametric factors, 1 under reference conditions.

    >>> float(delta_E_ciede2000([50, 2.5, 0], [73, 25, -18]).round(4))  # Sharma et al., pair 17
    27.1492
    """
    pairs = np.broadcast_arrays(as_lab(lab_1, "lab_1"), as_lab(lab_2, "lab_2"))
    apart = np.empty(pairs[0].shape[:-1])
    for some in _blocks(apart.shape):
        first, second = (lab[some] for lab in pairs)
        lightness, chroma, hue, rotation = weighted_components(
            first, second, k_L=k_L, k_C=k_C, k_H=k_H
        )
        # (22); rounding can leave a tiny negative number under the root for equal colours
        squared = lightness**2 + chroma**2 + hue**2 + rotation * chroma * hue
        apart[some] = np.sqrt(np.maximum(squared, 0.0))
    return apart


def _blocks(shape: tuple[int, ...]) -> Iterator[tuple[slice | int, ...]]:
    """Which part of an array, one after the other, is worked out together."""
    size = math.prod(shape)
    if size <= _AT_ONCE:
        yield ()
        return
    count, each = shape[0], size // shape[0]
    if each > _AT_ONCE:
        for place in range(count):
            yield from ((place, *some) for some in _blocks(shape[1:]))
        return
    step = _AT_ONCE // each
    for start in range(0, count, step):
        yield (slice(start, start + step),)


def weighted_components(
    lab_1: FloatsLike, lab_2: FloatsLike, *, k_L: float = 1.0, k_C: float = 1.0, k_H: float = 1.0
) -> tuple[Floats, Floats, Floats, Floats]:
    """ΔL'/(k_L S_L), ΔC'/(k_C S_C), ΔH'/(k_H S_H) and R_T: the terms of equation (22).

    Signs are of colour 2 minus colour 1: lighter, more chromatic, counter-clockwise in hue.
    """
    first, second = as_lab(lab_1, "lab_1"), as_lab(lab_2, "lab_2")
    L_1, a_1, b_1 = (first[..., part] for part in range(3))
    L_2, a_2, b_2 = (second[..., part] for part in range(3))

    mean_C7 = ((_chroma(a_1, b_1) + _chroma(a_2, b_2)) / 2) ** 7  # (2), (3)
    stretch = 1.5 - 0.5 * np.sqrt(mean_C7 / (mean_C7 + 25.0**7))  # 1 + G of (4)
    a_1, a_2 = stretch * a_1, stretch * a_2  # (5)
    C_1, C_2 = _chroma(a_1, b_1), _chroma(a_2, b_2)  # (6)
    h_1, h_2 = _hue(a_1, b_1), _hue(a_2, b_2)  # (7)

    apart = h_2 - h_1
    beyond = np.asarray(np.abs(apart) > 180.0)
    if beyond.any():
        beyond &= ~opposite_hues(a_1, b_1, a_2, b_2)
    delta_h = np.where(beyond, apart - np.copysign(360.0, apart), apart)  # (10)
    delta_H = 2.0 * np.sqrt(C_1 * C_2) * np.sin((math.pi / 360.0) * delta_h)  # (11)

    mean_L = (L_1 + L_2) / 2.0  # (12)
    mean_C = (C_1 + C_2) / 2.0  # (13)
    total_h = h_1 + h_2
    other_side = np.where(total_h < 360.0, 360.0, -360.0)
    mean_h = np.where(beyond, total_h + other_side, total_h) / 2.0  # (14)

    # (15), cosines of the multiples of the mean hue by the addition theorems
    angle = (math.pi / 180.0) * mean_h
    c, s = np.cos(angle), np.sin(angle)
    c_2, s_2 = c * c - s * s, 2.0 * c * s
    c_3, s_3 = c_2 * c - s_2 * s, s_2 * c + c_2 * s
    c_4, s_4 = c_2 * c_2 - s_2 * s_2, 2.0 * c_2 * s_2
    T = (
        1.0
        - 0.17 * (COS_30 * c + SIN_30 * s)
        + 0.24 * c_2
        + 0.32 * (COS_6 * c_3 - SIN_6 * s_3)
        - 0.20 * (COS_63 * c_4 + SIN_63 * s_4)
    )
    delta_theta = 30.0 * np.exp(-(((mean_h - 275.0) / 25.0) ** 2))  # (16)
    mean_C7 = mean_C**7
    R_C = 2.0 * np.sqrt(mean_C7 / (mean_C7 + 25.0**7))  # (17)
    off_middle = (mean_L - 50.0) ** 2
    S_L = 1.0 + 0.015 * off_middle / np.sqrt(20.0 + off_middle)  # (18)
    S_C = 1.0 + 0.045 * mean_C  # (19)
    S_H = 1.0 + 0.015 * mean_C * T  # (20)
    R_T = -np.sin((math.pi / 90.0) * delta_theta) * R_C  # (21)

    delta_L, delta_C = L_2 - L_1, C_2 - C_1  # (8), (9)
    return delta_L / (k_L * S_L), delta_C / (k_C * S_C), delta_H / (k_H * S_H), R_T


def _chroma(a: Floats, b: Floats) -> Floats:
    """C*ab; of colours it can neither overflow nor vanish, against which np.hypot takes care."""
    return np.asarray(np.sqrt(a * a + b * b))


def _hue(a: Floats, b: Floats) -> Floats:
    """Hue angles from 0 to 360 degrees."""
    angle = (180.0 / math.pi) * np.arctan2(b, a)
    return np.asarray(angle + np.where(angle < 0.0, 360.0, 0.0))
