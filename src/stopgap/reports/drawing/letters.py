"""The outlines of some letters of a TrueType font, as the small font that a PDF embeds.

In a PDF text is laid out already, so what reads one takes no more of a font (ISO 32000-2:2020,
9.9.1). fontTools makes such fonts, too, but to load it takes longer than to draw a page, since it
knows all that fonts can hold.

References
----------
ISO/IEC 14496-22:2019, Open Font Format: the directory of a font; `glyf`, `head`, `hhea`,
`hmtx`, `loca`, `maxp`.
"""

import struct
from collections.abc import Collection, Iterator, Mapping
from contextlib import contextmanager, nullcontext
from typing import Any, BinaryIO, NamedTuple

import numpy as np

from stopgap.arrays import Integers

_NEEDED = ("glyf", "head", "hhea", "hmtx", "loca", "maxp")
_HINTS = ("cvt ", "fpgm", "prep")
_VARIABLE = ("fvar", "gvar")
_WORDS, _SCALE, _MORE, _TWO_SCALES, _FOUR = 1, 8, 32, 64, 128
"""Flags of a part of a composite glyph."""


class Letters(NamedTuple):
    """A font, and the place in it of each glyph that it was made for."""

    font: bytes
    places: dict[int, int]

    def save(self, file: BinaryIO, **_: object) -> None:
        """Write the font, as fontTools would."""
        file.write(self.font)


def letters_of(font: bytes, glyphs: Collection[int]) -> Letters | None:
    """The font with no outlines but those of `glyphs`, what these are composed of, and `.notdef`.

    None where `font` is none of TrueType outlines, is variable, or one of several in a file.
    """
    tables = _tables(font)
    if not tables.keys() >= {*_NEEDED} or tables.keys() & {*_VARIABLE}:
        return None
    outlines = _outlines(tables, glyphs)
    order = sorted(outlines)
    places = {glyph: place for place, glyph in enumerate(order)}
    for outline in outlines.values():
        for at, part in _parts(outline):
            struct.pack_into(">H", outline, at, places[part])
    count = len(order).to_bytes(2)
    head, hhea, maxp = tables["head"], tables["hhea"], tables["maxp"]
    ends = np.cumsum([0, *(len(outlines[glyph]) for glyph in order)])
    cut = {
        "glyf": b"".join(outlines[glyph] for glyph in order),
        "head": head[:50] + b"\0\1" + head[52:],  # `loca` in four bytes each
        "hhea": hhea[:34] + count,
        "hmtx": _widths(tables["hmtx"], int.from_bytes(hhea[34:36]), np.array(order)),
        "loca": ends.astype(">u4").tobytes(),
        "maxp": maxp[:4] + count + maxp[6:],
    }
    return Letters(_font({tag: tables[tag] for tag in _HINTS if tag in tables} | cut), places)


def _outlines(tables: Mapping[str, bytes], glyphs: Collection[int]) -> dict[int, bytearray]:
    """Outlines of glyphs, of what these are composed of, and of `.notdef`."""
    size = 4 if tables["head"][50:52] != b"\0\0" else 2
    starts = np.frombuffer(tables["loca"], f">u{size}").astype(np.intp) * (4 // size)
    outlines: dict[int, bytearray] = {}
    waiting = {0, *glyphs}
    while waiting:
        glyph = waiting.pop()
        outlines[glyph] = bytearray(tables["glyf"][starts[glyph] : starts[glyph + 1]])
        waiting.update({part for _, part in _parts(outlines[glyph])} - outlines.keys())
    return outlines


def _tables(font: bytes) -> dict[str, bytes]:
    """The tables of a font by their tags; none of what is no font of TrueType outlines alone."""
    if font[:4] not in (b"\0\1\0\0", b"true"):
        return {}
    count = int.from_bytes(font[4:6])
    entries = struct.iter_unpack(">4sIII", font[12 : 12 + 16 * count])
    return {tag.decode("latin-1"): font[at : at + size] for tag, _, at, size in entries}


def _parts(outline: bytearray) -> Iterator[tuple[int, int]]:
    """Of a composite glyph, where its parts stand in it and which glyphs they are."""
    if outline[:2] < b"\x80":  # contours, of which a composite has a negative number
        return
    at, flags = 10, _MORE
    while flags & _MORE:
        flags, glyph = struct.unpack_from(">HH", outline, at)
        yield at + 2, glyph
        at += 8 if flags & _WORDS else 6
        at += 2 * bool(flags & _SCALE) + 4 * bool(flags & _TWO_SCALES) + 8 * bool(flags & _FOUR)


def _widths(metrics: bytes, long: int, glyphs: Integers) -> bytes:
    """`hmtx` of some glyphs; beyond the first `long` all are as wide as the last of these."""
    pairs = np.frombuffer(metrics[: 4 * long], ">u2").reshape(-1, 2)
    bearings = np.concatenate([pairs[:, 1], np.frombuffer(metrics[4 * long :], ">u2")])
    widths = pairs[np.minimum(glyphs, long - 1), 0]
    return np.stack([widths, bearings[glyphs]], axis=1).astype(">u2").tobytes()


def _font(tables: Mapping[str, bytes]) -> bytes:
    """A font of tables, by their tags, with its sums."""
    count, power = len(tables), len(tables).bit_length() - 1
    head = struct.pack(
        ">4s4H", b"\0\1\0\0", count, *(16 << power, power, 16 * count - (16 << power))
    )
    entries, bodies, at = [], [], 12 + 16 * count
    for tag, table in sorted(tables.items()):
        if tag == "head":
            sum_at, table = at + 8, table[:8] + bytes(4) + table[12:]
        body = table + bytes(-len(table) % 4)
        entries.append(struct.pack(">4sIII", tag.encode("latin-1"), _sum(body), at, len(table)))
        bodies.append(body)
        at += len(body)
    font = bytearray(b"".join([head, *entries, *bodies]))
    struct.pack_into(">I", font, sum_at, (0xB1B0AFBA - _sum(font)) % 2**32)
    return bytes(font)


def _sum(words: bytes | bytearray) -> int:
    return int(np.frombuffer(words, ">u4").sum(dtype=np.uint64)) % 2**32


@contextmanager
def few_letters() -> Iterator[None]:
    """Let matplotlib embed such fonts in a PDF, where a font allows it; a release that asks for
    them otherwise goes on with fontTools.
    """
    from matplotlib.backends import _backend_pdf_ps

    shared: Any = _backend_pdf_ps
    usual = shared.get_glyphs_subset

    def subset(path: Any, glyphs: Collection[int]) -> Any:
        with open(path, "rb") as file:
            letters = letters_of(file.read(), glyphs)
        if letters is None:
            return usual(path, glyphs)
        return nullcontext(shared.SubsetResults(letters, letters.places))

    if hasattr(shared, "SubsetResults"):
        shared.get_glyphs_subset = subset
    try:
        yield
    finally:
        shared.get_glyphs_subset = usual
