"""What pencils look like on the paper drawn on: one function, the swatch's own colour on its own.

The oracle is Munsell's scale of greys. A neutral sheet reflects every wavelength alike, so a clear
layer moved from one to another keeps the proportions of its X, Y, Z and is scaled by the luminances
of the two: no spectrum, and no model of paper, is needed to say so.
"""

import math
import warnings
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stopgap.colorimetry import lab_to_xyz, xyz_to_lab
from stopgap.difference import delta_E, from_even_coordinates, to_even_coordinates
from stopgap.library import (
    Convention,
    datasets,
    import_range,
    open_library,
    paper_asked,
    read_layered,
    read_range,
    stored_papers,
)
from stopgap.library.store.papers import keep_calibration, keep_paper
from stopgap.planner import (
    conditions_of,
    conditions_on,
    find_recipes,
    ground_of,
    ground_to_learn,
    lay,
    lay_alone,
    learn_conditions,
)
from stopgap.planner.doubt import doubt_of, nearest_probabilities
from stopgap.planner.draws import COVERING_WIDER, OWN_COVERING
from stopgap.planner.recipes.questions import LayerQuestion
from stopgap.swatches import (
    DEFAULT_PAPER_LAB,
    Covering,
    Finish,
    FreeColour,
    LaidState,
    Opacity,
    Paper,
    Pencil,
    Stack,
    Swatch,
    as_layered,
    colour_of,
)

pytestmark = pytest.mark.slow

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # colour says which optional packages it lacks
    from colour.colorimetry import luminance_ASTMD1535

TAN = Paper((74.0, 6.0, 20.0), measured=True, name="Tan")
colours = st.tuples(st.floats(15, 85), st.floats(-15, 15), st.floats(-15, 15))
papers = st.sampled_from(["", "white", "Tan", "Somewhere"])


@pytest.fixture
def library(demo_library, tmp_path):
    """A copy of the demo's library that may be changed."""
    path = tmp_path / "library.sqlite"
    path.write_bytes(demo_library.read_bytes())
    with open_library(path) as opened:
        yield opened


def pencil(code, *swatches):
    return Pencil(tuple(Swatch("Fen", code, lab, **laid) for lab, laid in swatches))


laid = st.fixed_dictionaries({"paper": papers, "state": st.sampled_from(LaidState)})
boxes = st.lists(st.lists(st.tuples(colours, laid), min_size=1, max_size=3), max_size=5).map(
    lambda box: [pencil(str(code), *swatches) for code, swatches in enumerate(box)]
)


@settings(max_examples=60, deadline=None)
@given(boxes)
def test_on_white_every_pencil_is_what_it_was_to_the_bit(box):
    white = Paper(name="white")
    ground = lay_alone(box, white, conditions_on(None, white.lab))
    named = (colour_of(pencil.swatches, "white") for pencil in box)
    assert ground.swatches == tuple(swatch for swatch in named if swatch is not None)
    assert all(swatch.layered_as is None for swatch in ground.swatches)
    assert (ground.predicted, ground.notes) == (frozenset(), ())


def test_where_no_paper_is_asked_about_a_library_answers_as_ever(library):
    for asked in (None, "white", "White"):
        ground = ground_of(library, asked)
        assert ground.swatches == library.swatches()
        assert ground.conditions == conditions_on()


def is_clear(swatch, brightest):
    """Whether a pencil can be a filter over a sheet: nowhere brighter than that."""
    if swatch.finish is Finish.FLUORESCENT or swatch.lab[0] > 85.0:  # paler ones may cover
        return False
    return swatch.reflectance is None or max(swatch.reflectance.values) <= brightest


@pytest.mark.parametrize("value", [2.0, 4.0, 5.5, 7.0, 9.0])
def test_on_munsell_greys_clear_pencils_scale_as_their_luminances(value, library):
    """Luminances of the greys: ASTM D1535, by colour-science, in proportion to N 9.5."""
    whitest, greyer = (float(luminance_ASTMD1535(V)) for V in (9.5, value))
    white, grey = (
        tuple(xyz_to_lab(lab_to_xyz([100.0, 0.0, 0.0]) * Y / 100.0)) for Y in (whitest, greyer)
    )
    box = [p for p in library.pencils()[::5] if is_clear(p.first, whitest / 100.0)]
    base = Paper(white, measured=True, name="N 9.5")
    conditions = conditions_on(None, grey, learnt=conditions_on(None, white, swatches_too=True))
    ground = lay_alone(box, Paper(grey, measured=True, name="grey"), conditions, [base])
    expected = xyz_to_lab(lab_to_xyz([p.first.lab for p in box]) * greyer / whitest)
    off = delta_E(np.array([swatch.lab for swatch in ground.swatches]), expected)
    assert len(off) > 35
    assert off.max() < 1e-6
    assert ground.predicted == {p.first.address for p in box}


