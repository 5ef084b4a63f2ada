"""The map of holes: every cell against every pencil and every recipe, every hole against the map.

Cells are compared by colour-science's CIEDE2000 (`colour.delta_E`, method "CIE 2000"), which shares
no code with this project's.
"""

import json
import re
from collections import Counter
from contextlib import redirect_stdout
from dataclasses import replace
from io import StringIO

import colour
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stopgap.cli.program import run
from stopgap.colorimetry import lab_to_hex
from stopgap.defaults import TOLERANCE
from stopgap.errors import NothingFoundError
from stopgap.library import open_library
from stopgap.planner import estimated_conditions, find_holes, ground_of, map_of_holes, recipes_under
from stopgap.planner.kits.holes import NEAR, map_labs
from stopgap.planner.nearness import SAME_TO_THE_EYE
from stopgap.reports import RENDERERS
from stopgap.reports.colour_map import colour_map, holes_report, plot_lines
from stopgap.reports.drawing.touching import map_plot
from stopgap.reports.render.console import make_console
from stopgap.reports.render.html import render_html
from stopgap.reports.render.terminal import render_terminal
from stopgap.swatches import Selection, Swatch

pytestmark = pytest.mark.slow


def pencils(range_name, labs):
    return [Swatch(range_name, f"{place:02}", tuple(lab)) for place, lab in enumerate(labs)]


def apart(labs):
    """ΔE00 of every cell to each of some colours."""
    return colour.delta_E(map_labs()[:, np.newaxis], np.array(labs), method="CIE 2000")


def at(L, C, row, aside):
    """A colour between two hues of the map: at the very opposite hue CIEDE2000 jumps (Sharma 2005,
    section 2.2), and there two programmes may part.
    """
    hue = np.radians(15 * row + aside)
    return L, C * np.cos(hue), C * np.sin(hue)


colours = st.builds(
    at, st.floats(15, 95), st.floats(0, 70), st.integers(0, 23), st.floats(0.5, 14.5)
)
boxes = st.lists(colours, min_size=1, max_size=12)


@settings(max_examples=25, deadline=None)
@given(own=boxes, sale=st.lists(colours, max_size=12))
def test_cells_and_holes_equal_brute_force(own, sale):
    found = map_of_holes(pencils("Own", own), pencils("Sale", sale), limit=9)
    off = apart(own).min(axis=1)
    assert [cell.delta_E for cell in found.cells] == pytest.approx(off.tolist(), abs=1e-9)
    assert np.array([cell.lab for cell in found.cells]) == pytest.approx(map_labs())
    then = apart(sale) if sale else np.full((len(off), 1), np.inf)
    best = then.min(axis=1)
    close = np.minimum(off, best) <= NEAR
    if (np.abs(np.minimum(off, best) - NEAR) > 1e-9).all():
        assert [cell.counts for cell in found.cells] == close.tolist()
    holes = (off > TOLERANCE) & (best <= NEAR) & (off - best > SAME_TO_THE_EYE)
    fillers = {int(one) for one in then.argmin(axis=1)[holes]}
    assert found.found == len(fillers)
    assert len(found.holes) == min(9, len(fillers))
    numbered = {cell.hole: cell for cell in found.cells if cell.hole}
    for hole in found.holes:
        column = int(hole.fill.code)
        its = holes & (then.argmin(axis=1) == column)
        assert hole.cell.delta_E == pytest.approx(off[its].max())
        assert hole.then == pytest.approx(best[its & (off >= off[its].max() - 1e-9)].min())
        assert hole.cells == (off - then[:, column] > SAME_TO_THE_EYE).sum()
        assert numbered[hole.number] == hole.cell
    worst = [hole.cell.delta_E for hole in found.holes]
    assert worst == sorted(worst, reverse=True)


def test_layers_reach_what_the_nearest_recipe_or_pencil_does():
    random = np.random.default_rng(5)
    own = pencils("Own", np.column_stack([random.uniform(30, 90, 8), random.normal(0, 30, (8, 2))]))
    conditions = estimated_conditions()
    found = map_of_holes(own, [], layers=conditions)
    every = [*(one.lab for one in own), *recipes_under(conditions, own).index.lab]
    assert [cell.layered_delta_E for cell in found.cells] == pytest.approx(
        apart(every).min(axis=1).tolist(), abs=1e-9
    )
    assert all(cell.delta_E <= cell.alone_delta_E for cell in found.cells)
    shown = colour.delta_E(
        map_labs(), np.array([cell.reached.lab for cell in found.cells]), method="CIE 2000"
    )
    assert shown == pytest.approx([cell.delta_E for cell in found.cells], abs=1e-6)


