"""A picture as a histogram: which colours it has, and how much of its area each takes."""

import warnings
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import numpy.typing as npt

from stopgap.arrays import Floats
from stopgap.colorimetry import srgb_to_lab
from stopgap.errors import InputError

if TYPE_CHECKING:
    from PIL.Image import Image

BITS = 5
"""Bits kept of each channel; what falls together is told by its mean."""

MOST_PIXELS = 150_000_000
"""Half a gigabyte once opened; a file of a few bytes can claim any size."""

_KINDS = ("JPEG", "PNG", "TIFF")
_AT_ONCE = 2**20  # pixels that lie in a processor's cache together
_THUMBNAIL = 1200  # pixels of the longer side


class Histogram(NamedTuple):
    """Lab (n, 3) of the colours that occur, and the share of the area (n,) that each takes.

    `thumbnail` (height, width, 3) is the picture itself as sRGB from 0 to 255, made small.
    """

    lab: Floats
    share: Floats
    thumbnail: npt.NDArray[np.uint8]


def read_histogram(path: Path) -> Histogram:
    """The colours of a JPEG, PNG or TIFF by its embedded profile, as sRGB where it has none.

    Pixels that are more transparent than not are no part of the picture.

    Raises
    ------
    InputError
        If the file is no such picture, is cut short, too large, in inks, or all transparent.
    """
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of sizes and metadata; what matters is checked here
        picture = _opened(path)
        profile = picture.info.get("icc_profile")
        colours, shares = _counted(picture, path)
        small = _thumbnail(picture)
    return Histogram(_lab(colours, profile, path), shares, small)


def _opened(path: Path) -> "Image":
    from PIL import Image, UnidentifiedImageError

    try:
        with path.open("rb") as stream:
            picture = Image.open(stream, formats=_KINDS)
            if picture.width * picture.height > MOST_PIXELS:
                raise Image.DecompressionBombError
            picture.load()
    except UnidentifiedImageError as error:
        raise InputError(
            f"{path}: this is not a picture that can be read. Expected JPEG, PNG or TIFF."
        ) from error
    except Image.DecompressionBombError as error:
        raise InputError(
            f"{path}: the picture has more pixels than can be read. Expected "
            f"{MOST_PIXELS // 10**6} million at most; save it smaller."
        ) from error
    except (OSError, SyntaxError, ValueError, EOFError) as error:
        if isinstance(error, FileNotFoundError | PermissionError | IsADirectoryError):
            raise InputError(f"{path}: the file cannot be read: {error.strerror}.") from error
        raise InputError(
            f"{path}: the picture is damaged or cut short. Copy it again from where it came."
        ) from error
    if picture.mode == "CMYK":
        raise InputError(
            f"{path}: the picture is in printing inks (CMYK), whose colours depend on the press. "
            "Save it as RGB."
        )
    return picture


def _counted(picture: "Image", path: Path) -> tuple[Floats, Floats]:
    """Mean colour (n, 3) from 0 to 1 of the cells that occur, and the share of each."""
    seen = picture.has_transparency_data
    pixels = np.asarray(picture.convert("RGBA" if seen else "RGB")).reshape(-1, 3 + seen)
    size = 1 << 3 * BITS
    counts, sums = np.zeros(size), np.zeros((3, size))
    for begin in range(0, len(pixels), _AT_ONCE):
        block = pixels[begin : begin + _AT_ONCE]
        if seen:
            block = block[block[:, 3] > 127]
        channels = [block[:, place].astype(np.intp) for place in range(3)]
        cells = np.zeros(len(block), dtype=np.intp)
        for channel in channels:
            cells = cells << BITS | channel >> 8 - BITS
        counts += np.bincount(cells, minlength=size)
        for total, channel in zip(sums, channels, strict=True):
            total += np.bincount(cells, weights=channel, minlength=size)
    there = np.flatnonzero(counts)
    if not len(there):
        raise InputError(f"{path}: the picture is transparent all over; it has no colour.")
    counts = counts[there]
    return (sums[:, there] / counts).T / 255.0, counts / counts.sum()


def _lab(colours: Floats, profile: bytes | None, path: Path) -> Floats:
    """Lab by the profile: the histogram is converted, not millions of pixels."""
    if not profile:
        return srgb_to_lab(colours)
    from io import BytesIO

    from PIL import Image, ImageCms

    coded = np.rint(255.0 * colours).astype(np.uint8)[np.newaxis]
    try:
        source = ImageCms.ImageCmsProfile(BytesIO(profile))
        converted: Any = ImageCms.profileToProfile(
            Image.fromarray(coded),
            source,
            ImageCms.createProfile("LAB"),
            renderingIntent=ImageCms.Intent.RELATIVE_COLORIMETRIC,
            outputMode="LAB",
        )
    except (ImageCms.PyCMSError, OSError, ValueError) as error:
        raise InputError(
            f"{path}: its colour profile is damaged or not one of RGB. Save it as sRGB."
        ) from error
    bands = np.asarray(converted)[0].astype(np.float64)
    signed = np.where(bands[:, 1:] > 127.0, bands[:, 1:] - 256.0, bands[:, 1:])
    return np.column_stack([bands[:, :1] / 2.55, signed])


def _thumbnail(picture: "Image") -> npt.NDArray[np.uint8]:
    from PIL import ImageOps

    small = picture.convert("RGB")
    small.thumbnail((_THUMBNAIL, _THUMBNAIL))
    return np.asarray(ImageOps.exif_transpose(small))
