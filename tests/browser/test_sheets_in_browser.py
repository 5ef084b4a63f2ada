"""Sheets in a real browser: what they show, to whom, and that they stay by themselves."""

import re
import shutil
from collections import Counter
from dataclasses import replace
from io import BytesIO

import coloraide
import numpy as np
import pytest
from pypdf import PdfReader

from stopgap.blends import families
from stopgap.cli.ask.demo import datasets
from stopgap.colorimetry import reflectance_to_lab
from stopgap.defaults import LAMPS
from stopgap.library import open_library
from stopgap.planner import LayerQuestion, estimated_conditions, find_stand_ins, under_lamps
from stopgap.reports.answers import families_report, stand_ins_report
from stopgap.reports.blocks import (
    Chip,
    ColourMap,
    Column,
    Command,
    Grid,
    Heading,
    MapCell,
    Paragraph,
    Report,
    Strip,
)
from stopgap.reports.render.html import render_html
from stopgap.swatches import FreeColour, Reflectance, Swatch

pytestmark = pytest.mark.slow

NAMES = [
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(2)>',
    "</style></title><script>alert(3)</script>",
    "{{ 7 * 7 }}{% raw %}",
    "\u202eevil",
    "x" * 500,
    "\U0001f469\u200d\U0001f3a8 brush",
    "nul\x00nul",
    "' onmouseover='alert(4)",
]


@pytest.fixture
def written(tmp_path):
    def write(report, title=""):
        path = tmp_path / "sheet.html"
        path.write_text(render_html(report, title), encoding="utf-8")
        return path

    return write


@pytest.fixture
def demo_sheet(stopgap_run, demo_library, tmp_path):
    """Write the sheet for a question on the demo's library."""
    shutil.copy(demo_library, stopgap_run.library)

    def write(*question):
        path = tmp_path / "sheet.html"
        status, _, error = stopgap_run("sheet", path, "--overwrite", "--for", *question)
        assert (status, error) == (0, "")
        return path

    return write


def boxes(*names):
    return [word for name in names for word in ("--box", name)]


QUESTIONS = [
    (320, "dark", ["match", "Fennmoor:FM055", "--layers"]),
    (1400, "light", ["family", "golden yellows"]),
    (390, "light", ["wall"]),
    (390, "light", ["holes", "--no-layers"]),
    (360, "light", ["blends", datasets() / "blends.csv", "--no-layers"]),
    (800, "dark", ["list", datasets() / "lesson.csv"]),
    (360, "dark", ["range", "Quillet"]),
]


@pytest.mark.parametrize(("width", "scheme", "question"), QUESTIONS)
def test_every_screen_reads_it(visit, demo_sheet, width, scheme, question):
    path = demo_sheet(*question)
    visitor = visit(width, color_scheme=scheme)
    visitor.context.add_init_script(  # a sheet keeps nothing, and misses nothing
        """Object.defineProperty(window, "localStorage", {
            get() { throw new DOMException("denied", "SecurityError"); } })"""
    )
    visitor.open(path)
    assert visitor.violations() == []
    for other in (320, width):
        visitor.page.set_viewport_size({"width": other, "height": 900})
        assert visitor.overflow() <= 0
    if "list" in question:  # a row is a card on a narrow screen, and a row for a screen reader
        visitor.page.set_viewport_size({"width": 390, "height": 900})
        asked = visitor.context.new_cdp_session(visitor.page).send("Accessibility.getFullAXTree")
        roles = Counter(node["role"]["value"] for node in asked["nodes"] if not node["ignored"])
        rows = visitor.page.locator("tr").count()
        assert (roles["table"], roles["row"]) == (visitor.page.locator("table").count(), rows)
        assert roles["cell"] + roles["columnheader"] == visitor.page.locator("td, th").count()