def test_how_sure_recipes_are_is_worked_out_for_those_who_ask():
    own = pencils("Own", [(50, 40, 20), (70, -10, 50), (60, -20, -30), (35, 10, -30)])
    conditions = estimated_conditions()
    found = map_of_holes(own, pencils("Sale", [(60, 10, -30), (70, -40, 0)]), layers=conditions)
    assert all(cell.layered.uncertainty == 0.0 for cell in found.cells if cell.layered.recipe)
    sure = found.weighed()
    index = recipes_under(conditions, own)
    recipes = [cell for cell in sure.cells if cell.layered.recipe]
    for cell in recipes[:: len(recipes) // 4]:
        ((nearest,),) = index.recipes(np.array([cell.lab]), limit=1)
        assert cell.layered.uncertainty == pytest.approx(nearest.laid.uncertainty, rel=1e-9)
    assert found.holes
    for hole, its in zip(found.weighed(holes=True).holes, sure.holes, strict=True):
        assert hole.cell.layered.uncertainty == pytest.approx(its.cell.layered.uncertainty)
    assert found.weighed(holes=True).weighed() == sure.weighed() == sure == found.weighed()


def test_buying_what_fills_the_worst_hole_closes_it(demo_library):
    with open_library(demo_library, read_only=True) as library:
        swatches = ground_of(library).swatches
    before = find_holes(swatches, Selection())
    assert not before.notes
    assert before.owned == len(Selection(owned=True).of(swatches))
    first = before.holes[0]
    bought = [replace(one, owned=True) if one == first.fill else one for one in swatches]
    after = find_holes(bought, Selection())
    assert (after.owned, after.for_sale) == (before.owned + 1, before.for_sale - 1)
    place = before.cells.index(first.cell)
    assert after.cells[place].delta_E == pytest.approx(first.then)
    assert after.mean_delta_E < before.mean_delta_E


def test_nothing_owned_and_nothing_for_sale():
    with pytest.raises(NothingFoundError):
        map_of_holes([], pencils("Sale", [(50, 0, 0)]))
    found = map_of_holes(pencils("Own", [(50, 0, 0)]), [])
    assert not found.holes
    assert {cell.layered for cell in found.cells} == {None}


def test_the_command_tells_what_the_map_tells(demo):
    status, out, _ = demo("holes", "--json", "--limit", "2", "--range", "Brindlewick")
    told = json.loads(out)
    assert status == 0
    assert len(told["holes"]) <= 2
    assert {hole["fill"]["range"] for hole in told["holes"]} == {"Brindlewick"}
    by_place = {(c["chroma"], c["hue"], c["lightness"]): c for c in told["cells"]}
    for hole in told["holes"]:
        cell = by_place[hole["chroma"], hole["hue"], hole["lightness"]]
        assert cell["hole"] == hole["number"]
        assert cell["layered_delta_E"] == hole["delta_E"] == hole["then"] + hole["nearer"]
    status, page, _ = demo("holes", "--limit", "2", "--no-layers")
    assert "#1" in page
    assert max(map(len, page.splitlines())) <= 80


def test_one_map_in_the_terminal_on_a_page_and_in_a_picture():
    found = map_of_holes(
        pencils("Own", [(50, 14, 4), (70, 40, 20)]), pencils("Sale", [(60, 15, 0)])
    )
    assert found.holes
    shown = colour_map(found)
    said = [
        f"#{cell.hole}" if cell.hole else cell.off
        for _, rows in shown.parts
        for row in rows
        for cell in row
        if cell is not None
    ]
    assert len(said) == len(found.counting)
    assert said.count("#1") == 1
    (sheet,) = map_plot(shown, "Reach", plot_lines(found)).pages[0].artists
    written = Counter(words.text for words in sheet.words)
    assert Counter(said) <= written
    painted = [
        look.fill for path, look in sheet.shapes if abs(path.get_extents().height - 4.2) < 1e-9
    ]
    assert len(painted) == 2 * len(said)
    first = shown.parts[0][1][0][0] or next(
        cell for _, rows in shown.parts for row in rows for cell in row if cell is not None
    )
    assert painted[0] == lab_to_hex(first.labs[0])
    plain = RENDERERS["terminal"](holes_report(found)).splitlines()[4:28]
    words = Counter(word for line in plain for word in line[7:].split())
    assert words.total() == len(said)
    assert words.keys() <= {"+", "–", "×", *(f"#{hole.number}" for hole in found.holes)}
    report = holes_report(found)._replace(figures=True)
    lines = RENDERERS["terminal"](report).splitlines()
    cells = Counter(word for line in lines[4:28] for word in line[10:].split())
    assert cells == Counter(said)
    narrow = render_terminal(report, make_console(StringIO(), width=50, environment={}))
    assert max(map(len, narrow.splitlines())) <= 50
    assert render_html(report).count('class="pair"') == len(said)


@pytest.fixture(scope="module")
def compared(demo_library, tmp_path_factory):
    """Answer in JSON and page of a purchase that is compared."""
    folder = tmp_path_factory.mktemp("compared")
    (folder / "list.csv").write_text("colour\nFennmoor:FM031\nFennmoor:FM079\n", encoding="utf-8")
    (folder / "blends.csv").write_text("name,from,to\npool,Quillet:Q18,Fennmoor:FM034\n")
    asked = ["--list", str(folder / "list.csv"), "--blends", str(folder / "blends.csv")]
    place = ["--library", str(demo_library), "--quiet"]
    words = ["shop", *asked, "--no-layers", "--compare", "--figures"]
    page, out = folder / "page.html", StringIO()
    with redirect_stdout(out):
        run([*place, *words, "--json"])
        run([*place, "sheet", str(page), "--for", *words])
    return json.loads(out.getvalue()), page.read_text(encoding="utf-8")


def test_every_figure_of_a_purchase_compared_is_that_of_its_answer(compared):
    told, page = compared
    assert f"Buy {len(told['buy'])} for {told['cost']:.2f}" in page
    for need in told["needs"]:
        for name, state in (("now", need["before"]), ("then", need["after"])):
            if name == "then" and need["before"] == need["after"]:
                assert "then: the same" in page
            elif need["kind"] == "colour":
                assert f"{name}: ΔE {state['delta_E']:.1f} (limit {state['limit']:g})" in page
            else:
                assert f"{name}: largest step {state['largest_step']:.1f}" in page
    maps = re.findall(r'<div class="maps[^>]*>.*?</div>', page, re.DOTALL)
    assert len(maps) == 2
    for shown, state in zip(maps, told["holes"].values(), strict=True):
        off = re.findall(r'class="off" aria-hidden="true">(\d+)', shown)
        assert off == [f"{cell['delta_E']:.0f}" for cell in state["cells"] if cell["counts"]]
        near = f"{state['reached']} of {state['counting']} cells come within"
        assert near in page
        assert f"the mean is {state['mean_delta_E']:.1f}." in page
    before, after = told["holes"].values()
    bought = [one["swatch"]["lab"] for one in told["buy"]]
    known = np.minimum([cell["delta_E"] for cell in before["cells"]], apart(bought).min(axis=1))
    assert [cell["delta_E"] for cell in after["cells"]] == pytest.approx(known.tolist(), abs=1e-9)


def test_the_target_touches_what_is_laid_now_and_then(compared):
    told, page = compared
    colours = [need for need in told["needs"] if need["kind"] == "colour"]
    captions = "<span>target</span><span>now</span><span>target</span><span>then</span>"
    assert page.count(captions) == len(colours)
    blends = [need for need in told["needs"] if need["kind"] == "blend"]
    strips = re.findall(r'<ol class="strip[^"]* stepped[^"]*">(.*?)</ol>', page, re.DOTALL)
    assert len(strips) == sum(1 + (need["before"] != need["after"]) for need in blends)
    stops = blends[0]["before"]["stops"]
    high = [int(each) for each in re.findall(r"high(\d+)", strips[0])]
    assert high == [int(stop["lab"][0] // 10) for stop in stops]