def test_a_swatch_on_that_paper_counts_and_layers_are_reckoned_from_the_other():
    both = pencil("1", ((50.0, 20.0, 10.0), {}), ((38.0, 17.0, 15.0), {"paper": "tan"}))
    only = pencil("2", ((45.0, -5.0, 8.0), {"paper": "TAN"}))
    ground = lay_alone([both, only], TAN, conditions_on(None, TAN.lab))
    assert [swatch.lab for swatch in ground.swatches] == [(38.0, 17.0, 15.0), (45.0, -5.0, 8.0)]
    assert ground.predicted == frozenset()
    first, second = map(as_layered, ground.swatches)
    assert first == both.first
    # laid on white it is lighter, and less yellow
    assert second.lab[0] > 50.0
    assert second.lab[2] < 4.0
    there_and_back = lay_alone([Pencil((second,))], TAN, conditions_on(None, TAN.lab))
    assert delta_E(there_and_back.swatches[0].lab, only.first.lab) < 0.05


def test_a_prediction_is_never_surer_than_its_swatch_and_says_what_it_is(library):
    ground = ground_of(library, "tan")
    for before, after in zip(library.swatches(), ground.swatches, strict=True):
        assert after.uncertainty >= before.uncertainty
        assert after.shared_uncertainty == before.shared_uncertainty
        assert after.total_uncertainty > before.total_uncertainty
        assert before.ground_uncertainty == 0.0 < after.ground_uncertainty
        assert (after.reflectance, after.covariance, after.paper) == (None, None, "tan")
        assert as_layered(after) == before
    (note,) = ground.notes
    assert "240 pencils, never swatched on tan (lab(74 6 20), a value of stopgap's" in note.text


def test_what_no_model_can_lay_keeps_its_colour_as_unsure_as_the_papers_are_apart():
    glowing = pencil("1", ((97.0, -60.0, 95.0), {}))
    ground = lay_alone([glowing], TAN, conditions_on(None, TAN.lab))
    (swatch,) = ground.swatches
    assert swatch.lab == glowing.first.lab
    assert swatch.uncertainty == pytest.approx(delta_E(TAN.lab, DEFAULT_PAPER_LAB))


def test_what_is_not_known_of_covering_drops_out_between_pencils_on_one_paper(library):
    ground = ground_of(library, "grey")
    target, *others = ground.swatches[:40]
    others = sorted(others, key=lambda one: delta_E(one.lab, target.lab))[:12]
    shared = np.array([swatch.ground_uncertainty for swatch in others])
    assert shared.min() > 3.0
    on_grey = doubt_of([target], others).sigmas
    free = doubt_of([FreeColour("", target.lab)], others).sigmas
    measured = replace(target, ground_uncertainty=0.0, covering=None)  # was swatched there
    for apart in (free, doubt_of([measured], others).sigmas):
        assert (apart > on_grey).mean() > 0.7  # some go the other way by more than they share
        assert apart.mean() > 1.15 * on_grey.mean()


def test_what_covers_alike_is_only_as_unsure_as_each_covers_by_itself():
    """By hand, about L* = 50, where ΔE00 of a step in lightness is its length."""

    def swatch(lab, *line, paper="tan"):
        apart = {"ground_uncertainty": 1.0, "covering": Covering(*line), "uncertainty": 0.0}
        return Swatch("Fen", str(lab), lab, paper=paper, **apart)

    one = swatch((54.0, 0.0, 0.0), (55.0, 0.0, 0.0), (57.0, 0.0, 0.0))
    other = swatch((46.0, 0.0, 0.0), (47.0, 0.0, 0.0), (49.0, 0.0, 0.0))
    across = swatch((54.0, 0.0, 8.0), (55.0, 0.0, 8.0), (57.0, 0.0, 8.0))
    each = COVERING_WIDER * OWN_COVERING * 2.0
    assert doubt_of([one], [other]).sigmas == pytest.approx([math.hypot(each, each)], rel=0.03)
    assert doubt_of([one], [across]).sigmas[0] < 0.1 * each
    farther = replace(other, lab=(44.0, 0.0, 0.0))  # than it is expected, by two more
    expected = math.hypot(each, each, 2.0)
    assert doubt_of([one], [farther]).sigmas == pytest.approx([expected], rel=0.05)
    elsewhere = replace(other, paper="grey")
    assert doubt_of([one], [elsewhere]).sigmas == pytest.approx([math.sqrt(2.0)], rel=0.05)


