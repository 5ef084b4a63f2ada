"""sRGB to and from L*a*b* under D50, for colours typed as #rrggbb and chips on a screen.

References
----------
IEC 61966-2-1:1999 + A1:2003: primaries, white, transfer function. The matrix is computed from the
chromaticities, as in CSS Color 4, and not rounded to four digits as printed in the standard.
ICC.1:2022, annex E: linear Bradford adaptation between D65 and D50.
W3C, CSS Color Module Level 4, sections 13 (gamut mapping) and 18 (sample code: Oklab matrices).
B. Ottosson (2020), "A perceptual color space for image processing": Oklab.

Colours outside sRGB are shown with their own Oklch lightness and hue and the largest chroma that
the screen can show: a hue reduced in CIE L*a*b* would turn blues into purples.
"""

import re
from collections.abc import Sequence

import numpy as np

from stopgap.arrays import Booleans, Floats, FloatsLike, as_floats, as_lab, one_lab, read_only
from stopgap.colorimetry.cielab import lab_to_xyz, xyz_to_lab
from stopgap.colorimetry.whites import D50, D65, von_kries
from stopgap.errors import InputError

_PRIMARIES = read_only([[0.64, 0.33, 0.03], [0.30, 0.60, 0.10], [0.15, 0.06, 0.79]]).T  # x, y, z
_CONE = read_only(  # from X, Y, Z under D65, Y = 1
    [
        [0.8190224379967030, 0.3619062600528904, -0.1288737815209879],
        [0.0329836539323885, 0.9292868615863434, 0.0361446663506424],
        [0.0481771893596242, 0.2642395317527308, 0.6335478284694309],
    ]
)
_OPPONENT = read_only(
    [
        [0.2104542683093140, 0.7936177747023054, -0.0040720430116193],
        [1.9779985324311684, -2.4285922420485799, 0.4505937096174110],
        [0.0259040424655478, 0.7827717124575296, -0.8086757549230774],
    ]
)
D65_TO_D50 = von_kries(D65, D50)
"""Tristimulus values under D65 to corresponding ones under D50, (3, 3): linear Bradford."""

_D50_TO_D65 = read_only(np.linalg.inv(D65_TO_D50))
_RGB_TO_XYZ = read_only(_PRIMARIES * np.linalg.solve(_PRIMARIES, D65 / 100.0))
RGB_TO_D50_XYZ = read_only(D65_TO_D50 @ _RGB_TO_XYZ)
"""Linear R, G, B from 0 to 1 to tristimulus values under D50, Y = 1 for white, (3, 3)."""

_XYZ_TO_RGB = read_only(np.linalg.inv(_RGB_TO_XYZ))
_OKLAB_TO_CONE = read_only(np.linalg.inv(_OPPONENT))
_CONE_TO_RGB = read_only(_XYZ_TO_RGB @ np.linalg.inv(_CONE))

_TOLERANCE = 1e-4  # of full drive, a fortieth of a step in 8 bits: rounding, not another colour
_HALVINGS = 24
_HEX = re.compile(r"#(?:[0-9a-f]{3}|[0-9a-f]{6})", re.IGNORECASE | re.ASCII)


def hex_to_lab(text: str) -> Floats:
    """L*, a*, b* (3,) of `#rrggbb` or `#rgb`.

    Raises
    ------
    InputError
        If the text is anything else.

    >>> hex_to_lab("#ffffff").round(6).tolist()
    [100.0, 0.0, 0.0]
    """
    lab: Floats = hexes_to_lab([text])[0]
    return lab


def hexes_to_lab(texts: Sequence[str]) -> Floats:
    """L*, a*, b* (n, 3) of several; raises as `hex_to_lab` does."""
    return srgb_to_lab(np.array([_drive(text) for text in texts], dtype=np.float64).reshape(-1, 3))


