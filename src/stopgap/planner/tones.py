"""A local colour from light to shadow at kept hue, laid with one's own pencils.

Light pales a colour towards the paper. Less light on the same surface is less of the same
chromaticity: X, Y and Z fall alike, so that in Lab a*, b* and L* + 16 fall alike (their cube
roots), hue stays and chroma falls with lightness.

References
----------
Hue along such columns against the Munsell renotation: tests/planner/test_tones.py.
"""

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise
from operator import attrgetter
from typing import TYPE_CHECKING

import numpy as np

from stopgap.arrays import Floats
from stopgap.defaults import TONES
from stopgap.difference import delta_E_ciede2000
from stopgap.errors import InputError, Note, NothingFoundError, Remedy
from stopgap.planner.materials import labs_of, pencils_of, unique_swatches
from stopgap.planner.nearness import hue_keeping_difference
from stopgap.planner.recipes.kept import not_layered_notes, recipes_under
from stopgap.swatches import (
    Lab,
    LaidStack,
    LayingConditions,
    Swatch,
    Target,
    departure_notes,
    mark_notes,
)

if TYPE_CHECKING:
    from stopgap.layering.recipe_search import Progress
    from stopgap.planner.recipes.cache import RecipeCache
    from stopgap.planner.recipes.index import RecipeIndex

EVEN = 2.0
"""How far steps of lightness may differ, in L*; a tone is to be a quarter of it off at most."""
HUE_KEPT = 6.0
"""How far hue may turn, in degrees of h_ab."""
_HUELESS = 8.0  # C*ab below which hue is hardly seen
_PALEST, _DARKEST = 0.75, 0.6  # of the way from the colour to the paper; of L* + 16 left in shadow
_DARK = 12.0  # L* that hardly any pencil falls below
_TINGE, _TURNED = 12.0, 0.5  # C*ab of a warm or cool shadow; of chroma that the complement takes
_HUES = {"warm": 60.0, "cool": 265.0}  # h_ab of low sun and of open sky, this project's choice
_OPPOSITE = 135.0  # degrees from which a pencil is a complement
_OWN_FIRST = 1.0  # ΔE00 by which a tone without the pencil itself counts as farther off
_LIGHTNESS, _HUE = 4.0, 0.5  # ΔE00 that count for each unit of L* or degree beyond what may be
_NEAREST = 24  # recipes looked at for each tone


class Shadow(StrEnum):
    """What a shadow turns to."""

    PLAIN = "plain"
    WARM = "warm"
    COOL = "cool"


@dataclass(frozen=True, slots=True)
class Tone:
    """One tone, from what is aimed at to what is laid; `local` says that it is the colour itself.

    `hue_off` is by how many degrees of h_ab hue turns from what is aimed at, None where there is
    next to none.
    """

    aim: Lab
    given: LaidStack
    delta_E: float
    local: bool = False

    @property
    def lightness_off(self) -> float:
        """How much lighter it is than aimed at, in L*."""
        return self.given.lab[0] - self.aim[0]

    @property
    def hue_off(self) -> float | None:
        """By how much hue turns."""
        if min(_chroma(self.aim), _chroma(self.given.lab)) < _HUELESS:
            return None
        turned = math.degrees(_hue(self.given.lab) - _hue(self.aim))
        return (turned + 180.0) % 360.0 - 180.0


@dataclass(frozen=True, slots=True)
class Tones:
    """A local colour and its tones, from light to shadow."""

    target: Target
    shadow: Shadow
    dulled: bool
    tones: tuple[Tone, ...]
    notes: tuple[Note, ...] = ()

    @property
    def steps(self) -> list[float]:
        """Steps of lightness from one tone to the next, in L*."""
        lightness = [tone.given.lab[0] for tone in self.tones]
        return [one - other for one, other in pairwise(lightness)]

    @property
    def uneven(self) -> float:
        """By how much the largest step of lightness exceeds the smallest."""
        return max(self.steps) - min(self.steps)

    @property
    def hue_off(self) -> float:
        """The most that hue turns, in degrees."""
        return max((abs(tone.hue_off or 0.0) for tone in self.tones), default=0.0)


