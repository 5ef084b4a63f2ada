"""The lower bounds of METRICS over boxes: the facts their proofs use, and the bounds themselves."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stopgap.difference import METRICS
from stopgap.difference.bounds.boxes import BOX_COLUMNS, enclose, join
from stopgap.difference.bounds.ciede2000 import T_LARGEST

BOUNDED = {name: metric for name, metric in METRICS.items() if metric.lower_bound is not None}
each_metric = pytest.mark.parametrize("metric", BOUNDED.values(), ids=BOUNDED)


def test_every_metric_has_a_bound():
    assert set(BOUNDED) == set(METRICS)


def slack(differences):
    return 1e-9 * (1.0 + differences)


def colours_about(generator, count, size):
    """Groups of 12 colours, (count, 12, 3), of every width from 0.001 to 60, and targets nearby.

    A third lie in the blues, where R_T works; others about the neutral axis, opposite each other,
    or with equal colours or colours of equal hue.
    """
    chroma = 10 ** generator.uniform(-1, 2.15, count)
    hue = generator.uniform(0, 2 * np.pi, count)
    blue = np.arange(count) % 3 == 0
    hue[blue] = generator.normal(np.radians(275), 0.5, blue.sum())
    centre = np.stack(
        [generator.uniform(0, 100, count), chroma * np.cos(hue), chroma * np.sin(hue)], axis=-1
    )
    width = 10 ** generator.uniform(-3, 1.8, (count, 1, 1))
    groups = centre[:, np.newaxis] + width * generator.normal(0, 1, (count, size, 3))
    stick = np.arange(count) % 7 == 0  # one hue, many chromas
    along = generator.uniform(0, 1, (stick.sum(), size, 1))
    groups[stick, :, 1:] = centre[stick, np.newaxis, 1:] * along
    away = generator.uniform(0, 6, (count, 1)) * width[:, 0]
    targets = centre + away * generator.normal(0, 1, (count, 3))
    opposite, grey, equal, far = (np.arange(count) % 11 == place for place in range(4))
    targets[opposite, 1:] = -groups[opposite, 0, 1:] * generator.uniform(
        0.5, 2, (opposite.sum(), 1)
    )
    targets[grey, 1:] *= 0.01
    targets[equal] = groups[equal, 0]
    targets[far] = generator.uniform([-20, -150, -150], [120, 150, 150], (far.sum(), 3))
    return groups, targets


@each_metric
@pytest.mark.parametrize("joined", [False, True], ids=["enclosed", "joined"])
def test_no_colour_of_a_box_falls_below_its_bound(metric, joined):
    generator = np.random.default_rng(20)
    groups, targets = colours_about(generator, 30_000, 12)
    boxes = enclose(groups)
    if joined:
        boxes = join(boxes[::2], boxes[1::2])
        groups = groups.reshape(len(boxes), -1, 3)
        targets = targets[::2]
    differences = metric.function(targets[:, np.newaxis], groups).min(axis=1)
    bounds = metric.lower_bound(targets, boxes)
    assert (bounds >= 0.0).all()
    assert (bounds <= differences + slack(differences)).all()


coordinate = st.floats(-130, 130, allow_nan=False)
colour = st.tuples(st.floats(-5, 105), coordinate, coordinate)


@each_metric
@settings(max_examples=300, deadline=None, derandomize=True)
@given(target=colour, group=st.lists(colour, min_size=1, max_size=6))
def test_no_colour_of_any_group_falls_below_its_bound(metric, target, group):
    differences = metric.function(target, group).min()
    bound = metric.lower_bound(np.array(target), enclose(np.array(group)))
    assert bound <= differences + slack(differences)


@each_metric
def test_the_bound_of_one_colour_is_nearly_its_difference(metric):
    generator = np.random.default_rng(21)
    groups, targets = colours_about(generator, 20_000, 1)
    differences = metric.function(targets, groups[:, 0])
    bounds = metric.lower_bound(targets, enclose(groups))
    inside = differences > 1e-3
    share = bounds[inside] / differences[inside]
    assert np.median(share) > 0.98
    known = np.ones(len(share), dtype=bool)
    if metric is METRICS["CIE 2000"]:  # its lightness is that of no other target, of two mean hues
        L, a, b = targets[inside].T
        opposite = a * groups[inside, 0, 1] + b * groups[inside, 0, 2]
        opposite /= np.hypot(a, b) * np.hypot(*groups[inside, 0, 1:].T)
        known = (L >= 0.0) & (L <= 100.0) & (opposite > -1.0 + 1e-9)
        assert known.mean() > 0.7
    assert np.quantile(share[known], 0.01) > 0.98


def test_boxes_hold_their_colours():
    generator = np.random.default_rng(22)
    groups, _ = colours_about(generator, 5_000, 12)
    pairs = groups.reshape(-1, 24, 3)
    halves = enclose(groups)
    for boxes, inside in ((halves, groups), (join(halves[::2], halves[1::2]), pairs)):
        assert boxes.shape == (len(inside), BOX_COLUMNS)
        chroma = np.hypot(inside[..., 1], inside[..., 2])
        for pair, values in enumerate([*np.moveaxis(inside, -1, 0), chroma]):
            assert (boxes[:, 2 * pair] == values.min(axis=1)).all()
            assert (boxes[:, 2 * pair + 1] == values.max(axis=1)).all()
        # counter-clockwise from the first hue and clockwise from the last
        cos_1, sin_1, cos_2, sin_2 = (boxes[:, column, np.newaxis] for column in range(8, 12))
        a, b = inside[..., 1], inside[..., 2]
        assert (cos_1 * b - sin_1 * a >= -1e-9 * chroma).all()
        assert (sin_2 * a - cos_2 * b >= -1e-9 * chroma).all()
        some = (boxes[:, 8] != 0.0) | (boxes[:, 9] != 0.0)
        assert 0.3 < some.mean() < 1.0


def test_what_the_proof_for_ciede2000_says_of_the_weights():
    # Sharma, Wu, Dalal (2005), equations (15) and (18), written out again
    h = np.linspace(0, 2 * np.pi, 1_000_001)
    terms = [(0.17, 1, 30.0), (-0.24, 2, 0.0), (-0.32, 3, -6.0), (0.20, 4, 63.0)]
    T = 1.0 - sum(size * np.cos(many * h - np.radians(at)) for size, many, at in terms)
    slope = sum(size * many * np.sin(many * h - np.radians(at)) for size, many, at in terms)
    assert T_LARGEST - 0.001 < T.max() < T_LARGEST
    assert T.min() > 0.0
    assert np.abs(slope).max() < 2.41
    v = np.linspace(-1000, 1000, 2_000_001)
    assert np.abs(v * (v**2 + 40) / (v**2 + 20) ** 1.5).max() < 1.089
    assert (20 * v**2 / (v**2 + 20) ** 1.5).max() < 1.73
    assert 0.015 * (1.089 * 50 + 1.73) < 0.85


def test_weighted_lightness_difference_grows():
    # step 3 of the proof; the same equation (18)
    L_1 = np.linspace(0, 100, 101)[:, np.newaxis]
    L_2 = np.linspace(-300, 400, 70_001)
    middle = ((L_1 + L_2) / 2 - 50) ** 2
    weighted = (L_2 - L_1) / (1 + 0.015 * middle / np.sqrt(20 + middle))
    assert (np.diff(weighted, axis=1) > 0).all()
