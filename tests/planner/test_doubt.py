"""How sure a ranking is, against draws of whole colours and simulated readings."""

import sys
from dataclasses import replace
from pathlib import Path

import make_pencil_prior
import numpy as np
import pytest
from scipy.stats import ncx2

from stopgap.difference import (
    GRADES,
    delta_E,
    even_covariance,
    from_even_coordinates,
    to_even_coordinates,
)
from stopgap.errors import UsageError
from stopgap.library import open_library
from stopgap.planner import Asked, cross_table, doubt, find_stand_ins, translate, winning
from stopgap.planner.doubt import (
    doubt_of,
    grade_chances,
    nearest_probabilities,
    upper_bounds,
)
from stopgap.planner.draws import PENCILS, PENCILS_SCATTER
from stopgap.planner.normal_numbers import DRAWS
from stopgap.planner.stand_ins.carried import tied_among
from stopgap.planner.winning import add_wins, tied_group
from stopgap.swatches import (
    Finish,
    FreeColour,
    MeasurementConditions,
    MeasurementMode,
    Selection,
    Source,
    Swatch,
)

sys.path.append(str(Path(__file__).parents[1] / "benchmarks"))

import bench_doubt

TARGET = Swatch("Fen", "t", (50.0, 20.0, 10.0), source=Source.MEASURED, uncertainty=0.5)


def swatch(code, lab, uncertainty=0.5, **facts):
    L, a, b = map(float, lab)
    return Swatch("Fen", code, (L, a, b), uncertainty=uncertainty, **facts)


def around(target, distance, count, seed):
    """Swatches about so far from the target, in directions at random."""
    generator = np.random.default_rng(seed)
    away = generator.normal(size=(count, 3))
    away *= distance / np.linalg.norm(away, axis=1, keepdims=True)
    return [swatch(f"{place}", np.add(target.lab, step)) for place, step in enumerate(away)]


def drawn(one, count, generator):
    root = np.linalg.cholesky(even_covariance(one.lab, one.uncertainty))
    return one.lab + generator.standard_normal((count, 3)) @ root.T


def probabilities(target, candidates):
    return nearest_probabilities([target], candidates)[0]


def said(distance, uncertainty, code, direction):
    """A pencil that is read so far from (50, 20, 10) in that direction of Lab, so unsurely."""
    steps = np.linspace(0.0, 60.0, 6001)[:, np.newaxis] * direction
    apart = delta_E(TARGET.lab, np.add(TARGET.lab, steps))
    return swatch(code, np.add(TARGET.lab, steps[np.argmin(np.abs(apart - distance))]), uncertainty)


def test_probabilities_agree_with_draws_of_whole_colours():
    # the slow twin draws colours and asks the formula itself (JCGM 101:2008)
    generator = np.random.default_rng(11)
    for seed in range(6):
        candidates = around(TARGET, 7.0, 4, seed)
        found = probabilities(TARGET, candidates)
        asked = drawn(TARGET, 20000, generator)
        distances = [delta_E(asked, drawn(one, 20000, generator)) for one in candidates]
        twin = np.bincount(np.argmin(distances, axis=0), minlength=4) / 20000
        np.testing.assert_allclose(found, twin, atol=0.04)
        assert found.sum() == pytest.approx(1)


def test_where_pencils_lie_is_what_the_script_says():
    mean, scatter = make_pencil_prior.prior()
    assert [*mean, scatter] == pytest.approx([*PENCILS, PENCILS_SCATTER], abs=0.5)


def test_even_coordinates_are_those_where_the_formula_is_a_length():
    generator = np.random.default_rng(2)
    lab = generator.uniform((5, -80, -80), (95, 80, 80), (400, 3))
    assert np.abs(from_even_coordinates(to_even_coordinates(lab)) - lab).max() < 1e-9
    other = lab + generator.normal(0.0, 3.0, lab.shape)
    length = np.linalg.norm(to_even_coordinates(lab) - to_even_coordinates(other), axis=1)
    assert (np.abs(length / delta_E(lab, other) - 1.0) < 0.35).mean() > 0.9


