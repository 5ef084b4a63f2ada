"""Recipes of many pencils for one target are those of the index, without the index."""

from dataclasses import replace

import numpy as np
import pytest

from stopgap.difference import delta_E
from stopgap.layering.pruning.descent import Pairs
from stopgap.layering.pruning.pruned_search import PrunedSearch
from stopgap.layering.recipe_search import Found
from stopgap.planner import (
    Lately,
    RecipeCache,
    RecipesOfIndex,
    estimated_conditions,
    find_stand_ins,
    layered_stacks,
)
from stopgap.planner.materials import labs_of
from stopgap.planner.nearness import hue_keeping_difference
from stopgap.planner.recipes import cache as cache_module
from stopgap.planner.recipes import kept, pruned
from stopgap.planner.recipes.index import RecipeIndex
from stopgap.planner.recipes.kept import recipes_for_few, recipes_for_list, recipes_under
from stopgap.planner.recipes.pruned import PrunedRecipes
from stopgap.planner.recipes.questions import LayerQuestion
from stopgap.planner.solver import Clock
from stopgap.swatches import FreeColour, Swatch

ESTIMATED = estimated_conditions()
TOO_VIVID = FreeColour("", (55.0, 95.0, -40.0))


def some_swatches(count=22):
    """Dark and pale ones, of which some cover, and one of a colour that nothing has."""
    rng = np.random.default_rng(5)
    lab = rng.uniform([25, -30, -30], [93, 30, 30], (count, 3)).tolist()
    lab[3] = (30.0, 120.0, 90.0)
    return [Swatch("Test", str(row), tuple(one)) for row, one in enumerate(lab)]


@pytest.fixture
def none_are_few(monkeypatch):
    """However few recipes are, they are not all worked out for one question."""
    monkeypatch.setattr(kept, "_FEW", 0)


@pytest.mark.parametrize(
    "target", [FreeColour("", (50.0, 5.0, 10.0)), TOO_VIVID, some_swatches()[4]]
)
@pytest.mark.parametrize("always", [False, True])
def test_answers_are_those_of_the_index(target, always, monkeypatch):
    swatches = some_swatches()
    conditions = replace(ESTIMATED, paper=(80.0, 2.0, 12.0))
    asked = LayerQuestion(conditions, swatches, always=always)
    expected = find_stand_ins(target, swatches, layering=asked)
    monkeypatch.setattr(kept, "_FEW", 0)
    assert isinstance(asked.for_few(), PrunedRecipes)
    found = find_stand_ins(target, swatches, layering=asked)
    assert found.layers == expected.layers
    assert found.notes == expected.notes
    assert bool(found.layers) or not always


def test_lists_and_blends_are_given_what_the_index_gives_them(monkeypatch):
    swatches = some_swatches()
    aims = np.linspace([35.0, -12.0, 9.0], [80.0, 15.0, -8.0], 14)
    blends = [aims[:9], aims[5:]]

    def given():
        index = recipes_for_list(ESTIMATED, swatches)
        recipes = RecipesOfIndex(index)
        recipes.ask_ahead(blends)
        along = [recipes(one) for one in blends]
        listed = [
            layered_stacks(ESTIMATED, always=always, per_colour=4)(swatches, aims)
            for always in (False, True)
        ]
        weighed = [one.taken([0, 2]) for one in along]
        return index, [one.recipes for one in along], weighed, listed, index.notes

    index, *expected = given()
    monkeypatch.setattr(kept, "_FEW", 0)
    pruned_index, *found = given()
    assert isinstance(index, RecipeIndex)
    assert isinstance(pruned_index, PrunedRecipes)
    assert found == expected
    assert all(found[0])
    assert all(found[2])


@pytest.mark.usefixtures("none_are_few")
def test_of_what_is_searched_for_a_list_the_clock_is_minded():
    missed = []
    clock = Clock(60.0)
    stacks = layered_stacks(
        ESTIMATED,
        clock=clock,
        progress=lambda *_: object.__setattr__(clock, "limit", 0.0),
        missed=lambda *some: missed.append(some),
    )
    assert stacks(some_swatches(), np.full((9, 3), 40.0)) == []
    assert missed == [(9, 9)]


