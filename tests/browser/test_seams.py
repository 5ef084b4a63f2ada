"""Colours that touch show nothing but themselves where they meet, whatever the screen.

A pixel on a seam may be a mixture of the two colours that meet there, so each of its channels lies
between theirs. Ratios of device pixels to CSS pixels are those of common desks, laptops and phones.
"""

import shutil
import subprocess
from io import BytesIO
from itertools import combinations, pairwise

import colour
import numpy as np
import pypdfium2
import pytest
from PIL import Image

from stopgap.blends import blend, families
from stopgap.colorimetry import lab_to_hexes
from stopgap.planner import precompute_stand_ins
from stopgap.reports.blocks import (
    Chip,
    ColourMap,
    Column,
    Grid,
    Heading,
    MapCell,
    Report,
    Strip,
    Wall,
    WallChip,
)
from stopgap.reports.drawing.blend_plots import blend_plot
from stopgap.reports.drawing.main_colours import palette_picture
from stopgap.reports.drawing.touching import chip_plot, map_plot
from stopgap.reports.pocket import render_pocket
from stopgap.reports.render.html import render_html
from stopgap.scanning import MainColour, MainColours
from stopgap.swatches import Swatch

pytestmark = pytest.mark.slow

RATIOS = (1, 1.25, 1.5, 1.75, 2, 2.625, 3)
DARKS = [(28.0, 4.0, 6.0), (27.4, 4.0, 6.0), (28.0, 4.5, 5.0), (29.0, 3.0, 6.0)]
LIGHTS = [(93.0, -2.0, 8.0), (92.0, -2.0, 9.0), (93.5, -1.0, 8.0), (92.5, -2.0, 7.0)]

SEAMS = """() => {
  const around = (element) => {
    const { left, right, top, bottom } = element.getBoundingClientRect();
    return [left, right, top + scrollY, bottom + scrollY];
  };
  const rows = [];
  for (const held of document.querySelectorAll(".patches, .pair")) rows.push([...held.children]);
  for (const row of document.querySelectorAll(".strip, .run")) {
    rows.push([...row.querySelectorAll(".patch")]);
  }
  for (const row of document.querySelectorAll(".wall ol")) {
    rows.push([...row.querySelectorAll(".point")]);
  }
  const pairs = [];
  for (const row of rows) {
    for (let place = 1; place < row.length; place += 1) {
      const [one, other] = [around(row[place - 1]), around(row[place])];
      if (Math.abs(one[3] - other[3]) < 1 && other[0] - one[1] < 3) pairs.push([one, other]);
      const above = one[0] === other[0] && one[2] < other[2];
      if (above && other[2] - one[3] < 3) pairs.push([one, other]);
    }
  }
  return pairs;
}"""

WITHOUT_GROUND = """() => {
  const boxes = (all) => all.filter((one) => one.checkVisibility()).map((one) => {
    const { left, right, top, bottom } = one.getBoundingClientRect();
    return { left, right, top, bottom, said: one.outerHTML.slice(0, 90) };
  });
  const isGround = (one) => getComputedStyle(one).backgroundColor === "rgb(118, 118, 118)";
  const chips = boxes([...document.querySelectorAll(".patch, .point")]);
  const grounds = boxes([...document.querySelectorAll("*")].filter(isGround));
  const holds = (box, x, y, air = 0) =>
    box.left - air <= x && x <= box.right + air && box.top - air <= y && y <= box.bottom + air;
  const touch = (one, other) =>
    one.left <= other.right + 0.5 && other.left <= one.right + 0.5
    && one.top <= other.bottom + 0.5 && other.top <= one.bottom + 0.5;
  const rows = new Map();
  for (const chip of chips) {
    const joined = new Set([chip]);
    for (const other of chips) if (rows.has(other) && touch(chip, other)) {
      for (const each of rows.get(other)) joined.add(each);
    }
    for (const each of joined) rows.set(each, joined);
  }
  const bare = [];
  for (const chip of chips) {
    const { left, right, top, bottom } = chip, wide = right - left;
    const [x, y] = [(left + right) / 2, (top + bottom) / 2];
    for (let off = wide / 8; off < wide; off += wide / 8 - 0.2) {
      for (const at of [[left - off, y], [right + off, y], [x, top - off], [x, bottom + off]]) {
        const others = chips.filter((other) => holds(other, ...at));
        const its = others.length ? others.every((other) => rows.get(chip).has(other))
          : grounds.some((ground) => holds(ground, ...at, 0.5));
        if (!its) bare.push([chip.said, wide, at[0] - x, at[1] - y]);
      }
    }
  }
  return { bare, count: chips.length };
}"""
"""Chips with less ground on a side than they are wide, before whatever else there is."""