def test_the_vaguest_does_not_win_by_being_vague():
    """By hand: the far one must be read about as far off as 2 of its standard uncertainties."""
    near, far = said(6.5, 0.7, "1", (1, 0, 0)), said(16.0, 4.6, "2", (0, 1, 0))
    found = probabilities(FreeColour("", TARGET.lab), [near, far])
    assert found[0] > 0.97
    assert not tied_group(found).any()
    near, vague = said(3.1, 0.5, "1", (1, 0, 0)), said(5.1, 5.0, "2", (0, 1, 0))
    found = probabilities(FreeColour("", TARGET.lab), [near, vague])
    # the share of a normal error of 5 in three directions that comes within 3.1 of the target:
    # noncentral chi squared, 3 degrees, (5.1/5)²: P(below (3.1/5)²) = 0.039 (scipy.stats.ncx2.cdf)
    assert found[1] == pytest.approx(0.039, abs=0.02)


def test_probabilities_do_not_hang_on_how_many_are_shown():
    generator = np.random.default_rng(3)
    box = [
        replace(one, uncertainty=float(size))
        for one, size in zip(
            around(TARGET, 14.0, 60, 8), generator.choice([0.5, 2.0, 5.0], 60), strict=True
        )
    ]
    answers = [find_stand_ins(TARGET, box, limit=limit).matches for limit in (2, 5, 60)]
    for few in answers[:2]:
        assert few == answers[2][: len(few)]
    assert len(answers[2]) == 60
    assert sum(match.probability for match in answers[2]) == pytest.approx(1.0, abs=0.01)


def test_ties_are_among_those_that_a_limit_leaves():
    first, second = said(4.0, 1.0, "1", (1, 0, 0)), said(4.4, 1.0, "2", (0, 1, 0))
    both = find_stand_ins(TARGET, [first, second]).matches
    assert all(match.tied for match in both)
    (alone,) = find_stand_ins(TARGET, [first, second], within=4.2).matches
    assert (alone.tied, alone.probability) == (False, 1.0)


def test_who_cannot_be_the_nearest_is_left_out_rightly():
    """Beside the slow twin, that draws everybody: shared errors move whole groups."""
    generator = np.random.default_rng(4)
    box = [
        replace(one, range=name, source=Source.TYPED, shared_uncertainty=shared)
        for one, (name, shared) in zip(
            around(TARGET, 9.0, 20, 12), [("Fen", 1.0), ("Moor", 4.9)] * 10, strict=True
        )
    ]
    found = probabilities(FreeColour("", TARGET.lab), box)
    draws, steps = 20000, []
    common = {name: generator.standard_normal((draws, 3)) for name in ("Fen", "Moor")}
    for one in box:
        own = 0.5 * generator.standard_normal((draws, 3))
        read = to_even_coordinates(one.lab) + own + one.shared_uncertainty * common[one.range]
        steps.append(delta_E(TARGET.lab, from_even_coordinates(read)))
    twin = np.bincount(np.argmin(steps, axis=0), minlength=20) / draws
    np.testing.assert_allclose(found, twin, atol=0.05)
    assert ((found == 0.0) & (twin > 0.003)).sum() == 0


def test_what_a_target_shares_with_its_range_does_not_blur_it():
    typed = replace(TARGET, source=Source.TYPED, shared_uncertainty=4.9)
    near, far = (
        replace(said(distance, 0.5, code, (1, 0, 0)), source=Source.TYPED, shared_uncertainty=4.9)
        for distance, code in ((4.0, "1"), (7.0, "2"))
    )
    assert probabilities(typed, [near, far])[0] > 0.99
    assert probabilities(replace(typed, range="Moor"), [near, far])[0] < 0.8


