"""What anchors teach, against the closed form of the textbook and against simulated devices."""

import json
import sys
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import multivariate_normal

sys.path.append(str(Path(__file__).parent))
import make_prior
from simulate import devices, materials

from stopgap.difference import delta_E
from stopgap.scanning import DeviceClass
from stopgap.scanning.anchors import evidence, learn, worth_measuring
from stopgap.scanning.colour import (
    Anchor,
    Prior,
    balanced_lab,
    expected,
    features,
    prior_of,
    whitened,
)

pytestmark = pytest.mark.slow

PAPER = make_prior.PAPER


@pytest.fixture(scope="module")
def cameras():
    """True and balanced Lab of every pencil by each camera that others measured, by daylight."""
    lamps = devices.lamps()["daylight"]
    found = []
    for seed, sensor in enumerate(devices.measured_cameras() * 2):
        rng = np.random.default_rng([77, seed])
        phone = devices.phone(rng, sensor, lamps[seed], lamps[2])
        reflectance = make_prior.reflectances(rng)
        ratio = make_prior.linear(phone, reflectance) / make_prior.linear(
            phone, materials.PAPER[None]
        )
        found.append((materials.lab_of(reflectance), balanced_lab(ratio, PAPER)))
    return found


def anchors_of(true, read, chosen, same_layer=True):
    return [
        Anchor(str(at), tuple(read[at]), tuple(true[at]), 0.4, same_layer=same_layer)
        for at in chosen
    ]


def flat_fields(make, count):
    """ΔE00 (devices, 2) of balanced readings of flat fields and of corrected ones: mean and p95."""
    rows = []
    for seed in range(count):
        rng = np.random.default_rng([78, seed])
        device, kind = make(rng)
        reflectance = make_prior.reflectances(rng)
        paper = make_prior.linear(device, materials.PAPER[None])
        read = balanced_lab(make_prior.linear(device, reflectance) / paper, PAPER)
        true = materials.lab_of(reflectance)
        corrected = expected(prior_of(kind), PAPER).corrected(read)
        off = [delta_E(lab, true) for lab in (read, corrected)]
        rows.append([(one.mean(), np.percentile(one, 95)) for one in off])
    return np.mean(rows, axis=0)


@pytest.mark.parametrize("profiled", [True, False])
def test_flatbeds_with_colour_filters_over_many_devices(profiled):
    """Of 30 flatbeds that the prior was not learnt from, every pencil of the demo: the bars."""
    plain, corrected = flat_fields(
        lambda rng: (devices.flatbed(rng, profiled=profiled), DeviceClass.FLATBED), 30
    )
    assert (corrected <= ((1.3, 2.6) if profiled else (1.5, 3.0))).all()
    assert (corrected <= plain).all()


def test_ridge_on_what_is_left_over_is_bayes(cameras):
    """C. M. Bishop (2006), equations (3.50) and (3.51), with the prior's own mean and factors."""
    true, read = cameras[0]
    anchors = anchors_of(true, read, [3, 50, 90, 140, 200])
    prior = prior_of(DeviceClass.PHONE_DAYLIGHT)
    design, target, _ = whitened(anchors, prior, PAPER, 0.15)
    precision = np.eye(design.shape[1]) + design.T @ design
    z = np.linalg.solve(precision, design.T @ target)
    learnt = learn(anchors, prior, PAPER)
    assert learnt.correction.weights == pytest.approx(prior.mean + z @ prior.factors)
    spread = prior.factors.T @ np.linalg.inv(precision) @ prior.factors
    assert learnt.correction.factors.T @ learnt.correction.factors == pytest.approx(spread)


def test_left_one_out_is_learning_without_the_one(cameras):
    true, read = cameras[0]
    chosen = [3, 50, 90, 140, 200]
    prior = prior_of(DeviceClass.PHONE_DAYLIGHT)
    apart = []
    for left in chosen:
        rest = anchors_of(true, read, [at for at in chosen if at != left])
        predicted = learn(rest, prior, PAPER).correction.corrected(read[[left]])
        apart.append(float(delta_E(predicted[0], true[left])))
    whole = learn(anchors_of(true, read, chosen), prior, PAPER)
    assert whole.left_one_out == pytest.approx(np.mean(apart))


def test_more_anchors_leave_less_in_doubt(cameras):
    prior = prior_of(DeviceClass.PHONE_DAYLIGHT)
    true, read = cameras[0]
    doubt = [expected(prior, PAPER).shared(read)]
    for count in (1, 2, 4, 7):
        learnt = learn(anchors_of(true, read, range(0, 30 * count, 30)), prior, PAPER)
        doubt.append(learnt.correction.shared(read))
    assert all((after <= before + 1e-9).all() for before, after in pairwise(doubt))


