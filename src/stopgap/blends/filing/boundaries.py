"""An artist's families of colour: one table of limits in hue, chroma and lightness.

The words are ordinary words of the trade; the boundaries are this project's own, drawn by eye on
the Munsell renotation. The limits follow the tone line, the way from a pigment's palest tint to its
darkest shade: along it chroma rises and falls, and the hue angle drifts, so each row gives its hue
at its light and at its dark end, and its chroma as one of a few curves over lightness. So the dark
brownish end of the roses is a wine, though its hue angle alone is that of an earth.
"""

from collections.abc import Collection, Mapping
from types import MappingProxyType
from typing import NamedTuple, TypeVar

import numpy as np

from stopgap.arrays import Floats, FloatsLike, as_lab

Angle = TypeVar("Angle", float, Floats)

METALLICS = "metallics"
FLUORESCENTS = "fluorescents"
"""Set apart by their finish: one Lab value cannot tell how they look."""


class Curve(NamedTuple):
    """A limit of chroma that changes with lightness: straight between `lightness` and `chroma`."""

    name: str
    lightness: tuple[float, ...]
    chroma: tuple[float, ...]

    def at(self, L: Floats) -> Floats:
        """The limit at each L*."""
        limit: Floats = np.interp(L, self.lightness, self.chroma)
        return limit


NEUTRAL = Curve("neutral", (0, 100), (2.2, 2.2))
GREY = Curve("grey", (0, 20, 50, 75, 88, 100), (4, 6, 8, 7, 5, 4))
GREYED = Curve("greyed", (0, 20, 40, 60, 75, 88, 95, 100), (8, 14, 26, 30, 22, 9, 6, 5))
SAND = Curve("sand", (62, 78, 88, 95), (36, 33, 13, 6))
"""Where a neutral grey becomes a warm or cool one, that a greyed colour, that a full one; where a
sand becomes a yellow.

The palest tints and the darkest shades of a full colour have little chroma, hence the curves.
"""

Limit = float | Curve
NONE, ANY = 0.0, 1000.0


class Region(NamedTuple):
    """A part of colour space that belongs to a family, between two limits each way.

    `hue` [degrees] holds at the light end, `shade_hue` at the dark end, straight between; arcs run
    counter-clockwise from the first angle to the second, through 0 where need be; None is any hue.
    """

    family: str
    hue: tuple[float, float] | None
    shade_hue: tuple[float, float] | None
    chroma: tuple[Limit, Limit]
    lightness: tuple[float, float]

    def fit(self, L: Floats, C: Floats, h: Floats) -> Floats:
        """1 well inside, one half at the nearest limit, 0 well outside."""
        darkest, lightest = self.lightness
        inside = _between(L, _limit(darkest, L), _limit(lightest, L), np.array(_EDGE_LIGHTNESS))
        least, most = (_limit(limit, L) for limit in self.chroma)
        inside = np.minimum(inside, _between(C, least, most, _edge_chroma(least, most)))
        if self.hue is None or self.shade_hue is None:
            return inside
        lightest = min(lightest, 100.0)
        share = np.clip((lightest - L) / (lightest - darkest), 0.0, 1.0)
        start = self.hue[0] + share * _turn(self.shade_hue[0] - self.hue[0])
        end = self.hue[1] + share * _turn(self.shade_hue[1] - self.hue[1])
        half_arc = (end - start) % 360.0 / 2.0
        off_centre = np.abs(_turn(h - start - half_arc))
        hue_edge = np.clip(np.degrees(_EDGE_HUE / np.maximum(C, 0.1)), _LEAST_EDGE_HUE, 90.0)
        return np.minimum(inside, _soft(half_arc - off_centre, hue_edge))


# how far on either side of a limit membership falls from 1 to 0: this project's choice
_EDGE_LIGHTNESS = 6.0
_EDGE_HUE = 4.0  # in CIELAB units across the hue line: the fainter a colour, the wider its angle
_LEAST_EDGE_HUE = 8.0

