"""Stand-ins against colour-science on ranges made of the Munsell renotation, and by properties."""

import itertools
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stopgap.difference import even_covariance
from stopgap.errors import InputError, NothingFoundError
from stopgap.planner import find_stand_ins
from stopgap.planner.nearness import FAR
from stopgap.swatches import (
    Finish,
    FreeColour,
    Lightfastness,
    LightfastnessScale,
    Selection,
    Status,
    Swatch,
    Swatches,
    rule_of,
)

pytestmark = pytest.mark.slow

ASTM = LightfastnessScale.ASTM
BWS = LightfastnessScale.BWS
OWN = LightfastnessScale.OWN


@pytest.fixture(scope="module")
def munsell_ranges():
    """Three ranges of real Munsell colours; Lab from xyY under illuminant C, adapted to D50.

    Source: the Munsell renotation (Newhall, Nickerson, Judd 1943) as carried by colour-science
    0.4.7, `colour.MUNSELL_COLOURS["Munsell Colours Real"]`.
    """
    import colour

    white_c = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["C"]
    white_d50 = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D50"]
    chosen = list(colour.MUNSELL_COLOURS["real"])[::9]
    xyY = np.array([entry[1] for entry in chosen])
    # the renotation's Y has magnesium oxide as 100 (ASTM D1535: 0.975 of the perfect diffuser)
    xyY = np.column_stack([xyY[:, :2], xyY[:, 2] * 0.975 / 100])
    adapted = colour.adaptation.chromatic_adaptation_VonKries(
        colour.xyY_to_XYZ(xyY),
        colour.xy_to_XYZ(white_c),
        colour.xy_to_XYZ(white_d50),
        transform="Bradford",
    )
    lab = colour.XYZ_to_Lab(adapted, white_d50)
    return [
        Swatch(f"Range {row % 3}", f"M{row:04d}", tuple(map(float, values)))
        for row, values in enumerate(lab)
    ]


def test_full_ranking_is_colour_sciences(munsell_ranges):
    import colour

    lab = np.array([swatch.lab for swatch in munsell_ranges])
    for target in munsell_ranges[::23]:
        answer = find_stand_ins(target, munsell_ranges, limit=len(munsell_ranges))
        # colour-science 0.4.7, delta_E_CIE2000, on every pair
        reference = colour.delta_E(np.array(target.lab), lab, method="CIE 2000")
        others = [row for row, swatch in enumerate(munsell_ranges) if swatch is not target]
        others.sort(key=lambda row: reference[row])
        found = [match.delta_E for match in answer.matches]
        assert found == sorted(found)
        np.testing.assert_allclose(found, reference[others], atol=1e-9)
        ranked = [match.swatch.code for match in answer.matches]
        for place, row in enumerate(others):
            # the order must be the same wherever the differences are not equal to rounding
            if ranked[place] != munsell_ranges[row].code:
                assert found[place] == pytest.approx(reference[row], abs=1e-9)


def test_the_colour_decides_and_not_the_name():
    # common practice, no source: a pencil named after one hue but lying in another is found by
    # its colour
    swatches = [
        Swatch("Fen", "1", (55, 5, -40), "Blue Lagoon"),
        Swatch("Fen", "2", (55, 48, 30), "Blue Lamp"),
        Swatch("Fen", "3", (70, -30, 30), "Red Rock Weed"),
    ]
    answer = find_stand_ins(FreeColour("red", (54, 50, 32)), swatches, limit=1)
    assert answer.matches[0].swatch.code == "2"


labs = st.tuples(st.floats(5, 95), st.floats(-50, 50), st.floats(-50, 50))
ratings = st.one_of(
    st.none(),
    st.builds(Lightfastness, st.just(ASTM), st.integers(1, 5)),
    st.builds(Lightfastness, st.just(BWS), st.integers(1, 8)),
)


@st.composite
def collections(draw):
    count = draw(st.integers(1, 12))
    return [
        Swatch(
            range=draw(st.sampled_from(["One", "Two"])),
            code=f"{number}",
            lab=draw(labs),
            owned=draw(st.booleans()),
            status=draw(st.sampled_from(Status)),
            finish=draw(st.sampled_from(Finish)),
            lightfastness=draw(ratings),
        )
        for number in range(count)
    ]


RULES = [rule_of(*words) for words in (["ASTM II"], ["BWS 6"], ["ASTM III", "BWS 4"])]
selections = st.builds(
    Selection,
    owned=st.booleans(),
    ranges=st.sampled_from([(), ("one",), ("Two", "One")]),
    finishes=st.sampled_from([(Finish.PLAIN,), (Finish.METALLIC, Finish.FLUORESCENT)]),
    include_discontinued=st.booleans(),
    lightfast=st.sampled_from([(), *RULES]),
    among=st.sampled_from([None, frozenset({"One:0", "Two:1", "Two:2"})]),
)
properties = settings(max_examples=120, deadline=None, derandomize=True)


