"""Grades of ΔE00."""

import math

import numpy as np
import pytest

from stopgap.difference import COARSE_ABOVE, DIRECTION_ABOVE, GRADES, grade
from stopgap.errors import InputError


@pytest.mark.parametrize(
    ("delta_E", "expected"),
    [
        (0.0, "same"),
        (0.8, "same"),
        (math.nextafter(0.8, 1), "very close"),
        (1.8, "very close"),
        (math.nextafter(1.8, 2), "close"),
        (3.5, "close"),
        (math.nextafter(3.5, 4), "noticeable"),
        (5.0, "noticeable"),
        (math.nextafter(5.0, 6), "different"),
        (150.0, "different"),
        (np.float64(2.0), "close"),
    ],
)
def test_a_limit_belongs_to_the_better_grade(delta_E, expected):
    assert grade(delta_E) == expected


def test_published_limits():
    # Paravina et al. (2015), Journal of Esthetic and Restorative Dentistry 27(S1), abstract:
    # CIEDE2000 50:50% perceptibility 0.8 and acceptability 1.8 (from memory)
    assert (GRADES["same"], GRADES["very close"]) == (0.8, 1.8)


def test_limits_rise_and_end_where_the_formula_does():
    limits = list(GRADES.values())
    assert limits == sorted(limits)
    assert limits[-2] == COARSE_ABOVE < DIRECTION_ABOVE < limits[-1] == math.inf


@pytest.mark.parametrize("wrong", [-0.1, math.nan, np.float64("nan")])
def test_what_is_no_difference_is_refused(wrong):
    with pytest.raises(InputError, match="delta_E"):
        grade(wrong)


def test_the_table_is_read_only():
    with pytest.raises(TypeError):
        GRADES["same"] = 3.0
