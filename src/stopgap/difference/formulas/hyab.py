"""HyAB, a hybrid distance for large differences: lightness counted apart from the a*b* plane.

Reference: S. Abasi, M. Amani Tehran, M. D. Fairchild (2020), "Distance metrics for very large
color differences", Color Research & Application 45(2), 208-223.
"""

import numpy as np

from stopgap.arrays import Floats, FloatsLike, as_lab


def delta_E_hyab(lab_1: FloatsLike, lab_2: FloatsLike) -> Floats:
    """|ΔL*| + hypot(Δa*, Δb*) between Lab arrays of shapes that broadcast. Symmetric; a metric.

    >>> float(delta_E_hyab([50, 0, 0], [52, 3, 4]))
    7.0
    """
    difference = as_lab(lab_2, "lab_2") - as_lab(lab_1, "lab_1")
    return np.abs(difference[..., 0]) + np.hypot(difference[..., 1], difference[..., 2])
