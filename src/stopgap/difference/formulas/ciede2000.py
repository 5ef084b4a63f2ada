"""CIEDE2000, the default difference of stopgap.

References
----------
ISO/CIE 11664-6:2022, Colorimetry, Part 6: CIEDE2000 colour-difference formula.
G. Sharma, W. Wu, E. N. Dalal (2005), "The CIEDE2000 color-difference formula: implementation
notes, supplementary test data, and mathematical observations", Color Research & Application
30(1), 21-30. Equation numbers below are theirs.

Hues without their angles
-------------------------
Cosine and sine of half a hue angle follow from a' and b' by roots; those of half the difference
and of the mean of two hues by the addition theorems. So no sine is taken of an angle that an
arctangent gave; only (16) asks for one. Equations (10) and (14) ask whether two hue angles lie more
than 180 degrees apart, which is whether the cosine of half their difference is negative: mean hue
and difference then change to the other side.

Beyond 180 degrees the mean hue jumps and the result with it: by up to 8.4 for two colours of
L* = 50 and C*ab = 20, and rounding would decide an exactly opposite pair by chance. Such pairs are
found before, and taken by the letter of the equations as not more than 180 degrees apart, in angles
from 0 to 360.

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

_AT_ONCE = 2**13  # pairs: all that is in between stays in the processor's cache
_TINY = 1e-150  # a chroma that changes no other; a neutral colour divides nothing by nothing
_NEAR_OPPOSITE = 1e-6  # of the cosine of half the difference: above what float64 leaves


def delta_E_ciede2000(
    lab_1: FloatsLike, lab_2: FloatsLike, *, k_L: float = 1.0, k_C: float = 1.0, k_H: float = 1.0
) -> Floats:
    """ΔE00 between Lab arrays of shapes that broadcast, (..., 3) -> (...). Symmetric; no metric.

    `k_L`, `k_C`, `k_H` are the parametric factors, 1 under reference conditions.

    >>> float(delta_E_ciede2000([50, 2.5, 0], [73, 25, -18]).round(4))  # Sharma et al., pair 17
    27.1492
    """
    first, second = as_lab(lab_1, "lab_1"), as_lab(lab_2, "lab_2")
    shape = np.broadcast(first, second).shape[:-1]
    apart = np.empty(shape)
    if apart.size > _AT_ONCE:
        first, second = np.broadcast_arrays(first, second)
    for some in _blocks(shape):
        lightness, chroma, hue, rotation = _weighted_components(first[some], second[some])
        lightness, chroma, hue = lightness / k_L, chroma / k_C, hue / k_H
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
    lab_1: FloatsLike, lab_2: FloatsLike
) -> tuple[Floats, Floats, Floats, Floats]:
    """ΔL'/S_L, ΔC'/S_C, ΔH'/S_H and R_T: the terms of equation (22), each (...).

    Signs are of colour 2 minus colour 1: lighter, more chromatic, counter-clockwise in hue.
    """
    return _weighted_components(as_lab(lab_1, "lab_1"), as_lab(lab_2, "lab_2"))


def _weighted_components(first: Floats, second: Floats) -> tuple[Floats, Floats, Floats, Floats]:
    """The same, of colours that are known to be."""
    L_1, a_1, b_1 = first[..., 0], first[..., 1], first[..., 2]
    L_2, a_2, b_2 = second[..., 0], second[..., 1], second[..., 2]
    stretch = 1.5 - 0.5 * _saturating((_chroma(a_1, b_1) + _chroma(a_2, b_2)) / 2.0)  # 1 + G, (4)
    a_1, a_2 = stretch * a_1, stretch * a_2  # (5)
    C_1, C_2 = _chroma(a_1, b_1), _chroma(a_2, b_2)  # (6)
    delta_H, cosine, sine = _hues(a_1, b_1, C_1, a_2, b_2, C_2)
    mean_L, mean_C = (L_1 + L_2) / 2.0, (C_1 + C_2) / 2.0  # (12), (13)
    off_middle = (mean_L - 50.0) ** 2
    S_L = 1.0 + 0.015 * off_middle / np.sqrt(20.0 + off_middle)  # (18)
    S_C = 1.0 + 0.045 * mean_C  # (19)
    S_H = 1.0 + 0.015 * mean_C * _T(cosine, sine)  # (20)
    R_T = -2.0 * _saturating(mean_C) * _sine_of_rotation(cosine, sine)  # (17), (21)
    return (L_2 - L_1) / S_L, (C_2 - C_1) / S_C, delta_H / S_H, R_T  # (8), (9)


def _chroma(a: Floats, b: Floats) -> Floats:
    """C*ab; of colours it cannot overflow, against which np.hypot takes care."""
    found: Floats = np.sqrt(a * a + b * b) + _TINY
    return found


def _saturating(C: Floats) -> Floats:
    """The root in (4) and (17), which goes from 0 to 1 as chroma grows."""
    squared = C * C
    C_7 = squared * squared * squared * C
    found: Floats = np.sqrt(C_7 / (C_7 + 25.0**7))
    return found


def _hues(
    a_1: Floats, b_1: Floats, C_1: Floats, a_2: Floats, b_2: Floats, C_2: Floats
) -> tuple[Floats, Floats, Floats]:
    """ΔH' (11), and cosine and sine of the mean hue (14)."""
    half_1, cosine_1, sine_1 = _half_hue(a_1, b_1, C_1)
    half_2, cosine_2, sine_2 = _half_hue(a_2, b_2, C_2)
    cosines, sines = cosine_1 * cosine_2, sine_1 * sine_2
    one_way, other_way = cosine_1 * sine_2, sine_1 * cosine_2
    together = half_1 * half_2
    beyond = cosines + sines < 0.0
    if (np.abs(cosines + sines) < _NEAR_OPPOSITE * together).any():
        # in angles from 0 to 360 the half of a negative one is turned by 180 degrees
        turned = (sine_1 < 0.0) != (sine_2 < 0.0)
        beyond = np.where(opposite_hues(a_1, b_1, a_2, b_2), turned, beyond)
    # both halves are as long as the root of 2 C' (C' + |a'|)
    scale = np.where(beyond, -1.0, 1.0) / np.sqrt(together)
    delta_H = (one_way - other_way) * scale
    scale /= 2.0 * np.sqrt(C_1 * C_2)
    return delta_H, (cosines - sines) * scale, (one_way + other_way) * scale


