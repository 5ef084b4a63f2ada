"""The index against a sort of every difference, and against colour-science."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from stopgap.difference import METRICS, delta_E
from stopgap.errors import InputError
from stopgap.neighbours import SwatchIndex

lattice = arrays(
    np.float64,
    st.tuples(st.integers(1, 30), st.just(3)),
    elements=st.integers(0, 3).map(lambda step: 20.0 * step),
)


def sorted_by_hand(lab, target, k, metric):
    """The obvious way: every difference, sorted by itself and then by row."""
    differences = [float(delta_E(target, row, metric)) for row in lab]
    return sorted(range(len(lab)), key=lambda row: (differences[row], row))[:k], differences


@pytest.mark.parametrize("metric", METRICS)
@settings(max_examples=25, deadline=None, derandomize=True)
@given(lab=lattice, k=st.integers(1, 8))
def test_equals_a_sort_with_ties_by_row(metric, lab, k):
    # a lattice makes equal differences and equal colours common
    targets = np.array([[30.0, 10.0, 0.0], [20.0, 20.0, 20.0]])
    found, rows = SwatchIndex(lab, metric).nearest(targets, k)
    for target, found_row, row in zip(targets, found, rows, strict=True):
        expected, differences = sorted_by_hand(lab, target, k, metric)
        assert row.tolist() == expected
        assert found_row.tolist() == [differences[place] for place in expected]


def test_a_metric_may_be_a_function():
    def lightness_only(lab_1, lab_2):
        return np.abs(np.asarray(lab_1)[..., 0] - np.asarray(lab_2)[..., 0])

    _, rows = SwatchIndex([[50, 90, 0], [53, 0, 0]], lightness_only).nearest([52, 0, 0], 2)
    assert rows.tolist() == [[1, 0]]


def test_many_targets_in_blocks_equal_one_at_a_time():
    generator = np.random.default_rng(7)
    lab = generator.uniform([0, -60, -60], [100, 60, 60], (700, 3))
    targets = generator.uniform([0, -60, -60], [100, 60, 60], (900, 3))
    index = SwatchIndex(lab)
    together = index.nearest(targets, 3)
    for place in (0, 399, 899):
        alone = index.nearest(targets[place], 3)
        assert together[0][place].tolist() == alone[0][0].tolist()
        assert together[1][place].tolist() == alone[1][0].tolist()


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 2**32 - 1), st.integers(1, 12))
def test_colours_that_moved_up_gone_and_new_are_found_as_anew(seed, k):
    rng = np.random.default_rng(seed)
    lab = rng.integers(0, 12, (2600, 3)) * 8.0
    index = SwatchIndex(lab)
    index.prepare(compiled=False)
    for _ in range(3):
        stay = np.sort(rng.choice(len(lab), len(lab) - rng.integers(0, 60), replace=False))
        before = np.insert(stay, np.sort(rng.integers(0, len(stay), rng.integers(0, 90))), -1)
        lab = np.where(
            before[:, None] < 0, rng.integers(0, 12, (len(before), 3)) * 8.0, lab[before]
        )
        index = index.rearranged(lab, before)
        targets = rng.uniform([0, 0, 0], [90, 90, 90], (3, 3))
        allowed = rng.random(len(lab)) < 0.9
        for which in (None, allowed):
            found, expected = (
                one.nearest(targets, k, allowed=which) for one in (index, SwatchIndex(lab))
            )
            assert found[0].tobytes() == expected[0].tobytes()
            assert found[1].tolist() == expected[1].tolist()


def test_asks_for_more_than_there_are():
    found, rows = SwatchIndex([[50, 0, 0]]).nearest([[50, 0, 0], [60, 0, 0]], 9)
    assert found.shape == rows.shape == (2, 1)
    assert SwatchIndex(np.empty((0, 3))).nearest([50, 0, 0], 2)[0].shape == (1, 0)


def test_later_changes_of_the_array_do_not_reach_the_index():
    lab = np.array([[50.0, 0.0, 0.0]])
    index = SwatchIndex(lab)
    lab[0, 0] = 90.0
    assert index.nearest([50, 0, 0])[0].item() == 0.0


@pytest.mark.parametrize(
    ("lab", "targets", "k", "says"),
    [
        ([[50, 0]], [50, 0, 0], 1, "lab"),
        ([[50, 0, np.nan]], [50, 0, 0], 1, "finite"),
        ([[50, 0, 0]], [50, 0], 1, "targets"),
        ([[50, 0, 0]], [50, 0, 0], 0, "k: expected 1 or more"),
        ([[[50, 0, 0]]], [50, 0, 0], 1, "shape"),
    ],
)
def test_refuses(lab, targets, k, says):
    with pytest.raises(InputError, match=says):
        SwatchIndex(lab).nearest(targets, k)
