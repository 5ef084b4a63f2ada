"""The search for recipes equals the obvious loops, and says no more than it knows."""

import itertools

import numpy as np
import pytest

from stopgap.difference import delta_E
from stopgap.errors import InputError
from stopgap.layering import (
    MODELS,
    PRESSURES,
    Model,
    best_recipes,
    catalogue,
    palette_of,
    predict,
    search,
    uncertainty,
    worth_offering,
)
from stopgap.layering.estimates import TO_COVER
from stopgap.swatches import Reflectance, Scattering, Stack, Swatch

pytestmark = pytest.mark.slow

PAPER = [95.0, 0.0, 2.0]


def box_of(count, seed, **changed):
    """Invented pencils of any hue, none of an impossible colour."""
    random = np.random.default_rng(seed)
    L, C = random.uniform(25, 75, count), random.uniform(5, 40, count)
    h = random.uniform(0, 2 * np.pi, count)
    lab = np.stack([L, C * np.cos(h), C * np.sin(h)], axis=1).tolist()
    return [Swatch("Test", str(i), tuple(one), **changed) for i, one in enumerate(lab)]


def naive(target, swatches, opacity, model, limit, *, heavy_first=False):
    """Three loops, one `predict` a recipe; at most one recipe of the same pencils.

    A clear pair is laid once with each two pressures, the lighter pencil first where it may be,
    else over one that is hardly darker.
    """
    singles, found = {}, []
    for i, swatch in enumerate(swatches):
        tries = [
            (float(delta_E(target, predict(PAPER, [swatch.lab], load, model=model, opacity=S))), p)
            for (p, load) in enumerate(PRESSURES.values())
            for S in [opacity[i]]
        ]
        singles[i] = min(tries)
        found.append((singles[i][0], i * 3 + singles[i][1], -1))
    for i, j in itertools.combinations(range(len(swatches)), 2):
        orders, seen = [(i, j), (j, i)], set()
        if swatches[i].lab[0] < swatches[j].lab[0]:
            orders.reverse()
        tries = []
        for first, second in orders:
            for (p, load_1), (q, load_2) in itertools.product(
                enumerate(PRESSURES.values()), repeat=2
            ):
                laid = frozenset([(first, p), (second, q)])
                clear = opacity[i] == opacity[j] == 0.0
                over = swatches[second].lab[0] - swatches[first].lab[0]
                if clear and (laid in seen or over > TO_COVER):
                    continue
                if load_1 == 1.0 and not heavy_first:
                    continue
                seen.add(laid)
                lab = predict(
                    PAPER,
                    [swatches[first].lab, swatches[second].lab],
                    [load_1, load_2],
                    model=model,
                    opacity=[opacity[first], opacity[second]],
                )
                tries.append((float(delta_E(target, lab)), first * 3 + p, second * 3 + q))
        best = min(tries)
        if best[0] < min(singles[i][0], singles[j][0]):
            found.append(best)
    return sorted(found)[:limit]


@pytest.mark.parametrize("heavy_first", [False, True])
@pytest.mark.parametrize(("seed", "covering"), [(1, False), (2, True)])
def test_equals_three_loops(seed, covering, heavy_first):
    swatches = box_of(5, seed)
    opacity = [0.0, 0.6, 0.0, 0.0, 1.5] if covering else [0.0] * 5
    swatches = [Swatch(f"S{S}", swatch.code, swatch.lab) for swatch, S in zip(swatches, opacity)]
    target = np.random.default_rng(seed + 50).uniform([30, -30, -30], [70, 30, 30])
    known = {swatch.address: Scattering(S, S, S) for swatch, S in zip(swatches, opacity)}
    box = palette_of(swatches, PAPER, opacity=known, heavy_first=heavy_first)
    found = search(target, box, limit=8)
    expected = naive(target, swatches, opacity, "spectrum", 8, heavy_first=heavy_first)
    np.testing.assert_allclose(found.delta_E, [row[0] for row in expected], atol=1e-6)
    assert found.layings.tolist() == [list(row[1:]) for row in expected]