def _half_hue(a: Floats, b: Floats, C: Floats) -> tuple[Floats, Floats, Floats]:
    """C' + |a'|, and along cosine and sine of half the hue angle, from -180 to 180 degrees."""
    far = C + np.abs(a)
    right = a >= 0.0
    return far, np.where(right, far, np.abs(b)), np.where(right, b, np.copysign(far, b))


def _T(c: Floats, s: Floats) -> Floats:
    """(15), cosines of the multiples of the mean hue by the addition theorems."""
    c_2, s_2 = c * c - s * s, 2.0 * c * s
    c_3, s_3 = c * (2.0 * c_2 - 1.0), s * (2.0 * c_2 + 1.0)
    c_4, s_4 = 2.0 * c_2 * c_2 - 1.0, 2.0 * c_2 * s_2
    return np.asarray(
        1.0
        - 0.17 * (COS_30 * c + SIN_30 * s)
        + 0.24 * c_2
        + 0.32 * (COS_6 * c_3 - SIN_6 * s_3)
        - 0.20 * (COS_63 * c_4 + SIN_63 * s_4)
    )


def _sine_of_rotation(cosine: Floats, sine: Floats) -> Floats:
    """The sine of 2 Δθ, (16) and (21), by the tangent of Δθ, which numpy has faster."""
    hue = (180.0 / math.pi) * np.arctan2(sine, cosine)
    from_blue = (hue + np.where(hue < 0.0, 85.0, -275.0)) / 25.0
    tangent = np.tan((math.pi / 6.0) * np.exp(-from_blue * from_blue))
    found: Floats = 2.0 * tangent / (1.0 + tangent * tangent)
    return found
