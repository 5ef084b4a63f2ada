"""From reflectance to tristimulus values: D50, CIE 1931 2 degree observer, every 10 nm.

The weights are those of a spectrum that runs straight between its samples and stays level beyond
them, so they are nowhere negative and a surface that reflects less is nowhere brighter. The file in
`data` says how colour-science made them; reading them costs a hundredth of importing it.
"""

from functools import cache
from pathlib import Path
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats, read_only

WAVELENGTHS = read_only(np.arange(380.0, 731.0, 10.0))
"""The 36 wavelengths [nm] at which reflectance is sampled."""


class Recovered(NamedTuple):
    """`reflectance` (..., k) in k bands; `reached` (...) whether it has the colour asked."""

    reflectance: Floats
    reached: Booleans


@cache
def tristimulus_weights() -> Floats:
    """Weights (36, 3), every column summing to 1: `reflectance @ weights` is X/Xn, Y/Yn, Z/Zn."""
    table = Path(__file__).with_name("data") / "weights_d50_2_degree.csv"
    with table.open(encoding="utf-8") as lines:
        rows = np.loadtxt(lines, delimiter=",", skiprows=_HEADER_LINES)
    return read_only(rows[:, 1:] / rows[:, 1:].sum(axis=0))


_HEADER_LINES = 7  # six of comment, one of column names
