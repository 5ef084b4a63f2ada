"""What a recovery finds."""

from typing import NamedTuple

from stopgap.arrays import Booleans, Floats


class Recovered(NamedTuple):
    """`reflectance` (..., k) in k bands; `reached` (...) whether it has the colour asked."""

    reflectance: Floats
    reached: Booleans
