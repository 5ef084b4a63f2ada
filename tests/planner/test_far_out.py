"""Where nothing is near, what is offered first keeps the hue."""

import colorsys
import json

import numpy as np
import pytest

from stopgap.colorimetry import srgb_to_lab
from stopgap.difference import delta_E, delta_E_ciede2000
from stopgap.library import open_library
from stopgap.planner import (
    Asked,
    LayerQuestion,
    estimated_conditions,
    find_stand_ins,
    layered_stacks,
    translate,
)
from stopgap.planner.nearness import FAR, hue_keeping_difference
from stopgap.swatches import FreeColour, Selection, Swatch

pytestmark = pytest.mark.slow

KEPT, GREY, VIVID = 20.0, 12.0, 60.0  # chroma, of what is near in hue, next to grey, and the target


def vivid_colours(steps=12):
    """Colours of an even grid of sRGB whose chroma is above VIVID."""
    grid = np.linspace(0.0, 1.0, steps)
    labs = np.asarray(srgb_to_lab(np.array(np.meshgrid(grid, grid, grid)).reshape(3, -1).T))
    return labs[chroma(labs) > VIVID]


def pure_hues():
    """The 36 hues of full saturation."""
    return np.asarray(srgb_to_lab([colorsys.hsv_to_rgb(place / 36, 1, 1) for place in range(36)]))


def chroma(labs):
    return np.hypot(labs[..., 1], labs[..., 2])


def hue_apart(target, labs):
    """Degrees between the hues."""
    hues = np.degrees(np.arctan2(labs[..., 2], labs[..., 1]))
    return np.abs((hues - np.degrees(np.arctan2(target[2], target[1])) + 180.0) % 360.0 - 180.0)


def can_keep(target, labs):
    return bool(np.any((chroma(labs) >= KEPT) & (hue_apart(target, labs) <= 30.0)))


@pytest.fixture(scope="module")
def pencils(demo_library):
    with open_library(demo_library) as library:
        return [one for one in library.swatches() if one.finish == "plain"]


def test_no_grey_stands_first_for_a_vivid_colour(pencils):
    """Of every box: the demo's, and small ones drawn from it, where there is less to choose."""
    labs = np.array([one.lab for one in pencils])
    generator = np.random.default_rng(1)
    asked, would_be_grey = 0, 0
    for count in (len(labs), 48, 24, 24, 12):
        box = labs[generator.choice(len(labs), count, replace=False)]
        for target in [*vivid_colours(), *pure_hues()]:
            apart = delta_E_ciede2000(target, box)
            if chroma(target) <= VIVID or apart.min() <= FAR or not can_keep(target, box):
                continue
            asked += 1
            would_be_grey += chroma(box[apart.argmin()]) < GREY
            first = box[hue_keeping_difference(target, box).argmin()]
            assert chroma(first) >= GREY
            assert hue_apart(target, first) < 60.0
    assert asked > 1000
    assert would_be_grey > 20  # there was something to mend


def test_pencils_and_recipes_are_ranked_anew_together(pencils):
    owned = [one for one in pencils if one.owned]
    question = LayerQuestion.among(pencils, Selection(), estimated_conditions(), always=True)
    for target in [*pure_hues()[::6], np.array([60.2, 93.5, -60.5])]:
        colour = FreeColour("", tuple(target.tolist()))
        answer = find_stand_ins(colour, owned, layering=question)
        near = min(one.delta_E for one in (*answer.matches, *answer.layers))
        assert (answer.ranked_by == "hue") == (near > FAR)
        if answer.ranked_by != "hue":
            continue
        for several in (
            [one.swatch.lab for one in answer.matches],
            [one.lab for one in answer.layers],
        ):
            apart = hue_keeping_difference(target, several)
            assert (np.diff(apart) >= 0.0).all()
            assert chroma(np.array(several))[0] >= KEPT
        for one in answer.matches:
            assert one.delta_E == delta_E(target, one.swatch.lab)
        for one in answer.layers:
            assert one.delta_E == pytest.approx(delta_E(target, one.lab))
        assert "keep the hue, not by ΔE00" in " ".join(map(str, answer.notes))


def test_what_is_near_or_asked_otherwise_is_ranked_as_ever(pencils):
    far, near = FreeColour("", (60.2, 93.5, -60.5)), FreeColour("", (50.0, 20.0, 10.0))
    assert find_stand_ins(far, pencils).ranked_by == "hue"
    assert find_stand_ins(near, pencils).ranked_by == "delta_E"
    assert find_stand_ins(far, pencils, metric="HyAB").ranked_by == "delta_E"
    careful = find_stand_ins(far, pencils, cautious=True)
    assert careful.ranked_by == "upper"
    distances = [one.delta_E for one in find_stand_ins(far, pencils, metric="CIE 1976").matches]
    assert distances == sorted(distances)


@pytest.mark.parametrize("distinct", [True, False])
def test_a_list_keeps_hues_too(pencils, distinct):
    slate = Swatch("Own", "slate", (42.0, 1.0, -8.0))
    violet = Swatch("Own", "violet", (38.0, 22.0, -32.0))
    asked = [
        Asked.of(FreeColour("#8000ff", (39.4, 74.7, -95.4))),
        Asked.of(FreeColour("b", (70, 0, 0))),
    ]
    grey = Swatch("Own", "grey", (70.0, 0.0, 1.0))
    found = translate(asked, [slate, violet, grey], distinct=distinct)
    assert [row.given.label for row in found.rows] == ["Own:violet", "Own:grey"]
    assert [row.by_hue for row in found.rows] == [True, False]
    assert found.rows[0].delta_E == delta_E(asked[0].lab, violet.lab)
    other = translate(asked, [slate, violet, grey], distinct=distinct, metric="HyAB")
    assert not any(row.by_hue for row in other.rows)


def test_the_command_says_so(demo):
    status, out, _ = demo("match", "#ff00ff", "--json")
    assert status == 0
    assert json.loads(out)["ranked_by"] == "hue"


def test_a_list_finds_the_recipes_that_a_question_finds(pencils):
    """One colour at a time, so that no other brings recipes along."""
    owned = [one for one in pencils if one.owned]
    index = LayerQuestion(estimated_conditions(), owned).index()
    question = LayerQuestion(estimated_conditions(), owned, made=index)
    recipes = layered_stacks(estimated_conditions(), keep_hue=True)
    asked = [FreeColour("", tuple(each.tolist())) for each in pure_hues()[[2, 10, 22, 25, 29]]]
    by_hue = 0
    for colour in asked:
        answer = find_stand_ins(colour, owned, layering=question)
        (row,) = translate([Asked.of(colour)], owned, recipes=recipes).rows
        by_hue += row.by_hue
        shown = [*(one.swatch.lab for one in answer.matches), *(one.lab for one in answer.layers)]
        given = hue_keeping_difference(colour.lab, [row.given.lab])[0]
        assert row.by_hue == (answer.ranked_by == "hue")
        assert not row.by_hue or given <= hue_keeping_difference(colour.lab, shown).min() + 1e-9
    assert by_hue >= 3


def test_a_recipe_that_is_near_stands_above_pencils_that_are_not(pencils):
    """Else a grey pencil, unsure as the recipe may be: lab(60 18 -62) is a vivid blue."""
    owned = [one for one in pencils if one.owned]
    question = LayerQuestion(estimated_conditions(), owned)
    answer = find_stand_ins(FreeColour("", (60.0, 18.1, -62.0)), owned, layering=question)
    assert answer.matches[0].delta_E > FAR
    assert min(one.delta_E for one in answer.layers) <= FAR
    assert answer.layers_first
