"""Calibration on layered swatches made by another model than the one that is fitted."""

import dataclasses
import itertools

import numpy as np
import pytest

from stopgap.colorimetry import recover
from stopgap.colorimetry.cielab import lab_of
from stopgap.colorimetry.recovery.weights import tristimulus_weights
from stopgap.difference import delta_E
from stopgap.errors import InputError
from stopgap.layering import (
    PRESSURES,
    SPREADS,
    LayeredSample,
    calibrate,
    predict,
    uncertainty,
)
from stopgap.swatches import Stack, Swatch

PAPER = (94.0, 0.0, 3.0)
LAB = [(82, 5, 70), (50, 58, 30), (46, -38, 18), (36, 12, -46), (60, 15, 34), (72, -25, -12)]
SWATCHES = [Swatch("Test", str(i), tuple(map(float, lab))) for i, lab in enumerate(LAB)]
LAID = [
    (0, 1, "heavy", "heavy"), (0, 3, "light", "heavy"), (1, 2, "medium", "light"),
    (2, 3, "heavy", "medium"), (4, 3, "light", "light"), (5, 1, "medium", "medium"),
]  # fmt: skip


def covered_area(i, j, first, second):
    """Yule and Nielsen's mean over the areas two, one or no layer covers (Demichel's shares).

    J. A. C. Yule, W. J. Nielsen (1951): R^(1/n) is averaged; here n = 1.8, with light covering
    0.2 and medium 0.45 of the area and layers multiplying where they lie on each other.
    """
    cover = {"light": 0.2, "medium": 0.45, "heavy": 1.0}
    a, b, n = cover[first], cover[second], 1.8
    paper, lower, upper = recover([PAPER, LAB[i], LAB[j]], edge=np.inf).reflectance
    both = lower * upper / paper
    root = (
        (1 - a) * (1 - b) * paper ** (1 / n) + a * (1 - b) * lower ** (1 / n)
        + (1 - a) * b * upper ** (1 / n) + a * b * both ** (1 / n)
    )  # fmt: skip
    return lab_of(root**n @ tristimulus_weights())


ALL = [
    (i, j, first, second)
    for i, j in itertools.combinations(range(6), 2)
    for first, second in itertools.product(PRESSURES, repeat=2)
]
TRUTH = np.array([covered_area(*laid) for laid in ALL])


def samples_of(laid, seed, noise=1.0, truth=covered_area):
    random = np.random.default_rng(seed)
    return [
        LayeredSample(
            Stack.of(SWATCHES[i], SWATCHES[j], pressures=[first, second]),
            tuple(truth(i, j, first, second) + random.normal(0, noise, 3)),
        )
        for i, j, first, second in laid
    ]  # fmt: skip


def held_out_errors(calibration=None):
    """ΔE00 of every pair at every two pressures that LAID does not have."""
    left = [laid for laid in ALL if laid not in LAID]
    table = calibration.pressures if calibration else PRESSURES
    options = {}
    if calibration:
        options = {"tooth": calibration.tooth, "trapping": calibration.trapping}
    found = predict(
        PAPER,
        [[LAB[i], LAB[j]] for i, j, _, _ in left],
        [[table[first], table[second]] for _, _, first, second in left],
        **options,
    )
    return delta_E(found, TRUTH[[ALL.index(laid) for laid in left]])


@pytest.mark.parametrize(("seed", "count"), [(1, 3), (2, 3), (2, 6), (3, 6)])
def test_few_samples_help_on_pairs_that_were_not_laid(seed, count):
    calibration = calibrate(samples_of(LAID[:count], seed), PAPER)
    assert held_out_errors(calibration).mean() < 0.75 * held_out_errors().mean()
    assert np.mean(calibration.after) < np.mean(calibration.before)


def test_one_outlier_does_not_wreck_it():
    good = samples_of(LAID, 1)
    wrong = [*good[:2], dataclasses.replace(good[2], lab=(80.0, 40.0, -30.0)), *good[3:]]
    calibration = calibrate(wrong, PAPER)
    assert calibration.outliers == (2,)
    with_it, without = held_out_errors(calibration), held_out_errors(calibrate(good, PAPER))
    assert with_it.mean() < without.mean() + 1.0
    assert with_it.mean() < 0.75 * held_out_errors().mean()


def on_smooth_paper(i, j, first, second):
    """The model that is fitted, with settings far from its defaults."""
    loads = {"light": 0.25, "medium": 0.55, "heavy": 1.0}
    return predict(PAPER, [LAB[i], LAB[j]], [loads[first], loads[second]], tooth=2.0)


def test_the_model_itself_is_found_again():
    found = calibrate(samples_of(LAID, 0, noise=0.0, truth=on_smooth_paper), PAPER, hand=0.2)
    assert found.tooth == pytest.approx(2.0, rel=0.03)
    assert found.pressures["light"] == pytest.approx(0.25, rel=0.03)
    assert found.pressures["medium"] == pytest.approx(0.55, rel=0.03)
    assert found.pressures["heavy"] == 1.0
    assert found.opacity == {}
    assert max(found.after) < 0.2
    assert found.residual < 0.2


