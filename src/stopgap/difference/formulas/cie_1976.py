"""CIE 1976 colour difference, and its parts in lightness, chroma and hue, each with its sign.

Reference: CIE 015:2018, Colorimetry, section 8.2.1; ISO/CIE 11664-4:2019, Colorimetry, Part 4: CIE
1976 L*a*b* colour space (the differences in L*, C*ab and H*ab); formula numbers differ between its
editions and are not given.

The hue difference there is 2 sqrt(C1 C2) sin(Δh/2) with Δh brought into [-180, 180] degrees by
adding or subtracting 360. Taking Δh from the sine and cosine of the angle between the two colours
says the same without the case distinction, keeps the sign, and loses no figures where the hues are
nearly equal, as the root of ΔE² - ΔL² - ΔC² does.
"""

import numpy as np

from stopgap.arrays import Booleans, Floats, FloatsLike, as_lab

_TURN = 2.0 * np.pi
_ROUNDING = 1e-14  # of the sine between two hues: above what float64 leaves, far below any colour's


def delta_E_cie_1976(lab_1: FloatsLike, lab_2: FloatsLike) -> Floats:
    """ΔE*ab between Lab arrays of shapes that broadcast, (..., 3) -> (...). Symmetric; a metric.

    >>> float(delta_E_cie_1976([50, 0, 0], [53, 4, 0]))
    5.0
    """
    offset = as_lab(lab_2, "lab_2") - as_lab(lab_1, "lab_1")
    distance: Floats = np.sqrt(np.sum(offset**2, axis=-1))
    return distance


def signed_differences(lab_1: FloatsLike, lab_2: FloatsLike) -> tuple[Floats, Floats, Floats]:
    """ΔL*, ΔC*ab, ΔH*ab of colour 2 minus colour 1, for Lab of shapes that broadcast.

    Positive means lighter, more chromatic, and counter-clockwise in hue (red to yellow to green to
    blue) by the shorter way. Exchanging the colours changes the signs, exactly. The squares add up
    to ΔE*ab squared. A neutral colour has no hue, so ΔH*ab is 0 beside one; for exactly opposite
    hues both ways are equally long and the sign is that of h2 - h1, angles from 0 to 360 degrees.

    Raises
    ------
    InputError
        For values that are not finite or a last axis that is not 3.

    >>> [float(round(part, 6)) for part in signed_differences([50, 20, 0], [55, 0, 10])]
    [5.0, -10.0, 20.0]
    """
    L_1, a_1, b_1 = np.moveaxis(as_lab(lab_1, "lab_1"), -1, 0)
    L_2, a_2, b_2 = np.moveaxis(as_lab(lab_2, "lab_2"), -1, 0)
    C_1, C_2 = np.hypot(a_1, b_1), np.hypot(a_2, b_2)
    delta_h = np.arctan2(a_1 * b_2 - b_1 * a_2, a_1 * a_2 + b_1 * b_2)
    turned = np.arctan2(b_2, a_2) % _TURN > np.arctan2(b_1, a_1) % _TURN  # h2 > h1
    opposite = opposite_hues(a_1, b_1, a_2, b_2)
    delta_h = np.where(opposite, np.where(turned, np.pi, -np.pi), delta_h)
    delta_H = 2.0 * np.sqrt(C_1 * C_2) * np.sin(delta_h / 2.0)
    return L_2 - L_1, C_2 - C_1, delta_H


def opposite_hues(a_1: Floats, b_1: Floats, a_2: Floats, b_2: Floats) -> Booleans:
    """Whether two chromatic colours lie 180 degrees apart in hue, to the accuracy of float64."""
    sine = a_1 * b_2 - b_1 * a_2  # times both chromas, as the cosine
    cosine = a_1 * a_2 + b_1 * b_2
    opposite: Booleans = np.abs(sine) <= -_ROUNDING * cosine
    return opposite & (cosine < 0.0)
