"""Propagation of uncertainty through ΔE00 against draws, and the quadratic form against itself."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stopgap.difference import (
    delta_E,
    difference_gradient,
    difference_uncertainty,
    even_covariance,
    mean_uncertainty,
    metric_tensor,
)

properties = settings(max_examples=60, deadline=None, derandomize=True)
labs = st.tuples(st.floats(5, 95), st.floats(-70, 70), st.floats(-70, 70))


@properties
@given(labs, st.tuples(*[st.floats(-1, 1)] * 3))
def test_small_steps_are_what_the_formula_says(lab, direction):
    length = np.linalg.norm(direction)
    if length < 0.1:
        return
    step = 0.05 * np.array(direction) / length
    predicted = np.sqrt(step @ metric_tensor(lab) @ step)
    exact = delta_E(np.subtract(lab, step / 2), np.add(lab, step / 2))
    assert exact == pytest.approx(predicted, rel=0.02)


@properties
@given(labs, st.floats(0.01, 5))
def test_an_even_covariance_has_its_uncertainty_in_every_direction(lab, uncertainty):
    covariance = even_covariance(lab, uncertainty)
    np.linalg.cholesky(covariance)  # positive definite, else it raises
    assert mean_uncertainty(lab, covariance) == pytest.approx(uncertainty, rel=1e-9)


def test_the_metric_of_a_known_formula():
    # On the neutral axis at L* = 50: S_L = 1, G = 0.5, all other factors 1 (Sharma et al. 2005,
    # equations (4), (18)-(20)), so that ΔE00² = dL² + (1.5 da)² + db².
    np.testing.assert_allclose(metric_tensor([50, 0, 0]), np.diag([1, 2.25, 1]), atol=1e-3)


def ordinary(seed=2, count=150):
    """Pairs at least three standard uncertainties apart, as nearly all stand-ins are."""
    generator = np.random.default_rng(seed)
    first = np.column_stack(
        [generator.uniform(20, 90, count), generator.uniform(-50, 50, (count, 2))]
    )
    second = first + generator.normal(0, 4, first.shape)
    one, two = even_covariance(first, 0.5), even_covariance(second, 0.7)
    far = delta_E(first, second) > 3 * np.hypot(0.5, 0.7)
    return first[far], one[far], second[far], two[far]


def drawn(lab, covariance, generator, count=4000):
    root = np.linalg.cholesky(covariance)
    return lab + np.einsum("nij,knj->kni", root, generator.standard_normal((count, *lab.shape)))


def test_propagation_agrees_with_draws():
    first, one, second, two = ordinary()
    assert len(first) > 80
    generator = np.random.default_rng(3)
    # the slow twin: JCGM 101:2008, propagation of distributions by Monte Carlo
    draws = delta_E(drawn(first, one, generator), drawn(second, two, generator))
    ratio = difference_uncertainty(first, one, second, two) / draws.std(axis=0)
    assert np.abs(ratio - 1).max() < 0.10  # measured: 0.985 to 1.08, half of them within 0.02


def test_equal_colours_have_a_whole_uncertainty():
    lab = [50.0, 20.0, -10.0]
    found = difference_uncertainty(lab, even_covariance(lab, 0.3), lab, even_covariance(lab, 0.4))
    assert found == pytest.approx(0.5)


def test_what_is_certain_adds_nothing():
    zero = np.zeros((3, 3))
    assert difference_uncertainty([50, 0, 0], zero, [60, 0, 0], zero) == 0.0


def test_a_covariance_along_one_direction_counts_only_there():
    along_L = np.diag([1.0, 0.0, 0.0])
    nothing = np.zeros((3, 3))
    lighter = difference_uncertainty([50, 0, 0], along_L, [60, 0, 0], nothing)
    redder = difference_uncertainty([50, 0, 0], along_L, [50, 30, 0], nothing)
    assert lighter > 0.8
    assert redder < 0.05


@properties
@given(labs, labs)
def test_the_gradient_tells_a_small_change(one, other):
    chromas = np.hypot(np.array([one, other])[:, 1], np.array([one, other])[:, 2])
    turn = np.dot(one[1:], other[1:]) / max(np.prod(chromas), 1e-9)
    if delta_E(one, other) < 1 or chromas.min() < 3 or turn < -0.95:
        return  # beside grey and at opposite hues the formula has kinks and no derivative
    by_first, by_second = difference_gradient(one, other)
    step = np.array([0.01, -0.02, 0.015])
    change = delta_E(np.add(one, step), np.subtract(other, step)) - delta_E(one, other)
    assert change == pytest.approx((by_first - by_second) @ step, abs=0.01)