def test_equals_three_loops_with_channels():
    swatches = box_of(6, 4)
    found = search([45, 10, 20], palette_of(swatches, PAPER, model="channels"), limit=6)
    expected = naive([45, 10, 20], swatches, [0.0] * 6, "channels", 6)
    assert found.layings.tolist() == [list(row[1:]) for row in expected]


def test_a_model_of_one_piece_is_searched_in_both_orders():
    spectrum = MODELS["spectrum"]
    whole = Model(spectrum.function, spectrum.bands, "without its parts")
    swatches = box_of(5, 5)
    by_parts, by_whole = (
        search(
            [50, 5, 15],
            palette_of(swatches, PAPER, model=model, trapping=0.0, heavy_first=True),
            limit=6,
        )
        for model in ("spectrum", whole)
    )
    np.testing.assert_allclose(by_whole.delta_E, by_parts.delta_E, atol=1e-9)


def test_blocks_change_nothing(monkeypatch):
    swatches = box_of(30, 6)
    box = palette_of(swatches, PAPER, opacity=0.0)
    whole = search([50, 5, 15], box, limit=20)
    monkeypatch.setattr("stopgap.layering.recipe_search._CLEAR_BLOCK", 50)
    reports = []
    parts = search([50, 5, 15], box, limit=20, progress=lambda *at: reports.append(at))
    assert parts.layings.tolist() == whole.layings.tolist()
    assert len(reports) == len({done for done, _ in reports}) > 50
    pairs = len(catalogue(box)) - 30 * 3
    assert reports[-1] == (pairs, pairs)


