"""The word beside a recipe is what it promises, and the best answer stands first."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from stopgap.difference import GRADES, delta_E_ciede2000
from stopgap.layering import Recipe
from stopgap.library import open_library
from stopgap.planner import LayerQuestion, RecipeCache, estimated_conditions, find_stand_ins
from stopgap.planner.nearness import apart_to_the_eye, by_promise, promise_of, recipes_lead
from stopgap.swatches import FreeColour, LaidStack, Layer, Scattering, Selection, Stack, Swatch

pytestmark = pytest.mark.slow

ONE, TWO = (Swatch("Fen", code, (50.0, 10.0 * place, 0.0)) for place, code in enumerate("12"))


@pytest.fixture(scope="module")
def answers(demo_library, tmp_path_factory):
    """Every pencil of the demonstration asked for, with all recipes of what is owned."""
    with open_library(demo_library, read_only=True) as library:
        swatches = library.swatches()
    cache = RecipeCache(tmp_path_factory.mktemp("recipes"))
    owned = Selection(owned=True).of(swatches)
    question = LayerQuestion(estimated_conditions(), owned, cache=cache)
    return [find_stand_ins(target, swatches, layering=question) for target in swatches]


def recipe(delta_E, bound):
    low = max(0.0, 2.0 * delta_E - bound)
    return Recipe(Stack.of(ONE, TWO), ONE.lab, delta_E, (low, bound), 1.0, 1.0, ())


def test_no_interval_reaches_beyond_the_word(answers):
    recipes = [one for answer in answers for one in answer.layers]
    assert len(recipes) > 80
    for one in recipes:
        assert one.interval[1] <= GRADES[one.promise.grade]
    # by their middles many would: the rule is needed
    flattered = [one for one in recipes if one.promise.likely_grade in ("same", "very close")]
    assert len(flattered) >= 30
    assert sum(one.interval[1] > GRADES["close"] for one in flattered) > len(flattered) / 2


def test_recipes_stand_first_exactly_where_one_promises_more_than_every_pencil(answers):
    assert {answer.layers_first for answer in answers} == {True, False}
    for answer in answers:
        nearest = min(match.delta_E for match in answer.matches)
        promises = [one.interval[1] for one in answer.layers]
        assert answer.layers_first == any(bound < nearest for bound in promises)
        if answer.layers_first:
            assert promises[0] < nearest
            words = list(GRADES)
            best = min(words.index(match.grade) for match in answer.matches)
            assert words.index(answer.layers[0].promise.grade) <= best


def test_below_them_stand_at_most_two_pencils_that_look_different(answers):
    for answer in answers:
        assert len(answer.matches) <= (2 if answer.layers_first else 5)
        if answer.layers_first and len(answer.matches) == 2:
            one, other = (match.swatch.lab for match in answer.matches)
            assert delta_E_ciede2000(one, other) > GRADES["same"]


def test_a_pair_counts_once_whatever_its_pressures(answers):
    for answer in answers:
        pairs = [one.stack.addresses for one in answer.layers]
        assert len(set(pairs)) == len(pairs)


def test_the_order_is_by_promise_then_by_what_is_expected():
    generator = np.random.default_rng(6)
    for nearest in (2.0, 6.0, np.inf):
        middles = generator.uniform(0.0, 8.0, 40)
        found = by_promise(
            [recipe(middle, middle + more) for middle, more in zip(middles, middles[::-1])], nearest
        )
        for one, after in pairwise(found):
            leads = [each.promise.bound < nearest for each in (one, after)]
            assert leads != [False, True]
            if leads[0] == leads[1]:
                limits = [GRADES[each.promise.grade] for each in (one, after)]
                assert limits[0] <= limits[1]
                assert limits[0] < limits[1] or one.delta_E <= after.delta_E
        assert recipes_lead(found, nearest) == (found[0].promise.bound < nearest)


def test_a_recipe_no_surer_than_the_pencil_does_not_lead():
    assert not recipes_lead([], 5.0)
    assert not recipes_lead([recipe(1.0, 5.0)], 5.0)
    assert recipes_lead([recipe(1.0, 4.9)], 5.0)


def test_lookalikes_count_as_one():
    row = [Swatch("Fen", str(place), (50.0 + 0.3 * place, 0.0, 0.0)) for place in range(9)]
    chosen = apart_to_the_eye(row, 2)
    assert chosen[0] == row[0]
    assert delta_E_ciede2000(chosen[0].lab, chosen[1].lab) > GRADES["same"]
    before = row[row.index(chosen[1]) - 1]
    assert delta_E_ciede2000(chosen[0].lab, before.lab) <= GRADES["same"]
    assert len(apart_to_the_eye(row[:3], 2)) == 1


def test_a_pencil_promises_its_swatch_and_a_recipe_its_bound():
    target = (50.0, 1.0, 0.0)
    pencil = LaidStack.of(ONE)
    lighter = LaidStack(Stack([Layer(ONE, "light")]), ONE.lab, 2.0)
    apart = float(delta_E_ciede2000(target, ONE.lab))
    assert promise_of(target, pencil).bound == apart
    # GUM (JCGM 100:2008), table G.2, 90 % of a normal distribution: 1.645 (from memory)
    assert promise_of(target, lighter).bound == pytest.approx(apart + 1.645 * 2.0)


def test_pencils_alone_answer_as_they_did(answers):
    """Without recipes nothing is left out, and a word follows the swatch."""
    asked = [answer for answer in answers if not answer.layers]
    assert len(asked) > 50
    for answer in asked:
        assert len(answer.matches) == 5
        assert not answer.layers_first
        for match in answer.matches:
            apart = delta_E_ciede2000(answer.target.lab, match.swatch.lab)
            assert apart <= GRADES[match.grade]
            assert match.delta_E == pytest.approx(apart)


def test_a_limit_that_is_given_is_kept():
    pencils = [
        Swatch("Fen", str(place), lab, owned=True)
        for place, lab in enumerate([(80, 5, 70), (35, 5, -40), (90, 0, 0), (30, 40, 10)])
    ]
    target = FreeColour("", (50.0, -20.0, 5.0))
    clear = {one.address: Scattering(0.0, 0.0, 0.0) for one in pencils}
    conditions = replace(estimated_conditions(), opacity=clear)
    counts = {}
    for below in (1, 3, 5):
        question = LayerQuestion(conditions, pencils, below=below)
        answer = find_stand_ins(target, pencils, layering=question)
        counts[below] = (answer.layers_first, len(answer.matches))
    assert counts == {1: (True, 1), 3: (True, 3), 5: (True, 4)}