def test_bounds_hold_as_often_as_they_say():
    """Of a colour read 3 off and one read right, whose errors are normal in three directions:
    noncentral and central chi squared of 3 degrees (scipy.stats), in units of the uncertainty.
    """
    target = FreeColour("", TARGET.lab)
    off, right = said(3.0, 1.0, "1", (1, 0, 0)), swatch("2", TARGET.lab, 1.0)
    upper = upper_bounds([target], [off, right])
    assert upper == pytest.approx([chi2(3, 9.0, 0.95), chi2(3, 0.0, 0.95)], rel=0.04)
    within = [ncx2.cdf(GRADES["close"] ** 2, 3, 9.0), ncx2.cdf(GRADES["same"] ** 2, 3, 1e-9)]
    assert grade_chances([target], [off, right]) == pytest.approx(within, abs=0.03)
    alone = [upper_bounds([target], [one]) for one in (off, right)]
    assert upper.tolist() == np.concatenate(alone).tolist()
    (far,) = grade_chances([target], [said(6.0, 1.0, "3", (1, 0, 0))])
    assert far == pytest.approx(1.0 - ncx2.cdf(GRADES["noticeable"] ** 2, 3, 36.0), abs=0.03)


def test_a_grade_is_earned_as_often_by_formula_as_in_draws(monkeypatch):
    """Of pencils of the same range as their target and of others, read from one screen or not."""
    generator = np.random.default_rng(20261127)
    labs = generator.uniform([20, -40, -40], [90, 40, 40], (60, 3))

    def some(ranges, labs):
        errors = generator.uniform(0.1, 4.0, (len(labs), 2))
        return [
            replace(
                swatch(str(code), tuple(lab), own),
                range=ranges[code % 2],
                shared_uncertainty=shared,
            )
            for code, (lab, (own, shared)) in enumerate(zip(labs, errors, strict=True))
        ]

    targets = some(("Fen", "Fen"), labs)
    pencils = some(("Fen", "Moor"), labs + generator.normal(0.0, 2.0, labs.shape))
    by_formula = grade_chances(targets, pencils)
    monkeypatch.setattr(doubt, "_even_sigmas", lambda box: np.full(len(box.columns), np.nan))
    np.testing.assert_allclose(by_formula, grade_chances(targets, pencils), atol=0.03)
    assert np.mean((by_formula > 0.05) & (by_formula < 0.95)) > 0.1


def chi2(degrees, off, share):
    """The length that so many draws stay below."""
    return float(np.sqrt(ncx2.ppf(share, degrees, max(off, 1e-9))))


def test_two_candidates_by_hand():
    # Both along L*, where S_L is 1 at L* = 50: the difference of the differences is normal, and
    # P = Φ(Δ / sqrt(s1² + s2²)); for Δ = 1 and s = 0.5, Φ(1.414) = 0.9214 (tables of the normal
    # distribution, from memory). A free colour has no error of its own.
    target = FreeColour("", (50.0, 0.0, 0.0))
    first, second = swatch("1", (54, 0, 0)), swatch("2", (45, 0, 0))
    probability = probabilities(target, [first, second])
    apart = float(delta_E(target.lab, second.lab) - delta_E(target.lab, first.lab))
    assert apart == pytest.approx(1.0, abs=0.05)
    assert probability[0] == pytest.approx(0.9214, abs=0.02)


def test_the_targets_own_error_moves_neighbours_together():
    near = [swatch("1", (60, 20, 10), 0.05), swatch("2", (60.4, 20, 10), 0.05)]
    blurred = replace(TARGET, uncertainty=3.0)
    assert probabilities(blurred, near)[0] > 0.98
    opposite = [near[0], swatch("2", (39.6, 20, 10), 0.05)]
    assert probabilities(blurred, opposite)[0] < 0.7


@pytest.mark.parametrize(
    ("probabilities", "tied"),
    [
        ([0.96, 0.04], [0, 0]),
        ([0.90, 0.10], [1, 1]),
        ([0.60, 0.36, 0.04], [1, 1, 0]),
        ([0.02, 0.58, 0.40], [0, 1, 1]),
        ([1.0], [0]),
    ],
)
def test_the_group_is_the_smallest_that_holds_the_nearest(probabilities, tied):
    assert tied_group(np.array(probabilities)).tolist() == [bool(one) for one in tied]