def test_anchors_come_nearer_by_cameras_the_prior_never_saw(cameras):
    prior = prior_of(DeviceClass.PHONE_DAYLIGHT)
    before, after = [], []
    for true, read in cameras:
        chosen = np.random.default_rng(3).choice(len(true), 8, replace=False)
        learnt = learn(anchors_of(true, read, chosen), prior, PAPER)
        before.append(delta_E(read, true).mean())
        after.append(delta_E(learnt.correction.corrected(read), true).mean())
    assert np.mean(after) <= 0.65 * np.mean(before)


def test_how_likely_anchors_are_is_a_normal_density(cameras):
    """Differences of logarithms as scipy.stats.multivariate_normal has them."""
    true, read = cameras[0]
    anchors = anchors_of(true, read, [3, 50, 90])
    prior = prior_of(DeviceClass.PHONE_DAYLIGHT)
    told, expected_to_be = [], []
    for size in (0.5, 1.0, 3.0):
        scaled = prior._replace(factors=size * prior.factors)
        design, target, _ = whitened(anchors, scaled, PAPER, 0.15)
        told.append(evidence(anchors, scaled, PAPER))
        spread = design @ design.T + np.eye(len(target))
        expected_to_be.append(multivariate_normal(np.zeros(len(target)), spread).logpdf(target))
    assert np.diff(told) == pytest.approx(np.diff(expected_to_be))


def test_a_stranger_is_known_by_its_anchors(cameras, monkeypatch):
    """The camera with layers of silicon is unlike the simulated ones, the other is not."""
    prior = prior_of(DeviceClass.PHONE_DAYLIGHT)

    def off():
        found = []
        for true, read in cameras[:2]:
            chosen = np.random.default_rng(7).choice(len(true), 8, replace=False)
            learnt = learn(anchors_of(true, read, chosen), prior, PAPER)
            found.append(delta_E(learnt.correction.corrected(read), true).mean())
        return found

    by_choice = off()
    monkeypatch.setattr("stopgap.scanning.anchors._ENOUGH_FOR_CHOICE", 99)
    as_simulated = off()
    assert by_choice[0] <= as_simulated[0] + 0.05
    assert by_choice[1] <= 0.9 * as_simulated[1]


def test_a_tenth_of_the_codes_swapped(cameras):
    """Robust learning stays near; least squares on the same rows do not. The swapped are named."""
    prior = prior_of(DeviceClass.PHONE_DAYLIGHT)
    true, read = cameras[0]
    chosen = np.random.default_rng(4).choice(len(true), 40, replace=False)
    anchors = anchors_of(true, read, chosen, same_layer=False)
    for one, other in ((0, 1), (2, 3)):
        first, second = anchors[one], anchors[other]
        anchors[one] = first._replace(known=second.known)
        anchors[other] = second._replace(known=first.known)
    learnt = learn(anchors, prior, PAPER)
    clear = {
        anchor.name
        for anchor in anchors[:4]
        if delta_E(np.array(anchor.known), true[int(anchor.name)]) > 15.0
    }
    assert clear
    assert clear <= set(learnt.doubted)
    assert len(learnt.doubted) <= 8
    terms = features(read[chosen], PAPER)
    known = np.array([anchor.known for anchor in anchors])
    plain = np.linalg.lstsq(terms, known - read[chosen], rcond=None)[0]
    squares = delta_E(read + features(read, PAPER) @ plain, true).mean()
    robust = delta_E(learnt.correction.corrected(read), true).mean()
    assert robust <= 1.7
    assert robust <= 0.6 * squares


def test_three_leds_are_told_from_colour_filters():
    for leds in (False, True):
        rng = np.random.default_rng([5, leds])
        scanner = devices.flatbed(rng, profiled=False, leds=leds)
        reflectance = make_prior.reflectances(rng)
        true = materials.lab_of(reflectance)
        paper = make_prior.linear(scanner, materials.PAPER[None])
        read = balanced_lab(make_prior.linear(scanner, reflectance) / paper, PAPER)
        anchors = anchors_of(true, read, range(0, 240, 15))
        likelier = evidence(anchors, prior_of(DeviceClass.FLATBED_LED), PAPER) - evidence(
            anchors, prior_of(DeviceClass.FLATBED), PAPER
        )
        assert (likelier > 0.0) is leds


