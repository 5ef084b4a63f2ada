"""What coded R, G, B mean in light, by the profile inside a picture.

References
----------
ICC.1:2022 (profile version 4.4): 7.2 header, 7.3 tag table, 10.6 curveType, 10.18
parametricCurveType, 10.31 XYZType; F.3 the model of three colorants and their curves.

A profile of three colorants is computed here, exactly. One with tables goes through littleCMS as
Pillow offers it, whose answers have eight bits: harmless once they are averaged over a box in
linear light, as everything here is.
"""

import io
import struct
from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from stopgap.arrays import Floats
from stopgap.colorimetry import RGB_TO_D50_XYZ, lab_to_xyz, linear_srgb
from stopgap.errors import InputError

Bytes = npt.NDArray[np.uint8]
Decoder = Callable[[Bytes], Floats]
"""Coded R, G, B (n, 3) to linear light in sRGB's primaries (n, 3), 1 for white; not clipped."""

_CODES = np.arange(256) / 255.0
_COLORANTS = (b"rXYZ", b"gXYZ", b"bXYZ")
_CURVES = (b"rTRC", b"gTRC", b"bTRC")
_TABLES = (b"A2B0", b"A2B1", b"D2B0", b"D2B1")
_TO_RGB = np.linalg.inv(RGB_TO_D50_XYZ)
_BRIGHTEST = 10.0  # of white; a curve that leads beyond is damaged
_POWERS = {0: "g", 1: "gab", 2: "gabc", 3: "gabcd", 4: "gabcdef"}


def decoder(profile: bytes | None) -> Decoder:
    """How to read the values of a picture with that profile; sRGB where there is none.

    Raises
    ------
    InputError
        If the profile is damaged or none of R, G, B.
    """
    if not profile:
        return _by_curves(np.tile(linear_srgb(_CODES)[:, np.newaxis], 3), np.eye(3))
    try:
        tags = _tags(profile)
        if any(name in tags for name in _TABLES):
            return _by_tables(profile)
        with np.errstate(all="ignore"):
            curves = np.column_stack([_curve(tags[name]) for name in _CURVES])
        if not (np.abs(curves) < _BRIGHTEST).all():
            raise ValueError("no curve")
        colorants = np.column_stack([_xyz(tags[name]) for name in _COLORANTS])
        return _by_curves(curves, _TO_RGB @ colorants)
    except (KeyError, IndexError, ValueError, struct.error) as error:
        raise InputError(
            "the colour profile inside the picture is damaged; save the picture with the profile "
            "of the scanner or with sRGB."
        ) from error


def profile_name(profile: bytes | None) -> str:
    """What a profile calls itself, in at most 40 printable characters; empty without a profile."""
    if not profile:
        return ""
    from PIL import ImageCms

    try:
        told = ImageCms.getProfileDescription(ImageCms.ImageCmsProfile(io.BytesIO(profile)))
    except (ImageCms.PyCMSError, OSError):
        told = ""
    printable = "".join(letter if letter.isprintable() else " " for letter in told)
    return " ".join(printable.split())[:40].strip() or "unnamed"


def _by_curves(curves: Floats, matrix: Floats) -> Decoder:
    def decode(values: Bytes) -> Floats:
        linear = np.column_stack([curves[values[:, channel], channel] for channel in range(3)])
        return np.asarray(linear @ matrix.T, dtype=np.float64)

    return decode


def _by_tables(profile: bytes) -> Decoder:
    from PIL import Image, ImageCms

    try:
        transform = ImageCms.buildTransform(
            ImageCms.ImageCmsProfile(io.BytesIO(profile)),
            ImageCms.createProfile("LAB"),
            "RGB",
            "LAB",
            ImageCms.Intent.RELATIVE_COLORIMETRIC,
        )
    except (ImageCms.PyCMSError, OSError) as error:
        raise ValueError("not a profile") from error

    def decode(values: Bytes) -> Floats:
        picture = Image.fromarray(np.ascontiguousarray(values[np.newaxis]))
        coded = np.asarray(ImageCms.applyTransform(picture, transform))[0]
        signed = coded[:, 1:].astype(np.int8)
        lab = np.column_stack([coded[:, 0] / 2.55, signed])
        return np.asarray(lab_to_xyz(lab) / 100.0 @ _TO_RGB.T, dtype=np.float64)

    return decode


def _tags(profile: bytes) -> dict[bytes, bytes]:
    """The data of every tag by its signature."""
    if profile[36:40] != b"acsp":
        raise ValueError("no profile")
    if profile[16:20] != b"RGB ":
        raise ValueError("not of R, G, B")
    (count,) = struct.unpack_from(">I", profile, 128)
    found = {}
    for at in range(132, 132 + 12 * min(count, 100), 12):
        name, start, length = struct.unpack_from(">4sII", profile, at)
        found[name] = profile[start : start + length]
    return found


def _xyz(tag: bytes) -> Floats:
    return np.array(struct.unpack_from(">3i", tag, 8)) / 65536.0


def _curve(tag: bytes) -> Floats:
    """Linear values (256,) of the codes."""
    if tag[:4] == b"curv":
        (count,) = struct.unpack_from(">I", tag, 8)
        if count == 0:
            return _CODES
        entries = np.array(struct.unpack_from(f">{count}H", tag, 12))
        if count == 1:
            return np.asarray(_CODES ** (entries[0] / 256.0))
        return np.interp(_CODES, np.linspace(0.0, 1.0, count), entries / 65535.0)
    if tag[:4] != b"para":
        raise ValueError("no curve")
    (kind,) = struct.unpack_from(">H", tag, 8)
    names = _POWERS[kind]
    fixed = struct.unpack_from(f">{len(names)}i", tag, 12)
    given = dict(zip(names, (value / 65536.0 for value in fixed), strict=True))
    power, slope = given["g"], given.get("a", 1.0)
    start = given.get("b", 0.0)
    if kind < 3:  # zero, or c, below the point where the base of the power is zero
        above = given.get("c", 0.0)
        base = np.maximum(slope * _CODES + start, 0.0)
        return np.asarray(base**power + above)
    base = np.maximum(slope * _CODES + start, 0.0)
    curved = base**power + given.get("e", 0.0)
    straight = given["c"] * _CODES + given.get("f", 0.0)
    return np.asarray(np.where(given["d"] <= _CODES, curved, straight))