@pytest.mark.parametrize("count", [1, 2, 5, 200])
def test_many_targets_are_answered_as_each_alone(count):
    """To the last bit: others asked beside it, in what blocks, and who is out of reach."""
    generator = np.random.default_rng(count)
    targets = [replace(TARGET, code=f"{place}") for place in range(40 if count < 9 else 3)]
    targets[1::2] = [FreeColour(one.code, one.lab) for one in targets[1::2]]
    spreads = generator.uniform(1.0, 25.0, len(targets))
    colours = [around(TARGET, spread, count, seed) for seed, spread in enumerate(spreads)]
    columns = np.arange(len(targets) * count).reshape(-1, count)
    found = nearest_probabilities(targets, [one for each in colours for one in each], columns)
    for row, (target, beside) in enumerate(zip(targets, colours, strict=True)):
        alone = probabilities(target, beside)
        assert found[row].tolist() == alone.tolist()
        shuffled = probabilities(target, beside[::-1])
        assert found[row].tolist() == shuffled[::-1].tolist()
    assert found.sum(axis=1) == pytest.approx(1)
    assert (found == 1.0).any() or count > 5
    assert (found[:, 0] < 1.0).any() or count == 1


def box_of_all_kinds(seed, count):
    """Pencils whose errors are round, along a line or none, of two scans and alone; some twice."""
    generator = np.random.default_rng(seed)
    box = [
        replace(
            one,
            range=("Fen", "Moor", "Tarn")[place % 3],
            source=(Source.MEASURED, Source.SCANNED)[place % 2],
            uncertainty=float(generator.choice([0.0, 0.5, 3.0])),
            shared_uncertainty=float(generator.choice([0.0, 0.5, 2.0])),
            ground_uncertainty=float(generator.choice([0.0, 0.0, 1.0])),
            covariance=((4.0, 1.0, 0.0), (1.0, 2.0, 0.0), (0.0, 0.0, 1e-6))
            if not place % 5
            else None,
        )
        for place, one in enumerate(around(TARGET, 8.0, count, seed))
    ]
    return [*box, *(replace(one, code=f"again {one.code}") for one in box[:3])]


@pytest.mark.parametrize(("seed", "wide"), [(0, 8.0), (1, 8.0), (2, 3.0), (3, 1.0), (4, 20.0)])
def test_who_is_tied_needs_no_further_draws(seed, wide, monkeypatch):
    """Of those shown what all draws say, although many of these are left out."""
    box = [*box_of_all_kinds(seed, 12), *around(TARGET, wide, 25, seed)]
    targets = [*box[:14], FreeColour("", TARGET.lab)]
    columns = np.broadcast_to(np.arange(len(box)), (len(targets), len(box)))
    every = np.ones(len(targets), dtype=np.bool_)
    probabilities = nearest_probabilities(targets, box, columns)
    drawn = []

    def adding(box, order, rivals, which, draws, wins):
        drawn.append(len(which) * (draws[1] - draws[0]))
        add_wins(box, order, rivals, which, draws, wins)

    monkeypatch.setattr(winning, "add_wins", adding)
    for count in (1, 2, 5):
        shown = np.argsort(-probabilities, axis=1, kind="stable")[:, seed % 2 : seed % 2 + count]
        found, told = tied_among(targets, box, columns, shown, every)
        assert told.all()
        assert found.tolist() == np.take_along_axis(tied_group(probabilities), shown, 1).tolist()
    assert sum(drawn) < 0.7 * 3 * len(targets) * DRAWS // 2


@pytest.mark.parametrize("seed", range(3))
def test_many_colours_are_drawn_in_parts_as_together(seed, monkeypatch):
    """To the last bit, also where some are alike and sure, so that they share draws."""
    box = box_of_all_kinds(seed, 40)
    together = nearest_probabilities([*box[:6], TARGET], box)
    monkeypatch.setattr(winning, "_PART", 8)
    assert nearest_probabilities([*box[:6], TARGET], box).tolist() == together.tolist()
    assert (np.count_nonzero(together, axis=1) > 16).any()


