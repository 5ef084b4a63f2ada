"""A list translated: equal to enumeration, and what distinct and in order mean."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from planner_oracles import least_assignment, least_ordered, random_lab, swatch

from stopgap.difference import delta_E, difference_words
from stopgap.errors import InputError
from stopgap.planner import Trade, estimated_conditions, find_stand_ins, translate_list
from stopgap.planner.solver import Clock, assign, prices
from stopgap.planner.translation import ordered_assignment
from stopgap.planner.translation.answer import Asked
from stopgap.planner.translation.assignment import translate
from stopgap.swatches import FreeColour, LaidStack, Selection, Stack, Status

pytestmark = pytest.mark.slow

seeds = st.integers(0, 10**6)


def colour(label, lab, weight=1.0):
    return Asked(label, FreeColour(label, tuple(float(value) for value in lab)), weight)


# boxes at random are far from lists at random: handed over as a function, ΔE00 ranks there too
def random_list(seed, n_asked, n_pencils):
    """Colours on a coarse grid, so that equal ones and ties occur."""
    rng = np.random.default_rng(seed)

    def lab():
        return np.round(np.array(random_lab(rng)) / 8) * 8

    asked = [colour(f"c{i}", lab(), float(rng.integers(1, 4))) for i in range(n_asked)]
    pencils = [swatch(f"{i:02d}", lab()) for i in range(n_pencils)]
    return asked, pencils


def table_of(asked, pencils):
    """Equal colours as one row: cost, what leaving out costs, lightness."""
    groups = sorted({entry.lab for entry in asked})
    pencils = sorted(pencils, key=lambda pencil: pencil.address)
    all_delta = [[float(delta_E(lab, pencil.lab)) for pencil in pencils] for lab in groups]
    weights = [sum(entry.weight for entry in asked if entry.lab == lab) for lab in groups]
    out = max(100.0, 2 * max(map(max, all_delta)))
    cost = [[w * d for d in row] for w, row in zip(weights, all_delta)]
    without = [w * out for w in weights]
    return groups, pencils, cost, without, out


def total_with_penalty(translation, out):
    return translation.total + out * sum(row.asked.weight for row in translation.without)


@settings(derandomize=True, deadline=None, max_examples=60)
@given(seeds, st.integers(1, 8), st.integers(1, 15))
def test_distinct_equals_enumeration(seed, n_asked, n_pencils):
    asked, pencils = random_list(seed, n_asked, n_pencils)
    answer = translate(asked, pencils, metric=delta_E)
    groups, _, cost, without, out = table_of(asked, pencils)
    assert total_with_penalty(answer, out) == pytest.approx(least_assignment(cost, without))
    served = {row.asked.lab: row.given.label for row in answer.rows if row.given}
    assert len(set(served.values())) == len(served) == min(len(groups), n_pencils)


@settings(derandomize=True, deadline=None, max_examples=60)
@given(seeds, st.integers(1, 6), st.integers(1, 9), st.booleans())
def test_order_of_lightness_equals_enumeration(seed, n_asked, n_pencils, distinct):
    asked, pencils = random_list(seed, n_asked, n_pencils)
    answer = translate(asked, pencils, metric=delta_E, keep_order=True, distinct=distinct)
    groups, by_address, cost, without, out = table_of(asked, pencils)
    before = [[a[0] - b[0] > 5.0 for b in groups] for a in groups]
    lightness = [pencil.lab[0] for pencil in by_address]
    best = least_ordered(cost, without, lightness, before, distinct=distinct)
    assert answer.proved
    assert total_with_penalty(answer, out) == pytest.approx(best)
    for one in answer.rows:
        for other in answer.rows:
            if one.given and other.given and one.asked.lab[0] - other.asked.lab[0] > 5.0:
                assert one.given.lab[0] > other.given.lab[0]


def test_eight_colours_fifteen_pencils_in_order():
    asked, pencils = random_list(7, 8, 15)
    answer = translate(asked, pencils, metric=delta_E, keep_order=True)
    groups, by_address, cost, without, out = table_of(asked, pencils)
    before = [[a[0] - b[0] > 5.0 for b in groups] for a in groups]
    lightness = [pencil.lab[0] for pencil in by_address]
    best = least_ordered(cost, without, lightness, before, distinct=True)
    assert total_with_penalty(answer, out) == pytest.approx(best)
    assert (
        answer.total > translate(asked, pencils, metric=delta_E).total
    )  # the order does cost something here


def test_what_an_answer_out_of_time_lacks_at_most_is_no_less_than_what_it_lacks():
    """Against the same sums with all the time they take; the order of lightness holds in both."""
    lacking = 0
    for seed in range(8):
        rng = np.random.default_rng(seed)
        cost, without = rng.uniform(0.0, 30.0, (7, 12)), np.full(7, 60.0)
        lightness, asked = rng.integers(0, 40, 12).astype(float), rng.uniform(0.0, 40.0, 7)
        before = asked[:, None] - asked > 5.0
        results = np.arange(12) // 2 if seed % 2 else None
        apart = np.ones((1, 7), dtype=bool)
        sums, gaps = [], []
        for limit in (0.0, None):
            groups = ordered_assignment.OrderedGroups(
                cost, without, lightness, before, results, apart
            )
            chosen, gap = groups.assign(Clock(limit))
            served = chosen >= 0
            sums.append(np.where(served, cost[np.arange(7), chosen], without).sum())
            gaps.append(gap)
            both = before & served[:, None] & served
            assert (lightness[chosen][:, None] - lightness[chosen] > 0.0)[both].all()
            if results is not None:
                assert len(set(results[chosen[served]])) == served.sum()
        lacking += gaps[0] > 0.0
        assert gaps[1] == 0.0
        assert sums[1] - 1e-6 <= sums[0] <= sums[1] + gaps[0] + 1e-6
    assert lacking


@pytest.mark.parametrize("keep_order", [False, True])
def test_a_list_without_time_for_recipes_says_so_and_lacks_no_more_than_it_says(keep_order):
    asked, pencils = random_list(4, 5, 14)

    def translated(limit):
        return translate_list(
            asked,
            pencils,
            selection=Selection(),
            layers=estimated_conditions(),
            keep_order=keep_order,
            time_limit=limit,
        )

    full, hurried = translated(None), translated(0.0)
    assert any(row.given.recipe for row in full.rows)
    assert not any(row.given.recipe for row in hurried.rows)
    assert "recipes were tried for any need" in hurried.notes[0].text
    assert full.proved
    assert not hurried.proved
    assert hurried.total - hurried.gap <= full.total <= hurried.total


@settings(derandomize=True, deadline=None, max_examples=40)
@given(seeds, st.integers(1, 7), st.integers(1, 5))
def test_prices_prove_that_no_assignment_costs_less(seed, n, more):
    cost = np.random.default_rng(seed).integers(0, 9, (n, n + more)).astype(float)
    columns = assign(cost)
    u, v = prices(cost, columns)
    assert (u[:, np.newaxis] + v <= cost + 1e-9).all()
    assert (v <= 0.0).all()
    assert u.sum() + v.sum() == pytest.approx(cost[np.arange(n), columns].sum())


@settings(derandomize=True, deadline=None, max_examples=40)
@given(seeds, st.randoms(use_true_random=False))
def test_the_order_of_rows_changes_nothing(seed, random):
    asked, pencils = random_list(seed, 7, 12)
    first = translate(asked, pencils)
    random.shuffle(asked)
    random.shuffle(pencils)
    second = translate(asked, pencils)
    assert {row.asked.label: row.given for row in first.rows} == {
        row.asked.label: row.given for row in second.rows
    }


@settings(derandomize=True, deadline=None, max_examples=40)
@given(seeds)
def test_repeat_gives_each_its_nearest(seed):
    asked, pencils = random_list(seed, 6, 10)
    answer = translate(asked, pencils, metric=delta_E, distinct=False)
    for row in answer.rows:
        nearest = min(float(delta_E(row.asked.lab, pencil.lab)) for pencil in pencils)
        assert row.delta_E == pytest.approx(nearest)
        assert row.cost_of_distinctness == 0.0


def test_what_distinctness_costs_is_said():
    pencils = [swatch("1", (50, 0, 0)), swatch("2", (60, 0, 0))]
    answer = translate([colour("a", (50, 0, 0)), colour("b", (53, 0, 0))], pencils)
    assert [row.given.label for row in answer.rows] == ["A:1", "A:2"]
    assert answer.rows[0].cost_of_distinctness == 0.0
    assert answer.rows[1].nearest.label == answer.rows[1].second.label == "A:1"
    expected = delta_E((53, 0, 0), (60, 0, 0)) - delta_E((53, 0, 0), (50, 0, 0))
    assert answer.rows[1].cost_of_distinctness == pytest.approx(float(expected))
    assert answer.worst is answer.rows[1]


def test_colours_the_same_to_the_eye_share_a_pencil_and_others_do_not():
    pencils = [swatch("1", (50, 0, 0)), swatch("2", (80, 0, 0)), swatch("3", (20, 0, 0))]
    near = [colour("a", (50, 0, 0)), colour("b", (50.4, 0, 0)), colour("c", (53, 0, 0))]
    given = [row.given.label for row in translate(near, pencils).rows]
    assert given[0] == given[1] != given[2]


def test_a_row_of_barely_different_colours_is_not_one_colour():
    # each is the same to the eye as the next, the ends are not
    near = [colour(str(i), (50 + 0.6 * i, 0, 0)) for i in range(4)]
    pencils = [swatch(str(i), (40 + 5 * i, 0, 0)) for i in range(6)]
    rows = translate(near, pencils).rows
    for one in rows:
        for other in rows:
            if float(delta_E(one.asked.lab, other.asked.lab)) > 0.8:
                assert one.given.label != other.given.label


def test_too_few_pencils_leave_the_lightest_weight_without():
    pencils = [swatch("1", (50, 0, 0)), swatch("2", (60, 0, 0))]
    asked = [colour("a", (50, 0, 0), 1), colour("b", (55, 0, 0), 5), colour("c", (60, 0, 0), 5)]
    answer = translate(asked, pencils)
    assert [row.asked.label for row in answer.without] == ["a"]
    assert (
        answer.without[0].reason
        == "every pencil and recipe is needed for other colours of the list"
    )
    assert answer.without[0].nearest.label == "A:1"


def test_unknown_and_discontinued_entries_stay_in_the_list():
    old = swatch("9", (50, 0, 0), range_="B", status=Status.DISCONTINUED)
    asked = [Asked("FM9999", None, note="did you mean FM999?"), Asked.of(old), Asked.of(old)]
    answer = translate(asked, [swatch("1", (51, 0, 0))])
    assert len(answer.rows) == 3
    assert answer.rows[0].reason == "did you mean FM999?"
    assert answer.rows[0] in answer.impossible
    assert answer.rows[1].asked.note == "discontinued"
    assert answer.rows[1].given.label == answer.rows[2].given.label == "A:1"


def test_what_cannot_be_had_is_listed_even_though_something_is_given():
    answer = translate([colour("a", (50, 60, 0))], [swatch("1", (50, 0, 0))])
    assert answer.impossible == answer.rows
    assert answer.rows[0].given is not None


def test_nothing_to_choose_from_is_an_answer():
    answer = translate([colour("a", (50, 0, 0))], [])
    assert answer.rows[0].reason == "there is no pencil to choose from"
    assert answer.mean is None


def recipe(lab, *pencils):
    return LaidStack(Stack.of(*pencils, pressures=["light"] * len(pencils)), lab, 1.0)


def test_recipes_may_share_a_pencil_but_not_a_result():
    one, two = swatch("1", (50, 0, 0)), swatch("2", (80, 0, 0))
    ways = [
        recipe((60, 0, 0), one),
        recipe((60.2, 0, 0), two, one),
        recipe((90, 0, 0), two),
    ]
    asked = [colour("a", (50, 0, 0)), colour("b", (60, 0, 0)), colour("c", (63, 0, 0))]
    given = [row.given.label for row in translate(asked, [one, two], recipes=ways).rows]
    assert given[:2] == ["A:1", "A:1 light"]  # beside the pencil laid heavily
    assert given[2] not in (
        "A:2 light, then A:1 light",
        "A:1 light",
    )  # no different


def test_a_recipe_no_different_from_a_pencil_is_not_offered():
    one, two = swatch("1", (50, 0, 0)), swatch("2", (60, 0, 0))
    ways = [recipe((50.1, 0, 0), two, one)]
    answer = translate(
        [colour("a", (50.1, 0, 0)), colour("b", (52, 0, 0))], [one, two], recipes=ways
    )
    assert {row.given.label for row in answer.rows} == {"A:1", "A:2"}


def test_recipes_are_made_from_the_candidates_and_the_colours_asked_for():
    seen = {}

    def ways(swatches, aims):
        seen["swatches"], seen["aims"] = [one.address for one in swatches], aims.tolist()
        return [recipe((75, 0, 0), swatches[0])]

    answer = translate([colour("a", (75, 0, 0))], [swatch("1", (50, 0, 0))], recipes=ways)
    assert seen == {"swatches": ["A:1"], "aims": [[75.0, 0.0, 0.0]]}
    assert answer.rows[0].given.label == "A:1 light"


def test_alignment_keeps_the_order_when_the_time_is_over():
    rng = np.random.default_rng(3)
    asked = [colour(f"c{i}", random_lab(rng)) for i in range(12)]
    pencils = [swatch(f"{i:02d}", random_lab(rng)) for i in range(20)]
    answer = translate(asked, pencils, keep_order=True, time_limit=0.0)
    assert not answer.proved
    assert not answer.without
    for one in answer.rows:
        for other in answer.rows:
            if one.asked.lab[0] - other.asked.lab[0] > 5.0:
                assert one.given.lab[0] > other.given.lab[0]


@settings(derandomize=True, deadline=None, max_examples=40)
@given(seeds, st.integers(1, 5), st.integers(1, 6))
def test_alignment_is_the_best_in_strict_order(seed, n_rows, n_columns):
    rng = np.random.default_rng(seed)
    cost, without = rng.uniform(0, 10, (n_rows, n_columns)), rng.uniform(5, 20, n_rows)
    levels = rng.integers(0, 4, n_columns)
    answer = ordered_assignment.align(
        cost, without, np.arange(n_rows), np.unique(levels, return_inverse=True)[1]
    )
    total = sum(cost[i, way] if way >= 0 else without[i] for i, way in enumerate(answer))
    before = np.triu(np.ones((n_rows, n_rows), dtype=bool), 1)
    assert total == pytest.approx(least_ordered(cost, without, levels, before, distinct=False))


def test_uncertain_pencils_are_tied():
    pencils = [swatch("1", (50, 0, 0), uncertainty=2.0), swatch("2", (53, 0, 0), uncertainty=2.0)]
    assert translate([colour("a", (50, 0, 0))], pencils).rows[0].tied
    sure = [swatch("1", (50, 0, 0), uncertainty=0.5), swatch("2", (53, 0, 0), uncertainty=0.5)]
    assert not translate([colour("a", (50, 0, 0))], sure).rows[0].tied


@pytest.mark.parametrize("apart", [0.5, 1.0, 2.0, 3.0, 4.0, 6.0, 9.0])
@pytest.mark.parametrize("lab", [(50, 0, 0), (40, 60, 20), (80, 5, 70)], ids=str)
def test_a_list_marks_as_tied_what_a_question_for_stand_ins_marks(lab, apart):
    near, far = (lab[0] + 1, *lab[1:]), (lab[0], lab[1], lab[2] + 1 + apart)
    pencils = [swatch("1", near, uncertainty=1.2), swatch("2", far, uncertainty=0.8)]
    row = translate([colour("a", lab)], pencils).rows[0]
    found = find_stand_ins(FreeColour("a", lab), pencils, limit=2)
    assert row.tied == found.matches[0].tied == found.matches[1].tied


@pytest.mark.parametrize("weight", [0.0, -1.0, float("nan"), float("inf"), "2"])
def test_bad_weights_are_refused(weight):
    with pytest.raises(InputError, match="weight"):
        colour("a", (50, 0, 0), weight)


def test_bad_lists_are_refused():
    with pytest.raises(InputError, match="holds no colour"):
        translate([], [swatch("1", (50, 0, 0))])
    with pytest.raises(InputError, match="A:1 occurs twice"):
        translate([colour("a", (50, 0, 0))], [swatch("1", (50, 0, 0)), swatch("1", (51, 0, 0))])
    with pytest.raises(InputError, match="finite"):
        colour("a", (50, float("nan"), 0))


def test_rows_carry_grade_and_words_of_what_is_given():
    pencils = [swatch("1", (50, 0, 0)), swatch("2", (70, 0, 0))]
    near, far = translate([colour("a", (50.5, 0, 0)), colour("b", (90, 0, 0))], pencils).rows
    assert (near.grade, far.grade) == ("same", "different")
    assert near.words == difference_words((50.5, 0, 0), (50, 0, 0))
    assert "darker" in far.words
    unknown = translate([Asked("x", None)], pencils).rows[0]
    assert (unknown.grade, unknown.words, unknown.cost_of_distinctness) == (None, "", None)
    assert unknown.reason == "nothing of that name is known"
    other = translate([colour("a", (50.5, 0, 0))], pencils, metric="CIE 1976").rows[0]
    assert other.delta_E == pytest.approx(0.5)
    assert other.grade == near.grade


def test_a_recipe_is_graded_by_what_it_promises():
    laid = recipe((50.5, 0, 0), swatch("1", (80, 0, 0)), swatch("2", (20, 0, 0)))._replace(
        uncertainty=2.0
    )
    for distinct in (True, False):
        (row,) = translate(
            [colour("a", (50, 0, 0))],
            [swatch("1", (80, 0, 0)), swatch("2", (20, 0, 0))],
            recipes=[laid],
            distinct=distinct,
        ).rows
        # about 0.5 away; nine in ten within 1.645 times 2 of that (GUM, table G.2, from memory)
        assert (row.likely_grade, row.grade) == ("same", "noticeable")
        assert row.promise.chance == "perhaps same, 1 in 10: try it"
        assert row.grade_probability == row.promise.grade_probability > 0.9


def test_a_second_takes_other_pencils_not_other_pressures():
    one, two, three = (swatch(code, (L, 0, 0)) for code, L in (("1", 80), ("2", 20), ("3", 56)))
    ways = [
        recipe((50, 0, 0), one, two),
        LaidStack(Stack.of(two, one, pressures=["heavy", "light"]), (51.5, 0, 0), 1.0),
        LaidStack(Stack.of(one, two, pressures=["heavy", "heavy"]), (53, 0, 0), 1.0),
    ]
    for distinct in (True, False):
        (row,) = translate(
            [colour("a", (50, 0, 0))], [one, two, three], recipes=ways, distinct=distinct
        ).rows
        assert row.given == ways[0]
        assert row.second.label == "A:3"


def test_bad_ways_and_limits_are_refused():
    one = swatch("1", (50, 0, 0))
    with pytest.raises(InputError, match="one colour"):
        translate([colour("a", (50, 0, 0))], [one], recipes=[recipe(((50, 0, 0), (60, 0, 0)), one)])
    with pytest.raises(InputError, match="at least one pencil"):
        translate([colour("a", (50, 0, 0))], [one], recipes=[recipe((50, 0, 0))])
    with pytest.raises(InputError, match="clearly_lighter"):
        translate([colour("a", (50, 0, 0))], [one], clearly_lighter=-1.0)


@settings(derandomize=True, deadline=None, max_examples=40)
@given(seeds, st.integers(1, 12), st.integers(1, 12))
def test_each_its_nearest_equals_looking_at_every_way(seed, n_asked, n_pencils):
    asked, pencils = random_list(seed, n_asked, n_pencils)
    mixed = [
        LaidStack(Stack.of(pencils[0], pencils[-1], pressures=pressures), (50.0, a, 1.0), 1.0)
        for pressures, a in ((["light", "heavy"], 9.0), (["light", "medium"], 10.0))
    ]
    answer = translate(asked, pencils, metric=delta_E, distinct=False, recipes=mixed)
    ways = [LaidStack.of(pencil) for pencil in pencils] + mixed
    for row in answer.rows:
        near = sorted((float(delta_E(row.asked.lab, way.lab)), at) for at, way in enumerate(ways))
        assert row.given == row.nearest == ways[near[0][1]]
        assert row.delta_E == row.nearest_delta_E == pytest.approx(near[0][0])
        others = [(ways[at], apart) for apart, at in near]
        others = [one for one in others if one[0].addresses != row.given.addresses]
        if others:
            assert (row.second, row.second_delta_E) == (others[0][0], pytest.approx(others[0][1]))
        else:
            assert (row.second, row.second_delta_E) == (None, None)


@settings(derandomize=True, deadline=None, max_examples=60)
@given(seeds, st.booleans(), st.booleans())
def test_the_same_colour_gets_the_same_answer_in_every_stage(seed, distinct, keep_order):
    asked, pencils = random_list(seed, 5, 9)
    again = [Asked(f"again {one.label}", one.target, weight=5.0, stage="late") for one in asked]
    answer = translate([*asked, *again], pencils, distinct=distinct, keep_order=keep_order)
    assert answer.stages == {"": [0, 1, 2, 3, 4], "late": [5, 6, 7, 8, 9]}
    early, late = answer.rows[:5], answer.rows[5:]
    assert [row.given for row in early] == [row.given for row in late]


def least_within_stages(cost, without, stages):
    """Every assignment tried: no two rows that share a stage get one column."""

    def total(row, given):
        if row == len(cost):
            return 0.0
        taken = {one for other, one in enumerate(given) if stages[other] & stages[row]}
        here = [
            cost[row][one] + total(row + 1, [*given, one])
            for one in range(len(cost[row]))
            if one not in taken
        ]
        return min([*here, without[row] + total(row + 1, [*given, -1])])

    return total(0, [])


@settings(derandomize=True, deadline=None, max_examples=40)
@given(seeds, st.integers(2, 6), st.integers(1, 4), st.integers(1, 3))
def test_a_lesson_is_distinct_within_its_stages_and_says_what_it_saves(seed, many, pencils, kinds):
    asked, pencils = random_list(seed, many, pencils)
    chance = np.random.default_rng(seed + 1)
    asked = [replace(one, stage=f"stage {chance.integers(kinds)}") for one in asked]
    groups, _, cost, without, out = table_of(asked, pencils)
    stages = [{one.stage for one in asked if one.lab == lab} for lab in groups]
    answer = translate(asked, pencils, metric=delta_E)
    least = least_within_stages(cost, without, stages)
    assert answer.proved
    assert total_with_penalty(answer, out) == pytest.approx(least)
    given = {}
    for row in answer.rows:
        if row.given:
            assert given.setdefault((row.asked.lab), row.given) == row.given
            others = [one for one in answer.rows if one.asked.stage == row.asked.stage]
            assert all(one.given != row.given or one.asked.lab == row.asked.lab for one in others)
    whole = least_assignment(cost, without)
    assert bool(answer.notes) is (whole - least > 1e-3)
    if answer.notes:
        assert f"would come to {whole - least:.1f} more in sum" in answer.notes[0].text
    over_all = translate(asked, pencils, metric=delta_E, within_stages=False)
    assert total_with_penalty(over_all, out) == pytest.approx(whole)


def test_stages_keep_the_order_of_the_file_and_may_be_taken_up_again():
    lab = (50.0, 0.0, 0.0)
    asked = [Asked("a", FreeColour("a", lab), stage=name) for name in ("Sky", "Kelp", "sky")]
    assert translate(asked, [swatch("1", lab)]).stages == {"Sky": [0, 2], "Kelp": [1]}
    assert translate([colour("a", lab)], [swatch("1", lab)]).stages == {}


@settings(derandomize=True, deadline=None, max_examples=60)
@given(seeds, st.booleans(), st.booleans())
def test_what_was_passed_over_is_nearer_and_could_not_be_had(seed, distinct, keep_order):
    """Against every pencil looked at one by one: each exchange that is told would have been worse
    by the sum that the assignment makes least, or have broken the order.
    """
    asked, pencils = random_list(seed, 6, 9)
    wanted = {"metric": delta_E, "distinct": distinct, "keep_order": keep_order}
    answer = translate(asked, pencils, **wanted)
    given_to = {row.asked.label: row.given for row in answer.rows}
    count = {lab: sum(one.lab == lab for one in asked) for lab in {one.lab for one in asked}}
    for row in answer.rows:
        if row.given is None:
            continue
        apart = {pencil.address: float(delta_E(row.asked.lab, pencil.lab)) for pencil in pencils}
        nearest = min(apart.values())
        assert bool(row.passed_over) == (row.delta_E - nearest > 0.05)
        for passed in row.passed_over:
            assert passed.delta_E == pytest.approx(apart[passed.laid.label])
            assert passed.nearer == pytest.approx(row.delta_E - passed.delta_E)
            assert passed.why in (Trade.NEEDED, Trade.ORDER)
            other, theirs = passed.other, given_to[passed.other.label]
            if passed.why is Trade.ORDER:
                lighter = np.sign(row.asked.lab[0] - other.lab[0])
                assert abs(row.asked.lab[0] - other.lab[0]) > 5.0
                assert lighter * (passed.laid.lab[0] - theirs.lab[0]) <= 0.0
            else:
                assert theirs.label == passed.laid.label
                gone = passed.there if passed.without is None else passed.without
                alone = count[row.asked.lab] == count[other.lab] == 1
                if alone and not keep_order and passed.without is not None:
                    assert row.asked.weight * passed.nearer <= (
                        other.weight * (gone - passed.there) + 1e-9
                    )


def test_a_pencil_that_is_to_be_replaced_and_one_of_another_hue_are_passed_over():
    gone = swatch("1", (60, 70, 50), owned=True, status=Status.DISCONTINUED)
    grey, red = swatch("2", (60, 0, 0)), swatch("3", (35, 28, 20))
    for distinct in (True, False):
        (row,) = translate([Asked.of(gone)], [gone, grey, red], distinct=distinct).rows
        assert row.passed_over[0][:4] == (LaidStack.of(gone), 0.0, row.delta_E, Trade.REPLACED)
        if row.by_hue:
            assert all(one.why is Trade.HUE for one in row.passed_over[1:])


def test_one_answer_for_what_is_the_same_to_the_eye_is_said():
    first, second = colour("a", (50, 0, 0), 9.0), colour("b", (50.4, 0, 0))
    pencils = [swatch("1", (49.6, 0, 0)), swatch("2", (51, 0, 0))]
    row = translate([first, second], pencils).rows[1]
    assert row.given.lab == (49.6, 0, 0)
    (passed,) = row.passed_over
    assert (passed.why, passed.other, passed.laid.lab) == (Trade.TOGETHER, first, (51, 0, 0))