def off_both(pixels, left, right):
    """By how much of 255 pixels (n, 3) lie outside the interval of two colours (3,)."""
    low, high = np.minimum(left, right), np.maximum(left, right)
    pixels = pixels.astype(int)
    return int(np.maximum(low - pixels, pixels - high).max(initial=0))


def worst_of(visitor, ratio):
    """The number of seams that a page shows, and the most that a pixel at one is off."""
    pairs, picture = visitor.page.evaluate(SEAMS), visitor.picture().astype(int)
    worst = 0
    for one, other in pairs:
        if one[0] == other[0]:  # one above the other
            row = picture[:, round((one[0] + one[1]) / 2.0 * ratio)]
            one, other = one[2:], other[2:]
        else:
            row = picture[round((max(one[2], other[2]) + min(one[3], other[3])) / 2.0 * ratio)]
        middles = [round((edge[0] + edge[1]) / 2.0 * ratio) for edge in (one, other)]
        worst = max(worst, off_both(row[slice(*middles)], *(row[place] for place in middles)))
    return len(pairs), worst


def on_wall(labs):
    """Pencils of every kind beside each other."""
    kinds = ({}, {"owned": True}, {"gone": True}, {"owned": True, "gone": True})
    return [WallChip(lab, f"F{place}", "Fen", **kinds[place % 4]) for place, lab in enumerate(labs)]


MAP = ColourMap(
    ["red 30", "blue 240"],
    ["90", "80", "70"],
    [
        (name, [[MapCell((labs[0], lab), "1", "near") for lab in labs[1:]]] * 2)
        for name, labs in (("quiet", DARKS), ("vivid", LIGHTS))
    ],
)


@pytest.fixture(scope="module")
def sheet(tmp_path_factory):
    """Every kind of row that a sheet has, in widths that no ratio divides."""
    sets = [tuple(labs[:count]) for labs in (DARKS, LIGHTS) for count in (2, 3, 4)]
    blocks = [
        Heading("Seams"),
        Grid((Column(""), Column("words")), [[Chip(labs), "a"] for labs in sets]),
        *(Chip(labs, "touching") for labs in sets),
        *(Chip((lab,), "beside the next") for lab in DARKS),
        Wall([("darks", on_wall(DARKS)), ("lights", on_wall([*LIGHTS, *LIGHTS]))]),
        Strip(
            [Chip((lab,), str(place)) for place, lab in enumerate(LIGHTS)], [1.0, 1.0, 1.0], 12.0
        ),
        MAP,
    ]
    path = tmp_path_factory.mktemp("seams") / "sheet.html"
    path.write_text(render_html(Report("stopgap.seams/1", {}, blocks)), encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("width", "ratio"), [*((391, ratio) for ratio in RATIOS), (1237, 1.25), (1237, 2.625)]
)
def test_nothing_shows_between_touching_chips_of_a_sheet(visit, sheet, width, ratio):
    visitor = visit(width, device_scale_factor=ratio)
    visitor.open(sheet)
    count, worst = worst_of(visitor, ratio)
    assert count >= 20
    assert worst <= 1


@pytest.mark.parametrize("ratio", [1.25, 2.625])
def test_nothing_shows_between_touching_chips_on_the_phone(visit, tmp_path, ratio):
    box = [Swatch("Fen", str(place), lab, "Kelp", owned=True) for place, lab in enumerate(DARKS)]
    path = tmp_path / "pocket.html"
    shown = render_pocket(precompute_stand_ins(box), families=families(box))
    path.write_text(shown, encoding="utf-8")
    visitor = visit(391, device_scale_factor=ratio)
    page = visitor.open(path)
    page.fill("#query", "kelp")
    page.click("#results summary >> nth=0")
    page.wait_for_selector(".inside .patches")
    count, worst = worst_of(visitor, ratio)
    assert count >= 3
    assert worst <= 1
    assert page.evaluate(WITHOUT_GROUND)["bare"] == []
    page.evaluate("location.hash = 'wall'")
    page.wait_for_selector("#rows .point")
    found = page.evaluate(WITHOUT_GROUND)
    assert found["count"] == len(box)
    assert found["bare"] == []