def _drive(text: str) -> list[float]:
    """R, G, B from 0 to 1."""
    if not _HEX.fullmatch(text):
        raise InputError(
            f"colour: expected #rrggbb or #rgb in hexadecimal digits, found {text!r:.60}."
        )
    digits = text[1:] if len(text) == 7 else "".join(2 * digit for digit in text[1:])
    return [int(digits[at : at + 2], 16) / 255.0 for at in (0, 2, 4)]


def srgb_to_lab(rgb: FloatsLike) -> Floats:
    """L*, a*, b* (..., 3) of sRGB values from 0 to 1, (..., 3).

    Raises
    ------
    InputError
        For values outside 0 to 1 or a last axis that is not 3.
    """
    values = as_floats(rgb, "rgb")
    if values.ndim == 0 or values.shape[-1] != 3:
        raise InputError(f"rgb: expected R, G, B on the last axis, shape is {values.shape}.")
    if values.size and (values.min() < 0.0 or values.max() > 1.0):
        raise InputError("rgb: expected values from 0 to 1.")
    return xyz_to_lab(100.0 * linear_srgb(values) @ RGB_TO_D50_XYZ.T)


def linear_srgb(values: Floats) -> Floats:
    """Linear values (...) of encoded ones from 0 to 1: what light does."""
    return np.where(values <= 0.04045, values / 12.92, ((values + 0.055) / 1.055) ** 2.4)


def lab_to_srgb(lab: FloatsLike) -> tuple[Floats, Booleans]:
    """Values of sRGB (..., 3) from 0 to 1 for L*, a*, b* (..., 3), and whether sRGB has them (...).

    Colours that it does not have keep their Oklch lightness and hue and lose chroma; above the
    white or below the black of the screen they become white or black.
    """
    colours = as_lab(lab)
    xyz = (lab_to_xyz(colours) / 100.0).reshape(-1, 3) @ _D50_TO_D65.T
    linear = xyz @ _XYZ_TO_RGB.T
    inside = _displayable(linear)
    if not inside.all():
        linear[~inside] = _reduce_chroma(xyz[~inside])
    linear = linear.clip(0.0, 1.0)
    encoded = np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055)
    return encoded.clip(0.0, 1.0).reshape(colours.shape), inside.reshape(colours.shape[:-1])


def lab_to_hex(lab: FloatsLike) -> str:
    """`#rrggbb` of one colour (3,), mapped into sRGB where it has to be.

    >>> lab_to_hex([100, 0, 0])
    '#ffffff'
    """
    return lab_to_hexes(one_lab(lab)[np.newaxis])[0]


def lab_to_hexes(lab: FloatsLike) -> list[str]:
    """`#rrggbb` of every colour of an (n, 3) array, as `lab_to_hex`."""
    rgb, _ = lab_to_srgb(lab)
    return ["#{:02x}{:02x}{:02x}".format(*row) for row in np.rint(255.0 * rgb).astype(int).tolist()]


def _displayable(linear: Floats) -> Booleans:
    inside: Booleans = np.all(np.abs(linear - 0.5) <= 0.5 + _TOLERANCE, axis=-1)
    return inside


def _reduce_chroma(xyz: Floats) -> Floats:
    """Linear RGB (n, 3) of the most chromatic displayable colour of equal Oklch lightness, hue."""
    oklab = np.cbrt(xyz @ _CONE.T) @ _OPPONENT.T
    lightness = oklab[:, :1].clip(0.0, 1.0)

    def with_chroma(share: Floats) -> Floats:
        reduced = np.hstack([lightness, share[:, np.newaxis] * oklab[:, 1:]])
        return np.asarray((reduced @ _OKLAB_TO_CONE.T) ** 3 @ _CONE_TO_RGB.T, dtype=np.float64)

    low, high = np.zeros(len(xyz)), np.ones(len(xyz))
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        inside = _displayable(with_chroma(middle))
        low, high = np.where(inside, middle, low), np.where(inside, high, middle)
    return with_chroma(low)
