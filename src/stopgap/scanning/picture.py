"""A picture from a file: upright, in eight bits of R, G, B, and what its values mean."""

import warnings
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO

import numpy as np

from stopgap.errors import InputError
from stopgap.scanning.profile import Bytes, Decoder, decoder

if TYPE_CHECKING:
    from PIL import Image

MOST_PIXELS = 160_000_000
"""A page at 1200 dots an inch has 140 million."""

FORMATS = ("JPEG", "PNG", "TIFF")
_HIGH_EFFICIENCY = (".heic", ".heif")
_EXPOSURE, _EXIF = 33434, 0x8769


@dataclass(frozen=True, slots=True)
class Picture:
    """Coded values (height, width, 3), how to read them, and whether an exposure is stated."""

    name: str
    values: Bytes
    decode: Decoder
    profiled: bool
    of_camera: bool


def open_picture(file: Path | BinaryIO, name: str) -> Picture:
    """The picture in a file, turned as its EXIF says.

    16 bits a channel become 8, which the mean over a box makes good.

    Raises
    ------
    InputError
        For what is no picture, is cut short, too large, in greys, in CMYK or see-through, or has a
        damaged profile; the sentence begins with the file's name.
    """
    from PIL import Image, ImageOps, UnidentifiedImageError

    formats: tuple[str, ...] = FORMATS
    if Path(name).suffix.lower() in _HIGH_EFFICIENCY:
        formats = _with_heif(name)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", Image.DecompressionBombWarning)  # our own bound is below
        try:
            with Image.open(file, formats=formats) as opened:
                if opened.width * opened.height > MOST_PIXELS:
                    raise InputError(
                        f"{name}: has {opened.width} by {opened.height} pixels, more than "
                        f"{MOST_PIXELS // 1_000_000} million; scan at 300 dots an inch."
                    )
                opened.load()
                upright = ImageOps.exif_transpose(opened)
                of_camera = _EXPOSURE in opened.getexif().get_ifd(_EXIF)
                profile = opened.info.get("icc_profile")
        except Image.DecompressionBombError as error:
            raise InputError(
                f"{name}: claims more pixels than any scan has; it was not opened."
            ) from error
        except UnidentifiedImageError as error:
            raise InputError(
                f"{name}: expected a picture as JPEG, PNG or TIFF; this is none of them."
            ) from error
        except FileNotFoundError as error:
            raise InputError(f"{name}: there is no such file.") from error
        except (OSError, SyntaxError, ValueError, EOFError) as error:
            raise InputError(
                f"{name}: the picture is cut short or damaged; copy or scan it again."
            ) from error
    values = np.ascontiguousarray(_colours(upright, name))
    try:
        return Picture(name, values, decoder(profile), bool(profile), of_camera)
    except InputError as error:
        raise InputError(f"{name}: {error.sentence}") from error


def _with_heif(name: str) -> tuple[str, ...]:
    try:
        import pillow_heif
    except ImportError:
        raise InputError(
            f"{name}: HEIC needs the package pillow-heif, the extra called heic; or save the "
            "picture as JPEG."
        ) from None
    pillow_heif.register_heif_opener()
    return (*FORMATS, "HEIF")


def _colours(picture: "Image.Image", name: str) -> Bytes:
    """Values (height, width, 3) of a picture whose colours can be told from it."""
    if picture.mode in ("CMYK", "YCCK"):
        raise InputError(
            f"{name}: is in CMYK, which is for printing; save the scan in RGB, as it left the "
            "scanner."
        )
    if picture.mode in ("RGBA", "LA", "PA", "RGBa") or "transparency" in picture.info:
        full = picture.convert("RGBA")
        if np.asarray(full.getchannel("A")).min() < 255:
            raise InputError(
                f"{name}: parts of it are transparent, so their colour is not known; save it "
                "without transparency."
            )
        picture = full.convert("RGB")
    if picture.mode in ("L", "1", "LA", "I", "F") or picture.mode.startswith("I;16"):
        raise InputError(f"{name}: is in greys; scan in colour, 24 bits a pixel.")
    if picture.mode not in ("RGB", "P"):
        raise InputError(f"{name}: expected R, G, B, found {picture.mode}; save it as RGB.")
    return np.asarray(picture.convert("RGB"))
