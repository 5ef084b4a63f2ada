"""Plots: what is drawn where, in which form, and that every ending gives a file of its kind."""

import inspect
import subprocess
import sys

import coloraide
import numpy as np
import pytest
from scipy.spatial import ConvexHull

from stopgap.blends import blend
from stopgap.colorimetry import lab_to_hex
from stopgap.difference import delta_E
from stopgap.errors import InputError, NothingFoundError
from stopgap.planner import find_stand_ins
from stopgap.reports.drawing.blend_plots import blend_plot
from stopgap.reports.drawing.drawing import FORMS
from stopgap.reports.drawing.planes import plane_plot
from stopgap.swatches import FreeColour, Status, Swatch

pytestmark = pytest.mark.slow

RIM = 1.0  # points: a rim above this says that a pencil is owned

BOX = [
    Swatch("Fen", "1", (90.0, -5.0, 60.0), "Gorse", owned=True),
    Swatch("Fen", "2", (70.0, 20.0, 50.0), "$Sand$"),
    Swatch("Fen", "3", (52.0, 38.0, 30.0), "\x1b[31m<script>", owned=True),
    Swatch("Fen", "4", (30.0, 25.0, 12.0), "Wreck", owned=True, status=Status.DISCONTINUED),
    Swatch("Fen", "5", (50.0, -30.0, -20.0), "海苔"),
]
TARGET = FreeColour("lab(52 40 30)", (52.0, 40.0, 30.0))


@pytest.fixture(scope="module")
def answer():
    return find_stand_ins(TARGET, BOX, limit=3)


def discs(axes):
    """The first scatter of a plane: places, face colours, widths of the rims."""
    found = axes.collections[0]
    return np.asarray(found.get_offsets()), found.get_facecolors(), found.get_linewidths()


@pytest.mark.parametrize("plane", ["ab", "lightness"])
def test_swatches_stand_in_their_place_in_their_colour(plane):
    axes = plane_plot(BOX, plane).pages[0].axes[0]
    where, colours, rims = discs(axes)
    for swatch, place, colour, rim in zip(BOX, where, colours, rims, strict=True):
        L, a, b = swatch.lab
        lch = coloraide.Color("lab", [L, a, b]).convert("lch")
        expected = (a, b) if plane == "ab" else (lch["chroma"], L)
        np.testing.assert_allclose(place, expected, atol=1e-6)
        assert (rim > RIM) == swatch.owned
        srgb = coloraide.Color("lab", [L, a, b]).convert("srgb")
        if srgb.in_gamut(tolerance=0):
            np.testing.assert_allclose(colour[:3], srgb[:3], atol=1 / 255)
    crosses = np.asarray(axes.collections[1].get_offsets())
    assert len(crosses) == 1
    assert "[CIELAB]" in axes.get_xlabel()
    assert "[CIELAB]" in axes.get_ylabel()


def test_both_planes_are_shown_and_the_target_is_filled_with_its_colour(answer):
    alone = plane_plot(BOX).pages[0]
    assert [axes.get_xlabel()[:2] for axes in alone.axes] == ["a*", "", "C*"]
    assert "5 pencils, 3 owned" in [text.get_text() for text in alone.texts]
    figure = plane_plot(BOX, answer=answer).pages[0]
    (target,) = [line for line in figure.axes[0].lines if line.get_marker() == "D"]
    assert target.get_markerfacecolor() == lab_to_hex(TARGET.lab)
    titles = [axes.get_title(loc="left") for axes in figure.axes[2:]]
    assert titles == ["a*, b*; ring: ΔE00 = 1", "chroma and lightness; ring: ΔE00 = 1"]


def test_what_is_reached_lies_within_its_outline():
    """Against scipy's hull (Qhull); every point of it is one that was given."""
    random = np.random.default_rng(8)
    reach = np.column_stack([random.uniform(20, 90, 300), random.normal(0, 25, (300, 2))])
    axes = plane_plot(BOX, reach=reach).pages[0].axes[0]
    (dashed,) = [line for line in axes.lines if line.get_linestyle() == "--"]
    ring = np.column_stack(dashed.get_data())
    expected = reach[ConvexHull(reach[:, 1:]).vertices, 1:]
    assert set(map(tuple, ring)) == set(map(tuple, expected))


def test_a_dark_pencil_that_is_owned_has_a_light_ring_too():
    axes = plane_plot(BOX).pages[0].axes[0]
    rings = axes.collections[2]
    assert rings.get_edgecolors()[:, :3].min() == 1.0
    owned = [swatch.lab[1:] for swatch in BOX if swatch.owned]
    np.testing.assert_allclose(np.asarray(rings.get_offsets()), owned)
    assert rings.get_sizes()[0] > axes.collections[0].get_sizes()[0]


@pytest.mark.parametrize("plane", ["ab", "lightness"])
def test_the_ring_lies_one_delta_E_round_the_target(answer, plane):
    close_up = plane_plot(BOX, plane, answer=answer).pages[0].axes[2]
    ring = next(line for line in close_up.lines if len(line.get_xdata()) > 20)
    x, y = np.array(ring.get_xdata()), np.array(ring.get_ydata())
    L, a, b = TARGET.lab
    if plane == "ab":
        around = np.column_stack([np.full(len(x), L), x, y])
    else:
        chroma = np.hypot(a, b)
        around = np.column_stack([y, a / chroma * x, b / chroma * x])
    # an ellipse is exact for small steps only: at one ΔE00 the formula has bent by some per cent
    np.testing.assert_allclose(delta_E(TARGET.lab, around), 1.0, atol=0.06)


