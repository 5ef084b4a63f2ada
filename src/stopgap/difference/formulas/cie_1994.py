"""CIE 1994 colour difference, for graphic arts and for textiles.

Reference: CIE 116-1995, Industrial colour-difference evaluation; the constants also in
B. J. Lindbloom, "Delta E (CIE 1994)". The weights take the chroma of the first colour, the
standard, so the difference is not symmetric.
"""

import numpy as np

from stopgap.arrays import Floats, FloatsLike, as_lab
from stopgap.difference.formulas.cie_1976 import signed_differences


def delta_E_cie_1994_graphic_arts(lab_1: FloatsLike, lab_2: FloatsLike) -> Floats:
    """ΔE*94 with k_L = 1, K1 = 0.045, K2 = 0.015; `lab_1` is the standard, (..., 3) -> (...)."""
    return delta_E_cie_1994(lab_1, lab_2, k_L=1.0, K_1=0.045, K_2=0.015)


def delta_E_cie_1994_textiles(lab_1: FloatsLike, lab_2: FloatsLike) -> Floats:
    """ΔE*94 with k_L = 2, K1 = 0.048, K2 = 0.014; `lab_1` is the standard, (..., 3) -> (...)."""
    return delta_E_cie_1994(lab_1, lab_2, k_L=2.0, K_1=0.048, K_2=0.014)


def delta_E_cie_1994(
    lab_1: FloatsLike, lab_2: FloatsLike, *, k_L: float, K_1: float, K_2: float
) -> Floats:
    """ΔE*94 between Lab arrays of shapes that broadcast; `lab_1` is the standard."""
    delta_L, delta_C, delta_H = signed_differences(lab_1, lab_2)
    _, a_1, b_1 = np.moveaxis(as_lab(lab_1, "lab_1"), -1, 0)
    C_1 = np.hypot(a_1, b_1)
    S_C = 1.0 + K_1 * C_1
    S_H = 1.0 + K_2 * C_1
    difference: Floats = np.sqrt(
        (delta_L / k_L) ** 2 + (delta_C / S_C) ** 2 + (delta_H / S_H) ** 2  # S_L is 1
    )
    return difference
