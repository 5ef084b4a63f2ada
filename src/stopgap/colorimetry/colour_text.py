"""Colours as people type them: `#rrggbb`, `#rgb` and `lab(52 40 30)`.

Reference: W3C, CSS Color Module Level 4, sections 5.2 (hexadecimal) and 10.3 (`lab()`, D50).
"""

import re

import numpy as np

from stopgap.arrays import Floats
from stopgap.colorimetry.srgb import hex_to_lab
from stopgap.errors import InputError

_FUNCTION = re.compile(r"\s*lab\s*\((?P<inside>.*)", re.IGNORECASE | re.DOTALL)
_NUMBER = re.compile(
    r"(?P<number>[+-]?(?:\d+(?:\.\d+)?|\.\d+)(?:e[+-]?\d+)?)(?P<percent>%?)", re.IGNORECASE
)
_FULL = (100.0, 125.0, 125.0)  # what 100 % stands for
_RANGES = ((0.0, 100.0), (-200.0, 200.0), (-200.0, 200.0))


def parse_colour(text: str) -> Floats | None:
    """L*, a*, b* (3,) that `text` denotes, or None if it is no colour notation.

    `#` begins a hexadecimal sRGB colour, `lab(` the CSS function: L 0 to 100, a and b as numbers,
    each of them also in per cent (100 % is L = 100, a = 125, b = 125). Commas between the three
    are taken as well. A missing component (`none`) and an alpha value are refused.

    Raises
    ------
    InputError
        If it is a colour notation that cannot be read, or out of range (a, b within ±200).

    >>> parse_colour("lab(52% 40 -30)").tolist()
    [52.0, 40.0, -30.0]
    >>> parse_colour("FM001") is None
    True
    """
    if text.lstrip().startswith("#"):
        return hex_to_lab(text.strip())
    function = _FUNCTION.fullmatch(text)
    if function is None:
        return None
    inside = function["inside"].rstrip()
    if not inside.endswith(")"):
        raise InputError(f"colour: {text!r:.60} lacks its closing parenthesis.")
    return _components(inside[:-1], text)


def _components(inside: str, text: str) -> Floats:
    if "/" in inside:
        raise InputError(
            f"colour: {text!r:.60} has an alpha value; a swatch has none, leave it out."
        )
    parts = inside.split(",") if "," in inside else inside.split()
    found = [match for part in parts if (match := _NUMBER.fullmatch(part.strip()))]
    if not len(found) == len(parts) == 3:
        raise InputError(f"colour: expected three numbers as in lab(52 40 30), found {text!r:.60}.")
    scales = [full / 100.0 if match["percent"] else 1.0 for match, full in zip(found, _FULL)]
    lab = np.array([float(match["number"]) for match in found]) * scales
    for name, value, (low, high) in zip("Lab", lab, _RANGES):
        if not low <= value <= high:
            raise InputError(f"colour: {name} of {text!r:.60} is not within {low:g} to {high:g}.")
    return lab