def test_who_is_tied_among_the_nearest_is_so_among_all():
    """Where it is told at all: others that may be the nearest too make nobody surer."""
    generator = np.random.default_rng(0)
    steps = generator.normal(size=(162, 3)) * np.where(np.arange(162) < 12, 3.0, 8.0)[:, np.newaxis]
    pencils = [swatch(f"{at}", np.add(TARGET.lab, step)) for at, step in enumerate(steps)]
    pencils = [replace(one, uncertainty=2.0) for one in pencils]
    asked, crowd = pencils[:12], pencils[12:]
    probabilities = nearest_probabilities(asked, crowd)
    likeliest = np.argsort(-probabilities, axis=1, kind="stable")
    assert ((probabilities > 0.0).sum(axis=1) > 40).all()
    some = np.zeros(len(asked), dtype=np.bool_)
    found, told = tied_among(asked, crowd, likeliest[:, :16], likeliest[:, :3], some)
    assert told.sum() > 8
    assert found[told].all()
    assert np.take_along_axis(tied_group(probabilities), likeliest[:, :3], 1)[told].all()
    sure = [replace(one, uncertainty=0.01, shared_uncertainty=0.0) for one in crowd]
    same = [FreeColour("", sure[row].lab) for row in range(4)]
    _, told = tied_among(same, sure, likeliest[:4, :16], likeliest[:4, :3], some[:4])
    assert not told.any()  # that nobody is tied cannot be told by some


def test_what_is_stated_is_what_is_so():
    """A short form of the benchmark, on colours that nothing here was made from."""
    mixed = bench_doubt.SCHEMES["0.5, 5"]
    found, _ = bench_doubt.simulate(bench_doubt.munsell(), mixed, 150, seed=5)
    assert found.stated == pytest.approx(found.observed, abs=0.1)  # 3 standard errors
    assert found.held > 0.93
    assert 1 < found.size < 5  # it says something: all 60 would always hold


def test_directions_of_a_covariance_are_used():
    flat = ((4.0, 0.0, 0.0), (0.0, 1e-6, 0.0), (0.0, 0.0, 1e-6))  # only the lightness is unsure
    target = FreeColour("", (50.0, 0.0, 0.0))
    lighter = swatch("1", (56, 0, 0), covariance=flat)
    redder = swatch("2", (50, 6, 0), covariance=flat)
    first, second = find_stand_ins(target, [lighter, redder]).matches
    sigma = {match.swatch.code: match.sigma for match in (first, second)}
    assert sigma["1"] > 1.5
    assert sigma["2"] < 0.1


def test_cautious_ranking_puts_the_sure_first():
    target = FreeColour("", (50.0, 0.0, 0.0))
    vague, sure = swatch("vague", (52, 0, 0), 3.0), swatch("sure", (53.5, 0, 0), 0.3)
    plain = find_stand_ins(target, [vague, sure])
    careful = find_stand_ins(target, [vague, sure], cautious=True)
    assert [match.swatch.code for match in plain.matches] == ["vague", "sure"]
    assert [match.swatch.code for match in careful.matches] == ["sure", "vague"]
    uppers = [match.upper for match in careful.matches]
    assert uppers == sorted(uppers)
    assert "Ranked cautiously" in " ".join(map(str, careful.notes))
    # the limit is for the bound
    assert len(find_stand_ins(target, [vague, sure], cautious=True, within=4.5).matches) == 1
    with pytest.raises(UsageError, match="ranks by CIE 2000, not by CIE 1976"):
        find_stand_ins(target, [vague], cautious=True, metric="CIE 1976")


def test_the_first_place_is_said_in_words():
    sure = find_stand_ins(TARGET, [swatch("1", (54, 20, 10)), swatch("2", (70, 20, 10))])
    assert "Fen:1 is the nearest with a probability of more than 99 %." in " ".join(
        map(str, sure.notes)
    )
    alone = find_stand_ins(TARGET, [swatch("1", (54, 20, 10))])
    assert (alone.matches[0].probability, alone.matches[0].tied) == (1.0, False)
    assert not any("probability" in str(note) for note in alone.notes)