@pytest.mark.parametrize("ratio", [1, 1.25, 2.625])
def test_nothing_shows_between_touching_chips_of_a_picture(visit, tmp_path, ratio):
    path = tmp_path / "chips.html"
    drawn = chip_plot([Chip(tuple(DARKS[:3]), "dark"), Chip(tuple(LIGHTS), "light")])
    path.write_text(f"<!doctype html>{drawn.svg()[0].decode()}", encoding="utf-8")
    visitor = visit(391, device_scale_factor=ratio)
    visitor.open(path)
    page = visitor.page.locator("svg").first
    picture = np.asarray(Image.open(BytesIO(page.screenshot())).convert("RGB"))
    for labs, share in ((DARKS[:3], 0.25), (LIGHTS, 0.75)):
        row = picture[round(share * len(picture))].astype(int)
        colours = [np.array(list(bytes.fromhex(code[1:]))) for code in lab_to_hexes(labs)]
        inside = [np.flatnonzero((row == colour).all(axis=1)) for colour in colours]
        for (one, left), (other, right) in pairwise(zip(inside, colours, strict=True)):
            assert off_both(row[one[0] : other[-1] + 1], left, right) <= 1


@pytest.mark.parametrize("width", [391, 1237])
def test_the_ground_of_a_sheet_is_as_wide_as_a_chip(visit, sheet, width):
    found = visit(width).open(sheet).evaluate(WITHOUT_GROUND)
    assert found["count"] >= 60
    assert found["bare"] == []


def rgb_of(lab):
    return np.array([*bytes.fromhex(lab_to_hexes([lab])[0][1:])])


def meetings(picture, left, right):
    """Where two colours meet in rows of pixels, at most two others between, and how far those lie
    outside the interval of the two.
    """
    is_left, is_right = (np.abs(picture - colour).max(axis=2) <= 1 for colour in (left, right))
    count = worst = 0
    for apart in (1, 2, 3):
        between = [picture[:, at : picture.shape[1] - apart + at] for at in range(1, apart)]
        met = is_left[:, :-apart] & is_right[:, apart:]
        for at in range(1, apart):
            met &= ~(is_left | is_right)[:, at : picture.shape[1] - apart + at]
        count += int(met.sum())
        worst = max([worst, *(off_both(each[met], left, right) for each in between)])
    return count, worst


def test_a_line_between_two_colours_is_found():
    picture = np.full((4, 9, 3), 200)
    picture[:, :4], picture[:, 5:] = 10, 20
    assert meetings(picture, np.full(3, 10), np.full(3, 20)) == (4, 180)


EARTHS = [Swatch("Fen", f"{L}", (float(L), 30.0, 20.0)) for L in (70, 60, 50, 40)]
AREAS = MainColours(tuple(MainColour(lab, 0.25, 1.0) for lab in DARKS), (), 1.0, 4)


@pytest.fixture(scope="module")
def drawn():
    """Pictures of colours that touch, as (drawing, pairs of neighbours, whether they lie above
    each other).
    """
    run = blend((80.0, 30.0, 20.0), (30.0, 30.0, 20.0), EARTHS, limit=30.0)
    return {
        "chips": (chip_plot([Chip((*DARKS,)), Chip((*LIGHTS,))]), pairs_of(DARKS, LIGHTS), False),
        "map": (
            map_plot(MAP, "Seams", []),
            [cell.labs for _, rows in MAP.parts for cell in rows[0]],
            False,
        ),
        "blend": (blend_plot([run]), pairs_of([point.lab for point in run.points]), False),
        "palette": (
            palette_picture(np.zeros((40, 40, 3), dtype=np.uint8), AREAS),
            pairs_of(DARKS),
            True,
        ),
    }