BROKEN = """() => {
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT), broken = [];
  for (let node; (node = walker.nextNode());) {
    const inside = node.parentElement;
    if (inside.closest(".unseen, thead, details, pre") || !inside.checkVisibility()) continue;
    for (const { 0: word, index } of node.data.matchAll(/[^\\s+-]+/g)) {
      const range = document.createRange();
      range.setStart(node, index);
      range.setEnd(node, index + word.length);
      const lines = [...range.getClientRects()].filter((one) => one.width > 0);
      if (word.length < 15 && new Set(lines.map((one) => Math.round(one.top))).size > 1)
        broken.push(word);
    }
  }
  return broken;
}"""
"""Words below fifteen characters that stand on two lines."""


@pytest.mark.parametrize(
    "question",
    [
        ["list", datasets() / "lesson.csv"],
        ["list", datasets() / "lesson.csv", *boxes("Quillet", "Fennmoor", "Brindlewick")],
        ["blends", datasets() / "blends.csv", "--no-layers"],
        ["holes", "--no-layers"],
    ],
)
def test_no_word_is_broken_and_nothing_juts_out(visit, demo_sheet, question):
    """At 200 % on a phone too: half of its 390 pixels, or letters of twice the size."""
    page = visit(390).open(demo_sheet(*question))
    for width, size in (
        *((390, 100), (195, 100), (390, 200)),
        *((720, 100), (820, 100), (1200, 100), (1440, 200)),
    ):
        page.set_viewport_size({"width": width, "height": 900})
        page.evaluate(f"document.documentElement.style.fontSize = '{size}%'")
        assert page.evaluate(BROKEN) == [], (width, size)
        wide = page.evaluate("document.documentElement.scrollWidth - innerWidth")
        assert wide <= 0, (width, size)


def test_the_guide_is_read_at_every_size(visit, stopgap_run, tmp_path):
    """A row of a table is a card where words would be broken in columns."""
    path = tmp_path / "guide.html"
    assert stopgap_run("guide", "--html", path)[0] == 0
    visitor = visit(390)
    page = visitor.open(path)
    for width, size in ((195, 100), (1440, 200), (390, 200), (390, 100)):
        page.set_viewport_size({"width": width, "height": 844})
        page.evaluate(f"document.documentElement.style.fontSize = '{size}%'")
        assert [word for word in page.evaluate(BROKEN) if "(" not in word and "|" not in word] == []
        assert visitor.overflow() <= 0
    assert page.locator("blockquote").count() == 0  # an example of Python that is none


def shown_under(page, lamp):
    """The two halves of the screen under a lamp, by its place."""
    page.click(f"#lamps button >> nth={lamp}")
    assert page.get_attribute(f"#lamps button >> nth={lamp}", "aria-pressed") == "true"
    backgrounds = "all => all.map(one => getComputedStyle(one).backgroundColor)"
    found = page.eval_on_selector_all("#halves .patch", backgrounds)
    return [coloraide.Color(one).convert("lab").coords() for one in found]


def test_two_colours_of_a_sheet_fill_the_screen_under_lamps_too(visit, written):
    """What a lamp makes of a spectrum is held against colour-science in tests/colorimetry."""
    nm = tuple(range(400, 701, 10))
    spectra = [0.2 + 0.5 / (1.0 + np.exp((at - np.array(nm)) / 15.0)) for at in (590.0, 600.0)]
    pencils = [
        Swatch("Fen", str(place), tuple(lab), reflectance=Reflectance(nm, tuple(values)))
        for place, (values, lab) in enumerate(zip(spectra, reflectance_to_lab(nm, spectra)))
    ]
    lit = under_lamps(pencils)
    labs = [pencil.lab for pencil in pencils]
    other = (50.0, 20.0, 10.0)
    blocks = [Chip((other, *labs)), Strip([Chip((lab,), "F") for lab in labs], [1.0], 12.0)]
    path = written(Report("x", {}, blocks))
    path.write_text(render_html(Report("x", {}, blocks, figures=True), lit=lit), encoding="utf-8")
    page = visit(390, 844).open(path)
    assert page.locator(".open").count() == 2
    row = page.locator(".open").first.bounding_box()
    page.mouse.click(row["x"] + 0.4 * row["width"], row["y"] + 20)  # beside the first seam
    page.wait_for_selector("#edge[open]")
    assert "lab(50 20 10)" in page.inner_text("#sides")
    assert page.is_hidden("#lamps")  # of one of them no spectrum is known
    assert "only one of the two is known" in page.inner_text("#unlit")
    page.go_back()
    page.wait_for_selector("#edge", state="hidden")
    page.locator(".open").last.press("Enter")
    page.wait_for_selector("#lamps")
    assert page.is_hidden("#unlit")
    assert shown_under(page, 0) == pytest.approx(np.array(labs), abs=0.02)
    for place in range(1, len(LAMPS) + 1):
        expected = np.array([lit[lab][place - 1] for lab in labs])
        assert shown_under(page, place) == pytest.approx(expected, abs=0.02)
        assert np.abs(expected - labs).max() > 1.0
    page.click("#leave")
    page.wait_for_selector("#edge", state="hidden")


