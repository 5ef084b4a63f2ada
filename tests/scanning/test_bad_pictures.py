"""Pictures that cannot be read are refused with the reason; what is doubtful is flagged."""

import io
import struct
import zlib
from pathlib import Path

import numpy as np
import pillow_heif
import pytest
from PIL import Image, ImageCms, ImageFilter
from simulate import pages, trials

from stopgap.colorimetry import linear_srgb
from stopgap.difference import delta_E
from stopgap.errors import InputError
from stopgap.scanning import BoxState, read_pages
from stopgap.scanning.picture import open_picture
from stopgap.scanning.profile import profile_name

pytestmark = pytest.mark.slow

DENSITY = 4.4
"""Pixels a millimetre, enough to read and quick to paint and save."""


@pytest.fixture(scope="module")
def made():
    return trials.trial("flatbed, sRGB", 300, density=DENSITY, pencils=10)


@pytest.fixture(scope="module")
def picture(made):
    with Image.open(io.BytesIO(made.file)) as opened:
        return opened.convert("RGB")


def saved(picture, form="TIFF", **options):
    file = io.BytesIO()
    picture.save(file, form, **options)
    return file.getvalue()


def reading(file, made):
    return read_pages([io.BytesIO(file)], {trials.NUMBER: made.edition}, device="flatbed")


def reason(file, made):
    result = reading(file, made)
    (page,) = result.pages
    assert page.refused
    assert result.boxes == ()
    return page.refused


def bomb():
    """A PNG that claims 60,000 by 60,000 pixels."""
    header = struct.pack(">IIBBBBB", 60000, 60000, 8, 2, 0, 0, 0)
    chunk = b"IHDR" + header
    return (
        b"\x89PNG\r\n\x1a\n"
        + struct.pack(">I", len(header))
        + chunk
        + struct.pack(">I", zlib.crc32(chunk))
        + struct.pack(">I", 0)
        + b"IEND"
        + struct.pack(">I", zlib.crc32(b"IEND"))
    )


def test_what_is_no_picture(made):
    assert "expected a picture as JPEG, PNG or TIFF" in reason(b"code,name\n1,red\n", made)
    assert "expected a picture" in reason(b"", made)
    assert "more pixels than any scan" in reason(bomb(), made)
    assert "too few pixels" in reason(saved(Image.new("RGB", (413, 585), "white")), made)


def test_a_file_that_is_not_there(made):
    result = read_pages([Path("nowhere.jpg")], {trials.NUMBER: made.edition})
    assert result.pages[0].refused == "there is no such file."


def test_a_file_cut_short(made, picture):
    assert "cut short" in reason(saved(picture, "JPEG")[:40000], made)
    assert "cut short" in reason(saved(picture, "PNG", compress_level=1)[:40000], made)
    assert "cut short" in reason(saved(picture)[:40000], made)


@pytest.mark.parametrize(
    ("mode", "form", "words"),
    [
        ("CMYK", "JPEG", "in CMYK"),
        ("L", "PNG", "in greys"),
        ("I;16", "PNG", "in greys"),
        ("LAB", "TIFF", "expected R, G, B"),
    ],
)
def test_pictures_whose_colours_cannot_be_told(made, picture, mode, form, words):
    if mode == "I;16":
        changed = Image.fromarray(np.asarray(picture.convert("L")).astype(np.uint16) * 257)
    elif mode == "LAB":
        changed = Image.new("LAB", picture.size)
    else:
        changed = picture.convert(mode)
    assert words in reason(saved(changed, form), made)


def test_sixteen_bits_a_channel_read_the_same(made, picture):
    """PNG with colour type 2 and depth 16 (ISO/IEC 15948:2004), which Pillow cannot write."""
    deep = np.asarray(picture.convert("RGB")).astype(">u2") * np.uint16(257)
    height, width = deep.shape[:2]
    rows = b"".join(b"\0" + row.tobytes() for row in deep.astype(">u2"))
    parts = [
        b"IHDR" + struct.pack(">IIBBBBB", width, height, 16, 2, 0, 0, 0),
        b"IDAT" + zlib.compress(rows, 1),
        b"IEND",
    ]
    chunks = (
        struct.pack(">I", len(part) - 4) + part + struct.pack(">I", zlib.crc32(part))
        for part in parts
    )
    read = reading(b"\x89PNG\r\n\x1a\n" + b"".join(chunks), made)
    plain = reading(saved(picture.convert("RGB")), made)
    assert read.boxes
    assert [box.heaviest.lab for box in read.boxes] == [box.heaviest.lab for box in plain.boxes]