def test_a_stranger_is_doubted_more(cameras):
    """Variances are those expected by the camera with filters, larger by the one with layers."""
    prior = prior_of(DeviceClass.PHONE_DAYLIGHT)
    times, covered = [], []
    for true, read in cameras[:2]:
        rng = np.random.default_rng(12)
        for _ in range(8):
            chosen = rng.choice(len(true), 4, replace=False)
            correction = learn(anchors_of(true, read, chosen), prior, PAPER).correction
            times.append(float(np.mean(correction.misfit / prior.misfit)))
            off = delta_E(correction.corrected(read), true)
            doubt = np.hypot(correction.own(read), correction.shared(read))
            covered.append((off <= 2.0 * doubt).mean())
    times, covered = np.reshape(times, (2, 8)), np.reshape(covered, (2, 8))
    assert times[0].mean() < 1.05
    assert times[1].mean() > 1.2
    assert (covered.mean(axis=1) >= 0.8).all()


def test_what_is_advised_leaves_least_in_doubt(cameras):
    """The doubt said is that after learning; of all single ones none would leave less."""
    _, read = cameras[0]
    read, prior = read[::8], prior_of(DeviceClass.PHONE_DAYLIGHT)

    def left(chosen):
        return learn(anchors_of(read, read, chosen), prior, PAPER).correction.shared(read).mean()

    chosen, then = worth_measuring(read, prior, PAPER, 3)
    assert len(set(chosen)) == 3
    assert then == pytest.approx(left(chosen), rel=1e-6)
    each = [left([at]) for at in range(len(read))]
    assert each[chosen[0]] <= 1.02 * min(each)
    assert then <= 0.9 * np.mean([left(np.arange(at, at + 9, 3)) for at in range(15)])


def test_what_is_advised_teaches_more_than_what_is_drawn(cameras):
    """Four of 35 pencils by each of four phones that the prior was not learnt from."""
    prior = prior_of(DeviceClass.PHONE_DAYLIGHT)
    advised, drawn = [], []
    for seed, (true, read) in enumerate(cameras):
        page = np.random.default_rng([21, seed]).choice(len(true), 35, replace=False)
        true, read = true[page], read[page]
        draws = [
            np.random.default_rng([22, draw]).choice(35, 4, replace=False) for draw in range(6)
        ]
        for found, chosen in (
            (advised, [list(worth_measuring(read, prior, PAPER, 4)[0])]),
            (drawn, draws),
        ):
            for four in chosen:
                learnt = learn(anchors_of(true, read, four), prior, PAPER)
                found.append(delta_E(learnt.correction.corrected(read), true).mean())
    assert np.mean(advised) <= 0.95 * np.mean(drawn)


def test_greens_are_in_more_doubt_than_greys():
    for kind in (DeviceClass.FLATBED, DeviceClass.PHONE_DAYLIGHT, DeviceClass.PHONE_LED):
        correction = expected(prior_of(kind), PAPER)
        green, grey = correction.unexplained(np.array([[60.0, -40.0, 10.0], [55.0, 0.0, 0.0]]))
        assert green > 2.0 * grey > 0.0


def test_anchors_that_would_harm_are_left():
    prior = Prior(np.zeros(54), 1e-3 * np.ones((1, 54)), np.full(6, 0.25))
    rng = np.random.default_rng(6)
    read = rng.uniform((20, -40, -40), (90, 40, 40), (10, 3))
    known = read + rng.normal(0.0, 3.0, read.shape)
    wild = Prior(np.zeros(54), 50.0 * rng.normal(size=(12, 54)), np.full(6, 0.04))
    anchors = anchors_of(known, read, range(10))
    assert learn(anchors, prior, PAPER).used
    assert not learn(anchors, wild, PAPER).used


def test_bare_paper_is_never_corrected():
    for kind in DeviceClass:
        correction = expected(prior_of(kind), PAPER)
        assert correction.corrected(PAPER[None])[0] == pytest.approx(PAPER)


def test_the_table_is_what_its_script_makes():
    """One class of six, made again: 240 devices from the same seed."""
    row = make_prior.prior(DeviceClass.FLATBED, make_prior.makers()[DeviceClass.FLATBED])
    kept = json.loads(make_prior.TABLE.read_text(encoding="utf-8"))[DeviceClass.FLATBED]
    assert row["mean"] == pytest.approx(kept["mean"], abs=0.01)
    assert row["misfit"] == pytest.approx(kept["misfit"], abs=0.01)
    ours, theirs = (np.array(made["factors"]) for made in (row, kept))
    assert ours.T @ ours == pytest.approx(theirs.T @ theirs, abs=0.05)
