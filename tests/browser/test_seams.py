"""Colours that touch show nothing but themselves where they meet, whatever the screen.

A pixel on a seam may be a mixture of the two colours that meet there, so each of its channels lies
between theirs. Ratios of device pixels to CSS pixels are those of common desks, laptops and phones.
"""

from io import BytesIO
from itertools import pairwise

import numpy as np
import pytest
from PIL import Image

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
from stopgap.reports.drawing.touching import chip_plot, map_plot
from stopgap.reports.pocket import render_pocket
from stopgap.reports.render.html import render_html
from stopgap.swatches import Swatch

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
    }
  }
  return pairs;
}"""


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
    path.write_text(render_pocket(precompute_stand_ins(box)), encoding="utf-8")
    visitor = visit(391, device_scale_factor=ratio)
    page = visitor.open(path)
    page.fill("#query", "kelp")
    page.click("#results summary >> nth=0")
    page.wait_for_selector(".inside .patches")
    count, worst = worst_of(visitor, ratio)
    assert count >= 3
    assert worst <= 1


@pytest.mark.parametrize("ratio", [1, 1.25, 2.625])
def test_nothing_shows_between_touching_chips_of_a_picture(visit, tmp_path, ratio):
    path = tmp_path / "chips.html"
    drawn = chip_plot([Chip(tuple(DARKS[:3]), "dark"), Chip(tuple(LIGHTS), "light")])
    path.write_text(f"<!doctype html>{drawn.svg().decode()}", encoding="utf-8")
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


def test_nothing_shows_between_touching_colours_of_a_png():
    """A row of pixels through a cell of the map, and through rows of chips."""
    cells = [cell for _, rows in MAP.parts for cell in rows[0] if cell is not None]
    pairs = [(cell.labs, map_plot(MAP, "Seams", [])) for cell in cells]
    chips = [Chip(tuple(DARKS[:2]), "dark"), Chip(tuple(LIGHTS[:2]), "light")]
    pairs += [(chip.labs, chip_plot(chips)) for chip in chips]
    for labs, drawing in pairs:
        picture = np.asarray(Image.open(BytesIO(drawing.png())).convert("RGB")).astype(int)
        left, right = (np.array(list(bytes.fromhex(code[1:]))) for code in lab_to_hexes(labs))
        both = [(picture == colour).all(axis=2) for colour in (left, right)]
        # where a cell's own colour and its neighbour's stand in one row, not far from each other
        row = int(np.flatnonzero(both[0].any(axis=1) & both[1].any(axis=1))[3])
        last = int(np.flatnonzero(both[1][row])[0])
        first = int(np.flatnonzero(both[0][row, :last])[-1])
        assert last - first <= 2
        assert off_both(picture[row, first : last + 1], left, right) <= 1


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
