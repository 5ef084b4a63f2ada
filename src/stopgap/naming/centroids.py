"""Colour names by the ISCC-NBS system: 267 categories of Munsell hue, value and chroma.

Reference: K. L. Kelly and D. B. Judd (1976), Color: Universal Language and Dictionary of Names,
NBS Special Publication 440. Level 3 has 267 categories; pages A-14 to A-16 gather them into the 29
names of level 2 and the 13 of level 1, where a "bluish gray" counts as a blue.

The standard draws its categories as blocks. Their table is not kept here; a small model of it is,
made by tests/naming/make_names.py: a tree finds the name of level 2, and among that name's
categories the one whose centroid has the least weighted squared distance. Centroids of vivid
categories are known only as clipped to sRGB. Where there is practically no chroma a colour is named
among white, greys and black by its value.
"""

from bisect import bisect_right
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from stopgap.arrays import Floats, FloatsLike, Integers, as_lab, one_lab, read_only
from stopgap.colorimetry import hexes_to_lab
from stopgap.difference import delta_E
from stopgap.naming.notation import lab_to_munsell, model

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
FIRST_NEUTRAL = 262
"""Row of white; light, medium and dark gray and black follow."""
NEUTRAL_CHROMA = 0.5
"""Munsell chroma below which a colour has no hue: NBS SP 440."""
_NEUTRAL_VALUES = (8.5, 6.5, 4.5, 2.5)  # NBS SP 440, from white down to dark gray
_VIVID_CHROMA = 14.0  # at least, of vivid centroids, which are clipped: this project's choice
_FIRST_NUMBERS = [first for first, _, _ in _LEVELS]
_HUE_WORDS = (
    *("pinkish", "reddish", "yellowish", "brownish", "olive"),
    *("greenish", "bluish", "purplish", "orange"),
)
_NEUTRAL_WORDS = ("white", "gray", "black")


class Category(NamedTuple):
    """One of the 267 categories: its number, its names on the three levels, its centroid."""

    number: int
    name: str
    level_2: str
    level_1: str
    lab: tuple[float, float, float]

    def called(self, level: int) -> str:
        """Its name on a level, 1 to 3."""
        return (self.level_1, self.level_2, self.name)[level - 1]


class ColourName(NamedTuple):
    """The name of one colour; the `distance` to the centroid (ΔE00) says how typical it is."""

    category: Category
    distance: float

    def __str__(self) -> str:
        return self.category.name


class Called(NamedTuple):
    """What a colour is called, and what it is also called where a limit is near: "" if none is."""

    name: str
    also: str


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


class Composition(NamedTuple):
    """The categories with a hue, sorted by name of level 2 and by modifier."""

    names: tuple[str, ...]
    modifiers: tuple[str, ...]
    names_of: Integers
    modifiers_of: Integers
    offered: Integers
    """Rows of `categories()` of each name, -1 where there are no more: (names, most)."""
    centres: Floats
    """Hue, value and chroma of the centroids."""


@cache
def composition() -> Composition:
    """How the categories with a hue are made of names and modifiers."""
    every = categories()[:FIRST_NEUTRAL]
    said = [_modifier(category) for category in every]
    names = tuple(dict.fromkeys(category.level_2 for category in every))
    words = tuple(sorted(set(said)))
    names_of = np.array([names.index(category.level_2) for category in every])
    rows = [np.flatnonzero(names_of == place) for place in range(len(names))]
    offered = np.full((len(names), max(map(len, rows))), -1)
    for place, some in enumerate(rows):
        offered[place, : len(some)] = some
    centres = lab_to_munsell([category.lab for category in every])
    vivid = np.array([word == "vivid" for word in said])
    centres[vivid, 2] = np.maximum(centres[vivid, 2], _VIVID_CHROMA)
    return Composition(
        names, words, names_of, np.array([words.index(w) for w in said]), offered, centres
    )


def _modifier(category: Category) -> str:
    name = category.name.removesuffix(category.level_2)
    if name != category.name:
        return name.strip()
    return " ".join("-ish" if word in _HUE_WORDS else word for word in category.name.split())


def terms(hvc: Floats, centres: Floats) -> tuple[Floats, Floats]:
    """What is weighed between colours and centroids: six terms, and the square of the hue's step.

    Steps of value and of the 0.7th power of chroma, in which chromas are spaced more evenly: their
    squares, their product, themselves and one.
    """
    hue = (hvc[..., 0] - centres[..., 0] + 50.0) % 100.0 - 50.0
    value = hvc[..., 1] - centres[..., 1]
    chroma = hvc[..., 2] ** 0.7 - centres[..., 2] ** 0.7
    ones = np.ones_like(value)
    return np.stack([value**2, chroma**2, value * chroma, value, chroma, ones], axis=-1), hue**2


