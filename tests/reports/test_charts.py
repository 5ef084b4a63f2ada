"""The printed chart, read back from the file: sizes, places, text, fonts."""

import random
import re
from collections import Counter
from dataclasses import replace
from io import BytesIO

import coloraide
import numpy as np
import pytest
import zxingcpp
from defusedxml import ElementTree
from fontTools.ttLib import TTFont
from matplotlib.backends.backend_pdf import PdfFile, RendererPdf
from matplotlib.colors import to_rgb
from pdf_paths import extents, paths_of
from PIL import Image
from pypdf import PdfReader

from stopgap.blends import families
from stopgap.library import open_library
from stopgap.reports.drawing import pdf_text
from stopgap.reports.drawing.charts import SCALE_BAR, edition_chart
from stopgap.scanning import SHEETS, family_sections, grow, new_edition
from stopgap.swatches import Mark, Rectangle, Status, Swatch, mark_places

pytestmark = pytest.mark.slow

WITHIN = 0.2  # mm
BOX = (34.0, 12.0)
SPARE = 5
SVG = "{http://www.w3.org/2000/svg}"
HOSTILE = [
    "Kelp $x^2$ & <script>alert(1)</script>",
    "$\\frac{",
    "Мох зелёный очень тёмный и сырой",
    "אדום כהה שלום",
    "أخضر داكن جدا من البحر",
    "海苔の緑",
    "😀 🦀 crab",
    "\x1b[31mred\u202eneerg\0",
    "A" * 500,
    "word " * 100,
    "W" * 40,
    "Z" + "\u0351" * 30 + "algo",
    "",
    "   ",
]


def edition_of(swatches, size="A4", number="314159", **more):
    fresh = new_edition(family_sections(families(swatches)), swatches, SHEETS[size], **more)
    return replace(fresh, number=number)


def drawn(swatches, size="A4", title="Swatches", **more):
    filed = {each.swatch.address: each for family in families(swatches) for each in family.filed}
    return edition_chart(edition_of(swatches, size, **more), filed, title=title)


@pytest.fixture(scope="module")
def demo(demo_library):
    with open_library(demo_library, read_only=True) as library:
        return library.swatches()


@pytest.fixture(scope="module")
def chart(demo):
    return drawn(demo, title="Three invented ranges")


@pytest.fixture(scope="module")
def reader(chart):
    return PdfReader(BytesIO(chart.pdf()))


def sheet_of(figure):
    """All that is drawn on a page."""
    (sheet,) = figure.artists
    return sheet


def boxes(reader, page):
    """Frames as wide as a box, in reading order."""
    found = [extents(corners) for corners, filled in paths_of(reader, page) if not filled]
    return sorted(
        (box for box in found if abs(box[2] - BOX[0]) < 1.0 and abs(box[3] - BOX[1]) < 1.0),
        key=lambda box: (round(box[1], 1), box[0]),
    )


def test_boxes_have_the_stated_size(reader, demo):
    found = [box for page in reader.pages for box in boxes(reader, page)]
    assert len(found) == len(demo) + SPARE
    sizes = np.array(found)[:, 2:]
    np.testing.assert_allclose(sizes, np.broadcast_to((34.0, 12.0), sizes.shape), atol=WITHIN)


def test_boxes_of_the_svg_too(chart, demo):
    """The page is stated in points (72 to the inch) and has as many units."""
    count = 0
    for page in chart.svg():
        svg = ElementTree.fromstring(page)
        _, _, width, _ = map(float, svg.get("viewBox").split())
        assert float(svg.get("width").removesuffix("pt")) == pytest.approx(width)
        assert width / 72.0 * 25.4 == pytest.approx(210.0, abs=0.1)
        for path in svg.iter(f"{SVG}path"):
            numbers = np.array(re.findall(r"-?[\d.]+", path.get("d")), dtype=float)
            corners = numbers.reshape(-1, 2) / 72.0 * 25.4
            *_, width, height = extents(corners)
            if abs(width - 34.0) < 1.0 and height > 2.0:
                assert (width, height) == pytest.approx((34.0, 12.0), abs=WITHIN)
                count += 1
    assert count == len(demo) + SPARE