def test_transparency(made, picture):
    glass = picture.convert("RGBA")
    whole = reading(saved(glass), made)
    assert not whole.refused
    glass.putalpha(200)
    assert "transparent" in reason(saved(glass), made)


@pytest.mark.parametrize("profile", [b"rubbish", b"\0" * 300, None])
def test_a_damaged_profile(made, picture, profile):
    if profile is None:  # cut in the middle of its tags
        whole = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
        profile = whole[:180]
    assert "profile inside the picture is damaged" in reason(
        saved(picture, icc_profile=profile), made
    )


def test_too_coarse(made, picture):
    share = 75.0 / 25.4 / DENSITY
    size = (round(share * picture.width), round(share * picture.height))
    small = picture.resize(size, Image.Resampling.BOX)
    assert "75 dots an inch, too few" in reason(saved(small), made)


def test_no_marks(made, picture):
    nothing = Image.new("RGB", picture.size, (240, 240, 236))
    assert "all of one brightness" in reason(saved(nothing), made)
    black = Image.fromarray((np.asarray(picture) * 0.03).astype("u1"))
    assert "dark" in reason(saved(black), made)
    blurred = picture.filter(ImageFilter.GaussianBlur(14))
    assert "blurred" in reason(saved(blurred), made)
    only_middle = picture.crop((0, picture.height // 4, picture.width, picture.height // 2))
    assert "no mark of a chart is seen" in reason(saved(only_middle), made)


def test_one_mark(made, picture):
    corner = picture.crop((0, 0, picture.width // 2, picture.height // 2))
    assert "only one of the four marks" in reason(saved(corner), made)


def test_another_librarys_chart(made):
    result = read_pages([io.BytesIO(made.file)], {})
    assert f"chart {trials.NUMBER}, which is none of this library's" in result.pages[0].refused


def test_another_page(made):
    import dataclasses

    first = dataclasses.replace(made.edition.pages[0], number=2)
    other = dataclasses.replace(made.edition, pages=(first,))
    result = read_pages([io.BytesIO(made.file)], {trials.NUMBER: other})
    assert "has no page 1" in result.pages[0].refused


def test_two_pages_in_one_picture(made, picture):
    rng = np.random.default_rng(3)
    edition = trials.chart(rng, pencils=90)
    device, _ = trials.make_device("flatbed, sRGB", rng)
    blank = pages.Hand(skip=frozenset(box.pencils for box in edition.pages[1].boxes))
    painted = pages.paint(edition, 2, device, rng, blank)
    shot = pages.on_glass(edition, rng, density=DENSITY)
    file, _ = pages.photograph(painted, device, shot, rng)
    with Image.open(io.BytesIO(file)) as opened:
        second = opened.convert("RGB")
    wide = Image.new("RGB", (picture.width + second.width, max(picture.height, second.height)))
    wide.paste(picture, (0, 0))
    wide.paste(second, (picture.width, 0))
    assert "one page a picture" in reason(saved(wide), made)
    result = read_pages([io.BytesIO(file)], {trials.NUMBER: edition})
    assert result.pages[0].refused == "no box of it is coloured in."


def test_a_refused_page_leaves_the_others(made):
    result = read_pages(
        [io.BytesIO(b"nothing"), io.BytesIO(made.file)],
        {trials.NUMBER: made.edition},
        device="flatbed",
    )
    assert [bool(page.refused) for page in result.pages] == [True, False]
    assert len(result.refused) == 1
    assert result.boxes


def test_dark_and_over_exposed_pages_are_flagged(made, picture):
    values = np.asarray(picture).astype(float)
    dark = reading(saved(Image.fromarray((values * 0.3).astype("u1"))), made)
    assert any(flag.startswith("dark") for flag in dark.pages[0].flags)
    bright = reading(saved(Image.fromarray(np.minimum(values * 1.25, 255).astype("u1"))), made)
    assert any(flag.startswith("over-exposed") for flag in bright.pages[0].flags)
    assert {box.heaviest.state for box in bright.boxes} <= {BoxState.CLIPPED, BoxState.EMPTY}
    assert all(box.heaviest.lab is None for box in bright.boxes)


def test_png_and_tiff_are_read_alike(made, picture):
    tiff = reading(saved(picture, "TIFF"), made)
    png = reading(saved(picture, "PNG", compress_level=1), made)
    assert [box.heaviest.lab for box in tiff.boxes] == [box.heaviest.lab for box in png.boxes]


def labs(result):
    return [box.heaviest.lab for box in result.boxes]


def test_every_page_of_a_tiff_is_a_picture(made, picture):
    """And a smaller copy of a page in the file, as scanners put there, is none."""
    blank = Image.new("RGB", picture.size, (240, 240, 236))
    small = picture.resize((picture.width // 8, picture.height // 8))
    small.encoderinfo = {"tiffinfo": {254: 1}}
    alone = reading(saved(picture), made)
    copied = reading(saved(picture, save_all=True, append_images=[small]), made)
    assert labs(copied) == labs(alone)
    assert [page.name for page in copied.pages] == ["picture 1, page 1"]
    both = reading(saved(picture, save_all=True, append_images=[blank]), made)
    first, second = both.pages
    assert not first.refused
    assert second.name == "picture 1, page 2"
    assert "all of one brightness" in second.refused
    many = saved(blank.resize((20, 20)), save_all=True, append_images=[blank.resize((9, 9))] * 99)
    assert "has 100 pages, more than 99" in reason(many, made)


def test_the_shadow_of_a_hand_over_the_page(made, picture):
    """A third of the light is taken from a corner of the page, with an edge 10 mm wide."""
    height, width = picture.height, picture.width
    v, u = np.mgrid[0:height, 0:width] / DENSITY
    away = np.hypot(u - 60.0, v - 60.0) - 70.0
    light = 1.0 - 0.33 / (1.0 + np.exp(away / 3.0))
    codes = np.arange(256)
    linear = linear_srgb(codes / 255.0)
    shaded = Image.fromarray(
        np.rint(np.interp(linear[np.asarray(picture)] * light[..., None], linear, codes)).astype(
            "u1"
        )
    )
    result, plain = reading(saved(shaded), made), reading(saved(picture), made)
    pairs = [pair for pair in zip(labs(result), labs(plain), strict=True) if None not in pair]
    assert len(pairs) >= len(plain.boxes) - 2
    off = delta_E(*map(np.array, zip(*pairs, strict=True)))
    assert off.mean() < 1.0
    assert np.percentile(off, 90) < 3.0


def test_high_efficiency_files_name_the_extra(tmp_path):
    file = tmp_path / "page.heic"
    file.write_bytes(b"\0\0\0\x18ftypheic")
    with pytest.raises(InputError, match=r"page\.heic"):
        open_picture(file, file.name)


def test_a_high_efficiency_file_is_read(made, picture, tmp_path):
    file = tmp_path / "page.heic"
    pillow_heif.from_pillow(picture).save(file, quality=90)
    (page,) = read_pages([file], {trials.NUMBER: made.edition}, device="flatbed").pages
    assert (page.refused, page.marks) == ("", 4)
    whole = file.read_bytes()
    file.write_bytes(whole[: len(whole) // 2])
    (page,) = read_pages([file], {trials.NUMBER: made.edition}, device="flatbed").pages
    assert "cut short or damaged" in page.refused


def test_a_profile_is_called_by_its_own_name_made_harmless():
    """The description of ICC.1:2022, 9.2.41; Pillow's sRGB profile bears one."""
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    assert profile_name(profile) == "sRGB built-in"
    old, new = ("sRGB built-in".encode("utf-16-be"), "sR\x1b[2J\u202eB il".encode("utf-16-be"))
    assert len(old) - len(new) == 4
    hostile = profile.replace(old, new + b"\0n\0o")
    assert hostile != profile
    assert profile_name(hostile) == "sR [2J B ilno"
    assert profile_name(b"no profile") == "unnamed"
    assert profile_name(None) == ""