def test_a_word_on_what_a_pencil_covers_makes_its_colour_on_black_surer():
    box = [
        Pencil((Swatch("Fen", str(word), (60.0, 20.0, 20.0), opacity=word),))
        for word in (None, Opacity.TRANSPARENT, Opacity.SEMI, Opacity.COVERS)
    ]
    black = Paper((20.0, 0.0, 0.0), name="black")
    ground = lay_alone(box, black, conditions_on(None, black.lab))
    unknown, clear, semi, covers = ground.swatches
    told = [swatch.ground_uncertainty for swatch in (clear, semi, covers)]
    assert max(told) < unknown.ground_uncertainty
    assert clear.lab[0] < semi.lab[0] < covers.lab[0]


def test_each_pencil_covers_in_its_own_way_too(monkeypatch):
    """So that what is shared does not tell two apart; the whole doubt of each stays what it was."""
    box = [Pencil((Swatch("Fen", str(L), (L, 20.0, 20.0)),)) for L in (60.0, 62.0)]
    black = Paper((20.0, 0.0, 0.0), name="black")

    def on_black():
        return lay_alone(box, black, conditions_on(None, black.lab)).swatches

    found = on_black()
    monkeypatch.setattr("stopgap.planner.ground._BESIDE_COVERING", 0.0)
    shared = on_black()
    for one, other in zip(found, shared, strict=True):
        assert one.total_uncertainty == pytest.approx(other.total_uncertainty)
        assert one.uncertainty > other.uncertainty + 0.1
    apart = (doubt_of(some[:1], some[1:]).sigmas for some in (found, shared))
    assert next(apart) > next(apart) + 0.02


def test_which_is_nearest_on_black_agrees_with_colours_drawn_whole():
    """Slow twin of the draws: each goes along its line, by itself and as all on that paper do."""
    box = lay_alone(
        [Pencil((Swatch("Fen", str(place), lab, uncertainty=0.3),)) for place, lab in SIX.items()],
        Paper((20.0, 0.0, 0.0), name="black"),
        conditions_on(None, (20.0, 0.0, 0.0)),
    ).swatches
    generator = np.random.default_rng(5)
    ends = to_even_coordinates(np.array([one.covering for one in box]))
    lines = COVERING_WIDER * (ends[:, 1] - ends[:, 0])
    together, own = generator.standard_normal((20000, 1)), []
    for line in lines:
        apart = OWN_COVERING * generator.standard_normal((20000, 1))
        own.append(line * (apart + math.sqrt(1.0 - OWN_COVERING**2) * together))
    beside = [one.uncertainty * generator.standard_normal((20000, 3)) for one in box]
    drawn = from_even_coordinates(ends[:, 0, np.newaxis] + np.array(own) + np.array(beside))
    nearest = delta_E(drawn[1:], drawn[:1]).argmin(axis=0)
    expected = np.bincount(nearest, minlength=len(box) - 1) / 20000
    found = nearest_probabilities(box[:1], box[1:])[0]
    np.testing.assert_allclose(found, expected, atol=0.06)


SIX = {
    "1": (60.0, 20.0, 20.0),
    "2": (66.0, 18.0, 14.0),
    "3": (55.0, 24.0, 30.0),
    "4": (80.0, 4.0, 10.0),
    "5": (45.0, 10.0, -15.0),
    "6": (70.0, 10.0, 35.0),
}


def test_alone_and_as_a_recipe_a_pencil_has_one_colour(library):
    ground = ground_of(library, "tan", "rough")
    for swatch in ground.swatches[::40]:
        found = lay(Stack.of(swatch), ground.conditions)
        assert found.lab == swatch.lab
        assert found.stack[0].swatch == swatch
        both = lay(Stack.of(swatch, swatch), ground.conditions)
        assert both.lab != swatch.lab
    question = LayerQuestion(ground.conditions, ground.swatches[:12], always=True, limit=5)
    target = FreeColour("", ground.swatches[3].lab)
    recipes, _ = find_recipes(target, question, single_delta_E=np.inf, single_sigma=0.0)
    assert recipes
    for recipe in recipes:  # pencils in recipes are shown as they look on this paper
        assert all(layer.swatch in ground.swatches for layer in recipe.stack)
        again = lay(recipe.stack, ground.conditions)
        assert delta_E(again.lab, recipe.lab) < 1e-6


def test_what_is_learnt_on_one_paper_changes_no_answer_on_another(library):
    keep_paper(library, Paper((96.2, -0.1, 2.1), name="Mine"))
    keep_paper(library, Paper(TAN.lab, name="Kraft", grain="rough"))
    asked = (None, "Kraft", "Mine", "white", "tan", "#f0e8d8")
    box = library.pencils()[::40]

    def answers():
        return dict(zip(asked, map(answer, asked)))

    def answer(on):
        papers = stored_papers(library)
        paper = paper_asked(papers, on)
        conditions = conditions_of(library, paper)
        swatches = () if paper is None else lay_alone(box, paper, conditions, papers).swatches
        return swatches, conditions

    before = answers()
    learn(library, "Mine")
    after = answers()
    assert {on for on in asked if after[on] != before[on]} == {"Mine"}
    assert after["Mine"][1].samples == 6
    learn(library, None)
    third = answers()
    assert {on for on in asked if third[on] != after[on]} == {None, "white"}