def ask(target, swatches, selection, limit=50):
    try:
        return find_stand_ins(target, swatches, selection=selection, limit=limit).matches
    except NothingFoundError:
        return ()


@properties
@given(collections(), selections, labs)
def test_nothing_excluded_is_ever_offered_and_nothing_admitted_is_lost(swatches, selection, lab):
    found = {match.swatch.code for match in ask(FreeColour("", lab), swatches, selection)}
    for swatch in swatches:
        excluded = (
            (selection.owned and not swatch.owned)
            or (selection.among is not None and swatch.address not in selection.among)
            or (selection.ranges and swatch.range.lower() not in str(selection.ranges).lower())
            or swatch.finish not in selection.finishes
            or (
                swatch.status is Status.DISCONTINUED
                and not swatch.owned
                and not selection.include_discontinued
            )
        )
        rating, rule = swatch.lightfastness, selection.lightfast
        better = (
            rating is not None
            and rating.scale == wanted.scale
            and (rating.rating - wanted.rating) * (-1 if rating.scale == ASTM else 1) >= 0
            for wanted in rule
        )
        excluded = excluded or (rule and not any(better))
        assert (swatch.code in found) is not bool(excluded)


@properties
@given(collections(), selections, labs, labs)
def test_one_more_swatch_never_makes_the_best_worse(swatches, selection, lab, added):
    target = FreeColour("", lab)
    before = ask(target, swatches, selection)
    after = ask(target, [*swatches, Swatch("One", "new", added, owned=True)], selection)
    if before:  # where all are far off, what keeps the hue stands first, not the nearest
        nearest = min(match.delta_E for match in after)
        assert nearest <= min(match.delta_E for match in before)
        assert after[0].delta_E == nearest or nearest > FAR


@properties
@given(collections(), labs, st.randoms(use_true_random=False))
def test_the_order_of_rows_is_immaterial(swatches, lab, shuffler):
    target = FreeColour("", lab)
    shuffled = list(swatches)
    shuffler.shuffle(shuffled)
    assert ask(target, swatches, Selection()) == ask(target, shuffled, Selection())


@properties
@given(collections(), st.data())
def test_the_target_itself_is_never_offered(swatches, data):
    target = data.draw(st.sampled_from(swatches))
    everything = Selection(finishes=tuple(Finish), include_discontinued=True)
    assert target.address not in {
        match.swatch.address for match in ask(target, swatches, everything)
    }


@properties
@given(collections(), selections, labs, st.data())
def test_what_is_kept_of_many_questions_changes_no_answer(swatches, selection, lab, data):
    kept = Swatches(swatches)
    targets = [FreeColour("a colour", lab)]
    targets += data.draw(st.lists(st.sampled_from(swatches), max_size=3))
    for target, cautious in itertools.product(targets, (False, True)):
        asked = {"selection": selection, "limit": 3, "cautious": cautious}
        found = []
        for pencils in (kept, list(swatches)):
            try:
                found.append(find_stand_ins(target, pencils, **asked))
            except NothingFoundError as error:
                found.append(str(error))
        assert found[0] == found[1]


def test_the_same_pencil_in_another_wrapper_is_offered():
    target = Swatch("One", "1", (50, 10, 10))
    twin = replace(target, range="Two")
    assert find_stand_ins(target, [target, twin]).matches[0].swatch == twin


def test_ties_follow_the_uncertainties():
    target = FreeColour("", (50.0, 0.0, 0.0))
    near = Swatch("One", "1", (51.0, 0.0, 0.0), uncertainty=0.5)
    far = Swatch("One", "2", (53.0, 0.0, 0.0), uncertainty=0.5)
    sharp = find_stand_ins(target, [near, far]).matches
    assert [match.tied for match in sharp] == [False, False]
    vague = find_stand_ins(target, [near, replace(far, uncertainty=5.0)]).matches
    assert [match.tied for match in vague] == [False, False]  # it would have to be 2 nearer by luck
    blurred = find_stand_ins(target, [replace(one, uncertainty=3.0) for one in (near, far)])
    assert [match.tied for match in blurred.matches] == [True, True]
    assert "cannot be told apart" in " ".join(map(str, blurred.notes))


