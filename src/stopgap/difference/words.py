"""How a stand-in is off from its target, in words: "a little lighter, much duller, redder".

Sizes are the terms of CIEDE2000, so that a step of lightness counts as much as an equally visible
one of hue; the words are chosen in CIE L*a*b*.

Hues are named by the unique hues, which nobody sees as mixed: red, yellow, green and blue at about
24, 90, 162 and 246 degrees of h_ab in daylight (M. D. Fairchild, Color Appearance Models, chapter
on CIELAB; the figures are from memory). CIE 159:2004 has 20.14, 90, 164.25 and 237.53 for CIECAM02.
"""

from collections.abc import Mapping
from types import MappingProxyType
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Floats, FloatsLike, one_lab
from stopgap.difference.formulas.cie_1976 import signed_differences
from stopgap.difference.formulas.ciede2000 import delta_E_ciede2000, weighted_components
from stopgap.difference.grades import COARSE_ABOVE, GRADES, grade

UNIQUE_HUES: Mapping[str, float] = MappingProxyType(
    {"redder": 24.0, "yellower": 90.0, "greener": 162.0, "bluer": 246.0}
)
"""The hue angle h_ab [degrees] that each hue word points to."""

NEUTRAL_BELOW = 5.0
"""C*ab under which a colour has no hue worth a word (this project's choice)."""

WARM_HUE = (UNIQUE_HUES["redder"] + UNIQUE_HUES["yellower"]) / 2
"""h_ab of the warmest cast, orange; the opposite is the coolest (common practice, no source)."""

VISIBLE_ABOVE = GRADES["same"]
"""A part of the difference not above this (ΔE00 units) is left out."""

A_LITTLE_UP_TO = GRADES["very close"]
"""A part not above this is "a little"."""

MUCH_ABOVE = COARSE_ABOVE
"""A part above this is "much"."""


class _Parts(NamedTuple):
    """Sizes in units of ΔE00, none above the whole; `chroma` has its sign."""

    lightness: float
    chroma: float
    hue: float


def difference_words(lab_1: FloatsLike, lab_2: FloatsLike) -> str:
    """How colour 2 is off from colour 1, the largest part first.

    Parameters
    ----------
    lab_1, lab_2
        One CIE L*a*b* each, the target and its stand-in.

    Raises
    ------
    InputError
        If either is not three finite numbers.

    >>> difference_words([50, 40, 30], [53, 30, 10])
    'much redder, much duller, lighter'
    >>> difference_words([50, 0, 3], [50, 0, -1])
    'cooler'
    >>> difference_words([50, 40, 30], [50, 40, 30.5])
    'no visible difference'
    """
    first, second = one_lab(lab_1, "lab_1"), one_lab(lab_2, "lab_2")
    if grade(float(delta_E_ciede2000(first, second))) == "same":
        return "no visible difference"
    parts = _parts(first, second)
    chromas = [float(np.hypot(lab[1], lab[2])) for lab in (first, second)]
    if min(chromas) >= NEUTRAL_BELOW:
        words = [
            (abs(parts.chroma), "more vivid" if parts.chroma > 0.0 else "duller"),
            (parts.hue, _hue_word(first, second)),
        ]
    else:
        both_neutral = max(chromas) < NEUTRAL_BELOW
        words = [_word_beside_neutral(parts, first, second, both_neutral=both_neutral)]
    words.insert(0, (parts.lightness, "lighter" if second[0] > first[0] else "darker"))
    words.sort(key=lambda sized: -sized[0])
    seen = [sized for sized in words if sized[0] > VISIBLE_ABOVE] or words[:1]
    return ", ".join(_with_adverb(size, word) for size, word in seen)


def _parts(first: Floats, second: Floats) -> _Parts:
    """The terms of CIEDE2000 with its rotation term shared out among chroma and hue.

    In the blues the rotation term makes ΔE00 much smaller than its parts; unshared, a close match
    could be "much" off. Where the chroma C' of the formula, which stretches a*, and C*ab disagree
    on which colour is the duller, neither is said to be.
    """
    lightness, chroma, hue, rotation = (float(part) for part in weighted_components(first, second))
    plane = chroma**2 + hue**2
    share = (1.0 + rotation * chroma * hue / plane) ** 0.5 if plane > 0.0 else 1.0
    delta_C = float(signed_differences(first, second)[1])
    agreed = chroma if chroma * delta_C > 0.0 else 0.0
    return _Parts(abs(lightness), share * agreed, share * abs(hue))


def _hue_word(first: Floats, second: Floats) -> str:
    """The nearest of those unique hues to colour 2 that are nearer to it than to colour 1.

    For small steps that is the next unique hue on the way, for large ones the hue arrived at. Two
    colours never get the same word of each other.
    """

    def distance(lab: Floats, unique_hue: float) -> float:
        apart = abs(float(np.degrees(np.arctan2(lab[2], lab[1]))) - unique_hue) % 360.0
        return min(apart, 360.0 - apart)

    # neighbouring unique hues are less than 180 degrees apart: one is approached unless hues agree
    approached = {
        word: distance(second, angle)
        for word, angle in UNIQUE_HUES.items()
        if distance(second, angle) < distance(first, angle)
    }
    return min(approached, key=approached.__getitem__, default="")


def _word_beside_neutral(
    parts: _Parts, first: Floats, second: Floats, *, both_neutral: bool
) -> tuple[float, str]:
    """One word for the whole difference in the a*b* plane where hue means nothing, with its size.

    Warmer or cooler within 60 degrees of the warm-cool axis, between two greys or where chroma says
    less than hue; else how coloured; else only that the cast is another.
    """
    a, b = second[1:] - first[1:]
    size = float(np.hypot(parts.chroma, parts.hue))
    warmth = float(np.cos(np.arctan2(b, a) - np.radians(WARM_HUE)))
    chroma_leads = abs(parts.chroma) >= parts.hue
    if abs(warmth) >= 0.5 and (both_neutral or not chroma_leads):
        return size, "warmer" if warmth > 0.0 else "cooler"
    if chroma_leads:
        return size, "more coloured" if parts.chroma > 0.0 else "greyer"
    return size, "of another cast"


def _with_adverb(size: float, word: str) -> str:
    if word == "of another cast":
        return word
    if size <= A_LITTLE_UP_TO:
        return f"a little {word}"
    return f"much {word}" if size > MUCH_ABOVE else word