@pytest.mark.parametrize("paper", SHEETS)
def test_paper_and_scale_bar(demo, paper):
    """ISO 216: A4 is 210 by 297 mm. ANSI/ASME Y14.1: Letter is 8.5 by 11 inches."""
    size = {"A4": (210.0, 297.0), "Letter": (8.5 * 25.4, 11 * 25.4)}[paper]
    reader = PdfReader(BytesIO(drawn(demo[:60], paper).pdf()))
    for page in reader.pages:
        sheet = np.array([page.mediabox.width, page.mediabox.height], dtype=float) / 72.0 * 25.4
        np.testing.assert_allclose(sheet, size, atol=0.1)
        spans = [extents(corners) for corners, _ in paths_of(reader, page)]
        spans = [span for span in spans if span[2] < size[0] - 1.0]  # all but the white ground
        bars = [span for span in spans if span[3] < 0.01 and abs(span[2] - SCALE_BAR) < 1.0]
        assert len(bars) == 1
        assert bars[0][2] == pytest.approx(50.0, abs=WITHIN)
        left = min(span[0] for span in spans)
        right = max(span[0] + span[2] for span in spans)
        assert left >= 10.0 - WITHIN  # printers seldom reach the outer 5 mm
        assert right <= size[0] - 10.0 + WITHIN


def test_text_can_be_read_back(reader, demo):
    text = " ".join("\n".join(page.extract_text() for page in reader.pages).split())
    for swatch in demo:
        assert swatch.code in text
        assert swatch.name in text
    counts = Counter(text)
    legends = len(reader.pages)
    assert counts["●"] == sum(swatch.owned for swatch in demo) + legends
    assert counts["✕"] == sum(swatch.discontinued for swatch in demo) + legends


def test_every_page_has_title_number_and_caution(reader):
    for number, page in enumerate(reader.pages, 1):
        text = page.extract_text()
        assert "Three invented ranges" in text
        assert f"{number} of {len(reader.pages)}" in text
        assert "no colour reference" in text
        assert "50 mm in print" in text
        assert "notes" in text
        assert "edition 314159" in text


def test_reading_order_is_family_by_family_light_to_dark(reader, demo):
    text = "\n".join(page.extract_text() for page in reader.pages)
    codes = [swatch.code for swatch in demo]
    printed = [word for word in text.split() if word in codes]
    assert printed == [filed.swatch.code for family in families(demo) for filed in family.filed]


IN_PDF = {"glyf", "head", "hhea", "hmtx", "loca", "maxp", "cvt ", "fpgm", "prep"}
"""What a TrueType font has in a PDF (ISO 32000-2, 9.9.1)."""


def test_fonts_are_embedded_as_truetype_with_their_text(reader):
    """ISO 32000-2, 9.7.4.2 and 9.10.3: CIDFontType2 with FontFile2, and a ToUnicode map."""
    fonts = [
        font.get_object() for page in reader.pages for font in page["/Resources"]["/Font"].values()
    ]
    assert fonts
    for font in fonts:
        assert font["/Subtype"] == "/Type0"
        assert "/ToUnicode" in font
        descendant = font["/DescendantFonts"][0].get_object()
        assert descendant["/Subtype"] == "/CIDFontType2"
        assert "/FontFile2" in descendant["/FontDescriptor"].get_object()
        embedded = descendant["/FontDescriptor"].get_object()["/FontFile2"].get_data()
        assert IN_PDF - {"cvt ", "fpgm", "prep"} <= set(TTFont(BytesIO(embedded)).reader.keys())
        assert set(TTFont(BytesIO(embedded)).reader.keys()) <= IN_PDF


def test_letters_that_are_laid_out_need_not_be_loaded(demo, monkeypatch):
    """Ligatures and what only other fonts have among them; and where text is laid out otherwise."""
    words = ["flat fig", "Дуб", "木"]
    drawing = drawn([replace(one, name=name) for one, name in zip(demo, words, strict=False)])
    pdf = drawing.pdf()

    def usual(ever, text, font, **how):
        return ever(text, font, **how)

    assert pdf_text._laid_out(lambda *_, **__: "as ever", "flat", object()) == "as ever"
    monkeypatch.setattr(pdf_text, "_laid_out", usual)
    assert drawing.pdf() == pdf


def test_the_same_bytes_every_time(demo):
    first, second = drawn(demo[:12]), drawn(demo[:12])
    pdf = first.pdf()
    assert pdf == first.pdf() == second.pdf()
    assert first.svg() == second.svg()
    assert b"CreationDate" not in pdf