def test_paper_is_white_round_chips_unless_a_grey_frame_is_asked_for(visit, tmp_path):
    report = Report("x", {}, [Chip(((30.0, 0.0, 0.0), (31.0, 0.0, 0.0)), "two")])
    for framed, ground in ((False, 255), (True, 118)):
        path = tmp_path / f"{framed}.html"
        path.write_text(render_html(report, framed=framed), encoding="utf-8")
        visitor = visit(700)
        page = visitor.open(path)
        page.emulate_media(media="print")
        box = page.locator(".patch").first.bounding_box()
        x, y = int(box["x"]), int(box["y"])
        picture = visitor.picture()
        assert set(picture[y + 9, x - 18 : x - 3].ravel()) == {ground}  # 5 mm to the side
        assert set(picture[y - 18 : y - 3, x + 9].ravel()) == {ground}


def blocks_of(names):
    """Every kind of block, with each name in each place where a name can stand."""
    chips = [Chip(((50.0, 5.0 * place, 0.0),), name) for place, name in enumerate(names)]
    pair = Chip(((50, 0, 0), (60, 0, 0)), names[0], captions=(names[1], names[2]))
    grid = Grid(
        [Column(""), Column(names[0]), Column("name")],
        [[pair, name, name] for name in names],
        {place: [f"! {name}", name] for place, name in enumerate(names)},
    )
    strip = Strip(chips, [20.0] * (len(names) - 1), 12.0)
    texts = [block for name in names for block in (Heading(name), Paragraph(name), Command(name))]
    return [Heading("hostile"), *texts, *chips, pair, grid, strip]


def test_hostile_names_are_text(visit, written):
    visitor = visit(360)
    page = visitor.open(written(Report("x", {}, blocks_of(NAMES))))
    text = page.inner_text("body")
    for name in NAMES:
        shown = name.replace("\u202e", r"\u202e").replace("\x00", r"\x00")
        assert shown in text
    assert "\u202e" not in page.content()
    assert page.evaluate("document.scripts.length") == 1  # for colours edge to edge
    assert page.evaluate("document.images.length") == 0
    assert visitor.overflow() <= 0
    assert visitor.violations() == []


def test_a_script_would_not_run_even_if_it_got_in(visit, tmp_path):
    path = tmp_path / "sheet.html"
    page = render_html(Report("x", {}, [Heading("x")]))
    path.write_text(page.replace("</main>", "<script>document.title = 'ran'</script></main>"))
    visitor = visit()
    assert visitor.open(path).title() == "x"
    assert any("Content Security Policy" in text for text in visitor.complaints)
    visitor.complaints.clear()


def in_gamut_labs(count, rng):
    labs = np.column_stack([rng.uniform(5, 97, count), *rng.uniform(-70, 70, (2, count))])
    return [tuple(lab) for lab in labs.tolist() if coloraide.Color("lab", lab).in_gamut("srgb")]


