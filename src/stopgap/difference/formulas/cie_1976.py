"""CIE 1976 colour difference: the Euclidean distance in L*a*b*.

Reference: CIE 015:2018, Colorimetry, section 8.2.1.
"""

import numpy as np

from stopgap.arrays import Floats, FloatsLike, as_lab


def delta_E_cie_1976(lab_1: FloatsLike, lab_2: FloatsLike) -> Floats:
    """ΔE*ab between Lab arrays of shapes that broadcast, (..., 3) -> (...). Symmetric; a metric.

    >>> float(delta_E_cie_1976([50, 0, 0], [53, 4, 0]))
    5.0
    """
    offset = as_lab(lab_2, "lab_2") - as_lab(lab_1, "lab_1")
    distance: Floats = np.sqrt(np.sum(offset**2, axis=-1))
    return distance