def test_ties_hold_the_error_rate_they_state():
    """Simulated readings: where two candidates are equally far, about 5 in 100 are told apart.

    95 per cent one-sided means that the difference of the two readings passes 1.645 standard
    deviations, either way, in 10 of 100 pairs; GUM (JCGM 100:2008), table G.2 for the normal
    distribution, factor from memory.
    """
    generator = np.random.default_rng(20)
    target = FreeColour("", (50.0, 0.0, 0.0))
    trials, told_apart = 1000, 0
    # both truly 3.9 away in ΔE00, in directions at a right angle; scattered by 0.5 in ΔE00
    truth = np.array([[54.0, 0.0, 0.0], [50.0, 0.0, 4.3]])
    root = np.linalg.cholesky(even_covariance(truth, 0.5))
    for _ in range(trials):
        readings = truth + np.einsum("nij,nj->ni", root, generator.standard_normal((2, 3)))
        pair = [
            Swatch("One", str(row), tuple(map(float, reading)), uncertainty=0.5)
            for row, reading in enumerate(readings)
        ]
        told_apart += not find_stand_ins(target, pair).matches[0].tied
    assert 0.06 < told_apart / trials < 0.14


@pytest.mark.parametrize(
    ("mine", "theirs", "says"),
    [
        (Lightfastness(ASTM, 3), Lightfastness(ASTM, 1), "less lightfast"),
        (Lightfastness(ASTM, 1), Lightfastness(ASTM, 1), ""),
        (Lightfastness(BWS, 6), Lightfastness(BWS, 7), "less lightfast"),
        (Lightfastness(BWS, 8), Lightfastness(BWS, 7), ""),
        (Lightfastness(BWS, 8), Lightfastness(ASTM, 1), ""),
        (None, Lightfastness(ASTM, 1), ""),
        (Lightfastness(ASTM, 4), None, "fades soon"),
        (Lightfastness(BWS, 3), Lightfastness(BWS, 2), "fades soon"),
        (Lightfastness(BWS, 4), None, ""),
        (Lightfastness(OWN, 1, 3), Lightfastness(OWN, 3, 3), ""),
    ],
)
def test_what_is_known_to_fade_is_marked(mine, theirs, says):
    target = Swatch("One", "1", (50, 10, 10), lightfastness=theirs)
    other = Swatch("Two", "1", (50, 11, 10), lightfastness=mine)
    cautions = find_stand_ins(target, [other]).matches[0].cautions
    assert (says in " ".join(cautions)) if says else cautions == ()


@pytest.mark.parametrize(("laydown", "marked"), [(1, True), (2, True), (3, False), (None, False)])
def test_a_pencil_that_lays_badly_is_never_first_without_a_mark(laydown, marked):
    target = FreeColour("grey", (50.0, 0.0, 0.0))
    badly = Swatch("R", "1", (50.0, 0.0, 0.0), laydown=laydown)
    better = Swatch("R", "2", (53.0, 0.0, 0.0), laydown=5)
    first, second = find_stand_ins(target, [badly, better]).matches
    assert first.swatch is badly
    assert (f"lays badly: {laydown} of 5" in first.cautions) is marked
    assert not any("lays badly" in said for said in second.cautions)


def test_far_away_is_said():
    far = find_stand_ins(FreeColour("", (50, 60, 40)), [Swatch("One", "1", (50, -40, 40))])
    assert "No pencil is near" in " ".join(map(str, far.notes))


@pytest.mark.parametrize(
    "selection",
    [
        Selection(owned=True),
        Selection(ranges=("None",)),
        Selection(finishes=(Finish.METALLIC,)),
        Selection(lightfast=(Lightfastness(ASTM, 1),)),
    ],
)
def test_nothing_left_is_said_with_its_own_exit_status(selection):
    with pytest.raises(NothingFoundError) as caught:
        find_stand_ins(
            FreeColour("", (50, 0, 0)), [Swatch("One", "1", (50, 0, 0))], selection=selection
        )
    assert caught.value.exit_status == 3


def test_within_refuses_what_is_farther():
    swatches = [Swatch("One", str(step), (50 + 2 * step, 0, 0)) for step in range(1, 5)]
    target = FreeColour("", (50, 0, 0))
    assert len(find_stand_ins(target, swatches, within=4.5).matches) == 2
    with pytest.raises(NothingFoundError, match="One:1"):
        find_stand_ins(target, swatches, within=0.5)


def test_bad_arguments():
    swatch = Swatch("One", "1", (50, 0, 0))
    for arguments in ({"limit": 0}, {"metric": "CIE 1999"}):
        with pytest.raises(InputError):
            find_stand_ins(FreeColour("", (50, 0, 0)), [swatch], **arguments)


def test_every_pair_of_marks_is_reachable():
    # an owned discontinued shade is offered, one that is not owned is not
    for owned, status in itertools.product([True, False], Status):
        swatch = Swatch("One", "1", (50, 0, 0), owned=owned, status=status)
        offered = bool(ask(FreeColour("", (50, 0, 0)), [swatch], Selection()))
        assert offered is (owned or status is Status.CURRENT)