@pytest.mark.usefixtures("none_are_few")
def test_what_is_of_no_use_is_not_searched_for(monkeypatch):
    """What is no nearer than the nearest pencil, by hue as well; and by ΔE00 what is beyond FAR."""
    swatches, found = some_swatches(), []
    search = PrunedSearch.search
    monkeypatch.setattr(
        PrunedSearch, "search", lambda *a, **k: found.append(search(*a, **k)) or found[-1]
    )
    L, a, b = swatches[4].lab
    beside, labs = FreeColour("", (L + 1.0, a, b)), labs_of(swatches)
    for always in (False, True):
        asked = LayerQuestion(ESTIMATED, swatches, always=always)
        for target in (beside, TOO_VIVID):
            find_stand_ins(target, swatches, layering=asked)
    near, none, by_hue, every, still_none, every_by_hue = found
    assert max(near.delta_E, default=0.0) < delta_E(beside.lab, labs).min() < every.delta_E[-1]
    assert not len(none.delta_E)
    assert not len(still_none.delta_E)
    assert len(by_hue.delta_E) < len(every_by_hue.delta_E)


@pytest.mark.usefixtures("none_are_few")
@pytest.mark.parametrize("off", [0.0, 0.2])
def test_nothing_is_looked_for_where_a_pencil_is_as_near_as_it_is_sure(off, monkeypatch):
    swatches, looked = some_swatches(), []
    within = Pairs.within
    monkeypatch.setattr(Pairs, "within", lambda *a: looked.append(a) or within(*a))
    L, a, b = swatches[4].lab
    beside, asked = FreeColour("", (L + off, a, b)), LayerQuestion(ESTIMATED, swatches)
    found = find_stand_ins(beside, swatches, layering=asked)
    assert not found.layers
    assert not looked
    monkeypatch.setattr(kept, "_FEW", 2**19)
    assert find_stand_ins(beside, swatches, layering=asked) == found


@pytest.mark.usefixtures("none_are_few")
def test_what_is_kept_is_asked(tmp_path):
    swatches, cache = some_swatches(), RecipeCache(tmp_path)
    assert isinstance(recipes_for_few(ESTIMATED, swatches, cache=cache), PrunedRecipes)
    assert not tmp_path.joinpath("recipes").exists()
    recipes_under(ESTIMATED, swatches, cache=cache)
    assert isinstance(recipes_for_few(ESTIMATED, swatches, cache=cache), RecipeIndex)


@pytest.mark.usefixtures("none_are_few")
def test_what_grows_from_what_was_asked_lately_is_asked(tmp_path):
    *but_one, last = some_swatches()
    cache = RecipeCache(tmp_path, Lately())
    recipes_under(ESTIMATED, but_one, cache=cache)
    for asked, way in (([*but_one, last], RecipeIndex), (but_one[5:8], RecipeIndex)):
        assert isinstance(recipes_for_few(ESTIMATED, asked, cache=cache), way)
    others = [replace(one, lab=(*one.lab[:2], 1.0)) for one in but_one]
    assert isinstance(recipes_for_few(ESTIMATED, others, cache=cache), PrunedRecipes)


@pytest.mark.usefixtures("none_are_few")
def test_what_was_made_ready_is_at_hand_for_the_next_question(tmp_path, monkeypatch):
    swatches, cache = some_swatches(), RecipeCache(tmp_path, Lately())
    first = recipes_for_few(ESTIMATED, swatches, cache=cache)
    made = []
    monkeypatch.setattr(pruned, "prepare_search", lambda *_, **__: made.append(1))
    renamed = [replace(one, name="Other") for one in swatches]
    again = recipes_for_few(ESTIMATED, swatches, cache=cache)
    (found,), (expected,) = (one.search([(50.0, 5.0, 10.0)]) for one in (again, first))
    assert found.layings.tolist() == expected.layings.tolist()
    assert found.delta_E.tobytes() == expected.delta_E.tobytes()
    assert not made
    for other in (renamed[:9], [*swatches[1:], replace(swatches[0], lab=(50.0, 1.0, 1.0))]):
        recipes_for_few(ESTIMATED, other, cache=cache)
    recipes_for_few(replace(ESTIMATED, tooth=2.5), swatches, cache=cache)
    assert len(made) == 3