def aimed_tones(
    local: Lab,
    count: int = TONES,
    *,
    paper: Lab,
    contrast: float | None = None,
    shadow: Shadow = Shadow.PLAIN,
    dulled: bool = False,
) -> tuple[list[Lab], int]:
    """`count` colours from light to shadow in even steps of L*, and the place of `local` in them.

    Steps are `contrast`, or less where there is no room; as large as there is room where it is not
    given.

    Raises
    ------
    InputError
        For less than 3, or a contrast that is not above 0.
    NothingFoundError
        If the colour leaves no room.
    """
    if count < 3:
        raise InputError(f"steps: expected at least 3 tones, found {count}.")
    if contrast is not None and not 0.0 < contrast < math.inf:
        raise InputError(f"contrast: expected steps above 0 in L*, found {contrast}.")
    L = local[0]
    lightest = L + _PALEST * max(paper[0] - L, 0.0)
    darkest = min(max(_DARKEST * (L + 16.0) - 16.0, _DARK), L)
    step = (lightest - darkest) / (count - 1)
    if step <= 0.0:
        raise NothingFoundError("The colour is as light as the paper and as dark as can be.")
    place = min(max(round((lightest - L) / step), 0), count - 1)
    room = [math.inf, math.inf]
    if place:
        room[0] = (lightest - L) / place
    if place < count - 1:
        room[1] = (L - darkest) / (count - 1 - place)
    step = min(*room, math.inf if contrast is None else contrast)
    aims = []
    for number in range(count):
        lightness = L + (place - number) * step
        a, b = local[1], local[2]
        if number < place:
            pale = (lightness - L) / max(paper[0] - L, 1e-9)
            a, b = a + pale * (paper[1] - a), b + pale * (paper[2] - b)
        elif number > place:
            less = (lightness + 16.0) / (L + 16.0)
            deep = (number - place) / (count - 1 - place)
            kept = less * (1.0 - _TURNED * deep if dulled else 1.0)
            a, b = kept * a, kept * b
            if shadow != Shadow.PLAIN:
                hue = math.radians(_HUES[shadow])
                a, b = a + deep * _TINGE * math.cos(hue), b + deep * _TINGE * math.sin(hue)
        aims.append((lightness, a, b))
    return aims, place


def find_tones(
    target: Target,
    pencils: Sequence[Swatch],
    count: int = TONES,
    *,
    conditions: LayingConditions,
    contrast: float | None = None,
    shadow: Shadow = Shadow.PLAIN,
    dulled: bool = False,
    layers: bool = True,
    cache: "RecipeCache | None" = None,
    progress: "Progress | None" = None,
) -> Tones:
    """Tones of a pencil or a colour, each laid with one pencil or, with `layers`, two.

    Each is the one nearest, its hue first, of those whose lightness keeps steps even within EVEN
    and whose hue turns no more than HUE_KEPT, or that exceed these least; one with the pencil
    itself rather than another a little nearer. `dulled` shadows are laid with a complement over
    or under it.

    Raises
    ------
    InputError
        As `aimed_tones` does.
    NothingFoundError
        If there is no pencil, no room for tones, or no complement for `dulled`.
    """
    box = unique_swatches(pencils, "pencils")
    if not box:
        raise NothingFoundError("There is no pencil to lay.", remedy=Remedy.ANY_PENCIL)
    own = _own(target, box)
    opposite = {one.address for one in box if _is_complement(one.lab, target.lab)}
    if dulled and not (layers and opposite):
        raise NothingFoundError("None of these pencils is a complement to dull the colour with.")
    aims, place = aimed_tones(
        target.lab, count, paper=conditions.paper, contrast=contrast, shadow=shadow, dulled=dulled
    )
    alone = [LaidStack.of(pencil) for pencil in box]
    index = None
    notes: tuple[Note, ...] = departure_notes(box)
    if layers:
        notes = (*not_layered_notes(conditions, box), *notes)
        index = recipes_under(conditions, box, cache=cache, progress=progress)
    tones = []
    for number, aim in enumerate(aims):
        offered = list(alone)
        if index is not None:
            offered += _recipes(aim, index)
            if dulled and number > place:
                offered = _dull(aim, index, own, opposite) or offered
        tones.append(_best(aim, offered, own, local=number == place))
    notes = (*notes, *mark_notes(pencils_of(map(attrgetter("given"), tones))))
    return Tones(target, shadow, dulled, tuple(tones), notes)


