"""What is promised of a prediction."""

import math
from math import inf
from statistics import NormalDist

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import rice

from stopgap.difference import COVERAGE_FACTOR, GRADES, Promise, promise
from stopgap.difference.grades import probability_within
from stopgap.errors import InputError

differences = st.floats(0.0, 150.0)


def test_nine_in_ten_lie_within_the_coverage_factor():
    # the standard library's normal distribution; GUM (JCGM 100:2008), table G.2, has 1.645 for
    # 90 % (from memory)
    normal = NormalDist()
    assert normal.inv_cdf(0.95) == pytest.approx(COVERAGE_FACTOR, abs=5e-4)
    within = normal.cdf(COVERAGE_FACTOR) - normal.cdf(-COVERAGE_FACTOR)
    assert within == pytest.approx(0.9, abs=1e-4)


@given(differences, st.floats(0.0, 30.0))
def test_the_bound_decides_and_never_lies_beyond_the_word(delta_E, sigma):
    found = promise(delta_E, sigma)
    assert found.bound <= GRADES[found.grade]
    assert GRADES[found.likely_grade] <= GRADES[found.grade]
    better = [limit for limit in GRADES.values() if limit < GRADES[found.grade]]
    assert all(found.bound > limit for limit in better)


@given(differences)
def test_what_is_certain_is_promised_as_it_is(delta_E):
    assert promise(delta_E) == Promise(delta_E, delta_E)
    assert promise(delta_E).chance == ""


@pytest.mark.parametrize(
    ("delta_E", "bound", "chance"),
    [
        (0.5, 1.0, "probably same, 9 in 10: try it"),
        (1.5, 10.0, "perhaps very close, 1 in 10: try it"),
        (3.5, 3.6, "perhaps close, 1 in 2: try it"),
        (3.4, 3.52, "probably close, 9 in 10: try it"),  # surely so, and yet not promised
        (3.6, 5.1, ""),  # noticeable at best
        (0.1, 0.8, ""),
        (20.0, inf, ""),
    ],
)
def test_what_may_be_better_is_worth_a_try_where_it_is_near(delta_E, bound, chance):
    assert Promise(delta_E, bound).chance == chance


@given(differences, st.floats(0.01, 30.0), st.sampled_from([0.8, 1.8, 3.5, 5.0]))
def test_how_surely_a_colour_comes_so_near(delta_E, ninety, limit):
    """Rice's distribution, by SciPy (scipy.stats.rice.cdf)."""
    sigma = ninety / math.sqrt(2.0 * math.log(10.0))
    expected = rice.cdf(limit / sigma, delta_E / sigma)
    assert probability_within(limit, delta_E, ninety) == pytest.approx(expected, abs=1e-6)


@given(differences, st.floats(0.0, 30.0))
def test_a_word_its_probability_and_the_interval_never_contradict_each_other(delta_E, sigma):
    """What is promised is kept by nine in ten or more; a nearer grade never as probably."""
    found = promise(delta_E, sigma)
    if found.grade != "different":
        assert found.grade_probability > 0.9 - 1e-9
        assert found.likely_probability <= found.grade_probability
    elif found.likely_grade == "different":
        assert found.likely_probability == found.grade_probability
        assert found.grade_probability >= 0.5 or sigma > 0.0
    else:
        assert found.grade_probability <= 1.0 - found.likely_probability + 1e-9


def test_what_is_no_difference_is_refused():
    with pytest.raises(InputError, match="delta_E"):
        _ = promise(-1.0).grade
