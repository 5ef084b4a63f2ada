"""Fonts cut to some letters, against what FreeType and fontTools read of the whole font."""

from io import BytesIO

import numpy as np
import pytest
from fontTools.subset import Options, Subsetter
from fontTools.ttLib import TTFont
from matplotlib.font_manager import FontProperties, findfont
from matplotlib.ft2font import FT2Font, LoadFlags

from stopgap.reports.drawing.letters import letters_of

TEXT = "Gorse 12 · fi ﬁ Ǻ ẛ ½ é ж ש ع ●✕"  # some composed of others
FONTS = {weight: str(findfont(FontProperties(weight=weight))) for weight in ("normal", "bold")}


def glyphs_of(path):
    font = FT2Font(path)
    return {font.get_char_index(ord(letter)) for letter in TEXT}


def cut(path):
    with open(path, "rb") as file:
        return letters_of(file.read(), glyphs_of(path))


@pytest.mark.parametrize("path", FONTS.values(), ids=FONTS)
@pytest.mark.parametrize("flags", [LoadFlags.NO_SCALE, LoadFlags.DEFAULT])
def test_outlines_and_widths_are_those_of_the_whole_font(path, flags):
    found = cut(path)
    whole, some = FT2Font(path), FT2Font(BytesIO(found.font))
    assert some.num_glyphs == len(found.places) < 60
    for glyph in glyphs_of(path):
        shapes = []
        for font, place in ((whole, glyph), (some, found.places[glyph])):
            font.set_size(9.0, 72.0)
            loaded = font.load_glyph(place, flags=flags)
            shapes.append((*font.get_path(), np.array([loaded.horiAdvance, *loaded.bbox])))
        for one, other in zip(*shapes, strict=True):
            np.testing.assert_array_equal(one, other)


@pytest.mark.parametrize("path", FONTS.values(), ids=FONTS)
def test_glyphs_are_those_that_fonttools_takes(path):
    """But for spaces and the like, which it takes besides; and all sums are right."""
    found = cut(path)
    font = TTFont(path)
    options = Options(layout_features=[], glyph_names=True, notdef_outline=True)
    options.drop_tables += ["GSUB", "OS/2", "cmap", "name", "post"]
    subsetter = Subsetter(options)
    subsetter.populate(gids=glyphs_of(path))
    subsetter.subset(font)
    assert found.places.keys() == subsetter.glyph_index_map.keys() - {1, 2}
    read = TTFont(BytesIO(found.font), checkChecksums=2)
    assert all(read[tag] is not None for tag in read.reader.tables)


def test_other_fonts_are_left_to_fonttools():
    with open(FONTS["normal"], "rb") as file:
        font = file.read()
    assert letters_of(b"OTTO" + font[4:], {3}) is None
    assert letters_of(b"ttcf" + font[4:], {3}) is None
    assert letters_of(font.replace(b"glyf", b"fvar", 1), {3}) is None
    assert letters_of(b"", {3}) is None
