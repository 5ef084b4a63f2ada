"""What to lay over layers that lie there already: equal to brute force by `predict`."""

import dataclasses
import itertools
import math

import numpy as np
import pytest

from stopgap.colorimetry import reflectance_to_xyz, xyz_to_lab
from stopgap.difference import COVERAGE_FACTOR, delta_E
from stopgap.errors import InputError, NothingFoundError
from stopgap.layering import PRESSURES, predict, search, uncertainty
from stopgap.layering.estimates import TO_COVER, Opacities, expected_scattering
from stopgap.library import open_library
from stopgap.planner import LayerQuestion, estimated_conditions, find_glazes, ground_of, lay
from stopgap.planner.nearness import FAR
from stopgap.planner.recipes import lying, pruned
from stopgap.planner.recipes.kept import make_palette
from stopgap.swatches import FreeColour, Opacity, Pressure, Reflectance, Stack, Swatch

CONDITIONS = estimated_conditions()
P = len(PRESSURES)


def some_pencils(seed, count):
    """Invented pencils of any hue; the last is pale, so that it is expected to cover in part."""
    random = np.random.default_rng(seed)
    L, C = random.uniform(30, 80, count), random.uniform(5, 40, count)
    h = random.uniform(0, 2 * np.pi, count)
    lab = np.stack([L, C * np.cos(h), C * np.sin(h)], axis=1)
    lab[-1] = (93.0, 1.0, 6.0)
    return [
        Swatch("T", str(i), tuple(one), uncertainty=0.5, pressure=Pressure.MEDIUM if i == 1 else
               Pressure.HEAVY)
        for i, one in enumerate(lab.tolist())
    ]  # fmt: skip


def colour_of(stack):
    """What `predict` says of a stack of swatches laid heavy or medium."""
    return predict(CONDITIONS.paper, **arguments(stack))


def arguments(stack):
    swatched = [PRESSURES[layer.swatch.pressure] for layer in stack]
    heavy = [0.4 * (layer.swatch.lab[0] > 90.0) for layer in stack]  # what is expected at L* 93
    return {
        "layers_lab": [layer.swatch.lab for layer in stack],
        "pressures": [PRESSURES[layer.pressure] / load for layer, load in zip(stack, swatched)],
        "opacity": np.multiply(heavy, swatched),
        "tooth": CONDITIONS.tooth,
    }


def every_glaze(pencils, ground, target):
    """(ΔE00, layers) of every single pencil and of every two, by group, over the ground."""
    groups = {}
    for count in (1, 2):
        for chosen in itertools.permutations(pencils, count):
            for pressures in itertools.product(PRESSURES, repeat=count):
                if count == 2 and pressures[0] == "heavy":
                    continue
                L = [one.lab[0] for one in chosen]
                if count == 2 and max(L) <= 90.0 and L[1] > L[0] + TO_COVER:
                    continue  # what does not cover is not laid over what is darker
                glaze = Stack.of(*chosen, pressures=pressures)
                off = float(delta_E(target, colour_of(Stack((*ground, *glaze)))))
                groups.setdefault(glaze.addresses, []).append((off, glaze))
    return {used: min(found, key=lambda one: one[0]) for used, found in groups.items()}


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_equals_brute_force(seed):
    pencils = some_pencils(seed, 5)
    ground = Stack.of(pencils[1], pencils[4], pressures=["light", "medium"])
    target = tuple(np.random.default_rng(seed + 9).uniform([35, -20, -20], [70, 20, 30]).tolist())
    best = every_glaze(pencils, ground, target)
    alone = {used: off for used, (off, _) in best.items() if len(used) == 1}
    useful = sorted(
        off
        for used, (off, _) in best.items()
        if len(used) == 1 or off < min(alone[frozenset([one])] for one in used) - 1e-9
    )
    box = make_palette(CONDITIONS, pencils, over=ground)
    found = search(target, box, limit=50)
    np.testing.assert_allclose(found.delta_E, useful, atol=1e-6)
    question = LayerQuestion(CONDITIONS, pencils)
    answer = find_glazes(FreeColour("", target), ground, pencils, question, limit=5)
    shown = answer.over
    np.testing.assert_allclose(shown.ground.lab, colour_of(ground), atol=1e-9)
    off = [one.delta_E for one in shown.pencils]
    if min(off) > FAR:  # what keeps the hue stands first where nothing is near
        off = sorted(off)
    np.testing.assert_allclose(off, sorted(alone.values()))
    for recipe in (*answer.layers, *shown.pencils, shown.on_paper):
        whole = Stack((*ground, *recipe.stack))
        np.testing.assert_allclose(recipe.lab, colour_of(whole), atol=1e-6)
    nearest = min(pencils, key=lambda one: float(delta_E(target, one.lab)))
    assert shown.on_paper.stack.swatches == (nearest,)
    assert shown.on_paper.delta_E == pytest.approx(alone[frozenset([nearest.address])])


