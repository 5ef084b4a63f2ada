"""How a stand-in is off from its target, in words."""

import itertools
import re

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stopgap.difference import delta_E, difference_words, grade
from stopgap.difference.words import NEUTRAL_BELOW, UNIQUE_HUES
from stopgap.errors import InputError

pytestmark = pytest.mark.slow

SETTINGS = settings(derandomize=True, deadline=None, max_examples=500)
OPPOSITE = {
    "lighter": "darker",
    "more vivid": "duller",
    "more coloured": "greyer",
    "warmer": "cooler",
    "of another cast": "of another cast",
}
OPPOSITE |= {theirs: ours for ours, theirs in OPPOSITE.items()}
HUE_WORDS = set(UNIQUE_HUES)


def polar(L, C, degrees):
    return [L, C * np.cos(np.radians(degrees)), C * np.sin(np.radians(degrees))]


def parsed(words):
    """(adverb, word) of each part."""
    return [re.fullmatch(r"(a little |much |)(.+)", part).groups() for part in words.split(", ")]


@pytest.mark.parametrize(
    ("lab_1", "lab_2", "expected"),
    [
        ([50, 20, 20], [50, 20, 20], "no visible difference"),
        ([50, 20, 20], [50.5, 20, 20], "no visible difference"),
        ([50, 20, 20], [51.5, 20, 20], "a little lighter"),
        ([50, 20, 20], [53, 20, 20], "lighter"),
        ([50, 20, 20], [40, 20, 20], "much darker"),
        ([0, 0, 0], [100, 0, 0], "much lighter"),
        ([50, 30, 30], [50, 10, 10], "much duller"),
        ([50, 30, 30], [50, 33, 33], "a little more vivid"),
        ([50, 30, 30], [60, 26, 26], "much lighter, duller"),
        # from each mixed hue to the next unique hue, there and back
        (polar(50, 50, 45), polar(50, 50, 60), "much yellower"),
        (polar(50, 50, 60), polar(50, 50, 45), "much redder"),
        (polar(70, 50, 110), polar(70, 50, 117), "greener"),
        (polar(70, 50, 117), polar(70, 50, 110), "yellower"),
        (polar(50, 40, 190), polar(50, 40, 200), "bluer"),
        (polar(50, 40, 200), polar(50, 40, 190), "greener"),
        (polar(40, 40, 320), polar(40, 40, 330), "redder"),
        (polar(40, 40, 330), polar(40, 40, 320), "bluer"),
        # all the way to another hue: the word is where the stand-in lies
        (polar(60, 60, 90), polar(60, 60, 250), "much bluer"),
        (polar(60, 60, 250), polar(60, 60, 90), "much yellower"),
        (polar(60, 60, 20), polar(60, 60, 165), "much greener"),
        # greys have casts, not hues
        ([60, 0, 0], [60, 1, 3], "warmer"),
        ([60, 1, 3], [60, -1, -3], "much cooler"),
        ([60, 2, 3], [60, 0, 0], "cooler"),
        ([60, -2, 1.5], [60, 0, 0], "greyer"),
        ([60, -3, 2], [60, 3, -2], "of another cast"),
        ([60, 0, 0], [60, 40, 20], "much more coloured"),
        ([60, 40, 20], [60, 0, 0], "much greyer"),
        ([60, 4.9, 0], [60, -5.1, 0], "much cooler"),
        # CIEDE2000 forgives blues that turn as they gain chroma: 2.3 where both parts are above 4
        ([35, 3, -83], [35, 13, -103], "a little redder, a little more vivid"),
    ],
)
def test_table_of_cases(lab_1, lab_2, expected):
    assert difference_words(lab_1, lab_2) == expected


# --- Munsell: a colour order made by eye ---------------------------------------------------------

PRINCIPAL_HUES = ["5R", "5YR", "5Y", "5GY", "5G", "5BG", "5B", "5PB", "5P", "5RP"]