def test_a_sample_over_black_shows_how_well_that_pencil_covers():
    pale = Swatch("Chalk", "1", (90.0, -2.0, 22.0))
    black = (20.0, 0.0, 0.0)
    over_black = predict(black, [pale.lab], swatch_paper_lab=PAPER, opacity=0.8, tooth=2.0)
    sample = LayeredSample(Stack.of(pale), tuple(over_black), black)
    found = calibrate([*samples_of(LAID, 1, truth=on_smooth_paper), sample], PAPER)
    assert found.opacity.keys() == {"Chalk:1"}
    middle, low, high = found.opacity["Chalk:1"]
    assert middle == pytest.approx(0.8, abs=0.15)
    assert 0.0 < low < 0.8 < high < 1.3
    again = dataclasses.replace(sample, paper_lab=(21.0, 0.0, 0.0))
    alone = calibrate([sample, again, dataclasses.replace(sample, paper_lab=(22, 0, 0))], PAPER)
    assert alone.spreads.misfit == 1.0


def test_it_narrows_the_interval_and_never_reverses_pressures():
    found = calibrate(samples_of(LAID, 2), PAPER)
    for learnt, before in zip(found.spreads, SPREADS, strict=True):
        assert 0.0 < learnt < before
    loads = found.pressures
    assert 0.0 < loads["light"] < loads["medium"] < loads["heavy"] == 1.0
    layers = [LAB[0], LAB[3]]
    before = uncertainty(PAPER, layers, sigma=0.5, tooth=found.tooth)
    after = uncertainty(PAPER, layers, sigma=0.5, tooth=found.tooth, spreads=found.spreads)
    assert after.ninety < before.ninety


def swatched(samples, own, shared):
    """The same of pencils whose swatches err by so much."""

    def known(stack):
        swatches = [
            dataclasses.replace(each, uncertainty=own, shared_uncertainty=shared)
            for each in stack.swatches
        ]
        return Stack.of(*swatches, pressures=list(stack.pressures))

    return [dataclasses.replace(each, stack=known(each.stack)) for each in samples]


def test_layers_farther_off_than_expected_make_the_interval_wider():
    as_model = calibrate(
        swatched(samples_of(LAID, 2, noise=0.0, truth=on_smooth_paper), 0.4, 0.3), PAPER
    )
    spoilt = calibrate(swatched(samples_of(LAID, 2, noise=3.0), 0.4, 0.3), PAPER)
    assert as_model.spreads.misfit < 0.7 < 1.2 < spoilt.spreads.misfit <= 2.0
    layers, spreads = [LAB[0], LAB[3]], spoilt.spreads
    wide = uncertainty(PAPER, layers, sigma=0.5, spreads=spreads)
    expected = uncertainty(PAPER, layers, sigma=0.5, spreads=spreads._replace(misfit=1.0))
    assert wide.reconstruction == pytest.approx(spreads.misfit * expected.reconstruction)
    assert wide.ninety > 1.15 * expected.ninety
    assert wide.swatches == expected.swatches


def test_vague_swatches_tell_little_of_how_far_off_layers_are():
    samples = samples_of(LAID, 2, noise=3.0)
    sure, vague = (
        calibrate(swatched(samples, *errs), PAPER).spreads.misfit for errs in ((0.4, 0.3), (1, 4.9))
    )
    assert abs(np.log(vague)) < abs(np.log(sure)) / 2.0


def test_more_faith_in_the_hand_moves_it_further():
    samples = samples_of(LAID[:3], 1)
    shy, bold = calibrate(samples, PAPER, hand=20.0), calibrate(samples, PAPER, hand=0.5)
    assert np.mean(bold.after) < np.mean(shy.after) < np.mean(shy.before)


def test_contradictions_and_too_few_are_refused():
    samples = samples_of(LAID, 1)
    with pytest.raises(InputError, match="2 of at least 3 layered swatches, too few"):
        calibrate(samples[:2], PAPER)
    again = dataclasses.replace(samples[1], lab=(80.0, 0.0, 0.0))
    with pytest.raises(InputError, match="samples 2 and 7 are the same layers"):
        calibrate([*samples, again], PAPER)
    nonsense = [
        dataclasses.replace(s, lab=(90.0, -30.0 + 10 * i, 40.0)) for i, s in enumerate(samples)
    ]
    with pytest.raises(InputError, match="half of them stay more than"):
        calibrate(nonsense, PAPER)
    unknown = Stack.of(*samples[0].stack.swatches, pressures=["hard", "light"])
    with pytest.raises(InputError, match="'hard' is not one of"):
        calibrate([*samples, dataclasses.replace(samples[0], stack=unknown)], PAPER)
    three = Stack.of(*SWATCHES[:3])
    with pytest.raises(InputError, match="of one pencil or of two"):
        calibrate([*samples, dataclasses.replace(samples[0], stack=three)], PAPER)
    with pytest.raises(InputError, match="lighter than the paper"):
        calibrate(samples, (60.0, 0.0, 0.0))
    with pytest.raises(InputError, match="every load must be above 0"):
        calibrate(samples, PAPER, pressures={"light": 0.0, "medium": 0.5, "heavy": 1.0})