@pytest.mark.parametrize("cautious", [False, True])
@pytest.mark.parametrize("target", [(50.0, 5.0, 10.0), (30.0, -20.0, 5.0), (55.0, 95.0, -40.0)])
def test_many_pencils_are_answered_as_few_are(target, cautious, monkeypatch):
    pencils = some_pencils(4, 24)
    ground = Stack.of(pencils[1], pencils[4], pencils[-1], pressures=["light", "medium", "light"])
    question, asked = LayerQuestion(CONDITIONS, pencils), FreeColour("", target)
    expected = find_glazes(asked, ground, pencils, question, limit=4, cautious=cautious)
    monkeypatch.setattr(lying, "_FEW", 0)
    monkeypatch.setattr(lying, "_AT_ONCE", 7)
    monkeypatch.setattr(lying, "search", None)  # all pairs are not tried
    assert find_glazes(asked, ground, pencils, question, limit=4, cautious=cautious) == expected
    assert expected.layers


@pytest.mark.usefixtures("out_of_time")
def test_what_could_not_be_searched_to_the_end_is_said():
    pencils = some_pencils(4, 24)
    question = LayerQuestion(CONDITIONS, pencils)
    answer = find_glazes(
        FreeColour("", (50.0, 5.0, 10.0)), Stack.of(pencils[1]), pencils, question, limit=4
    )
    assert any("not to the end" in one.text for one in answer.notes)


@pytest.fixture
def out_of_time(monkeypatch):
    """Pairs are searched for no time at all."""
    monkeypatch.setattr(lying, "_FEW", 0)
    monkeypatch.setattr(pruned, "LONGEST", 0.0)


def test_the_interval_is_that_of_the_whole_stack():
    pencils = some_pencils(4, 4)[:3]
    ground = Stack.of(pencils[0], pressures=["light"])
    question = LayerQuestion(CONDITIONS, pencils)
    answer = find_glazes(FreeColour("", (40.0, 5.0, 10.0)), ground, pencils, question, limit=3)
    for recipe in (*answer.layers, *answer.over.pencils):
        whole = Stack((*ground, *recipe.stack))
        held = np.array([expected_scattering(one.lab[0], one.core) for one in whole.swatches])
        swatched = [PRESSURES[layer.swatch.pressure] for layer in whole]
        known = arguments(whole) | {"opacity": Opacities(*(held.T * swatched))}
        spread = uncertainty(CONDITIONS.paper, sigma=0.5, **known)
        assert recipe.interval[1] == pytest.approx(recipe.delta_E + float(spread.ninety), abs=1e-6)


def test_bare_paper_is_a_ground_like_another():
    pencils = some_pencils(5, 5)
    target = (50.0, 5.0, 10.0)
    bare = search(target, make_palette(CONDITIONS, pencils), limit=20)
    # so faint a layer that it does not show
    faint = Swatch("T", "faint", tuple(CONDITIONS.paper))
    over = make_palette(CONDITIONS, pencils, over=Stack.of(faint, pressures=["light"]))
    found = search(target, over, limit=20)
    np.testing.assert_allclose(found.delta_E, bare.delta_E, atol=0.02)


