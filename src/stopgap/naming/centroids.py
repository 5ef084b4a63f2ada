"""Colour names by the ISCC-NBS system, as the name of the nearest of its 267 centroids.

Reference: K. L. Kelly and D. B. Judd (1976), Color: Universal Language and Dictionary of Names,
NBS Special Publication 440. Level 3 has 267 categories; pages A-14 to A-16 gather them into the 29
names of level 2 and the 13 of level 1, where a "bluish gray" counts as a blue.

The standard draws its categories as blocks of Munsell space. The nearest centroid is an
approximation of these, and vivid centroids are known only as clipped to sRGB. Where centroids of
darkest hues crowd around the neutral axis, a colour nearer to the axis than any of them would take
a hue's name, so colours that have practically no chroma are named among white, greys and black.
"""

from bisect import bisect_right
from functools import cache
from pathlib import Path
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from stopgap.arrays import Floats, FloatsLike, Integers, as_lab, read_only
from stopgap.colorimetry import hexes_to_lab
from stopgap.difference import delta_E
from stopgap.errors import InputError

# first category number, level 2 name, level 1 name: the numbers run through without a break
_LEVELS = (
    (1, "pink", "pink"),
    (11, "red", "red"),
    (25, "yellowish pink", "pink"),
    (34, "reddish orange", "orange"),
    (40, "reddish brown", "brown"),
    (48, "orange", "orange"),
    (55, "brown", "brown"),
    (66, "orange yellow", "yellow"),
    (74, "yellowish brown", "brown"),
    (82, "yellow", "yellow"),
    (94, "olive brown", "olive"),
    (97, "greenish yellow", "yellow"),
    (106, "olive", "olive"),
    (115, "yellow green", "yellow green"),
    (123, "olive green", "olive"),
    (129, "yellowish green", "green"),
    (139, "green", "green"),
    (158, "bluish green", "green"),
    (167, "greenish blue", "blue"),
    (176, "blue", "blue"),
    (194, "purplish blue", "blue"),
    (205, "violet", "purple"),
    (216, "purple", "purple"),
    (236, "reddish purple", "purple"),
    (246, "purplish pink", "pink"),
    (254, "purplish red", "red"),
    (263, "white", "white"),
    (264, "gray", "gray"),
    (267, "black", "black"),
)
_NEUTRAL = slice(262, 267)  # rows of white, light, medium and dark gray, black
_NEUTRAL_CHROMA = 1.5  # this project's choice, below the chroma of every centroid with a hue
_FIRST_NUMBERS = [first for first, _, _ in _LEVELS]


class Category(NamedTuple):
    """One of the 267 categories: its number, its names on the three levels, its centroid."""

    number: int
    name: str
    level_2: str
    level_1: str
    lab: tuple[float, float, float]


class ColourName(NamedTuple):
    """The name of one colour; the `distance` to the centroid (ΔE00) says how typical it is."""

    category: Category
    distance: float

    def __str__(self) -> str:
        return self.category.name


@cache
def categories() -> tuple[Category, ...]:
    """The 267 categories in the order of their numbers, their centroids adapted from sRGB."""
    file = Path(__file__).parent / "data" / "iscc_nbs_centroids.csv"
    lines = file.read_text(encoding="utf-8").splitlines()
    _header, *rows = (line.split(",") for line in lines if not line.startswith("#"))
    labs = hexes_to_lab([text for _, text in rows]).tolist()
    found = []
    for number, ((name, _), (L, a, b)) in enumerate(zip(rows, labs, strict=True), start=1):
        _, level_2, level_1 = _LEVELS[bisect_right(_FIRST_NUMBERS, number) - 1]
        found.append(Category(number, name, level_2, level_1, (L, a, b)))
    return tuple(found)


@cache
def _centroids() -> Floats:
    return read_only([category.lab for category in categories()])


def nearest_categories(lab: FloatsLike) -> tuple[Integers, Floats]:
    """Rows of `categories()` and ΔE00 to their centroids, (..., 3) -> two arrays (...)."""
    colours = as_lab(lab)
    distances = delta_E(colours[..., None, :], _centroids())
    has_hue = np.hypot(colours[..., 1], colours[..., 2]) >= _NEUTRAL_CHROMA
    barred = np.ones(distances.shape[-1], dtype=np.bool_)
    barred[_NEUTRAL] = False
    distances = np.where(barred & ~has_hue[..., None], np.inf, distances)
    rows = np.argmin(distances, axis=-1)
    return rows, np.take_along_axis(distances, rows[..., None], axis=-1)[..., 0]


def iscc_nbs(lab: FloatsLike) -> npt.NDArray[np.str_]:
    """The ISCC-NBS name of each colour, (..., 3) -> (...); a string for one colour.

    Parameters
    ----------
    lab
        CIE L*a*b*, D50, 2 degree observer.

    >>> str(iscc_nbs([60, 35, 15]))
    'deep pink'
    """
    names = np.array([category.name for category in categories()])
    named: npt.NDArray[np.str_] = names[nearest_categories(lab)[0]]
    return named


def colour_name(lab: FloatsLike) -> ColourName:
    """Category and distance to its centroid of one colour of shape (3,).

    Raises
    ------
    InputError
        Unless `lab` is one finite colour.
    """
    colour = as_lab(lab)
    if colour.shape != (3,):
        raise InputError(f"lab: expected one colour of shape (3,), shape is {colour.shape}.")
    row, distance = nearest_categories(colour)
    return ColourName(categories()[int(row)], float(distance))