def test_chips_have_the_colour_that_they_are_for(visit, written):
    labs = in_gamut_labs(400, np.random.default_rng(20260101))
    assert len(labs) > 100
    visitor = visit(1400)
    page = visitor.open(written(Report("x", {}, [Chip((lab,), "chip") for lab in labs])))
    boxes = page.evaluate(
        "[...document.querySelectorAll('.patch')].map(patch => {"
        " const box = patch.getBoundingClientRect();"
        " return [box.x + box.width / 2, box.y + scrollY + box.height / 2] })"
    )
    centres = np.array(boxes).astype(int)
    seen = visitor.picture()[centres[:, 1], centres[:, 0]].astype(int)
    # coloraide 8.13.1: Color("lab", [L, a, b]) is CIE Lab under D50, as CSS Color 4 has it
    expected = np.array([coloraide.Color("lab", lab).convert("srgb").coords() for lab in labs])
    assert np.abs(seen - np.rint(255 * expected)).max() <= 1


def test_a_colour_outside_sRGB_is_mapped_and_marked(visit, written):
    # Rec. 2020 green, far outside sRGB; inside, a grey
    outside, inside = (86.0, -105.0, 85.0), (50.0, 0.0, 0.0)
    visitor = visit()
    page = visitor.open(written(Report("x", {}, [Chip((outside,), "a"), Chip((inside,), "b")])))
    labels = page.eval_on_selector_all(".patch", "all => all.map(one => one.ariaLabel)")
    assert [label.endswith("duller here than on paper") for label in labels] == [True, False]
    assert page.locator(".patch.outside").count() == 1
    assert "duller here than on paper" in " ".join(page.inner_text("footer").split())
    shown = page.eval_on_selector(".patch", "one => getComputedStyle(one).backgroundColor")
    from_page = coloraide.Color(shown).convert("oklch")
    asked = coloraide.Color("lab", outside).convert("oklch")
    # gamut mapping of CSS Color 4 keeps lightness and hue in Oklch; a clip would not
    assert from_page["lightness"] == pytest.approx(asked["lightness"], abs=0.01)
    assert from_page["hue"] == pytest.approx(asked["hue"], abs=1.5)


def test_target_and_stand_in_touch(visit, written):
    swatches = [Swatch("Fen", "1", (52.0, 20.0, 2.0), "Tide"), Swatch("Fen", "2", (50.0, 0.0, 2.0))]
    answer = find_stand_ins(FreeColour("", (50.0, 22.0, 0.0)), swatches)
    visitor = visit(1400)
    page = visitor.open(written(stand_ins_report(answer)))
    for left, right in page.eval_on_selector_all(
        "td .patches",
        "all => all.map(one => [one.children[0].getBoundingClientRect().right,"
        " one.children[1].getBoundingClientRect().left])",
    ):
        assert 0.0 <= left - right <= 1.01  # the next begins below the one before
    first = page.locator("td .patches").first
    assert first.evaluate("one => getComputedStyle(one.children[0]).borderWidth") == "0px"
    assert first.bounding_box()["height"] >= 72


def test_layers_are_shown_in_their_order(visit, written, demo_library):
    with open_library(demo_library, read_only=True) as library:
        swatches = library.swatches()
    target = next(swatch for swatch in swatches if swatch.code == "FM055")
    owned = [swatch for swatch in swatches if swatch.owned]
    question = LayerQuestion(estimated_conditions(), owned, always=True, limit=1)
    answer = find_stand_ins(target, swatches, layering=question)
    (recipe,) = answer.layers
    page = visit().open(written(stand_ins_report(answer)._replace(figures=True)))
    labels = page.eval_on_selector_all(
        ".patches[data-count='4'] .patch", "all => all.map(one => one.ariaLabel)"
    )
    assert [label.partition(":")[0] for label in labels] == ["first", "then", "result", "target"]
    for label, lab in zip(
        labels, (*(swatch.lab for swatch in recipe.stack.swatches), recipe.lab), strict=False
    ):
        found = [float(number) for number in re.search(r"lab\((.*)\)", label)[1].split()]
        assert found == pytest.approx(lab, abs=0.006)


