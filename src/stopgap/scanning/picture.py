"""A picture from a file: upright, one for each page of it, with the profile that lies inside."""

import logging
import os
import struct
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO, NamedTuple

import numpy as np

from stopgap.errors import InputError
from stopgap.scanning.profile import Bytes, Decoder, decoder, profile_name

if TYPE_CHECKING:
    from PIL import Image

MOST_PIXELS = 160_000_000
"""A page at 1200 dots an inch has 140 million; a file of a few bytes can claim any size."""

_MOST_PIXELS_OF_BYTE = 10_000
"""That a byte of a file can hold: DEFLATE makes at most 1032 bytes of one (RFC 1951), and others
are not far from it. A small file that claims more is damaged, and would only fill the memory."""
MOST_PAGES_OF_FILE = 99

FORMATS = ("JPEG", "PNG", "TIFF")
_HIGH_EFFICIENCY = (".heic", ".heif")
_DAMAGED = (
    *(OSError, SyntaxError, ValueError, EOFError, TypeError, KeyError, IndexError, AttributeError),
    *(struct.error, ArithmeticError, MemoryError, RecursionError, NotImplementedError),
)
"""What Pillow raises for files that are cut short or damaged."""
_UNHEARD = logging.NullHandler()  # else what Pillow logs of them stands beside the answer
_EXPOSURE, _EXIF = 33434, 0x8769
_SUBFILE, _REDUCED = 254, 1  # TIFF 6.0, NewSubfileType: a smaller copy of another page


class Opened(NamedTuple):
    """A picture upright, its profile, whether an exposure is stated, and its page in the file.

    `page` counts from 1; it is 0 where the file has one picture.
    """

    image: "Image.Image"
    profile: bytes | None
    of_camera: bool
    page: int = 0

    def called(self, name: str) -> str:
        """The name of the file, with the page where it has several."""
        return f"{name}, page {self.page}" if self.page else name


@dataclass(frozen=True, slots=True)
class Picture:
    """Coded values (height, width, 3), how to read them, and whether an exposure is stated.

    `profile` is what the profile inside calls itself, empty where there is none.
    """

    name: str
    values: Bytes
    decode: Decoder
    profile: str
    of_camera: bool


def open_images(file: Path | BinaryIO, name: str) -> Iterator[Opened]:
    """Every picture in a file, turned as its EXIF says; a TIFF may have several.

    Raises
    ------
    InputError
        For what is no picture, is cut short, too large, or in CMYK; the sentence begins with the
        file's name.
    """
    from PIL import Image

    formats: tuple[str, ...] = FORMATS
    if Path(name).suffix.lower() in _HIGH_EFFICIENCY:
        formats = _with_heif(name)
    with _refusing(name):
        most = _MOST_PIXELS_OF_BYTE * _size(file)
        with _quiet():
            opened = Image.open(file, formats=formats)
        with opened:
            with _quiet():
                count = getattr(opened, "n_frames", 1) if opened.format == "TIFF" else 1
            if count > MOST_PAGES_OF_FILE:
                raise InputError(
                    f"{name}: has {count} pages, more than {MOST_PAGES_OF_FILE}; save fewer a file."
                )
            for page in range(count):
                with _quiet():
                    found = _page(opened, page, count, name, most)
                if found is not None:
                    yield found


@contextmanager
def _refusing(name: str) -> Iterator[None]:
    """Whatever Pillow raises, as a sentence."""
    from PIL import Image, UnidentifiedImageError

    logging.getLogger("PIL").addHandler(_UNHEARD)
    try:
        yield
    except Image.DecompressionBombError as error:
        raise InputError(
            f"{name}: claims more pixels than any scan has, and was not opened; save it smaller."
        ) from error
    except UnidentifiedImageError as error:
        raise InputError(
            f"{name}: expected a picture as JPEG, PNG or TIFF; this is none of them."
        ) from error
    except FileNotFoundError as error:
        raise InputError(f"{name}: there is no such file.") from error
    except (PermissionError, IsADirectoryError) as error:
        raise InputError(f"{name}: the file cannot be read: {error.strerror}.") from error
    except _DAMAGED as error:
        raise InputError(
            f"{name}: the picture is cut short or damaged; copy or scan it again."
        ) from error


def _quiet() -> "warnings.catch_warnings[None]":
    """Without Pillow's warnings of sizes and metadata: what matters is checked here."""
    return warnings.catch_warnings(action="ignore")


def _size(file: Path | BinaryIO) -> int:
    """Bytes of a file."""
    if isinstance(file, Path):
        return file.stat().st_size
    size = file.seek(0, os.SEEK_END)
    file.seek(0)
    return size


def _page(opened: "Image.Image", page: int, count: int, name: str, most: int) -> Opened | None:
    from PIL import ImageOps

    if count > 1:
        opened.seek(page)
        if int(getattr(opened, "tag_v2", {}).get(_SUBFILE, 0)) & _REDUCED:
            return None
    if opened.width * opened.height > MOST_PIXELS:
        raise InputError(
            f"{name}: has {opened.width} by {opened.height} pixels, more than "
            f"{MOST_PIXELS // 1_000_000} million; scan at 300 dots an inch, or save it smaller."
        )
    if opened.width * opened.height > most:
        raise EOFError  # as of any file that is cut short
    opened.load()
    if opened.mode in ("CMYK", "YCCK"):
        raise InputError(
            f"{name}: is in CMYK, whose colours depend on the press; save it in RGB, as it left "
            "the scanner or camera."
        )
    of_camera = _EXPOSURE in opened.getexif().get_ifd(_EXIF)
    upright = ImageOps.exif_transpose(opened)
    return Opened(upright, opened.info.get("icc_profile"), of_camera, page + 1 if count > 1 else 0)


def picture_of(opened: Opened, name: str) -> Picture:
    """A picture for reading colours from; 16 bits a channel become 8, which the mean makes good.

    Raises
    ------
    InputError
        If it is in greys or see-through, or has a damaged profile; the sentence begins with `name`.
    """
    called = opened.called(name)
    values = np.ascontiguousarray(_colours(opened.image, called))
    try:
        decode = decoder(opened.profile)
    except InputError as error:
        raise InputError(f"{called}: {error.sentence}") from error
    return Picture(called, values, decode, profile_name(opened.profile), opened.of_camera)


def open_picture(file: Path | BinaryIO, name: str) -> Picture:
    """The first picture in a file; raises as `open_images` and `picture_of`."""
    return picture_of(next(open_images(file, name)), name)


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