@pytest.mark.usefixtures("none_are_few")
def test_what_was_made_ready_and_is_too_large_is_not_at_hand(tmp_path, monkeypatch):
    swatches, kept_lately = some_swatches(), Lately()
    found = recipes_for_few(ESTIMATED, swatches, cache=RecipeCache(tmp_path, kept_lately))
    monkeypatch.setattr(cache_module, "_LARGEST", found.nbytes)
    recipes_for_few(ESTIMATED, swatches[1:], cache=RecipeCache(tmp_path, kept_lately))
    assert kept_lately.pruned.nbytes < found.nbytes
    monkeypatch.setattr(cache_module, "_LARGEST", found.nbytes - 1)
    recipes_for_few(ESTIMATED, swatches, cache=RecipeCache(tmp_path, kept_lately))
    assert kept_lately.pruned is None


@pytest.mark.usefixtures("none_are_few")
def test_more_than_memory_holds_are_asked_all_the_same(monkeypatch):
    swatches = some_swatches()
    monkeypatch.setattr(kept, "RECIPE_MEMORY", 2**10)
    answer = find_stand_ins(
        TOO_VIVID, swatches, layering=LayerQuestion(ESTIMATED, swatches, always=True)
    )
    assert answer.layers


@pytest.mark.usefixtures("none_are_few")
def test_a_search_that_is_cut_short_says_so_and_how_near_others_may_be(monkeypatch):
    target = FreeColour("", (50.0, 60.0, 40.0))
    greys = [Swatch("Test", str(L), (float(L), 0.4, 0.2)) for L in range(25, 90, 3)]
    asked = LayerQuestion(ESTIMATED, greys, always=True)
    whole = recipes_for_few(ESTIMATED, greys).search([target.lab], limit=3)[0]
    monkeypatch.setattr(pruned, "LONGEST", 0.0)
    short = recipes_for_few(ESTIMATED, greys)
    (found,) = short.search([target.lab], limit=3)
    (note,) = short.notes
    least = float(note.text.rsplit(" ", 1)[1].rstrip("."))
    assert 10.0 < least <= whole.delta_E[0] <= found.delta_E[0]
    assert any(
        "not to the end" in one.text for one in find_stand_ins(target, greys, layering=asked).notes
    )


@pytest.mark.usefixtures("none_are_few")
def test_all_searches_for_a_colour_share_one_clock(monkeypatch):
    now, left = [100.0], []

    def search(self, target, *, seconds, **_):
        left.append(seconds)
        now[0] += 3.0
        return Found(np.zeros((0, 2), dtype=np.intp), np.zeros(0))

    monkeypatch.setattr(pruned, "monotonic", lambda: now[0])
    monkeypatch.setattr(PrunedSearch, "search", search)
    recipes = recipes_for_few(ESTIMATED, some_swatches())
    recipes.search([(50.0, 60.0, 40.0), (50.0, 0.0, 0.0)])
    recipes.scan((50.0, 60.0, 40.0), hue_keeping_difference, limit=3)
    assert left == [pruned.LONGEST, pruned.LONGEST, pruned.LONGEST - 6.0]
    recipes.showing(recipes.swatches).search([(50.0, 60.0, 40.0)])
    assert left[-1] == pruned.LONGEST


@pytest.mark.usefixtures("none_are_few")
def test_how_far_a_search_is_comes_to_who_asks_now(tmp_path):
    swatches, cache = some_swatches(60), RecipeCache(tmp_path, Lately())
    recipes_for_few(ESTIMATED, swatches, cache=cache)
    told = []
    asked = recipes_for_few(
        ESTIMATED, swatches, cache=cache, progress=lambda *some: told.append(some)
    )
    asked.search([(50.0, 5.0, 10.0)])
    done, total = zip(*told)
    assert len(done) > 1
    assert list(done) == sorted(done)
    assert set(total) == {done[-1]}
    before = list(told)
    recipes_for_few(ESTIMATED, swatches, cache=cache).search([(50.0, 5.0, 10.0)])
    assert told == before
