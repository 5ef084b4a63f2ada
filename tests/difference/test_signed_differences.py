"""Signed differences in lightness, chroma and hue."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stopgap.difference import delta_E_cie_1976, signed_differences
from stopgap.errors import InputError

SETTINGS = settings(derandomize=True, deadline=None, max_examples=300)
AXIS = st.one_of(st.floats(-120, 120), st.integers(-12, 12).map(float))
LAB = st.tuples(st.floats(0, 100), AXIS, AXIS)


def by_the_letter(lab_1, lab_2):
    """The slow twin: ISO/CIE 11664-4:2019 with the case distinction of its hue (from memory)."""
    (L_1, a_1, b_1), (L_2, a_2, b_2) = lab_1, lab_2
    C_1, C_2 = math.hypot(a_1, b_1), math.hypot(a_2, b_2)
    h_1 = math.degrees(math.atan2(b_1, a_1)) % 360
    h_2 = math.degrees(math.atan2(b_2, a_2)) % 360
    delta_h = h_2 - h_1
    if delta_h > 180:
        delta_h -= 360
    elif delta_h < -180:
        delta_h += 360
    return L_2 - L_1, C_2 - C_1, 2 * math.sqrt(C_1 * C_2) * math.sin(math.radians(delta_h) / 2)


@SETTINGS
@given(LAB, LAB)
def test_equal_to_the_letter_of_the_standard(lab_1, lab_2):
    ours = [float(part) for part in signed_differences(lab_1, lab_2)]
    theirs = by_the_letter(lab_1, lab_2)
    assert ours[:2] == pytest.approx(theirs[:2], abs=1e-9)
    # at opposite hues the twin's sign hangs on the rounding of its angles
    assert abs(ours[2]) == pytest.approx(abs(theirs[2]), abs=1e-9)
    sine = lab_1[1] * lab_2[2] - lab_1[2] * lab_2[1]
    if abs(sine) > 1e-6:
        assert ours[2] == pytest.approx(theirs[2], abs=1e-9)


def test_equal_to_coloraide():
    # computed by coloraide 8.13.1: hue and chroma of lch (CIE LCh, D50) of two colours on either
    # side of 0 degrees; the hue angle rises by 20 degrees
    from coloraide import Color

    lch_1 = [50.0, 40.0, 350.0]
    lch_2 = [60.0, 30.0, 10.0]
    lab_1, lab_2 = (Color("lch", lch).convert("lab").coords() for lch in (lch_1, lch_2))
    delta_H = 2 * math.sqrt(40 * 30) * math.sin(math.radians(10))
    np.testing.assert_allclose(signed_differences(lab_1, lab_2), [10.0, -10.0, delta_H], atol=1e-9)


@SETTINGS
@given(LAB, LAB)
def test_squares_add_up_and_signs_turn_with_the_order(lab_1, lab_2):
    parts = np.array(signed_differences(lab_1, lab_2))
    assert np.sqrt((parts**2).sum()) == pytest.approx(
        float(delta_E_cie_1976(lab_1, lab_2)), abs=1e-9
    )
    np.testing.assert_array_equal(np.array(signed_differences(lab_2, lab_1)), -parts)


@pytest.mark.parametrize(
    ("ab_1", "ab_2", "sign"),
    [
        ((20, 1), (20, 5), 1),  # towards yellow
        ((20, -5), (20, 5), 1),  # across 0 degrees
        ((-20, -1), (-20, 1), -1),  # across 180 degrees, clockwise
        ((5, -30), (-5, -30), -1),  # blue to green-blue
    ],
)
def test_positive_is_counter_clockwise_by_the_shorter_way(ab_1, ab_2, sign):
    assert np.sign(signed_differences([50, *ab_1], [50, *ab_2])[2]) == sign


@pytest.mark.parametrize("neutral", [(0.0, 0.0), (-0.0, 0.0), (0.0, -0.0), (-0.0, -0.0)])
def test_a_neutral_has_no_hue_difference(neutral):
    delta_L, delta_C, delta_H = signed_differences([50, *neutral], [50, -3, -4])
    assert (delta_L, delta_C, delta_H) == (0.0, 5.0, 0.0)
    assert signed_differences([50, *neutral], [50, 0, 0])[2] == 0.0


@pytest.mark.parametrize("ab", [(3.0, 4.0), (0.1, 0.3), (-7.3, 2.9), (0.0, 5.0), (6.0, -0.0)])
@pytest.mark.parametrize("ratio", [1.0, 3.0, 0.7])
def test_exactly_opposite_hues_take_the_sign_of_h2_minus_h1(ab, ratio):
    first = [50.0, *ab]
    second = [50.0, -ratio * ab[0], -ratio * ab[1]]
    h_1 = math.atan2(ab[1] + 0.0, ab[0]) % (2 * math.pi)
    expected = 2 * math.hypot(*ab) * math.sqrt(ratio) * (1 if h_1 < math.pi else -1)
    assert float(signed_differences(first, second)[2]) == pytest.approx(expected)
    assert float(signed_differences(second, first)[2]) == pytest.approx(-expected)


def test_broadcasts():
    lab = np.zeros((4, 1, 3))
    parts = signed_differences(lab, np.ones((5, 3)))
    assert [part.shape for part in parts] == [(4, 5)] * 3


@pytest.mark.parametrize("bad", [[1, 2], [np.nan, 0, 0], 5, ["a", 0, 0]])
def test_bad_input_is_named(bad):
    with pytest.raises(InputError, match="lab_2"):
        signed_differences([50, 0, 0], bad)