def test_every_match_is_numbered_and_named(answer):
    figure = plane_plot(BOX, answer=answer).pages[0]
    numbers = [text.get_text() for text in figure.axes[2].texts]
    assert numbers == ["1", "2", "3"]
    written = " ".join(text.get_text() for text in figure.texts)
    for match in answer.matches:
        assert f"ΔE {match.delta_E:.1f}" in written
    assert "\\x1b[31m<script>" in written
    assert "\x1b" not in written


def test_gaps_are_seen_without_colour():
    found = blend(BOX[0], BOX[3], BOX[:4], limit=23.0)
    path, _, steps = blend_plot([found]).pages[0].axes
    dotted = [line.get_linestyle() == ":" for line in path.lines if len(line.get_xdata()) == 2]
    hatched = [bool(bar.get_hatch()) for bar in steps.patches if bar.get_height() > 0]
    over = [place in found.over_limit for place in range(len(found.steps))]
    assert any(over)
    assert not all(over)
    assert dotted[-len(over) :] == over
    assert hatched == over
    heights = [bar.get_height() for bar in steps.patches if bar.get_height() > 0]
    np.testing.assert_allclose(heights, found.steps)
    assert "ΔE00" in steps.get_ylabel()


@pytest.mark.parametrize(
    ("ending", "opening"), [(".png", b"\x89PNG"), (".svg", b"<?xml"), (".pdf", b"%PDF")]
)
def test_forms(answer, ending, opening):
    for drawing in (
        plane_plot(BOX, answer=answer),
        blend_plot([blend((90.0, 0.0, 0.0), BOX[3], BOX[:3]).named("$x_1 {")]),
    ):
        (content,) = FORMS[ending](drawing)
        assert content.startswith(opening)
        assert FORMS[ending](drawing) == [content]


def test_characters_that_no_font_has_are_told():
    odd = Swatch("Fen", "9", (52.0, 41.0, 30.0), name="\U000c0000\U0001f9ff")
    answer = find_stand_ins(TARGET, [odd])
    assert "\U0001f9ff" in plane_plot([odd], answer=answer).unshown


def test_bad_input():
    with pytest.raises(NothingFoundError):
        plane_plot([])
    with pytest.raises(NothingFoundError):
        blend_plot([])
    with pytest.raises(InputError, match="ab, lightness"):
        plane_plot(BOX, "sideways")


_SPARED = """
import sys, warnings
from stopgap.reports.drawing.sparing import load_sparingly
load_sparingly(".pdf")
loaded = {"mpl_toolkits.mplot3d", "fontTools.varLib.merger"} & sys.modules.keys()
assert not loaded, loaded
from stopgap.reports.drawing.drawing import FORMS
from stopgap.reports.drawing.planes import plane_plot
from stopgap.swatches import Swatch
assert not {"pyparsing", "matplotlib.dates"} & sys.modules.keys()
from matplotlib.font_manager import FontProperties
assert "DejaVu Sans" in str(FontProperties(family="DejaVu Sans"))
drawing = plane_plot([Swatch("Fen", "1", (90.0, -5.0, 60.0), "Gorse", owned=True)])
for ending, write in FORMS.items():
    with open("spared" + ending, "wb") as file:
        file.write(write(drawing)[0])
import fontTools.varLib.merger, matplotlib.pyplot  # are there for who wants them afterwards
"""


def test_what_is_loaded_sparingly_draws_the_same_to_the_last_byte(tmp_path):
    done = subprocess.run(
        [sys.executable, "-c", _SPARED], capture_output=True, text=True, cwd=tmp_path
    )
    assert done.returncode == 0, done.stderr
    drawing = plane_plot([Swatch("Fen", "1", (90.0, -5.0, 60.0), "Gorse", owned=True)])
    with np.printoptions(legacy=False):  # which colour-science changes, and marks have names by it
        written = {ending: write(drawing)[0] for ending, write in FORMS.items()}
    for ending, data in written.items():
        assert (tmp_path / f"spared{ending}").read_bytes() == data, ending


def write_sheet(beginning):
    from stopgap.reports.drawing.drawing import FORMS, Drawing
    from stopgap.reports.drawing.sheets import DrawnSheet, Look, Words

    sheet = DrawnSheet(60.0, 40.0)
    sheet.rectangle(5.0, 5.0, 20.0, 9.0, Look(fill="#c04a2b", edge="black", line=0.4))
    sheet.write(Words(30.0, 20.0, "flat", side="center", middle=True))
    drawing = Drawing((sheet.page(),))
    for ending, write in FORMS.items():
        with open(beginning + ending, "wb") as file:
            file.write(write(drawing)[0])


_WITHOUT_AXES = f"""
import sys
from stopgap.reports.drawing.sparing import load_sparingly
load_sparingly(".svg", axes=False)
{inspect.getsource(write_sheet)}
write_sheet("spared")
from stopgap.reports.drawing import charts, touching
assert not {{"matplotlib.axes", "matplotlib.contour"}} & sys.modules.keys()
"""


def test_without_axes_a_sheet_is_the_same_to_the_last_byte(tmp_path):
    done = subprocess.run(
        [sys.executable, "-c", _WITHOUT_AXES], capture_output=True, text=True, cwd=tmp_path
    )
    assert done.returncode == 0, done.stderr
    with np.printoptions(legacy=False):
        write_sheet(str(tmp_path / "usual"))
    for ending in FORMS:
        spared, usual = (tmp_path / f"{which}{ending}" for which in ("spared", "usual"))
        assert spared.read_bytes() == usual.read_bytes(), ending