def test_several_recipes_of_one_pair_only_when_asked():
    box = palette_of(box_of(8, 7), PAPER)
    once = search([50, 0, 10], box, limit=30)
    used = [frozenset(laying // 3 for laying in row) for row in once.layings.tolist()]
    assert len(set(used)) == len(used)
    often = search([50, 0, 10], box, limit=30, per_pair=9)
    assert len(once.delta_E) < len(often.delta_E) == 30
    assert (often.delta_E[: len(once.delta_E)] <= once.delta_E + 1e-12).all()
    assert (np.diff(often.delta_E) >= 0).all()


def test_a_missing_pale_shade_is_the_deep_one_laid_lightly():
    deep = Swatch("Test", "deep", (38.0, 48.0, 20.0), uncertainty=0.5)
    grey = Swatch("Test", "grey", (60.0, 0.0, 0.0), uncertainty=0.5)
    pale = predict(PAPER, [deep.lab], "light")
    best = best_recipes(pale, palette_of([grey, deep], PAPER))[0]
    assert best.stack == Stack.of(deep, pressures=["light"])
    assert best.delta_E == pytest.approx(0.0, abs=1e-6)


def test_a_recipe_says_what_predict_and_uncertainty_say():
    swatches = [Swatch("Pale", "0", (90.0, -2.0, 30.0), uncertainty=0.5), *box_of(9, 8)]
    known = {s.address: Scattering(*[0.8 * (s.range == "Pale")] * 3) for s in swatches}
    box = palette_of(swatches, PAPER, tooth="smooth", opacity=known)
    assert len(best_recipes([55, 10, 25], box, limit=12)) == 12
    for recipe in best_recipes([55, 10, 25], box, limit=12):
        layers = recipe.stack.swatches
        loads = [PRESSURES[pressure] for pressure in recipe.stack.pressures]
        arguments = {"tooth": "smooth", "opacity": [0.8 * (s.range == "Pale") for s in layers]}
        lab = [swatch.lab for swatch in layers]
        np.testing.assert_allclose(recipe.lab, predict(PAPER, lab, loads, **arguments), atol=1e-9)
        assert recipe.delta_E == pytest.approx(float(delta_E([55, 10, 25], recipe.lab)))
        sigma = [swatch.uncertainty for swatch in layers]
        spread = uncertainty(PAPER, lab, loads, sigma=sigma, **arguments)
        assert recipe.typical == pytest.approx(float(spread.typical), abs=1e-6)
        low, high = recipe.interval
        assert high == pytest.approx(recipe.delta_E + float(spread.ninety), abs=1e-6)
        assert low == pytest.approx(max(0.0, recipe.delta_E - float(spread.ninety)), abs=1e-6)
        assert low <= recipe.delta_E <= high
        assert any("scrap" in caution for caution in recipe.cautions)


def test_clear_pairs_begin_with_the_lighter_pencil():
    box = palette_of(box_of(12, 9), PAPER, heavy_first=True)
    for recipe in best_recipes([40, 10, 15], box, limit=20):
        first, *rest = recipe.stack.swatches
        assert all(first.lab[0] >= second.lab[0] for second in rest)


def test_first_passes_are_light_or_medium_unless_heavy_ones_are_allowed():
    pencils = box_of(12, 9)
    found = [
        best_recipes(target, palette_of(pencils, PAPER, heavy_first=heavy), limit=40, per_pair=9)
        for target in ([40, 10, 15], [30, -5, -20])
        for heavy in (False, True)
    ]
    for light, heavy in zip(found[::2], found[1::2], strict=True):
        firsts = {recipe.stack.pressures[0] for recipe in light if len(recipe.stack) > 1}
        assert firsts == {"light", "medium"}
        assert any(recipe.stack.pressures[:-1] == ("heavy",) for recipe in heavy)
        for recipe in light:
            first, *rest = recipe.stack.swatches
            assert all(second.lab[0] <= first.lab[0] + TO_COVER for second in rest)


def test_offered_only_when_better_by_more_than_the_uncertainty():
    recipes = best_recipes([50, 5, 15], palette_of(box_of(20, 10, uncertainty=0.5), PAPER), limit=5)
    assert worth_offering(recipes, 60.0, 0.5) == recipes
    assert worth_offering(recipes, recipes[0].delta_E, 0.5) == []
    edge = recipes[0].delta_E + np.hypot(recipes[0].sigma, 0.5)
    assert recipes[0] not in worth_offering(recipes, edge - 1e-6, 0.5)
    assert recipes[0] in worth_offering(recipes, edge + 1e-6, 0.5)


def test_measured_spectra_of_swatches_are_used():
    waves = tuple(float(x) for x in range(400, 701, 20))
    bumpy = tuple(0.35 + 0.25 * np.sin(np.array(waves) / 25.0))
    measured = Swatch("Test", "m", (60.0, 10.0, -10.0), reflectance=Reflectance(waves, bumpy))
    plain = Swatch("Test", "m", (60.0, 10.0, -10.0))
    other = Swatch("Test", "o", (70.0, -20.0, 30.0))
    colours = [
        palette_of([swatch, other], PAPER).colours(np.array([2]), np.array([5]))
        for swatch in (measured, plain)
    ]
    assert delta_E(*colours)[0] > 0.5
    np.testing.assert_allclose(
        palette_of([measured], PAPER).colours(np.array([2]))[0], measured.lab, atol=0.3
    )
    assert best_recipes([50, 0, 0], palette_of([measured, other], PAPER))


def test_pencils_that_cannot_be_layered_are_left_out_and_named():
    bright, odd = (
        Swatch("Test", "bright", (90.0, 0.0, 0.0)),
        Swatch("Test", "odd", (50.0, 190.0, 0.0)),
    )
    good = Swatch("Test", "good", (40.0, 10.0, 0.0))
    box = palette_of([bright, odd, good], [70, 0, 5])
    assert box.left_out == (bright, odd)
    assert box.swatches == (good,)
    assert best_recipes([50, 5, 5], box)[0].stack.swatches == (good,)


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (lambda: palette_of([], PAPER), "there is no pencil to layer"),
        (
            lambda: palette_of(box_of(2, 1), PAPER, opacity={"Test:1": Scattering(0.0, -1.0, 0.0)}),
            "opacity",
        ),
        (lambda: palette_of(box_of(2, 1), PAPER, tooth="felt"), "tooth: 'felt'"),
        (lambda: search([[50, 0, 0]], palette_of(box_of(2, 1), PAPER)), "expected one colour"),
        (lambda: search([50, 0, 0], palette_of(box_of(2, 1), PAPER), limit=0), "at least 1"),
        (lambda: search([50, 0, 0], palette_of(box_of(2, 1), PAPER), metric="ruler"), "metric"),
    ],
)
def test_what_cannot_be_is_refused(call, sentence):
    with pytest.raises(InputError, match=sentence):
        call()
