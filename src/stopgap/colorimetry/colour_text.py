"""Colours as people type them: `#rrggbb`, `#rgb`, `rgb(192, 74, 43)` and `lab(52 40 30)`.

Reference: W3C, CSS Color Module Level 4, sections 5.1 (`rgb()`), 5.2 (hexadecimal) and 10.3
(`lab()`, D50). Decimal commas are taken as well.
"""

import re
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Floats
from stopgap.colorimetry.srgb import hex_to_lab, srgb_to_lab
from stopgap.errors import InputError

_FUNCTION = re.compile(r"\s*(?P<space>lab|rgb)a?\s*\((?P<inside>.*)", re.IGNORECASE | re.DOTALL)
_NUMBER = re.compile(
    r"(?P<number>[+-]?(?:\d+(?:\.\d+)?|\.\d+)(?:e[+-]?\d+)?)(?P<percent>%?)", re.IGNORECASE
)
_BARE = re.compile(r"[0-9a-f]{6}", re.IGNORECASE | re.ASCII)
_COMMA_AND_SPACE = re.compile(r"\s*,\s+|\s+,")


class _Space(NamedTuple):
    """Its components, what 100 % stands for, the limits of each, and how a colour is written."""

    letters: str
    full: tuple[float, ...]
    limits: tuple[tuple[float, float], ...]
    example: str


_SPACES = {
    "lab": _Space(
        "Lab",
        (100.0, 125.0, 125.0),
        ((0.0, 100.0), (-200.0, 200.0), (-200.0, 200.0)),
        "lab(52 40 30)",
    ),
    "rgb": _Space("RGB", (255.0,) * 3, ((0.0, 255.0),) * 3, "rgb(192 74 43)"),
}


def lab_text(lab: Sequence[float], decimals: int = 1) -> str:
    """L*, a*, b* (3,) as people write them, so that `parse_colour` reads them back.

    >>> lab_text((52.04, -0.02, 30.0)), lab_text((52.04, -0.02, 30.0), 0)
    ('lab(52.0 0.0 30.0)', 'lab(52 0 30)')
    """
    return "lab({})".format(" ".join(f"{value:z.{decimals}f}" for value in lab))


def parse_colour(text: str, *, bare: bool = False) -> Floats | None:
    """L*, a*, b* (3,) that `text` denotes, or None if it is no colour notation.

    `#` begins a hexadecimal sRGB colour, `rgb(` and `lab(` the CSS functions: R, G, B 0 to 255, L
    0 to 100, a and b as numbers, each of them also in per cent (100 % is 255, and L = 100, a = 125,
    b = 125). Commas or semicolons between the three are taken as well, and decimal commas where
    spaces or semicolons part them. A missing component (`none`) and an alpha value are refused.
    With `bare`, six hexadecimal digits are a colour without `#` too.

    Raises
    ------
    InputError
        If it is a colour notation that cannot be read, or out of range (a, b within ±200).

    >>> parse_colour("lab(52% 40 -30)").tolist()
    [52.0, 40.0, -30.0]
    >>> parse_colour("lab(52,5 40,1 -30)").tolist()
    [52.5, 40.1, -30.0]
    >>> parse_colour("FM001") is None
    True
    """
    if text.lstrip().startswith("#"):
        return hex_to_lab(text.strip())
    if bare and _BARE.fullmatch(text.strip()):
        return hex_to_lab(f"#{text.strip()}")
    function = _FUNCTION.fullmatch(text)
    if function is None:
        return None
    inside = function["inside"].rstrip()
    if not inside.endswith(")"):
        raise InputError(f"colour: {text!r:.60} lacks its closing parenthesis.")
    name = function["space"].casefold()
    found = _components(inside[:-1].replace("−", "-"), text, name)
    return srgb_to_lab(found / 255.0) if name == "rgb" else found


def _components(inside: str, text: str, name: str) -> Floats:
    space = _SPACES[name]
    parts = _parts(inside)
    if "/" in inside:
        raise InputError(
            f"colour: {text!r:.60} has an alpha value; a swatch has none, leave it out."
        )
    found = [match for part in parts if (match := _NUMBER.fullmatch(part.strip()))]
    if not len(found) == len(parts) == 3:
        raise InputError(
            f"colour: expected three numbers as in {space.example}, found {text!r:.60}."
        )
    scales = [full / 100.0 if match["percent"] else 1.0 for match, full in zip(found, space.full)]
    values = np.array([float(match["number"]) for match in found]) * scales
    for letter, value, (low, high) in zip(space.letters, values, space.limits):
        if not low <= value <= high:
            raise InputError(f"colour: {letter} of {text!r:.60} is not within {low:g} to {high:g}.")
    return values


def _parts(inside: str) -> list[str]:
    """What stands between semicolons, commas or spaces, with a point for a decimal comma."""
    if ";" in inside:
        return inside.replace(",", ".").split(";")
    apart = inside.split(",")
    if len(apart) == 3 and all(len(part.split()) == 1 for part in apart):
        return apart
    if _COMMA_AND_SPACE.search(inside):
        apart = _COMMA_AND_SPACE.split(inside)
    elif len(inside.split()) == 3 or len(apart) == 1:
        apart = inside.split()
    return [part.replace(",", ".") for part in apart]
