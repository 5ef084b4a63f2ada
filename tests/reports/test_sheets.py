"""Sheets against the same marks drawn by matplotlib's axes."""

from io import BytesIO

import numpy as np
import pytest
from matplotlib.figure import Figure
from matplotlib.patches import Polygon, Rectangle
from PIL import Image
from pypdf import PdfReader

from stopgap.reports.drawing.drawing import MM, drawing_style
from stopgap.reports.drawing.sheets import DrawnSheet, Look, Words

WIDE, HIGH = 80.0, 50.0
BOXES = [
    ((5.0, 6.0, 30.0, 10.0), Look(edge="#8a8a8a", line=0.5)),
    ((5.0, 20.0, 30.0, 10.0), Look(edge="#1a1a1a", line=1.5, dashes=(4.0, 2.0))),
    ((40.0, 20.0, 9.3, 9.3), Look(fill="#c04a2b")),
    ((50.0, 20.0, 9.3, 9.3), Look(fill="#2b4ac0", edge="#000000", line=2.0)),
]
LINE = [(5.0, 40.0), (30.0, 44.0), (60.0, 38.0)]
RINGS = np.array([[(60, 5), (66, 5), (63, 9)], [(68, 5), (74, 5), (71, 9)]], dtype=float)
WORDS = [
    Words(5.0, 12.0, "Gorse $x$", 9.0, colour="#5a5a5a"),
    Words(75.0, 16.0, "right", 7.0, bold=True, colour="#1a1a1a", side="right"),
    Words(55.0, 33.0, "in the middle", 6.0, colour="#1a1a1a", side="center"),
    Words(40.0, 8.0, "Half", 8.0, colour="#1a1a1a", middle=True),
]


def on_sheet():
    sheet = DrawnSheet(WIDE, HIGH)
    for box, look in BOXES:
        sheet.rectangle(*box, look)
    sheet.line(LINE, Look(edge="#1a1a1a", line=0.8))
    sheet.rings(RINGS, Look(fill="#000000"))
    for words in WORDS:
        sheet.write(words)
    sheet.write(Words(1.0, 1.0, ""))
    return sheet.page()


def on_axes():
    figure = Figure(figsize=(WIDE * MM, HIGH * MM))
    axes = figure.add_axes((0.0, 0.0, 1.0, 1.0), xlim=(0.0, WIDE), ylim=(HIGH, 0.0))
    axes.set_axis_off()
    for (x, y, width, height), look in BOXES:
        dashes = (0.0, look.dashes) if look.dashes else "solid"
        face, edge = look.fill or "none", look.edge or "none"
        style = {"fc": face, "ec": edge, "lw": look.line, "ls": dashes}
        axes.add_patch(Rectangle((x, y), width, height, capstyle="butt", **style))
    axes.plot(*zip(*LINE, strict=True), color="#1a1a1a", lw=0.8, solid_capstyle="butt")
    for line in axes.lines:
        line.set_solid_joinstyle("miter")
    for ring in RINGS:
        axes.add_patch(Polygon(ring, fc="#000000", lw=0))
    for words in WORDS:
        weight, va = "bold" if words.bold else "normal", "center" if words.middle else "baseline"
        style = {"size": words.size, "weight": weight, "color": words.colour, "ha": words.side}
        axes.text(words.x, words.y, words.text, va=va, **style)
    return figure


def saved(figure, form):
    stream = BytesIO()
    with drawing_style():
        figure.savefig(stream, format=form)
    return stream


@pytest.fixture(scope="module")
def both():
    with drawing_style():
        return on_sheet(), on_axes()


def test_a_picture_is_the_same(both):
    """But for what stands by its middle, which axes round to whole pixels."""
    one, other = (
        np.asarray(Image.open(saved(page, "png")).convert("L"), dtype=int) for page in both
    )
    apart = np.abs(one - other)
    left, right, top, bottom = (round(mm * 144 / 25.4) for mm in (39.0, 50.0, 5.0, 11.0))
    assert apart[top:bottom, left:right].mean() < 4.0
    apart[top:bottom, left:right] = 0
    assert one.min() < 50
    assert apart.max() <= 2


def test_text_stands_in_the_same_places(both):
    """By the matrices that pypdf reads of the text, in points."""
    found = []
    for page in both:
        places = {}

        def visit(text, matrix, _, __, ___, places=places):
            if text.strip():
                places[text.strip()] = matrix[4:]

        PdfReader(saved(page, "pdf")).pages[0].extract_text(visitor_text=visit)
        found.append(places)
    assert set(found[0]) == set(found[1]) == {words.text for words in WORDS}
    for text, place in found[0].items():
        assert place == pytest.approx(found[1][text], abs=0.01), text


def test_an_svg_says_which_side_stands_where(both):
    svg = saved(both[0], "svg").getvalue().decode()
    assert svg.count("text-anchor: end") == svg.count("text-anchor: middle") == 1
    assert svg.count("text-anchor: start") == 2