def test_a_gap_is_seen_without_colour_and_heard(visit, written):
    chips = [Chip(((L, 0.0, 0.0),), f"C{L:.0f}") for L in (80.0, 75.0, 40.0)]
    visitor = visit()
    report = Report("x", {}, [Strip(chips, [4.2, 33.3], 12.0)], figures=True)
    page = visitor.open(written(report._replace(figures=False)))
    assert page.inner_text("li.gap .step").split() == ["gap"]
    page = visitor.open(written(report))
    assert page.locator("li.gap").count() == 1
    assert page.inner_text("li.gap .step").split() == ["gap", "of", "33.3"]
    right, left = page.eval_on_selector_all(
        ".patch", "all => [all[1].getBoundingClientRect().right, all[2].getBoundingClientRect().x]"
    )
    assert left - right >= 32
    right, left = page.eval_on_selector_all(
        ".patch", "all => [all[0].getBoundingClientRect().right, all[1].getBoundingClientRect().x]"
    )
    assert 0.0 <= right - left <= 1.01  # the next begins below the one before


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_print(visit, written, demo_library, paper):
    with open_library(demo_library, read_only=True) as library:
        found = families(library.colour_range("Quillet").swatches)
    visitor = visit()
    page = visitor.open(written(families_report(found, whole=True), "Families"))
    pdf = page.pdf(
        format=paper
    )  # without the option to print backgrounds: chips print all the same
    width, height = {"A4": (595, 842), "Letter": (612, 792)}[paper]
    boxes = re.findall(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", pdf)
    assert 3 <= len(boxes) <= 10
    assert all(
        (float(wide), float(high)) == pytest.approx((width, height), abs=1) for wide, high in boxes
    )
    page.emulate_media(media="print")
    page.set_viewport_size({"width": 690, "height": 900})
    assert visitor.overflow() <= 0
    assert page.locator("nav").is_hidden()
    adjusted = "all => all.every(one => getComputedStyle(one).printColorAdjust === 'exact')"
    assert page.eval_on_selector_all(".patch", adjusted)


def test_contents_lead_there_by_keyboard(visit, written):
    sections = [block for name in "abcdef" for block in (Heading(name), *[Paragraph("x")] * 40)]
    page = visit().open(written(Report("x", {}, sections), "Letters"))
    for _ in range(5):
        page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "e"
    page.keyboard.press("Enter")
    top = page.evaluate("[...document.querySelectorAll('h2')][4].getBoundingClientRect().top")
    assert 0 <= top < 100


@pytest.mark.parametrize("code", ["FM070", "FM055"])
def test_the_answer_for_one_shade_prints_on_one_page(visit, demo_sheet, code):
    page = visit(1000).open(demo_sheet("match", f"Fennmoor:{code}"))
    for paper in ("A4", "Letter"):
        printed = page.pdf(format=paper, prefer_css_page_size=False)
        assert re.findall(rb"/Count (\d+)", printed) == [b"1"], paper


def test_four_hundred_pencils_hang_on_two_pages(visit, written, demo_library):
    """The demo's 240, and 160 of them once more a little lighter: chips of 8 mm, codes of 5 pt."""
    with open_library(demo_library, read_only=True) as library:
        demo = library.swatches()
    more = [
        replace(each, range="More", lab=(min(each.lab[0] + 3.0, 99.0), *each.lab[1:]))
        for each in demo[:160]
    ]
    page = visit(700).open(
        written(families_report(families([*demo, *more]), whole=False, wall=True))
    )
    assert page.locator(".wall .point").count() == 400
    chips = page.eval_on_selector_all(
        ".wall .point", "all => all.map(one => one.getBoundingClientRect().width)"
    )
    assert np.ptp(chips) <= 2.01  # the pixels by which one begins below the next
    assert np.median(chips) == pytest.approx(8.0 / 25.4 * 96.0, abs=2.01)
    codes = page.locator(".wall .code").first
    size = codes.evaluate("one => getComputedStyle(one).fontSize")
    assert float(size.removesuffix("px")) == pytest.approx(5.0 / 72.0 * 96.0, abs=0.01)
    assert re.findall(rb"/Count (\d+)", page.pdf(format="A4")) == [b"2"]
    owned = page.locator(".wall .owned .point").first
    plain = page.locator(".wall li:not(.owned) .point").first
    assert owned.bounding_box()["height"] > plain.bounding_box()["height"] + 5


@pytest.mark.parametrize("media", ["screen", "print"])
def test_codes_on_the_wall_are_whole_however_long(media, visit, written, demo_library):
    with open_library(demo_library, read_only=True) as library:
        few = library.swatches()[:4]
    codes = ["MMMMWWMMM", "Q-0011-XLW", "12.345.678", "EXTRALONGCODE0042"]
    long = [replace(each, code=code) for each, code in zip(few, codes, strict=True)]
    page = visit(390).open(written(families_report(families(long), whole=False, wall=True)))
    page.emulate_media(media=media)
    lines = page.eval_on_selector_all(
        ".wall .code:not(.rated)",
        """all => all.map(one => {
          const [text, chip] = [new Range(), one.closest("li").getBoundingClientRect()];
          text.selectNodeContents(one);
          return [...text.getClientRects()].every(line =>
            line.left >= chip.left - 0.5 && line.right <= chip.right + 0.5
            && line.bottom <= one.nextElementSibling.getBoundingClientRect().top + 1.5);
        })""",
    )
    assert lines == [True] * 4


def test_nothing_is_broken_across_pages_that_fits_on_one(visit, written):
    """Needs of four blocks each, and two maps of three quarters of a page below them."""
    labs = ((50.0, 20.0, 10.0), (52.0, 20.0, 10.0))
    need = [Chip(labs, captions=("target", "now")), *map(Paragraph, ("now: this", "then: that"))]
    rows = [[MapCell(labs, "1", f"cell {row}") for _ in range(8)] for row in range(20)]
    shown = ColourMap([f"hue {row}" for row in range(20)], ["90"] * 8, [("quiet", rows)])
    blocks = [block for name in range(12) for block in (Heading(f"need {name}"), *need)]
    for name in ("before", "after"):
        blocks += [Heading(name, whole=True), Paragraph(f"{name} it"), shown]
    page = visit(700).open(written(Report("x", {}, blocks), "Needs"))
    printed = PdfReader(BytesIO(page.pdf(format="A4"))).pages
    texts = [one.extract_text() for one in printed]
    on = [{at for at, text in enumerate(texts) if each in text} for each in ("need 3", "need 4")]
    assert on[0] | on[1] == {0}  # a page is filled with needs, and none is left for the next
    words = ("need ", "target", "now: this", "then: that")
    counts = [[text.count(word) for word in words] for text in texts]
    assert sum(count[0] for count in counts) == 12
    assert all(len(set(count)) == 1 for count in counts)
    for name in ("before", "after"):
        (at,) = [at for at, text in enumerate(texts) if f"{name} it" in text]
        assert {f"hue {row}" for row in range(20)} <= set(re.findall(r"hue \d+", texts[at]))
    assert texts[-1].strip()


def test_a_stage_stays_on_one_page_where_it_can_and_its_boxes_can_be_ticked(
    visit, demo_sheet, tmp_path
):
    """Stages of eight, eight and twenty colours: the last one alone is longer than a page."""
    rows = [f"Fennmoor:FM{at + 1:03d},stage {min(at // 8, 2)}" for at in range(36)]
    (tmp_path / "lesson.csv").write_text("\n".join(["colour,stage", *rows]), encoding="utf-8")
    visitor = visit(720)
    page = visitor.open(demo_sheet("list", tmp_path / "lesson.csv", "--no-layers"))
    page.get_by_role("checkbox").nth(3).check()
    assert page.get_by_role("checkbox", checked=True).count() == 1
    texts = [one.extract_text() for one in PdfReader(BytesIO(page.pdf(format="A4"))).pages]
    # where each is asked for: it may be what to use for another one as well
    asked = [re.findall(r"(?<!→ )Fennmoor:FM(\d+)", text) for text in texts]
    on = [[at for at, codes in enumerate(asked) if f"{row + 1:03d}" in codes] for row in range(36)]
    first, second = ({at for row in stage for at in row[:1]} for stage in (on[:8], on[8:16]))
    assert len(first) == len(second) == 1
    last = {row[0] for row in on[16:]}
    assert len(last) > 1
    assert last == {*range(min(last), max(last) + 1)}
