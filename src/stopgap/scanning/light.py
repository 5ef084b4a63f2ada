"""How the light falls off over a page, from the places that are blank.

In the logarithm of linear light each channel is a polynomial of degree 2 over the page, fitted so
that a blank place which is not blank, or lies in another light, is passed over: Tukey's biweight
(A. E. Beaton and J. W. Tukey (1974), Technometrics 16, 147-185), c = 4.685. What neighbouring
blanks have left over, a shadow's edge, is then taken from them, the nearer the more.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Floats
from stopgap.errors import InputError
from stopgap.scanning.profile import Bytes

FEWEST = 8
"""Blank places below which the light of a page cannot be told."""
_TUKEY, _ROUNDS = 4.685, 20
_REACH = 16.0  # mm
_CAUTION = 0.5  # weight of knowing nothing, against that of a blank place right here
_LEAST_SCALE = 0.004  # of the logarithm: what paper itself varies by


class Blank(NamedTuple):
    """A blank place: its middle [mm], its mean linear light (3,), and whether a channel is full."""

    x: float
    y: float
    linear: Floats
    full: bool


class Light(NamedTuple):
    """The light over a page, as `at` gives it; `uneven` is its standard deviation as a share."""

    size: tuple[float, float]
    terms: Floats
    left: Floats
    places: Floats
    kept: Floats

    def at(self, places: Floats) -> Floats:
        """Linear light (n, 3) of bare paper at places (n, 2) [mm]."""
        return np.asarray(np.exp(_design(places, self.size) @ self.terms), dtype=np.float64)

    def local(self, place: Floats) -> Floats:
        """The factor (3,) by which bare paper at a place (2,) differs from `at`."""
        distance = ((self.places - place) ** 2).sum(axis=1)
        weight = self.kept * np.exp(-0.5 * distance / _REACH**2)
        left = (weight[:, np.newaxis] * self.left).sum(axis=0) / (weight.sum() + _CAUTION)
        return np.asarray(np.exp(left), dtype=np.float64)


def fit_light(blanks: Sequence[Blank], size: tuple[float, float]) -> Light:
    """The light over a page of that size [mm] from its blank places.

    Raises
    ------
    InputError
        If too few of them are seen.
    """
    if len(blanks) < FEWEST:
        raise InputError("too little of the page's white is seen to tell its light.")
    places = np.array([(blank.x, blank.y) for blank in blanks])
    logarithm = np.log(np.maximum([blank.linear for blank in blanks], 1e-5))
    design = _design(places, size)
    weight = np.ones(len(blanks))
    terms = np.zeros((design.shape[1], 3))
    for _ in range(_ROUNDS):
        root = np.sqrt(weight)[:, np.newaxis]
        terms = np.linalg.lstsq(root * design, root * logarithm, rcond=None)[0]
        off = np.abs(logarithm - design @ terms).max(axis=1)  # strange in one channel is strange
        scale = max(1.4826 * float(np.median(off)), _LEAST_SCALE)
        weight = (1.0 - np.minimum(off / (_TUKEY * scale), 1.0) ** 2) ** 2
    return Light(size, terms, logarithm - design @ terms, places, weight)


def blank_of(decoded: Floats, coded: Bytes, place: tuple[float, float]) -> Blank:
    """A blank place from its pixels, linear (n, 3) and coded, less the darkest and lightest."""
    brightness = decoded.sum(axis=1)
    low, high = np.percentile(brightness, (15, 85))
    middle = (brightness >= low) & (brightness <= high)
    full = bool((coded >= 254).any(axis=1).mean() > 0.1)
    return Blank(*place, decoded[middle].mean(axis=0), full)


def _design(places: Floats, size: tuple[float, float]) -> Floats:
    x = 2.0 * places[:, 0] / size[0] - 1.0
    y = 2.0 * places[:, 1] / size[1] - 1.0
    return np.column_stack([np.ones_like(x), x, y, x * x, x * y, y * y])