@pytest.fixture(scope="module")
def munsell():
    """Lab (illuminant C) by (hue, value, chroma) of the Munsell renotation.

    S. M. Newhall, D. Nickerson, D. B. Judd (1943), Journal of the Optical Society of America 33,
    385-418; the table is colour-science 0.4.7's MUNSELL_COLOURS["real"].
    """
    import colour

    keys, xyY = zip(*colour.MUNSELL_COLOURS["real"], strict=True)
    XYZ = colour.xyY_to_XYZ(np.array(xyY) / [1, 1, 100])
    white = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["C"]
    return dict(zip(keys, colour.XYZ_to_Lab(XYZ, white), strict=True))


@pytest.mark.parametrize(
    ("hue_1", "hue_2", "there", "back"),
    [
        ("5R", "5YR", "yellower", "redder"),
        ("5YR", "5Y", "yellower", "redder"),
        ("5Y", "5GY", "greener", "yellower"),
        ("5GY", "5G", "greener", "yellower"),
        ("5G", "5BG", "bluer", "greener"),
        ("5BG", "5B", "bluer", "greener"),
        ("5PB", "5P", "redder", "bluer"),
        ("5P", "5RP", "redder", "bluer"),
        ("5RP", "5R", "redder", "bluer"),
    ],
)
@pytest.mark.parametrize("value", [4, 5, 6, 7])
def test_steps_of_munsell_hue(munsell, hue_1, hue_2, there, back, value):
    # Munsell's own names of the hues say which way a step goes
    first, second = munsell[hue_1, value, 6], munsell[hue_2, value, 6]
    assert parsed(difference_words(first, second))[0] == ("much ", there)
    assert parsed(difference_words(second, first))[0] == ("much ", back)


@pytest.mark.parametrize("hue", PRINCIPAL_HUES)
def test_a_step_of_munsell_value_is_lightness(munsell, hue):
    for value in (4, 5, 6):
        words = difference_words(munsell[hue, value, 6], munsell[hue, value + 1, 6])
        assert parsed(words)[0] == ("much ", "lighter")


@pytest.mark.parametrize("hue", PRINCIPAL_HUES)
def test_a_step_of_munsell_chroma_is_vividness(munsell, hue):
    for chroma in (4, 6):
        words = difference_words(munsell[hue, 5, chroma], munsell[hue, 5, chroma + 2])
        assert parsed(words)[0][1] == "more vivid"


# --- what holds for every pair -------------------------------------------------------------------

LIGHTNESS = st.floats(0, 100)
AXIS = st.one_of(st.floats(-90, 90), st.floats(-6, 6), st.integers(-9, 9).map(float))
LAB = st.tuples(LIGHTNESS, AXIS, AXIS)
NEUTRAL = st.builds(polar, LIGHTNESS, st.floats(0, NEUTRAL_BELOW - 0.01), st.floats(0, 360))
NEAR = st.tuples(LAB, st.tuples(*[st.floats(-6, 6)] * 3)).map(
    lambda pair: (pair[0], tuple(np.add(*pair)))
)
BLUES = st.builds(
    lambda L, C, h, delta_C, delta_h: (polar(L, C, h), polar(L, C + delta_C, h + delta_h)),
    LIGHTNESS,
    *(st.floats(40, 90), st.floats(260, 290), st.floats(2, 25), st.floats(2, 15)),
)
PAIR = st.one_of(st.tuples(LAB, LAB), NEAR, BLUES)


@SETTINGS
@given(PAIR)
def test_exchanging_the_colours_exchanges_the_words(pair):
    there, back = difference_words(*pair), difference_words(*pair[::-1])
    if there == "no visible difference":
        assert back == there
        return
    for (adverb, word), (adverb_back, word_back) in zip(parsed(there), parsed(back), strict=True):
        assert adverb == adverb_back
        if word in HUE_WORDS:
            assert word_back in HUE_WORDS - {word}
        else:
            assert word_back == OPPOSITE[word]