def test_what_was_measured_otherwise_is_said():
    def measured(code, mode, paper=""):
        conditions = MeasurementConditions("D50", 2, mode=mode)
        return swatch(code, (52, 20, 10), measurement=conditions, paper=paper)

    target = replace(measured("t", MeasurementMode.M1, "smooth"), lab=TARGET.lab)
    others = [
        measured("1", MeasurementMode.M1, "Smooth"),
        measured("2", MeasurementMode.M0),
        measured("3", MeasurementMode.M0),
        measured("4", None, "rough"),
    ]
    notes = " ".join(map(str, find_stand_ins(target, others).notes))
    assert "Fen:2, Fen:3: measured otherwise than the target (mode M0, not M1)." in notes
    assert "Fen:4: measured otherwise than the target (paper rough, not smooth)." in notes
    assert "Fen:1:" not in notes
    free = find_stand_ins(FreeColour("", TARGET.lab), others).notes
    assert "otherwise" not in " ".join(map(str, free))


def test_within_a_scan_only_the_own_part_counts():
    """Twice the same colour: sigma is the root of the sum of squares (JCGM 100:2008, 5.1.2)."""
    first = Swatch("Fen", "1", (50.0, 20.0, 10.0), source=Source.TYPED, uncertainty=1.0)
    first = replace(first, shared_uncertainty=4.9)
    other_range = replace(first, range="Moor")
    other_source = replace(first, source=Source.MEASURED, uncertainty=0.4, shared_uncertainty=0.3)
    sigmas = doubt_of([first], [replace(first, code="2"), other_range, other_source]).sigmas
    expected = [2**0.5, (2 * (1.0 + 4.9**2)) ** 0.5, (1.0 + 4.9**2 + 0.4**2 + 0.3**2) ** 0.5]
    assert sigmas == pytest.approx(expected, rel=1e-3)


def test_a_scan_goes_across_ranges_and_two_scans_do_not_share():
    scan = MeasurementConditions(instrument="phone in daylight, edition 314159", date="2026-05-01")
    later = scan._replace(date="2026-06-01")
    first = Swatch("Fen", "1", (50.0, 20.0, 10.0), source=Source.SCANNED, uncertainty=1.0)
    first = replace(first, shared_uncertainty=2.8, measurement=scan)
    same, other = replace(first, range="Moor"), replace(first, code="2", measurement=later)
    sigmas = doubt_of([first], [same, other]).sigmas
    assert sigmas == pytest.approx([2**0.5, (2 * (1.0 + 2.8**2)) ** 0.5], rel=1e-3)


def test_a_free_colour_shares_nothing():
    typed = replace(TARGET, uncertainty=1.0, shared_uncertainty=4.9)
    (sigma,) = doubt_of([FreeColour("x", TARGET.lab)], [typed]).sigmas
    assert sigma == pytest.approx((1.0 + 4.9**2) ** 0.5, rel=1e-3)


def test_lists_and_tables_say_of_a_pencil_what_a_question_for_it_says(demo_library):
    with open_library(demo_library, read_only=True) as library:
        of = {found.name: found.swatches for found in library.ranges()}
    asked, others = of["Quillet"][:16], of["Fennmoor"]
    every = Selection(finishes=tuple(Finish), include_discontinued=True)
    table = cross_table(asked, others, known=())
    listed = translate([Asked.of(one) for one in asked], others, distinct=False)
    for swatch, row, entry in zip(asked, table.rows, listed.rows, strict=True):
        answer = find_stand_ins(swatch, others, selection=every, limit=2)
        if answer.ranked_by != "delta_E":
            continue
        matches = answer.matches
        said = {match.swatch.address: match for match in matches}
        best = said[row.best.address]
        found = (row.grade, row.grade_probability, row.tied)
        assert found == (best.grade, best.grade_probability, all(one.tied for one in matches))
        given = said.get(entry.given.label)
        if given is not None:
            assert entry.grade_probability == given.grade_probability
    assert {row.tied for row in table.rows} == {False, True}
    assert min(row.grade_probability for row in table.rows) < 0.6


def test_a_pencil_is_itself_for_certain(demo_library):
    with open_library(demo_library, read_only=True) as library:
        (found,) = (one for one in library.ranges() if one.name == "Quillet")
    row = cross_table(found.swatches, found.swatches, known=()).rows[0]
    assert (row.grade, row.grade_probability, row.tied) == ("same", 1.0, False)
