"""CIEDE2000, the default difference of stopgap.

References
----------
ISO/CIE 11664-6:2022, Colorimetry, Part 6: CIEDE2000 colour-difference formula.
G. Sharma, W. Wu, E. N. Dalal (2005), "The CIEDE2000 color-difference formula: implementation
notes, supplementary test data, and mathematical observations", Color Research & Application
30(1), 21-30. Equation numbers below are theirs.

The branch at opposite hues
---------------------------
Equations (10) and (14) ask whether two hue angles lie more than 180 degrees apart. At exactly 180
degrees the mean hue jumps to the other side of the circle, and with it the result (by 8 units at
C' = 20). Angles from `arctan2` carry rounding errors, so asking them would decide such a pair by
chance. The factor 1 + G is common to both colours and cannot turn (a, b) of the pair across a
line through the origin, so the sign of the cross product a1 b2 - b1 a2, exact for exactly opposite
colours, decides instead wherever the angles lie within a hair of 180 degrees.
"""

import numpy as np

from stopgap.arrays import Floats, FloatsLike, as_lab

_NEAR_OPPOSITE = 1e-6  # degrees; rounding of arctan2 is about 1e-13


def delta_E_ciede2000(
    lab_1: FloatsLike, lab_2: FloatsLike, *, k_L: float = 1.0, k_C: float = 1.0, k_H: float = 1.0
) -> Floats:
    """ΔE00 between Lab arrays of shapes that broadcast, (..., 3) -> (...). Symmetric; no metric.

    `k_L`, `k_C`, `k_H` are the parametric factors, 1 under reference conditions.

    >>> float(delta_E_ciede2000([50, 2.5, 0], [73, 25, -18]).round(4))  # Sharma et al., pair 17
    27.1492
    """
    lightness, chroma, hue, rotation = weighted_components(lab_1, lab_2, k_L=k_L, k_C=k_C, k_H=k_H)
    # (22); rounding can leave a tiny negative number under the root for equal colours
    squared = lightness**2 + chroma**2 + hue**2 + rotation * chroma * hue
    return np.sqrt(np.maximum(squared, 0.0))


def weighted_components(
    lab_1: FloatsLike, lab_2: FloatsLike, *, k_L: float = 1.0, k_C: float = 1.0, k_H: float = 1.0
) -> tuple[Floats, Floats, Floats, Floats]:
    """ΔL'/(k_L S_L), ΔC'/(k_C S_C), ΔH'/(k_H S_H) and R_T: the terms of equation (22).

    Signs are of colour 2 minus colour 1: lighter, more chromatic, counter-clockwise in hue.
    """
    L_1, a_1, b_1 = np.moveaxis(as_lab(lab_1, "lab_1"), -1, 0)
    L_2, a_2, b_2 = np.moveaxis(as_lab(lab_2, "lab_2"), -1, 0)

    mean_C7 = ((np.hypot(a_1, b_1) + np.hypot(a_2, b_2)) / 2) ** 7  # (2), (3)
    stretch = 1.5 - 0.5 * np.sqrt(mean_C7 / (mean_C7 + 25.0**7))  # 1 + G of (4)
    C_1, C_2 = np.hypot(stretch * a_1, b_1), np.hypot(stretch * a_2, b_2)  # (5), (6)
    h_1 = np.degrees(np.arctan2(b_1, stretch * a_1)) % 360.0  # (7)
    h_2 = np.degrees(np.arctan2(b_2, stretch * a_2)) % 360.0
    neutral = C_1 * C_2 == 0.0

    apart = h_2 - h_1
    cross = a_1 * b_2 - b_1 * a_2
    beyond = np.where(
        np.abs(np.abs(apart) - 180.0) < _NEAR_OPPOSITE,
        np.where(apart > 0.0, cross < 0.0, cross > 0.0),
        np.abs(apart) > 180.0,
    )
    delta_h = np.where(beyond, apart - np.copysign(360.0, apart), apart)  # (10)
    delta_h = np.where(neutral, 0.0, delta_h)
    delta_H = 2.0 * np.sqrt(C_1 * C_2) * np.sin(np.radians(delta_h) / 2.0)  # (11)

    mean_L = (L_1 + L_2) / 2.0  # (12)
    mean_C = (C_1 + C_2) / 2.0  # (13)
    total_h = h_1 + h_2
    mean_h = np.where(beyond, (total_h + np.where(total_h < 360.0, 360.0, -360.0)) / 2, total_h / 2)
    mean_h = np.where(neutral, total_h, mean_h)  # (14)

    def cosine(degrees: Floats) -> Floats:
        return np.cos(np.radians(degrees))

    T = (  # (15)
        1.0
        - 0.17 * cosine(mean_h - 30.0)
        + 0.24 * cosine(2.0 * mean_h)
        + 0.32 * cosine(3.0 * mean_h + 6.0)
        - 0.20 * cosine(4.0 * mean_h - 63.0)
    )
    delta_theta = 30.0 * np.exp(-(((mean_h - 275.0) / 25.0) ** 2))  # (16)
    mean_C7 = mean_C**7
    R_C = 2.0 * np.sqrt(mean_C7 / (mean_C7 + 25.0**7))  # (17)
    off_middle = (mean_L - 50.0) ** 2
    S_L = 1.0 + 0.015 * off_middle / np.sqrt(20.0 + off_middle)  # (18)
    S_C = 1.0 + 0.045 * mean_C  # (19)
    S_H = 1.0 + 0.015 * mean_C * T  # (20)
    R_T = -np.sin(np.radians(2.0 * delta_theta)) * R_C  # (21)

    return (L_2 - L_1) / (k_L * S_L), (C_2 - C_1) / (k_C * S_C), delta_H / (k_H * S_H), R_T