REGIONS: tuple[Region, ...] = (
    Region("whites", None, None, (NONE, GREY), (91, ANY)),
    Region("lemon yellows", (92, 113), (92, 102), (GREYED, ANY), (70, ANY)),
    Region("golden yellows", (74, 92), (74, 92), (SAND, ANY), (68, ANY)),
    Region("ochres", (66, 92), (62, 92), (32, ANY), (40, 68)),
    Region("oranges", (44, 74), (46, 66), (52, ANY), (52, ANY)),
    Region("apricots", (40, 70), (40, 66), (GREYED, 52), (63, ANY)),
    Region("apricots", (66, 77), (66, 74), (SAND, 52), (66, ANY)),
    Region("reds", (26, 48), (20, 44), (40, ANY), (28, 64)),
    Region("roses", (338, 28), (338, 20), (GREYED, ANY), (42, ANY)),
    Region("roses", (24, 48), (24, 38), (GREYED, ANY), (64, ANY)),
    Region("muted roses", (335, 48), (335, 32), (GREY, GREYED), (42, 91)),
    Region("muted roses", (20, 36), (20, 32), (GREYED, 40), (42, 64)),
    Region("wines", (333, 30), (330, 38), (GREY, 40), (0, 42)),
    Region("wines", (336, 21), (336, 22), (40, ANY), (0, 42)),
    Region("wines", (336, 30), (336, 40), (40, ANY), (0, 28)),
    Region("purples", (316, 336), (316, 335), (GREY, ANY), (0, ANY)),
    Region("violets", (291, 316), (302, 316), (GREY, ANY), (0, ANY)),
    Region("indigos", (236, 298), (238, 301), (GREY, ANY), (0, 32)),
    Region("blues", (231, 291), (234, 299), (GREYED, ANY), (32, 72)),
    Region("pale blues", (226, 292), (225, 290), (GREYED, ANY), (72, ANY)),
    Region("greyed blues", (205, 292), (205, 296), (GREY, GREYED), (30, 91)),
    Region("greyed blues", (205, 240), (205, 240), (GREY, GREYED), (0, 32)),
    Region("turquoises leaning blue", (205, 230), (207, 234), (GREYED, ANY), (0, ANY)),
    Region("turquoises leaning green", (166, 205), (166, 207), (GREYED, ANY), (0, ANY)),
    Region("vivid greens", (114, 166), (117, 166), (GREYED, ANY), (0, ANY)),
    Region("vivid greens", (110, 120), (100, 120), (GREYED, ANY), (68, 92)),
    Region("greyed greens", (104, 205), (118, 207), (GREY, GREYED), (0, 91)),
    Region("olives", (92, 116), (92, 118), (GREY, ANY), (0, 70)),
    Region("sands", (46, 104), (48, 100), (GREY, SAND), (62, 91)),
    Region("warm earths", (34, 64), (38, 62), (15, 52), (22, 62)),
    Region("warm earths", (38, 62), (38, 60), (GREY, ANY), (0, 22)),
    Region("warm earths", (46, 64), (44, 62), (52, ANY), (0, 52)),
    Region("cool earths", (64, 92), (62, 92), (15, 32), (22, 62)),
    Region("cool earths", (62, 92), (60, 92), (GREY, ANY), (0, 40)),
    Region("brown-greys", (32, 95), (36, 92), (GREY, 15), (22, 64)),
    Region("warm greys", (335, 115), (335, 115), (NEUTRAL, GREY), (26, 91)),
    Region("neutral greys", None, None, (NONE, NEUTRAL), (26, 91)),
    Region("cool greys", (115, 335), (115, 335), (NEUTRAL, GREY), (26, 91)),
    Region("blacks", None, None, (NONE, 7), (0, 26)),
)
"""The table of families; a family may have several rows. Half a fit is at each limit."""

COLOUR_FAMILIES: tuple[str, ...] = tuple(dict.fromkeys(region.family for region in REGIONS))
"""The names of the families that a colour belongs to, in the order in which they are shown."""