def test_what_is_lighter_than_the_ground_is_lost_unless_something_covers():
    dark = Swatch("T", "dark", (25.0, 5.0, -20.0), uncertainty=0.5)
    reds = [Swatch("T", str(i), (40.0 + i, 45.0, 20.0), uncertainty=0.5) for i in range(3)]
    white = Swatch("T", "white", (95.0, 0.0, 2.0), uncertainty=0.5)
    ground = Stack.of(dark, pressures=["medium"])
    target = FreeColour("", (75.0, 20.0, 10.0))
    answers = [
        find_glazes(target, ground, some, LayerQuestion(CONDITIONS, some), limit=2)
        for some in (reds, [*reds, white])
    ]
    clear, covering = answers
    lies = clear.over.ground.lab[0]
    assert clear.over.lightest == pytest.approx(lies)
    assert clear.over.out_of_reach
    assert "none of these is known to" in clear.notes[0].text
    assert covering.over.lightest > lies + 10.0
    assert "of these T:white may best" in covering.notes[0].text
    # nothing that could be laid is nearer than what is said
    assert all(recipe.lab[0] <= lies for recipe in (*clear.layers, *clear.over.pencils))


def test_over_a_heavy_layer_it_is_said_that_it_slides_and_no_first_pass_is_heavy():
    pencils = some_pencils(6, 5)
    ground = Stack.of(pencils[0], pressures=["heavy"])
    question = LayerQuestion(CONDITIONS, pencils)
    answer = find_glazes(FreeColour("", (40.0, 5.0, 10.0)), ground, pencils, question, limit=3)
    for recipe in (*answer.layers, *answer.over.pencils):
        assert any("laid heavy burnishes" in caution for caution in recipe.cautions)
        assert recipe.stack.pressures[:-1] != ("heavy",)


def test_without_owned_pencils_only_the_others_alone_are_told_and_without_any_nothing():
    pencils = some_pencils(7, 3)
    ground = Stack.of(pencils[0], pressures=["light"])
    answer = find_glazes(
        FreeColour("", (50.0, 0.0, 0.0)), ground, pencils, LayerQuestion(CONDITIONS, ()), limit=2
    )
    assert answer.layers == ()
    assert len(answer.over.pencils) == 2
    assert math.isfinite(answer.over.on_paper.delta_E)
    with pytest.raises(InputError, match="no pencil to layer"):
        find_glazes(
            FreeColour("", (50.0, 0.0, 0.0)), ground, [], LayerQuestion(CONDITIONS, ()), limit=2
        )


def test_on_a_named_paper_pencils_are_reckoned_as_layers_and_shown_as_they_look_there(demo_library):
    with open_library(demo_library) as library:
        ground = ground_of(library, "tan")
    pencils = ground.swatches[:40:4]
    target = FreeColour("", (45.0, 10.0, 20.0))
    lies = Stack.of(pencils[0], pressures=["medium"])
    question = LayerQuestion(ground.conditions, pencils)
    answer = find_glazes(target, lies, pencils, question, limit=3)
    bare = min(pencils, key=lambda one: float(delta_E(target.lab, one.lab)))
    assert answer.over.on_paper.stack.swatches == (bare,)
    for recipe in (*answer.layers, *answer.over.pencils):
        assert all(swatch in pencils for swatch in recipe.stack.swatches)
        whole = lay(Stack((*lies, *recipe.stack)), ground.conditions)
        np.testing.assert_allclose(recipe.lab, whole.lab, atol=1e-6)


def reflectance_lab(wavelengths, values):
    return xyz_to_lab(reflectance_to_xyz(wavelengths, values, "D50")).tolist()