def _recipes(
    aim: Lab, index: "RecipeIndex", limit: int = _NEAREST, without: Collection[str] = ()
) -> list[LaidStack]:
    """The recipes that rank first for a tone."""
    found = index.scan(aim, _rank, limit=limit, without=without)
    (recipes,) = index.described([found])
    return [recipe.laid for recipe in recipes]


def _dull(
    aim: Lab, index: "RecipeIndex", own: Swatch, opposite: Collection[str]
) -> list[LaidStack]:
    """Recipes of the pencil with a complement of it."""
    others = {one.address for one in index.swatches} - {*opposite, own.address}
    some = _recipes(aim, index, 4 * _NEAREST, others)
    return [one for one in some if own.address in one.addresses and one.addresses & set(opposite)]


def _own(target: Target, box: Sequence[Swatch]) -> Swatch:
    """The pencil itself where it is in the box, else the nearest to it."""
    if isinstance(target, Swatch):
        own = next((one for one in box if one.address == target.address), None)
        if own is not None:
            return own
    return box[int(delta_E_ciede2000(target.lab, labs_of(box)).argmin())]


def _best(aim: Lab, offered: Sequence[LaidStack], own: Swatch, *, local: bool) -> Tone:
    """What ranks first; the colour itself is what is nearest to it, whatever its pencil."""
    labs = labs_of(offered)
    without = np.array([own.address not in one.addresses for one in offered])
    rank = _rank(aim, labs) + (0.0 if local else _OWN_FIRST) * without
    best = int(rank.argmin())
    return Tone(aim, offered[best], float(delta_E_ciede2000(aim, labs[best])), local)


def _rank(aim: Lab, labs: Floats) -> Floats:
    """What is off with the hue kept first, and more for what makes steps of lightness uneven or
    turns the hue: (n, 3) -> (n,).
    """
    uneven = np.maximum(np.abs(labs[:, 0] - aim[0]) - EVEN / 4.0, 0.0)
    turned = np.maximum(_turned(aim, labs) - HUE_KEPT, 0.0)
    rank: Floats = hue_keeping_difference(aim, labs) + _LIGHTNESS * uneven + _HUE * turned
    return rank


def _turned(aim: Lab, labs: Floats) -> Floats:
    """Degrees of h_ab between an aim and colours (n, 3), 0 where either has hardly any hue."""
    turned = np.degrees(np.arctan2(labs[:, 2], labs[:, 1]) - _hue(aim))
    turned = np.abs((turned + 180.0) % 360.0 - 180.0)
    hueless = np.hypot(labs[:, 1], labs[:, 2]) < _HUELESS
    return np.where(hueless | (_chroma(aim) < _HUELESS), 0.0, turned)


def _is_complement(lab: Lab, of: Lab) -> bool:
    """Whether a colour lies opposite another on the circle of hue."""
    if min(_chroma(lab), _chroma(of)) < _HUELESS:
        return False
    return bool(_turned(of, np.array([lab]))[0] >= _OPPOSITE)


def _hue(lab: Lab) -> float:
    return math.atan2(lab[2], lab[1])


def _chroma(lab: Lab) -> float:
    return math.hypot(lab[1], lab[2])