@pytest.fixture(scope="module")
def pdfs(drawn):
    return [(drawing.pdf(), *known) for drawing, *known in drawn.values()]


def pairs_of(*rows):
    return [pair for row in rows for pair in pairwise(row)]


def poppler(pdf, ratio):
    """The first page of a PDF by pdftoppm, `ratio` pixels to 1/96 inch."""
    asked = ["pdftoppm", "-r", f"{96.0 * ratio}", "-f", "1", "-l", "1", "-"]
    return np.asarray(Image.open(BytesIO(subprocess.check_output(asked, input=pdf))).convert("RGB"))


def chromium(pdf, ratio):
    """The same by PDFium, with which Chromium shows a PDF."""
    with pypdfium2.PdfDocument(pdf) as document:
        return np.asarray(document[0].render(scale=96.0 * ratio / 72.0).to_pil().convert("RGB"))


ENGINES = [
    pytest.param(
        poppler,
        marks=pytest.mark.skipif(
            shutil.which("pdftoppm") is None,
            reason="no pdftoppm is installed (on Debian: apt-get install poppler-utils)",
        ),
    ),
    chromium,
]


def assert_no_seam(picture, pairs, ratio=1.0, *, upright=False):
    """Of rows 3/96 inch apart, or of columns where colours lie above each other."""
    picture = (picture.swapaxes(0, 1) if upright else picture)[:: int(3 * ratio)].astype(int)
    for one, other in pairs:
        count, worst = meetings(picture, rgb_of(one), rgb_of(other))
        assert count >= 4, (one, other)
        assert worst <= 1, (one, other)


@pytest.mark.parametrize("name", ["chips", "map", "blend", "palette"])
def test_nothing_shows_between_touching_colours_of_a_png(drawn, name):
    drawing, pairs, upright = drawn[name]
    picture = np.asarray(Image.open(BytesIO(drawing.png())).convert("RGB"))
    assert_no_seam(picture, pairs, upright=upright)


def run_and_ground(line, inside, at):
    """How many pixels at a place of a line are `inside`, and of the ground before and after them,
    but for soft edges.
    """
    start = at - int(np.argmin(inside[at::-1])) + 1
    end = at + int(np.argmin(inside[at:])) - 1
    grounds = []
    for beyond in (line[start - 2 :: -1], line[end + 2 :]):
        other = np.abs(beyond - 118).max(axis=1) > 1
        grounds.append(int(other.argmax()) + 1 if other.any() else len(beyond) + 1)
    return end - start - 1, *grounds


@pytest.mark.parametrize("name", ["chips", "map", "blend", "palette"])
def test_the_ground_of_a_png_is_as_wide_as_a_chip(drawn, name):
    drawing, pairs, upright = drawn[name]
    picture = np.asarray(Image.open(BytesIO(drawing.png())).convert("RGB")).astype(int)
    for lab, is_first in ((pairs[0][0], True), (pairs[-1][1], False)):
        inside = np.abs(picture - rgb_of(lab)).max(axis=2) <= 1
        ys, xs = np.nonzero(inside)
        place = len(ys) // 2 if is_first else -1 - len(ys) // 3
        y = ys[place]
        x = xs[ys == y][3 if is_first else -4]
        wide, before, after = run_and_ground(picture[y], inside[y], x)
        assert wide >= 10
        assert (before if is_first else after) >= wide
        if upright:
            assert min(before, after) >= wide
        else:
            assert min(run_and_ground(picture[:, x], inside[:, x], y)[1:]) >= wide


@pytest.mark.parametrize("ratio", RATIOS)
@pytest.mark.parametrize("engine", ENGINES)
def test_nothing_shows_between_touching_colours_of_a_drawn_pdf(pdfs, engine, ratio):
    for pdf, pairs, upright in pdfs:
        assert_no_seam(engine(pdf, ratio), pairs, ratio, upright=upright)