def test_hints_show_the_colour(demo):
    """The sRGB that coloraide makes of the Lab, for colours that sRGB has."""
    within = [
        swatch
        for swatch in demo
        if coloraide.Color("lab", list(swatch.lab)).in_gamut("srgb", tolerance=0)
    ][:40]
    found = families(within)
    drawing = drawn(within)
    wanted = [
        coloraide.Color("lab", list(filed.swatch.lab)).convert("srgb")[:3]
        for family in found
        for filed in family.filed
    ]
    shown = [
        list(to_rgb(look.fill))
        for sheet in map(sheet_of, drawing.pages)
        for path, look in sheet.shapes
        if look.fill and abs(path.get_extents().width - 2.6) < 0.1
    ]
    np.testing.assert_allclose(shown, wanted, atol=1 / 255)


def stranger(number):
    """Swatches with every kind of name, code and range that a stranger's file can hold."""
    dice = random.Random(number)
    return [
        Swatch(
            dice.choice(["Fen", "R" * 60, "Quillet"]),
            dice.choice([f"X{row}", f"VERYLONGCODE-{row}-{'9' * 30}"]),
            (dice.uniform(5, 97), dice.uniform(-50, 50), dice.uniform(-50, 60)),
            name=dice.choice(HOSTILE),
            owned=dice.random() < 0.4,
            status=dice.choice(list(Status)),
        )
        for row in range(number)
    ]


def texts_and_boxes(figure):
    """Extents (left, top, right, bottom) [mm] of what is written and of what is framed."""
    figure.set_dpi(72)
    width, height = figure.get_size_inches()
    renderer = RendererPdf(PdfFile(BytesIO()), 72, height, width)  # nothing is rounded to pixels
    sheet, scale = sheet_of(figure), 25.4 / figure.dpi

    def extent(words):
        text = figure.text(
            words.x / width / 25.4,
            1.0 - words.y / height / 25.4,
            words.text,
            fontsize=words.size,
            weight="bold" if words.bold else "normal",
            ha=words.side,
            va="baseline",
            parse_math=False,
        )
        box = text.get_window_extent(renderer)
        left, right = box.x0 * scale, box.x1 * scale
        return (left, height * 25.4 - box.y1 * scale, right, height * 25.4 - box.y0 * scale)

    frames = [path.get_extents() for path, look in sheet.shapes if not look.fill and len(path) == 5]
    return [*map(extent, sheet.words)], [(*box.min, *box.max) for box in frames]


def overlapping(first, second):
    """Pairs of extents that share more than a hair (a tenth of a millimetre) both ways."""
    a, b = np.array(first)[:, None], np.array(second)[None, :]
    shared = np.minimum(a[..., 2:], b[..., 2:]) - np.maximum(a[..., :2], b[..., :2])
    return (shared > 0.1).all(axis=-1)


@pytest.mark.filterwarnings("ignore:Glyph")
def test_nothing_overlaps_with_hostile_names():
    drawing = drawn(stranger(150), title="T$x$ " * 60)
    for figure in drawing.pages:
        texts, frames = texts_and_boxes(figure)
        found = overlapping(texts, texts)
        assert not found[~np.eye(len(texts), dtype=bool)].any()
        notes = max(range(len(frames)), key=lambda row: frames[row][3] - frames[row][1])
        del frames[notes]  # its caption stands in it
        assert not overlapping(texts, frames).any()
        right = max(text[2] for text in texts)
        assert right <= 210.0 - 12.0 + WITHIN
    assert "🦀" in drawing.unshown


def test_hostile_names_are_text():
    drawing = drawn(stranger(40))
    pdf = drawing.pdf()
    text = "".join(page.extract_text() for page in PdfReader(BytesIO(pdf)).pages)
    assert "Kelp $x^2$" in text
    assert "$\\frac{" in text
    assert "\\x1b[31mred\\u202e" in text
    assert "海苔の緑" in text
    assert "/JavaScript" not in pdf.decode("latin-1")
    written = []
    for page in drawing.svg():
        svg = ElementTree.fromstring(page)
        assert not list(svg.iter(f"{SVG}script"))
        written += [text.text or "" for text in svg.iter(f"{SVG}text")]
    assert any("<script>" in text for text in written)


