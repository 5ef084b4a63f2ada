"""How a stand-in is off from its target, in words: "a little lighter, much duller, redder".

Sizes are the terms of CIEDE2000, so that a step of lightness counts as much as an equally visible
one of hue; the words are chosen in CIE L*a*b*.

Hues are named by the unique hues, which nobody sees as mixed: red, yellow, green and blue at about
24, 90, 162 and 246 degrees of h_ab in daylight (M. D. Fairchild, Color Appearance Models, chapter
on CIELAB; the figures are from memory). CIE 159:2004 has 20.14, 90, 164.25 and 237.53 for CIECAM02.
"""

from collections.abc import Mapping, Sequence
from math import atan2, cos, hypot, radians
from types import MappingProxyType
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Floats, FloatsLike, as_lab, one_lab
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
    return words_of_differences(first[np.newaxis], second[np.newaxis])[0]


def words_of_differences(labs_1: FloatsLike, labs_2: FloatsLike) -> list[str]:
    """The same of each colour of the second (n, 3) and that of the first (n, 3)."""
    first, second = as_lab(labs_1, "labs_1"), as_lab(labs_2, "labs_2")
    apart = delta_E_ciede2000(first, second).tolist()
    terms = np.stack(weighted_components(first, second), axis=-1).tolist()
    delta_C = signed_differences(first, second)[1].tolist()
    seen = zip(_seen(first), _seen(second), _hue_words(first, second), strict=True)
    return [
        "no visible difference" if grade(own) == "same" else _words(_parts(its, chroma), *pair)
        for own, its, chroma, pair in zip(apart, terms, delta_C, seen, strict=True)
    ]


class _Seen(NamedTuple):
    """A colour: L*, a*, b*, C*ab."""

    L: float
    a: float
    b: float
    C: float


def _seen(labs: Floats) -> list[_Seen]:
    chroma = np.hypot(labs[:, 1], labs[:, 2])
    return [_Seen(*one) for one in np.column_stack([labs, chroma]).tolist()]


def _words(parts: _Parts, first: _Seen, second: _Seen, hue_word: str) -> str:
    if min(first.C, second.C) >= NEUTRAL_BELOW:
        words = [
            (abs(parts.chroma), "more vivid" if parts.chroma > 0.0 else "duller"),
            (parts.hue, hue_word),
        ]
    else:
        both_neutral = max(first.C, second.C) < NEUTRAL_BELOW
        words = [_word_beside_neutral(parts, first, second, both_neutral=both_neutral)]
    words.insert(0, (parts.lightness, "lighter" if second.L > first.L else "darker"))
    words.sort(key=lambda sized: -sized[0])
    seen = [sized for sized in words if sized[0] > VISIBLE_ABOVE] or words[:1]
    return ", ".join(_with_adverb(size, word) for size, word in seen)


def _parts(terms: Sequence[float], delta_C: float) -> _Parts:
    """The terms of CIEDE2000 with its rotation term shared out among chroma and hue.

    In the blues the rotation term makes ΔE00 much smaller than its parts; unshared, a close match
    could be "much" off. Where the chroma C' of the formula, which stretches a*, and C*ab disagree
    on which colour is the duller, neither is said to be.
    """
    lightness, chroma, hue, rotation = terms
    plane = chroma**2 + hue**2
    share = (1.0 + rotation * chroma * hue / plane) ** 0.5 if plane > 0.0 else 1.0
    agreed = chroma if chroma * delta_C > 0.0 else 0.0
    return _Parts(abs(lightness), share * agreed, share * abs(hue))


def _hue_words(firsts: Floats, seconds: Floats) -> list[str]:
    """The nearest of those unique hues to colour 2 (n, 3) that are nearer to it than to colour 1.

    For small steps that is the next unique hue on the way, for large ones the hue arrived at. Two
    colours never get the same word of each other.
    """
    # neighbouring unique hues are less than 180 degrees apart: one is approached unless hues agree
    distance = _from_unique_hues(seconds)
    approached = distance < _from_unique_hues(firsts)
    nearest = np.where(approached, distance, np.inf).argmin(axis=1)
    nearest[~approached.any(axis=1)] = -1
    words = [*UNIQUE_HUES, ""]
    return [words[at] for at in nearest.tolist()]


def _from_unique_hues(labs: Floats) -> Floats:
    """How far the hues h_ab of colours (n, 3) are from the unique hues, (n, 4) degrees."""
    hues = np.degrees(np.arctan2(labs[:, 2], labs[:, 1]))
    apart = np.abs(hues[:, np.newaxis] - np.array([*UNIQUE_HUES.values()])) % 360.0
    return np.asarray(np.minimum(apart, 360.0 - apart))


def _word_beside_neutral(
    parts: _Parts, first: _Seen, second: _Seen, *, both_neutral: bool
) -> tuple[float, str]:
    """One word for the whole difference in the a*b* plane where hue means nothing, with its size.

    Warmer or cooler within 60 degrees of the warm-cool axis, between two greys or where chroma says
    less than hue; else how coloured; else only that the cast is another.
    """
    size = hypot(parts.chroma, parts.hue)
    warmth = cos(atan2(second.b - first.b, second.a - first.a) - radians(WARM_HUE))
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