@pytest.fixture(scope="module")
def printed(browser):
    """A sheet with every kind of row, printed by Chromium on a small page."""
    blocks = [
        Chip((*DARKS,), "touching"),
        Grid((Column(""), Column("words")), [[Chip((*LIGHTS,)), "a"]]),
        Wall([("darks", [WallChip(lab, "F", "Fen") for lab in DARKS])]),
        Strip([Chip((lab,), "F") for lab in LIGHTS], [1.0] * 3, 12.0),
    ]
    page = browser.new_page()
    page.set_content(render_html(Report("stopgap.seams/1", {}, blocks), "Seams"))
    yield page.pdf(width="150mm", height="200mm")
    page.close()


@pytest.mark.parametrize("ratio", RATIOS)
@pytest.mark.parametrize("engine", ENGINES)
def test_nothing_shows_between_touching_chips_of_a_printed_sheet(printed, engine, ratio):
    assert printed.count(b"/Type /Page\n") == 1
    assert_no_seam(engine(printed, ratio), pairs_of(DARKS, LIGHTS), ratio)


STATES = {
    "plain": {},
    "owned": {"owned": True},
    "no longer made": {"gone": True},
    "both": {"owned": True, "gone": True},
}
SIGHTS = ("Protanomaly", "Deuteranomaly", "Tritanomaly", "grey")


def lightness_seen(picture, sight):
    """L* (…, h, w) of pictures as somebody sees it who lacks a kind of cones, or all colour.

    Machado, Oliveira and Fernandes (2009), "A physiologically-based model for simulation of color
    vision deficiency", severity 1, as in colour-science: a matrix for linear sRGB.
    """
    linear = colour.models.eotf_sRGB(picture / 255.0)
    if sight != "grey":
        linear = (linear @ colour.matrix_cvd_Machado2009(sight, 1.0).T).clip(0.0, 1.0)
    return colour.XYZ_to_Lab(colour.RGB_to_XYZ(linear, "sRGB"))[..., 0]


@pytest.mark.filterwarnings("ignore:.*simulation of tritanomaly is based on the shift paradigm")
@pytest.mark.parametrize("media", ["screen", "print"])
def test_states_are_told_apart_by_form_however_colours_are_seen(visit, tmp_path, media):
    """Also of a pencil as grey as the ground of the screen, and of one as white as paper."""
    ground, white = (49.6, 0.0, 0.0), (99.0, 0.0, 0.0)
    labs = [ground, white, (20.0, 0.0, 0.0), (50.0, 60.0, 40.0), (50.0, -45.0, 30.0)]
    rows = [("x", [WallChip(lab, "F", "F", **kind)]) for lab in labs for kind in STATES.values()]
    path = tmp_path / "wall.html"
    path.write_text(render_html(Report("x", {}, [Wall([*rows])])), encoding="utf-8")
    visitor = visit(700, device_scale_factor=2)
    page = visitor.open(path)
    page.emulate_media(media=media)
    boxes = page.eval_on_selector_all(
        ".wall li",
        """all => all.map(one => one.getBoundingClientRect())
            .map(({ x, y, width, height }) => [x, y + scrollY, width, height])""",
    )
    picture = visitor.picture()
    places = [(round(2 * x), round(2 * y)) for x, y, _, _ in boxes]
    crops = np.array([picture[y : y + 70, x : x + 56] for x, y in places])
    for sight in SIGHTS:
        # (colours, states, height, width)
        seen = lightness_seen(crops, sight).reshape(len(labs), len(STATES), 70, 56)
        for one, other in combinations(range(len(STATES)), 2):
            told = (np.abs(seen[:, one] - seen[:, other]) > 20.0).sum(axis=(1, 2))
            assert told.min() >= 20, (sight, *(list(STATES)[each] for each in (one, other)))


def test_forced_colours_and_large_text_keep_ground_and_names(visit, sheet):
    visitor = visit(390, forced_colors="active")
    page = visitor.open(sheet)
    page.wait_for_selector(".wall")
    grounds = "all => all.map(one => getComputedStyle(one).backgroundColor)"
    for kept in (".patches", ".wall", ".maps"):
        assert set(page.eval_on_selector_all(kept, grounds)) == {"rgb(118, 118, 118)"}, kept
    page.evaluate("document.documentElement.style.fontSize = '200%'")
    visitor.page.set_viewport_size({"width": 640, "height": 900})
    assert visitor.overflow() <= 0
