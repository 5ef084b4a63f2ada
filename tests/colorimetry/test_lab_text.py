import contextlib

import numpy as np
import pytest
from coloraide import Color
from hypothesis import given, settings
from hypothesis import strategies as st

from stopgap.colorimetry import hex_to_lab, parse_colour
from stopgap.errors import InputError


@pytest.mark.parametrize(
    "text",
    [
        "lab(52 40 30)",
        "lab(52% 40 30)",
        "lab(52% 40% -30%)",
        "lab(29.2345% 39.3825 20.0664)",
        "LAB( +52  4e1\t-.5 )",
        "lab(0 0 0)",
        "lab(100% 1.25e+1 -1e-3)",
        " lab(52 40 30) ",
        "#a1b2c3",
        "#fAc",
    ],
)
def test_agrees_with_coloraide(text):
    expected = Color(text.strip()).convert("lab").coords(nans=False)
    np.testing.assert_allclose(parse_colour(text), expected, rtol=0, atol=1e-9)


number = st.floats(-100, 100)


@settings(derandomize=True, deadline=None)
@given(st.floats(0, 100), number, number, st.tuples(*[st.sampled_from(["", "%"])] * 3))
def test_every_number_is_read(L, a, b, units):
    text = "lab({}{} {}{} {}{})".format(*np.array([[L, a, b], units], object).T.ravel())
    np.testing.assert_allclose(parse_colour(text), Color(text).coords(), atol=1e-9)


def test_commas_are_taken_and_hex_is_srgb():
    np.testing.assert_array_equal(parse_colour("lab(52, 40,-30)"), [52, 40, -30])
    np.testing.assert_array_equal(parse_colour("  #abc "), hex_to_lab("#aabbcc"))


@pytest.mark.parametrize(
    "text", ["", "FM001", "Fennmoor:FM001", "lab", "Labrador blue", "lch(1 2 3)", "52 40 30"]
)
def test_other_text_is_none(text):
    assert parse_colour(text) is None


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("lab(52 40)", "three numbers"),
        ("lab(52 40 30 20)", "three numbers"),
        ("lab()", "three numbers"),
        ("lab(52, 40 30)", "three numbers"),
        ("lab(52,5 40)", "three numbers"),
        ("lab(52,5,40,1,30,2)", "three numbers"),
        ("rgb(1 2)", "three numbers as in rgb"),
        ("rgb(256 0 0)", "R of .* not within 0 to 255"),
        ("rgb(10 20 30 / 50%)", "alpha"),
        ("lab(5. 1 2)", "three numbers"),
        ("lab(fifty 1 2)", "three numbers"),
        ("lab(none 1 2)", "three numbers"),
        ("lab(nan 1 2)", "three numbers"),
        ("lab(50 40deg 30)", "three numbers"),
        ("lab(52 40 30) red", "closing parenthesis"),
        ("lab(52 40 30", "closing parenthesis"),
        ("lab(52 40 30))", "three numbers"),
        ("lab(52 40 30 / 0.5)", "alpha"),
        ("lab(101 0 0)", "L of .* not within 0 to 100"),
        ("lab(-1% 0 0)", "L of .* not within 0 to 100"),
        ("lab(50 201 0)", "a of .* not within -200 to 200"),
        ("lab(50 0 -170%)", "b of .* not within -200 to 200"),
        ("lab(1e999 0 0)", "L of .* not within 0 to 100"),
        ("#12", "#rrggbb"),
        ("#12345678", "#rrggbb"),
        ("#xyzxyz", "#rrggbb"),
    ],
)
def test_malformed_colours_are_refused(text, sentence):
    with pytest.raises(InputError, match=sentence):
        parse_colour(text)


@settings(derandomize=True, deadline=None)
@given(st.one_of(st.text(), st.text().map("lab({})".format), st.text().map("#{}".format)))
def test_any_text_is_a_colour_or_none_or_refused(text):
    with contextlib.suppress(InputError):
        lab = parse_colour(text)
        assert lab is None or np.isfinite(lab).all()