class _Tree(NamedTuple):
    """Nodes from the root: axis (-1 at a leaf), limit, the next below and above, name at a leaf."""

    axis: Integers
    limit: Floats
    next: Integers
    name: Integers
    depth: int


@cache
def _tree() -> _Tree:
    """The nested tree of the model, laid flat."""
    order = {name: place for place, name in enumerate((*composition().names, *_NEUTRAL_WORDS))}
    rows: list[list[float]] = []

    def lay(node: Any) -> int:
        place = len(rows)
        if isinstance(node, str):
            rows.append([-1, 0.0, place, place, order[node], 0])
            return place
        rows.append([node[0], node[1], 0, 0, 0, 0])
        below, above = lay(node[2]), lay(node[3])
        rows[place][2:4] = below, above
        rows[place][5] = 1 + max(rows[below][5], rows[above][5])
        return place

    lay(model()["tree"])
    table = np.array(rows)
    whole = table[:, [0, 2, 3, 4]].astype(np.intp)
    return _Tree(whole[:, 0], table[:, 1], whole[:, 1:3], whole[:, 3], int(table[0, 5]))


def _level_2(hvc: Floats) -> Integers:
    """Place among the names of `composition()`, beyond them white, gray, black: (n,)."""
    tree, rows = _tree(), np.arange(len(hvc))
    turned = hvc.copy()
    turned[:, 0] = (turned[:, 0] - model()["hue_from"]) % 100.0
    node = np.zeros(len(hvc), dtype=np.intp)
    for _ in range(tree.depth):
        above = turned[rows, tree.axis[node]] >= tree.limit[node]
        node = tree.next[node, above.astype(np.intp)]
    return np.asarray(tree.name[node])


@cache
def _weights() -> tuple[Floats, Floats]:
    found = model()
    return (
        read_only([found["modifiers"][word] for word in composition().modifiers]),
        read_only([found["hue_scales"][name] for name in composition().names]),
    )


def category_rows(lab: FloatsLike) -> Integers:
    """The row in `categories()` of each colour, (..., 3) -> (...)."""
    colours = as_lab(lab)
    hvc = lab_to_munsell(colours.reshape(-1, 3))
    names = _level_2(hvc)
    darker = hvc[:, 1, None] < np.array(_NEUTRAL_VALUES)
    found = FIRST_NEUTRAL + darker.sum(axis=1)
    hued = (hvc[:, 2] >= NEUTRAL_CHROMA) & (names < len(composition().names))
    offered = composition().offered[names[hued]]
    safe = np.maximum(offered, 0)
    weights, scales = _weights()
    six, turned = terms(hvc[hued, None, :], composition().centres[safe])
    away = (six * weights[composition().modifiers_of[safe]]).sum(axis=-1)
    away += scales[names[hued], None] * turned
    least = np.where(offered >= 0, away, np.inf).argmin(axis=1)
    found[hued] = offered[np.arange(len(offered)), least]
    return np.asarray(found.reshape(colours.shape[:-1]))


def iscc_nbs(lab: FloatsLike) -> npt.NDArray[np.str_]:
    """The ISCC-NBS name of each colour, (..., 3) -> (...); a string for one colour.

    Parameters
    ----------
    lab
        CIE L*a*b*, D50, 2 degree observer.

    >>> str(iscc_nbs([50, 55, 35]))
    'strong red'
    """
    names = np.array([category.name for category in categories()])
    named: npt.NDArray[np.str_] = names[category_rows(lab)]
    return named


def colour_name(lab: FloatsLike) -> ColourName:
    """Category and distance to its centroid of one colour of shape (3,).

    Raises
    ------
    InputError
        Unless `lab` is one finite colour.
    """
    colour = one_lab(lab)
    category = categories()[int(category_rows(colour))]
    return ColourName(category, float(delta_E(colour, category.lab)))


def called(lab: FloatsLike, *, sigma: float = 0.0, level: int = 2) -> Called:
    """The name of one colour on a level, and the commonest other one of six colours around it.

    Those lie at ΔE00 of max(1, `sigma`) to both sides in L*, a* and b*.

    Raises
    ------
    InputError
        Unless `lab` is one finite colour.

    >>> called([43.0, -20.0, 10.0])
    Called(name='green', also='')
    """
    colour = one_lab(lab)
    steps = np.concatenate([np.eye(3), -np.eye(3)])
    steps /= np.maximum(delta_E(colour, colour + steps), 1e-9)[:, None]
    rows = category_rows(np.concatenate([colour[None], colour + max(1.0, sigma) * steps]))
    first, *around = (categories()[row].called(level) for row in rows.tolist())
    others = [name for name in around if name != first]
    return Called(first, max(others, key=others.count, default=""))