def learn(library, on):
    ground = ground_to_learn(library, on)
    rows = read_layered(
        datasets() / "layered.csv", ground.swatches, tuple(ground.conditions.loads)
    ).rows
    keep_calibration(library, learn_conditions(rows, ground.conditions).conditions, ground.on)


def test_grain_is_the_papers_own_unless_another_is_asked_for(library):
    keep_paper(library, Paper(TAN.lab, name="Kraft", grain="rough"))
    (kraft,) = stored_papers(library)
    assert conditions_of(library, kraft).tooth == conditions_on("rough").tooth
    assert conditions_of(library, kraft, "smooth").tooth == conditions_on("smooth").tooth
    assert conditions_of(library, kraft._replace(grain="")) == conditions_on(None, TAN.lab)


def test_ranges_lie_on_the_bare_paper_that_they_were_measured_with(tmp_path):
    """As if each swatch named it; where all lie on one, layers are laid there unasked."""
    bare, rows = (80.0, 3.0, 14.0), "code,L,a,b\n1,60,20,10\n2,45,-10,-20\n3,75,5,30\n"
    texts = {"one": rows, "other": rows, "named": "code,L,a,b,paper\n1,60,20,10,Kraft\n"}
    for name, text in texts.items():
        (tmp_path / f"{name}.csv").write_text(text)

    def taken(library, name, paper):
        draft = read_range(tmp_path / f"{name}.csv", name, Convention(), bare_paper=paper)
        import_range(library, draft)

    with open_library(tmp_path / "library.sqlite") as library:
        taken(library, "one", "lab(80 3 14)")
        found = ground_of(library)
        assert found.conditions.paper == found.conditions.swatch_paper == bare
        assert {swatch.code: swatch.lab for swatch in found.swatches}["1"] == (60.0, 20.0, 10.0)
        assert ground_to_learn(library).conditions.paper == bare
        on_it = ground_of(library, "lab(80 3 14)")
        assert not on_it.predicted
        assert [one.lab for one in on_it.swatches] == [one.lab for one in found.swatches]
        keep_paper(library, Paper(bare, measured=True, name="Kraft"))
        taken(library, "named", None)
        # one names the paper that the other was measured with: they are one colour on black
        black = {one.address: one.lab for one in ground_of(library, "black").swatches}
        assert black["named:1"] == pytest.approx(black["one:1"], abs=1e-9)
        assert ground_of(library).conditions.paper == DEFAULT_PAPER_LAB
        taken(library, "other", None)
        white = {one.address: one.lab for one in ground_of(library, "white").swatches}
        assert white["other:1"] == (60.0, 20.0, 10.0)
        assert delta_E(white["one:1"], white["other:1"]) > 3.0


def test_two_ranges_on_other_bare_papers_are_told_and_meet_on_a_third(tmp_path):
    """Each is moved there from its own; by Munsell's greys as papers, clear layers keep the share
    of the light that they let through. Where papers are close nothing is said.
    """
    light, dark, third = (
        tuple(xyz_to_lab(lab_to_xyz(DEFAULT_PAPER_LAB) * luminance_ASTMD1535(value) / 100.0))
        for value in (9.5, 8.0, 7.0)
    )
    clear = xyz_to_lab(lab_to_xyz(DEFAULT_PAPER_LAB) * 0.3)
    with open_library(tmp_path / "library.sqlite") as library:

        def taken(name, bare):
            share = lab_to_xyz(bare)[1] / lab_to_xyz(DEFAULT_PAPER_LAB)[1]
            L, a, b = xyz_to_lab(lab_to_xyz(clear) * share)
            (tmp_path / f"{name}.csv").write_text(f"code,L,a,b,opacity\n1,{L},{a},{b},\n")
            text = "lab({} {} {})".format(*bare)
            draft = read_range(tmp_path / f"{name}.csv", name, Convention(), bare_paper=text)
            import_range(library, draft)

        taken("Fen", light)
        taken("Moor", tuple(np.add(light, (-1.0, 0.0, 0.0))))
        assert ground_of(library).remarks == ()
        taken("Shore", dark)
        (note,) = ground_of(library).remarks
        assert note.text.startswith("Fen was swatched on lab(")
        assert "Shore on lab(" in note.text
        assert (note.plain or "").startswith("Fen was swatched on another paper than Shore, so")
        one, _, other = ground_of(library, "lab({} {} {})".format(*third)).swatches
        assert delta_E(one.lab, other.lab) < 0.05
        # the farther it was moved, the less surely
        assert one.ground_uncertainty > other.ground_uncertainty > 0.0
        assert "swatched on lab" not in str(ground_of(library, "tan").remarks)