@SETTINGS
@given(PAIR)
def test_every_word_is_true(pair):
    (L_1, a_1, b_1), (L_2, a_2, b_2) = pair
    C_1, C_2 = np.hypot(a_1, b_1), np.hypot(a_2, b_2)
    orange = [0.545 * a + 0.839 * b for _, a, b in pair]  # along 57 degrees, between red and yellow
    words = {word for _, word in parsed(difference_words(*pair))}
    true = {
        "lighter": L_2 > L_1,
        "darker": L_2 < L_1,
        "more vivid": C_2 > C_1,
        "more coloured": C_2 > C_1,
        "duller": C_2 < C_1,
        "greyer": C_2 < C_1,
        "warmer": orange[1] > orange[0],
        "cooler": orange[1] < orange[0],
        "of another cast": (a_1, b_1) != (a_2, b_2),
        "no visible difference": delta_E(*pair) <= 0.8,
    }
    for word in words:
        if word in HUE_WORDS:
            unique = np.radians(UNIQUE_HUES[word])
            nearness = [np.cos(np.arctan2(b, a) - unique) for _, a, b in pair]
            assert nearness[1] > nearness[0]
        else:
            assert true[word]


@SETTINGS
@given(PAIR)
def test_words_and_grade_tell_the_same_story(pair):
    difference = float(delta_E(*pair))
    words = difference_words(*pair)
    adverbs = {adverb for adverb, word in parsed(words) if word != "of another cast"}
    assert (words == "no visible difference") == (grade(difference) == "same")
    if grade(difference) == "very close":
        assert adverbs <= {"a little "}
    if "much " in adverbs:
        assert grade(difference) == "different"
    assert 1 <= len(parsed(words)) <= 3


@SETTINGS
@given(st.one_of(st.tuples(NEUTRAL, LAB), st.tuples(LAB, NEUTRAL), st.tuples(NEUTRAL, NEUTRAL)))
def test_no_hue_words_beside_a_neutral(pair):
    words = {word for _, word in parsed(difference_words(*pair))}
    assert not words & (HUE_WORDS | {"more vivid", "duller"})


STEP = st.floats(3, 8)
SIGN = st.sampled_from([-1, 1])


@SETTINGS
@given(st.floats(10, 90), st.floats(20, 80), st.floats(0, 360), STEP, STEP, SIGN, SIGN)
def test_larger_parts_come_first(L, chroma, hue, delta_L, delta_C, sign_L, sign_C):
    # The slow way to the order: the difference without the one part and without the other
    L_2, C_2 = L + sign_L * delta_L, chroma + sign_C * delta_C
    first, second = polar(L, chroma, hue), polar(L_2, C_2, hue)
    middle = (L + L_2) / 2
    of_lightness = float(delta_E([L, 0, 0], [L_2, 0, 0]))
    of_chroma = float(delta_E([middle, *first[1:]], [middle, *second[1:]]))
    words = [word for _, word in parsed(difference_words(first, second))]
    assert set(words) <= {"lighter", "darker", "more vivid", "duller"}
    if of_lightness > of_chroma:
        assert words[0] == ("lighter" if sign_L > 0 else "darker")
    else:
        assert words[0] == ("more vivid" if sign_C > 0 else "duller")


def test_unique_hues_lie_near_those_of_ciecam02():
    # CIE 159:2004, Table of unique hue data (computed by colour-science 0.4.7); another space, and
    # other white, so only near
    from colour.appearance.ciecam02 import HUE_DATA_FOR_HUE_QUADRATURE

    published = HUE_DATA_FOR_HUE_QUADRATURE["h_i"][:4]
    np.testing.assert_allclose(list(UNIQUE_HUES.values()), published, atol=10)
    gaps = np.diff([*UNIQUE_HUES.values(), 360 + next(iter(UNIQUE_HUES.values()))])
    assert gaps.max() < 180  # or a step could lead towards no unique hue


def test_every_hue_step_has_a_word():
    for hue, step in itertools.product(range(0, 360, 3), (-179.9, -60, -20, 20, 60, 180)):
        words = difference_words(polar(50, 40, hue), polar(50, 40, hue + step))
        assert parsed(words)[0][1] in HUE_WORDS


@pytest.mark.parametrize("bad", [[50, 0], [[50, 0, 0], [60, 0, 0]], [50, np.nan, 0], 50, "red"])
def test_only_one_colour_each(bad):
    with pytest.raises(InputError, match="lab_1"):
        difference_words(bad, [50, 0, 0])
    with pytest.raises(InputError, match="lab_2"):
        difference_words([50, 0, 0], bad)