@pytest.mark.parametrize("size", SHEETS)
def test_marks_are_read_where_they_stand(demo, size):
    """By zxing-cpp (ISO/IEC 16022), from the page as a picture of 144 dots an inch."""
    edition = edition_of(demo[:40], size, anchors=demo[:2], layers=True)
    drawing = drawn(demo[:40], size, anchors=demo[:2], layers=True)
    assert len(drawing.pages) == len(edition.pages) > 1
    for number, page in enumerate(edition.pages):
        with Image.open(BytesIO(drawing.png(number))) as picture:
            found = zxingcpp.read_barcodes(picture.convert("L"))
        places = mark_places(edition.size)
        wanted = {Mark("314159", page.number, corner).digits: places[corner] for corner in range(4)}
        assert {symbol.text for symbol in found} == set(wanted)
        for symbol in found:
            place, at = wanted[symbol.text], symbol.position
            corners = [(each.x, each.y) for each in (at.top_left, at.bottom_right)]
            middle = np.mean(corners, axis=0) / 144.0 * 25.4
            expected = (place.x + place.width / 2.0, place.y + place.height / 2.0)
            np.testing.assert_allclose(middle, expected, atol=0.5)


@pytest.mark.filterwarnings("ignore:Glyph")
def test_nothing_is_printed_where_the_reading_looks():
    """No ink within a field, nor in a place that is kept white to know the light by."""
    swatches = stranger(60)
    more = {"anchors": swatches[:3], "thirds": True, "layers": True}
    edition = edition_of(swatches, **more)
    drawing = drawn(swatches, title="T$x$ " * 60, **more)
    for number, page in enumerate(edition.pages):
        with Image.open(BytesIO(drawing.png(number))) as picture:
            ink = np.asarray(picture.convert("L"))
        fields = [field.place.inset(0.4) for box in page.boxes for field in box.fields]
        for place in (*fields, *page.blanks):
            left, top = (round(each * 144 / 25.4) + 1 for each in (place.x, place.y))
            right = round((place.x + place.width) * 144 / 25.4) - 1
            bottom = round((place.y + place.height) * 144 / 25.4) - 1
            assert ink[top:bottom, left:right].min(initial=255) == 255, place


def test_three_fields_layers_and_anchors_are_told(demo):
    owned = [swatch for swatch in demo if swatch.owned]
    edition = edition_of(owned, thirds=True, layers=True, anchors=owned[:1])
    boxes = [box for _, box in edition.boxes()]
    assert sum(len(box.fields) == 3 for box in boxes) == 12
    assert all(field.place.width >= 10.0 for box in boxes for field in box.fields)
    assert sum(len(box.pencils) == 2 for box in boxes) == 10
    assert sum(box.anchor for box in boxes) == len(edition.pages)
    texts = [words.text for words in sheet_of(drawn(owned, thirds=True).pages[0]).words]
    assert {"light", "medium", "heavy"} <= set(texts)


def test_what_is_printed_never_moves(demo):
    """New pencils take spare boxes, then pages of their own; places on older pages stay."""
    edition = edition_of(demo[:100])
    growth = grow(edition, family_sections(families(demo[:120])))
    assert len(growth.placed) == SPARE
    assert growth.pages[0].number == edition.pages[-1].number + 1
    assert Rectangle(*growth.pages[0].boxes[0].outline).width == BOX[0]
    for before, after in zip(edition.pages, growth.edition.pages, strict=False):
        assert [box.outline for box in after.boxes] == [box.outline for box in before.boxes]
        for old, new in zip(before.boxes, after.boxes, strict=True):
            assert old.spare or old == new
    addresses = [address for _, box in growth.edition.boxes() for address in box.pencils]
    assert sorted(addresses) == sorted(swatch.address for swatch in demo[:120])
    assert grow(growth.edition, family_sections(families(demo[:120]))).pages == ()
    for placed in growth.placed:
        page = growth.edition.page(placed.page)
        rows = sorted({box.outline.y for box in page.boxes})
        row = [box for box in page.boxes if box.outline.y == rows[placed.row - 1]]
        assert row[placed.column - 1].pencils == (placed.pencil,)


def test_a_family_goes_on_over_the_page():
    many = [Swatch("Fen", str(row), (20 + row / 2, 0.0, -40.0)) for row in range(60)]
    drawing = drawn(many)
    assert len(drawing.pages) == 2
    words = [each.text for each in sheet_of(drawing.pages[1]).words]
    assert any(word.endswith(", continued") for word in words)
