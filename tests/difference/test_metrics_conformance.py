"""What every row of METRICS keeps to."""

import numpy as np
import pytest

from stopgap.difference import (
    DEFAULT_METRIC,
    METRICS,
    delta_E,
    difference_function,
    metric_name,
)
from stopgap.errors import InputError

RANDOM = np.random.default_rng(7)
LAB_1, LAB_2 = RANDOM.uniform([0, -100, -100], [100, 100, 100], (2, 2000, 3))

each_metric = pytest.mark.parametrize("metric", METRICS)


@each_metric
def test_a_colour_does_not_differ_from_itself(metric):
    lab = np.concatenate([LAB_1, [[0, 0, 0], [100, 0, 0], [50, 0, -0.0], [20, 1e-9, -1e-9]]])
    assert (delta_E(lab, lab, metric=metric) == 0.0).all()


@each_metric
def test_never_negative_and_zero_only_for_equal_colours(metric):
    assert (delta_E(LAB_1, LAB_2, metric=metric) > 0.0).all()
    # where the rotation term of CIEDE2000 pulls hardest
    blue = np.array([30.0, 20.0, -80.0])
    near = blue + RANDOM.normal(0, 3, (2000, 3))
    assert (delta_E(blue, near, metric=metric) > 0.0).all()


@each_metric
def test_symmetric_exactly_where_claimed_and_only_there(metric):
    there = delta_E(LAB_1, LAB_2, metric=metric)
    back = delta_E(LAB_2, LAB_1, metric=metric)
    if METRICS[metric].symmetric:
        np.testing.assert_array_equal(there, back)
    else:
        assert np.abs(there - back).max() > 1.0


@each_metric
def test_broadcasts_as_numpy_does(metric):
    table = delta_E(LAB_1[:4, None], LAB_2[:5], metric=metric)
    assert table.shape == (4, 5)
    assert table.dtype == np.float64
    one_by_one = [[float(delta_E(a, b, metric=metric)) for b in LAB_2[:5]] for a in LAB_1[:4]]
    # rows of another length may round differently in the last figure
    np.testing.assert_allclose(table, one_by_one, rtol=1e-14)
    assert np.ndim(delta_E(LAB_1[0], LAB_2[0], metric=metric)) == 0
    assert delta_E(np.empty((0, 3)), LAB_2[0], metric=metric).shape == (0,)


@each_metric
def test_arguments_are_left_as_they_were(metric):
    first, second = LAB_1.copy(), LAB_2.copy()
    first.flags.writeable = second.flags.writeable = False
    delta_E(first, second, metric=metric)


@each_metric
@pytest.mark.parametrize("wrong", [np.nan, np.inf, -np.inf])
def test_values_that_are_not_finite_are_refused(metric, wrong):
    with pytest.raises(InputError, match="lab_1"):
        delta_E([50, wrong, 0], [50, 0, 0], metric=metric)
    with pytest.raises(InputError, match="lab_2"):
        delta_E([50, 0, 0], [[50, 0, 0], [wrong, 0, 0]], metric=metric)


@each_metric
@pytest.mark.parametrize("wrong", [50.0, [50, 0], [50, 0, 0, 0], [], [[50], [0], [0]]])
def test_a_wrong_shape_is_refused(metric, wrong):
    with pytest.raises(InputError, match="lab_1"):
        delta_E(wrong, [50, 0, 0], metric=metric)
    with pytest.raises(InputError, match="lab_2"):
        delta_E([50, 0, 0], wrong, metric=metric)


@each_metric
def test_name_and_function_give_the_same(metric):
    function = METRICS[metric].function
    assert difference_function(metric) is function
    assert difference_function(function) is function
    np.testing.assert_array_equal(
        delta_E(LAB_1, LAB_2, metric=function), delta_E(LAB_1, LAB_2, metric=metric)
    )


@each_metric
def test_names_are_found_whatever_their_case_and_spaces(metric):
    assert metric_name(metric.replace(" ", "").lower()) == metric
    assert metric_name(f" {metric.upper()} ") == metric


def test_a_function_of_the_user_is_taken():
    def lightness_only(lab_1, lab_2):
        return np.abs(np.asarray(lab_1)[..., 0] - np.asarray(lab_2)[..., 0])

    assert delta_E([50, 9, 9], [53, 0, 0], metric=lightness_only) == 3.0


def test_the_default_is_ciede2000():
    assert DEFAULT_METRIC == "CIE 2000"
    np.testing.assert_array_equal(delta_E(LAB_1, LAB_2), delta_E(LAB_1, LAB_2, metric="CIE 2000"))


@pytest.mark.parametrize("unknown", ["CIE 2001", "", "CIE"])
def test_an_unknown_metric_is_refused_with_those_that_exist(unknown):
    with pytest.raises(InputError, match=r"metric: .*CIE 2000.*HyAB"):
        delta_E(LAB_1, LAB_2, metric=unknown)


def test_the_table_is_read_only():
    with pytest.raises(TypeError):
        METRICS["mine"] = METRICS["CIE 2000"]