def glazes(pencils, ground, target, **asked):
    question = LayerQuestion(CONDITIONS, pencils if asked.pop("layers", False) else ())
    return find_glazes(target, ground, pencils, question, **{"limit": 12, **asked})


def test_single_pencils_are_ranked_here_as_they_are_anywhere():
    """By the metric, the bound or the limit asked for, against all pencils at all pressures."""
    pencils = some_pencils(8, 12)
    ground, target = Stack.of(pencils[0], pressures=["light"]), FreeColour("", (50.0, 5.0, 10.0))
    every = {
        (one.address, pressure): colour_of(Stack((*ground, *Stack.of(one, pressures=[pressure]))))
        for one in pencils
        for pressure in PRESSURES
    }
    by = {
        one.address: min(
            float(delta_E(target.lab, every[one.address, p], "CIE 1976")) for p in PRESSURES
        )
        for one in pencils
    }
    found = glazes(pencils, ground, target, metric="CIE 1976")
    assert [one.stack[0].swatch.address for one in found.over.pencils] == sorted(by, key=by.get)
    assert found.metric == "CIE 1976"
    for one in found.over.pencils:
        assert one.delta_E == pytest.approx(float(delta_E(target.lab, one.lab)), abs=1e-9)

    plain = glazes(pencils, ground, target).over.pencils
    limit = plain[3].delta_E + 1e-6
    assert glazes(pencils, ground, target, within=limit).over.pencils == plain[:4]
    with pytest.raises(NothingFoundError, match="lies within"):
        glazes(pencils, ground, target, within=plain[0].delta_E - 0.01)
    near = glazes(pencils, ground, target, layers=True, within=plain[0].delta_E - 0.01)
    assert near.over.pencils == ()
    assert all(one.delta_E < plain[0].delta_E for one in near.layers)

    # of clear ones, since those that may cover are not unsure in all directions alike
    clear = [dataclasses.replace(one, opacity=Opacity.TRANSPARENT) for one in pencils]
    ground = Stack.of(clear[0], pressures=["light"])
    plain, cautious = (
        glazes(clear, ground, target, cautious=each).over.pencils for each in (False, True)
    )
    reaches = [one.delta_E + COVERAGE_FACTOR * one.sigma for one in cautious]
    # here as if even in all directions, which matters for those far off alone
    assert reaches[:6] == pytest.approx(sorted(reaches)[:6], abs=1.0)
    assert reaches == pytest.approx(sorted(reaches), rel=0.15)
    assert {one.stack.label for one in cautious} == {one.stack.label for one in plain}


def test_what_is_laid_over_is_looked_at_under_other_lights_where_all_spectra_were_measured():
    """Under a lamp whose colours are adapted to, a stack that has the target's own spectrum parts
    from it nowhere; without spectra it is said that they are missing.
    """
    steps = tuple(np.linspace(380.0, 730.0, 36).tolist())
    slope = np.linspace(0.3, 0.7, 36)
    pencils = [
        Swatch("T", str(i), tuple(reflectance_lab(steps, values)), uncertainty=0.5,
               reflectance=Reflectance(steps, tuple(values.tolist())))
        for i, values in enumerate((slope, slope[::-1], np.full(36, 0.5)))
    ]  # fmt: skip
    ground = Stack.of(pencils[0], pressures=["light"])
    found = glazes(pencils, ground, pencils[2], under=("A",))
    assert [len(lights) for lights in found.over.under] == [1] * len(found.over.pencils)
    lit = dict(zip((one.stack[0].swatch.code for one in found.over.pencils), found.over.under))
    assert all(light.interval is None for (light,) in lit.values())
    assert len({round(light.delta_E, 6) for (light,) in lit.values()}) == 3
    bare = [dataclasses.replace(one, reflectance=None) for one in pencils]
    silent = glazes(bare, ground, bare[2], under=("A",))
    assert set(silent.over.under) == {()}
    assert any("spectr" in note.text for note in silent.notes)