FAMILIES: tuple[str, ...] = (*COLOUR_FAMILIES, METALLICS, FLUORESCENTS)
"""All families: those of colour, then those of a finish."""

FAMILY_WORDS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "teals": ("turquoises leaning blue", "turquoises leaning green"),
        "siennas": ("ochres", "warm earths"),
        "umbers": ("warm earths", "cool earths"),
        "taupes": ("brown-greys",),
        "creams": ("whites", "golden yellows", "sands"),
        "skin tones": ("apricots", "muted roses", "sands", "warm earths"),
    }
)
"""Words of the trade and the families that hold what is so called (common practice, no source)."""


def families_meant(text: str, known: Collection[str] = FAMILIES) -> list[str]:
    """The families that a word of the trade means; the text itself where it is a name or none.

    >>> families_meant("Umbers"), families_meant("reds")
    (['warm earths', 'cool earths'], ['reds'])
    """
    folded = " ".join(text.split()).casefold()
    own = {one.casefold() for one in known}
    meant = [one for one in FAMILY_WORDS.get(folded, ()) if one in own and folded not in own]
    return meant or [text]


def family_fits(lab: FloatsLike) -> Floats:
    """How well each colour fits each of COLOUR_FAMILIES, 0 to 1, (..., 3) -> (..., families).

    Parameters
    ----------
    lab
        CIE L*a*b*, D50, 2 degree observer.

    Raises
    ------
    InputError
        Unless `lab` is finite with L*, a*, b* on its last axis.
    """
    L, a, b = np.moveaxis(as_lab(lab), -1, 0)
    C, h = np.hypot(a, b), np.degrees(np.arctan2(b, a))
    fits = np.zeros((*L.shape, len(COLOUR_FAMILIES)))
    for region in REGIONS:
        place = COLOUR_FAMILIES.index(region.family)
        fits[..., place] = np.maximum(fits[..., place], region.fit(L, C, h))
    return fits


def boundary_table() -> list[Mapping[str, str]]:
    """The table of families as text, a row a region, for the documentation."""
    return [
        MappingProxyType(
            {
                "family": region.family,
                "hue": _span(region.hue, "°"),
                "hue of shades": _span(region.shade_hue, "°"),
                "chroma": f"{_word(region.chroma[0])} to {_word(region.chroma[1])}",
                "lightness": f"{region.lightness[0]:g} to {_word(region.lightness[1])}",
            }
        )
        for region in REGIONS
    ]


def _between(values: Floats, low: Floats, high: Floats, edge: Floats) -> Floats:
    """Soft membership of an interval; 0 is no lower limit and ANY no upper one."""
    above = np.where(low <= NONE, 1.0, _soft(values - low, edge))
    below = np.where(high >= ANY, 1.0, _soft(high - values, edge))
    return np.minimum(above, below)


def _soft(inwards: Floats, edge: Floats) -> Floats:
    """From 0 at `edge` outside a limit, one half at it, to 1 at `edge` inside."""
    return np.clip(0.5 + 0.5 * inwards / edge, 0.0, 1.0)


def _limit(limit: Limit, L: Floats) -> Floats:
    return limit.at(L) if isinstance(limit, Curve) else np.full_like(L, limit)


def _edge_chroma(least: Floats, most: Floats) -> Floats:
    """Chroma softens in proportion to its limit."""
    limit = np.where(least > 0.0, least, most)
    return np.clip(0.2 * limit, 1.0, 8.0)


def _turn(degrees: Angle) -> Angle:
    """An angle as the shorter turn, -180 to 180 degrees."""
    return (degrees + 180.0) % 360.0 - 180.0


def _span(arc: tuple[float, float] | None, unit: str) -> str:
    return "any" if arc is None else f"{arc[0]:g} to {arc[1]:g}{unit}"


def _word(limit: Limit) -> str:
    if isinstance(limit, Curve):
        return limit.name
    return "any" if limit >= ANY else f"{limit:g}"
