"""The index over all recipes answers as the search through all recipes does, to the last bit."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stopgap.blends import blend, blend_of_family, families, find_gaps, layer_families
from stopgap.errors import InputError
from stopgap.layering import MODELS, Model, best_recipes, catalogue, catalogue_colours, search
from stopgap.layering import palette_of as box_of_pencils
from stopgap.planner import RecipesOfIndex, index_recipes
from stopgap.planner.recipes.along import RECIPES_ALONG
from stopgap.swatches import Scattering, Swatch

pytestmark = pytest.mark.slow

PAPER = [95.0, 0.0, 2.0]
OPACITY = {"opaque": 0.8, "half": 0.3}


def some_pencils(rng, count, ranges=("clear",)):
    """Invented pencils of any hue, some of them of one colour."""
    L, C = rng.uniform(25, 80, count), rng.uniform(0, 40, count)
    h = rng.uniform(0, 2 * np.pi, count)
    lab = np.stack([L, C * np.cos(h), C * np.sin(h)], axis=1)
    lab[rng.random(count) < 0.15] = lab[0]
    return [
        Swatch(ranges[i % len(ranges)], str(i), tuple(one), uncertainty=0.5)
        for i, one in enumerate(lab.tolist())
    ]


def opacities(swatches):
    return {one.address: Scattering(*[OPACITY.get(one.range, 0.0)] * 3) for one in swatches}


def some_box(seed, count, ranges=("clear",), **changed):
    swatches = some_pencils(np.random.default_rng(seed), count, ranges)
    return box_of_pencils(swatches, PAPER, opacity=opacities(swatches), **changed)


def some_targets(rng, box, colours, count):
    """Anywhere; on and near a pencil, whose pairs are useless there; on a recipe."""
    anywhere = rng.uniform([5, -60, -60], [100, 60, 60], (count, 3))
    pencil = box.lab[rng.integers(0, len(box.lab), count)]
    near = pencil + rng.normal(0, 0.5, (count, 3))
    recipe = colours[rng.integers(0, len(colours), count)]
    return np.concatenate([anywhere, pencil, near, recipe])


def assert_same(found, expected):
    np.testing.assert_array_equal(found.delta_E, expected.delta_E)
    np.testing.assert_array_equal(found.layings, expected.layings)


@settings(derandomize=True, deadline=None, max_examples=50)
@given(
    seed=st.integers(0, 10**6),
    count=st.integers(1, 14),
    ranges=st.sampled_from([("clear",), ("clear", "opaque"), ("opaque", "half")]),
    limit=st.integers(1, 40),
    per_pair=st.integers(1, 20),
)
def test_equals_the_search(seed, count, ranges, limit, per_pair):
    box = some_box(seed, count, ranges)
    targets = some_targets(np.random.default_rng(seed), box, catalogue_colours(box), 2)
    asked = {"limit": limit, "per_pair": per_pair}
    for target, found in zip(targets, index_recipes(box).search(targets, **asked), strict=True):
        assert_same(found, search(target, box, **asked))


@pytest.mark.parametrize(("ranges", "count"), [(("clear",), 40), (("clear", "opaque"), 18)])
@pytest.mark.parametrize("compiled", [False, True])
def test_equals_the_search_with_a_tree(ranges, count, compiled):
    box = some_box(11, count, ranges)
    index = index_recipes(box)
    if compiled:
        index.index.prepare()
    colours = catalogue_colours(box)
    targets = some_targets(np.random.default_rng(12), box, colours, 4)
    for asked in ({"limit": 10}, {"limit": 30, "per_pair": 9}):
        for target, found in zip(targets, index.search(targets, **asked), strict=True):
            assert_same(found, search(target, box, **asked))


@pytest.mark.parametrize("metric", ["CIE 1976", "CMC", "HyAB"])
def test_equals_the_search_under_other_metrics(metric):
    box = some_box(13, 30)
    targets = some_targets(np.random.default_rng(14), box, catalogue_colours(box), 3)
    for target, found in zip(
        targets, index_recipes(box, metric=metric).search(targets), strict=True
    ):
        assert_same(found, search(target, box, metric=metric))


def test_a_model_of_one_piece():
    spectrum = MODELS["spectrum"]
    box = some_box(15, 6, model=Model(spectrum.function, spectrum.bands, "without its parts"))
    (found,) = index_recipes(box).search([[50, 5, 15]], limit=9)
    assert_same(found, search([50, 5, 15], box, limit=9))


@pytest.mark.parametrize("ranges", [("clear",), ("clear", "opaque")])
def test_pencils_passed_over_are_as_if_they_were_not_there(ranges):
    swatches = some_pencils(np.random.default_rng(16), 16, ranges)
    barred = {swatch.address for swatch in swatches[3:9]}
    whole = box_of_pencils(swatches, PAPER, opacity=opacities(swatches))
    index = index_recipes(whole)
    rest = [swatch for swatch in swatches if swatch.address not in barred]
    box = box_of_pencils(rest, PAPER, opacity=opacities(swatches))
    targets = some_targets(np.random.default_rng(17), whole, box.lab, 2)
    for target, found in zip(targets, index.recipes(targets, limit=8, without=barred), strict=True):
        expected = best_recipes(target, box, limit=8)
        np.testing.assert_allclose(
            [recipe.delta_E for recipe in found], [recipe.delta_E for recipe in expected], atol=1e-9
        )
        assert not any(barred & recipe.stack.addresses for recipe in found)


def test_recipes_are_those_of_the_search_described():
    box = some_box(18, 12, ("clear", "opaque"))
    targets = [[50, 10, 20], [60, -10, 0]]
    for target, found in zip(targets, index_recipes(box).recipes(targets, limit=6), strict=True):
        for one, other in zip(found, best_recipes(target, box, limit=6), strict=True):
            assert (one.stack, one.cautions) == (other.stack, other.cautions)
            assert one.sigma == pytest.approx(other.sigma, abs=1e-9)


@pytest.mark.parametrize("ranges", [("clear",), ("clear", "opaque"), ("opaque",)])
@pytest.mark.parametrize("count", [1, 2, 9])
def test_rows_of_the_catalogue_are_all_recipes_in_the_order_of_the_search(count, ranges):
    box = some_box(19, count, ranges)
    recipes, colours = catalogue(box), catalogue_colours(box)
    rows = np.arange(len(recipes))
    layings = recipes.layings(rows)
    assert len(np.unique(layings, axis=0)) == len(recipes) == len(colours)
    for laying, lab in zip(layings, colours, strict=True):
        again = box.colours(*(laying[laying >= 0][:, np.newaxis]))
        np.testing.assert_allclose(again[0], lab, atol=1e-9)
    used = np.where(layings < 0, layings[:, :1], layings) // len(box.pressures)
    one = np.arange(count) == count // 2
    np.testing.assert_array_equal(recipes.using(one), (used == count // 2).any(axis=1))
    pairs = {(group, *sorted(pair)) for group, pair in zip(recipes.groups(rows), used.tolist())}
    assert len(pairs) == count + count * (count - 1) // 2


def test_progress_is_told():
    told = []
    index = index_recipes(some_box(20, 25), progress=lambda *at: told.append(at))
    assert told[-1] == (len(index) - 25 * 3, len(index) - 25 * 3)


@pytest.mark.parametrize(
    ("targets", "asked"),
    [([50, 0, 0], {}), ([[50, 0, 0]], {"limit": 0}), ([[50, 0, 0]], {"per_pair": 0})],
)
def test_what_cannot_be_is_refused(targets, asked):
    with pytest.raises(InputError):
        index_recipes(some_box(21, 3)).search(targets, **asked)


def test_what_is_surely_too_unsure_is_left_out_and_nothing_else():
    index = index_recipes(some_box(19, 9, ("clear", "opaque")))
    aims = np.linspace([25.0, 20.0, -20.0], [75.0, -10.0, 30.0], 12)
    found = index.search(aims, limit=9)
    every = index.described(found)
    sure = sorted(one.sigma for recipes in every for one in recipes)
    some = 0
    for most in (sure[0], sure[len(sure) // 3], sure[-1]):
        left = index.described(found, most=[np.full(len(one.delta_E), most) for one in found])
        some += sum(map(len, left))
        for recipes, left_over in zip(every, left, strict=True):
            assert all(one in recipes for one in left_over)
            kept = [one for one in left_over if one.sigma <= most * (1.0 + 1e-9)]
            assert kept == [one for one in recipes if one.sigma <= most * (1.0 + 1e-9)]
    assert len(sure) < some < 2 * len(sure)


def test_nothing_asked():
    index = index_recipes(some_box(22, 3))
    assert index.search(np.empty((0, 3))) == index.recipes(np.empty((0, 3))) == []


def test_recipes_along_a_path_are_each_once_and_as_sure_as_when_all_are_weighed():
    box = some_box(18, 9, ("clear", "opaque"))
    index = index_recipes(box)
    aims = np.linspace([25.0, 20.0, -20.0], [75.0, -10.0, 30.0], 12)
    nearest = {}
    for recipe in (one for each in index.recipes(aims, limit=RECIPES_ALONG) for one in each):
        known = nearest.get(recipe.stack.key)
        if not recipe.stack.single and (known is None or recipe.delta_E < known.delta_E):
            nearest[recipe.stack.key] = recipe
    found = RecipesOfIndex(index)(aims)
    keys = [one.stack.key for one in found.recipes]
    assert keys == sorted(nearest)
    some = [len(keys) - 1, 0, len(keys) // 2]
    for taken, place in zip(found.taken(some), some, strict=True):
        assert taken.delta_E == nearest[keys[place]].delta_E
        assert taken.lab == pytest.approx(found.recipes[place].lab, rel=1e-12)
        assert taken.sigma == pytest.approx(nearest[keys[place]].sigma, rel=1e-9)


def test_gaps_of_several_families_are_layered_across_together_as_each_by_itself():
    box = some_box(18, 26, ("clear", "opaque"))
    recipes = RecipesOfIndex(index_recipes(box))
    alone = [
        blend_of_family(one, limit=5.0) for one in families(box.swatches) if len(one.filed) > 1
    ]
    together = layer_families(alone, recipes)
    crossings = 0
    for one, layered in zip(alone, together, strict=True):
        gaps = find_gaps([one], layered=[layered])
        for gap in gaps:
            pair = (gap.after.swatch, gap.before.swatch)
            across = blend(*pair, pair, limit=5.0, recipes=recipes)
            assert gap.layered == across.closed
            if gap.crossing is None:
                continue
            crossings += 1
            assert gap.crossing.steps == across.steps
            for point, its in zip(gap.crossing.points, across.points, strict=True):
                assert (point.lab, point.laid.stack) == (its.lab, its.laid.stack)
                assert point.laid.uncertainty == pytest.approx(its.laid.uncertainty, rel=1e-9)
    assert 0 < crossings < sum(len(one.over_limit) for one in alone)
