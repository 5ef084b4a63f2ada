"""When a label's own colour word is denied by the colour: a "sea green" that is plainly blue.

The words are the eleven basic colour terms of English: B. Berlin and P. Kay (1969), Basic Color
Terms. Where a term ends is nobody's standard. The limits below are this project's, set wide, so
that ordinary naming passes and only a plain contradiction is caught; a term that stands in the
colour's own name by ISCC-NBS is none.
"""

import re
from collections.abc import Mapping
from types import MappingProxyType
from typing import NamedTuple

import numpy as np

from stopgap.arrays import FloatsLike, one_lab
from stopgap.naming.centroids import iscc_nbs

_DARK = 30.0  # below this L* a colour word needs proportionally less chroma


class TermLimits(NamedTuple):
    """The colours a basic term is believed for: CIELAB D50, each pair (lowest, highest).

    `hue` is in degrees and runs counter-clockwise from its first to its second angle, through 0
    where the first is the larger.
    """

    lightness: tuple[float, float] = (0.0, 101.0)
    chroma: tuple[float, float] = (0.0, 200.0)
    hue: tuple[float, float] = (0.0, 360.0)

    def allow(self, lab: FloatsLike) -> bool:
        """Whether one colour of shape (3,) lies within the limits."""
        lightness, a, b = (float(value) for value in one_lab(lab))
        chroma = float(np.hypot(a, b))
        hue = float(np.degrees(np.arctan2(b, a)) % 360.0)
        least_chroma = self.chroma[0] * min(1.0, max(lightness, 0.0) / _DARK)
        arc = (self.hue[1] - self.hue[0]) % 360.0 or 360.0
        return (
            self.lightness[0] <= lightness <= self.lightness[1]
            and least_chroma <= chroma <= self.chroma[1]
            and (hue - self.hue[0]) % 360.0 <= arc
        )


BASIC_TERMS: Mapping[str, TermLimits] = MappingProxyType(
    {
        "black": TermLimits(lightness=(0, 38), chroma=(0, 22)),
        "white": TermLimits(lightness=(80, 101), chroma=(0, 22)),
        "grey": TermLimits(lightness=(8, 101), chroma=(0, 26)),
        "gray": TermLimits(lightness=(8, 101), chroma=(0, 26)),
        "red": TermLimits(lightness=(0, 66), chroma=(7, 200), hue=(334, 50)),
        "orange": TermLimits(lightness=(38, 92), chroma=(28, 200), hue=(30, 76)),
        "yellow": TermLimits(lightness=(50, 101), chroma=(18, 200), hue=(66, 120)),
        "green": TermLimits(chroma=(4, 200), hue=(101, 211)),
        "blue": TermLimits(chroma=(3, 200), hue=(171, 312)),
        "purple": TermLimits(lightness=(0, 95), chroma=(3, 200), hue=(285, 10)),
        "pink": TermLimits(lightness=(42, 100), chroma=(4, 200), hue=(318, 66)),
        "brown": TermLimits(lightness=(0, 76), chroma=(8, 68), hue=(5, 102)),
    }
)
"""The eleven terms; grey stands twice, for both spellings."""

_WORD = re.compile(r"[a-z]+")
_OFTEN_ADJECTIVES = frozenset({"black", "white"})  # black cherry, white peach


def misleading_term(name: str, lab: FloatsLike) -> str | None:
    """The basic colour term in `name` that the colour plainly denies, in lower case, or None.

    Terms count as whole words. A name with several terms passes as soon as the colour agrees with
    one of them; a "black" or "white" before another word only ever speaks in favour.

    Raises
    ------
    InputError
        Unless `lab` is one finite colour of shape (3,).

    >>> misleading_term("Sea Green", [50, -10, -40])
    'green'
    >>> misleading_term("Blue Green", [50, -10, -40]) is None
    True
    """
    colour = one_lab(lab)
    words: list[str] = _WORD.findall(name.casefold())
    terms = [word for word in words if word in BASIC_TERMS]
    if any(BASIC_TERMS[term].allow(colour) for term in terms):
        return None
    denied = [term for term in terms if term not in _OFTEN_ADJECTIVES or term == words[-1]]
    if not denied:
        return None
    said = str(iscc_nbs(colour)).replace("gray", "grey").split()
    if any(term.replace("gray", "grey") in said for term in terms):
        return None
    return denied[-1]
