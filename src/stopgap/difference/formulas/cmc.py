"""CMC(l:c) colour difference, used by the textile trade.

Reference: ISO 105-J03:2009, Textiles, Calculation of colour differences; F. J. J. Clarke,
R. McDonald, B. Rigg (1984), Journal of the Society of Dyers and Colourists 100, 128-132.
The weights take lightness, chroma and hue of the first colour, so it is not symmetric.
"""

import numpy as np

from stopgap.arrays import Floats, FloatsLike, as_lab
from stopgap.difference.formulas.cie_1976 import signed_differences


def delta_E_cmc(lab_1: FloatsLike, lab_2: FloatsLike, *, l: float = 2.0, c: float = 1.0) -> Floats:
    """ΔE CMC(l:c), 2:1 (acceptability) by default; `lab_1` is the standard, (..., 3) -> (...)."""
    delta_L, delta_C, delta_H = signed_differences(lab_1, lab_2)
    L_1, a_1, b_1 = np.moveaxis(as_lab(lab_1, "lab_1"), -1, 0)
    C_1 = np.hypot(a_1, b_1)
    h_1 = np.degrees(np.arctan2(b_1, a_1)) % 360.0

    S_L = np.where(L_1 < 16.0, 0.511, 0.040975 * L_1 / (1.0 + 0.01765 * L_1))
    S_C = 0.0638 * C_1 / (1.0 + 0.0131 * C_1) + 0.638
    F = np.sqrt(C_1**4 / (C_1**4 + 1900.0))
    T = np.where(
        (h_1 >= 164.0) & (h_1 <= 345.0),
        0.56 + np.abs(0.2 * np.cos(np.radians(h_1 + 168.0))),
        0.36 + np.abs(0.4 * np.cos(np.radians(h_1 + 35.0))),
    )
    S_H = S_C * (F * T + 1.0 - F)
    difference: Floats = np.sqrt(
        (delta_L / (l * S_L)) ** 2 + (delta_C / (c * S_C)) ** 2 + (delta_H / S_H) ** 2
    )
    return difference
