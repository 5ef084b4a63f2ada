"""What is asked right after pencils came or went is what a box made anew says, to the last bit."""

from dataclasses import replace

import numpy as np
import pytest
from test_recipe_cache import COVERS, ESTIMATED, TARGETS, measured, some_swatches

from stopgap.planner import Lately, LayerQuestion, RecipeCache, find_stand_ins, recipes_under
from stopgap.planner.nearness import hue_keeping_difference
from stopgap.planner.recipes import kept
from stopgap.planner.recipes.beside import RecipesBeside
from stopgap.planner.recipes.index import RecipeIndex
from stopgap.planner.recipes.kept import recipes_for_few
from stopgap.swatches import FreeColour, as_layered

FAR = FreeColour("", (55.0, 95.0, -40.0))


def every_pencil():
    """Some of which cover, were measured, lie nowhere near a surface, or are of one colour."""
    every = some_swatches(4, 26)
    every[3] = replace(every[3], lab=(60.0, 120.0, -120.0))
    every[5] = replace(every[5], lab=every[4].lab)
    every[7] = replace(every[7], lab=(97.5, 0.0, 0.0))
    every[9] = replace(every[9], reflectance=measured(every[9]))
    every[11] = replace(every[11], lab=every[12].lab)
    return every


ALL = {*range(26)}
FIRST = ALL - {0, 3, 5, 9, 25}
TICKED = {
    "one comes": FIRST | {9},
    "the first and the last": FIRST | {0, 25},
    "one that no surface has": FIRST | {3},
    "one of a colour that is there": FIRST | {5},
    "one goes": FIRST - {12},
    "one comes and one goes": FIRST - {2} | {25},
    "one lighter than the paper goes": FIRST - {7},
}


@pytest.fixture(params=[False, True], ids=["clear", "some cover"])
def conditions(request):
    covering = {f"Test:{number}": COVERS for number in range(0, 26, 3)}
    return replace(ESTIMATED, opacity=covering) if request.param else ESTIMATED


@pytest.fixture
def going_on(tmp_path, conditions):
    """A cache in which the first box is held, ready for who comes."""
    cache = RecipeCache(tmp_path / "recipes", Lately())
    recipes_under(conditions, of_numbers(FIRST), cache=cache)
    cache.lately.make_ready(conditions)
    return cache


def of_numbers(numbers):
    every = every_pencil()
    return [every[number] for number in sorted(numbers)]


def of_bits(found):
    return [(one.layings.tolist(), one.delta_E.tobytes()) for one in found]


def told(recipes, without):
    """All that is asked of recipes, as bits."""
    found = recipes.search(TARGETS, limit=5, without=without)
    far = recipes.scan(FAR.lab, hue_keeping_difference, limit=5, without=without)
    enough = recipes.described(found, most=[np.full(len(one.delta_E), 2.0) for one in found])
    told = recipes.described([found[0], far]), enough, recipes.described(found, sure=False)
    return of_bits([*found, far]), repr(told), recipes.notes


@pytest.mark.parametrize("numbers", TICKED.values(), ids=TICKED)
def test_it_is_what_a_box_made_anew_says(going_on, conditions, numbers):
    swatches = of_numbers(numbers)
    beside = recipes_for_few(conditions, swatches, cache=going_on)
    assert isinstance(beside, RecipesBeside)
    anew = recipes_under(conditions, swatches, cache=going_on._replace(lately=None))
    for without in (set(), {swatches[2].address, swatches[-1].address}):
        assert told(beside, without) == told(anew, without)


def test_however_it_is_asked_and_however_often_one_comes_or_goes(
    going_on, conditions, tmp_path, monkeypatch
):
    """Names and how sure swatches are may have changed as well, without a new colour."""
    targets = [FreeColour("", tuple(TARGETS[0])), every_pencil()[4], FAR]
    fresh = RecipeCache(tmp_path / "fresh")
    with monkeypatch.context() as none_made:
        none_made.setattr(kept, "recipes_under", None)
        boxes = [FIRST | {9}, FIRST | {9, 25}, FIRST - {1} | {9, 25}]
        asked = [
            [replace(one, name=f"{round_} {one.code}", uncertainty=1.0 + round_) for one in box]
            for round_, box in enumerate(map(of_numbers, boxes))
        ]
        answers = [answered(targets, swatches, conditions, going_on) for swatches in asked]
    assert answers == [answered(targets, swatches, conditions, fresh) for swatches in asked]


def answered(targets, swatches, conditions, cache):
    questions = [LayerQuestion(conditions, swatches, always=one, cache=cache) for one in (0, 1)]
    return [
        repr(find_stand_ins(target, swatches, layering=question))
        for target in targets
        for question in questions
    ]


def test_the_same_is_made_ready_once_and_forgotten_when_the_box_is_grown(going_on, conditions):
    swatches, lately = of_numbers(FIRST | {9}), going_on.lately
    recipes_for_few(conditions, swatches, cache=going_on)
    made = lately.beside
    recipes_for_few(conditions, swatches, cache=going_on)
    assert lately.beside is made
    recipes_under(conditions, swatches, cache=going_on)
    assert lately.beside is None
    assert isinstance(recipes_for_few(conditions, swatches, cache=going_on), RecipeIndex)


def test_where_many_have_changed_the_box_is_grown(going_on, conditions):
    for numbers in (FIRST | {0, 3, 5, 9}, {*sorted(FIRST)[:9]}):
        found = recipes_for_few(conditions, of_numbers(numbers), cache=going_on)
        assert isinstance(found, RecipeIndex)


def test_pencils_are_shown_as_they_are_on_the_paper_drawn_on(going_on, conditions):
    """What layers are reckoned from stands beside what a pencil looks like there."""
    swatches = [
        replace(one, lab=(50.0, 1.0, 1.0), layered_as=one) for one in of_numbers(FIRST | {9})
    ]
    found = recipes_for_few(conditions, swatches, cache=going_on)
    assert isinstance(found, RecipesBeside)
    anew = recipes_under(conditions, swatches)
    assert told(found, set()) == told(anew, set())
    (recipes,) = found.described(found.search(TARGETS[:1]))
    assert {one.lab for recipe in recipes for one in recipe.stack.swatches} == {(50.0, 1.0, 1.0)}
    assert [as_layered(one) for one in swatches] == of_numbers(FIRST | {9})
