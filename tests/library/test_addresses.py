"""Pencils found as people write them: by address, code, name, span, colour and words.

Unicode's own rules (NFKD, casefold: The Unicode Standard, annex 15 and section 3.13) are those of
Python's unicodedata; the Damerau distance that near names are checked against is written out here
as the recurrence has it. Names of colours are ISCC-NBS (K. L. Kelly and D. B. Judd, 1976).
"""

import coloraide
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stopgap.colorimetry import parse_colour
from stopgap.errors import InputError, Remedy, UnknownSwatchError
from stopgap.library import (
    NameIndex,
    find_asked,
    find_several,
    find_swatch,
    find_target,
    pencils_of_colour,
    read_list,
    search_pencils,
    spread,
)
from stopgap.library.spelling import Spellings, normal
from stopgap.naming import categories
from stopgap.swatches import Swatch

GREY, OLIVE = (50.0, 0.0, 0.0), categories()[107].lab
PENCILS = (
    Swatch("Haldorn", "006", GREY, "Taublau"),
    Swatch("Haldorn", "136", GREY, "Gull Wing", also="Old Gull; 1136"),
    Swatch("Haldorn", "146", GREY, "Éponge Grise"),
    Swatch("Haldorn", "007", GREY, "Tarn"),
    Swatch("Haldorn", "010", OLIVE, "Kelp"),
    Swatch("Two Words", "V-12", GREY, "Gull Wing"),
    Swatch("Two Words", "12-034", GREY),
    Swatch("Two Words", "5+", GREY, "Warm 5"),
)
INDEX = NameIndex(PENCILS)


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("Haldorn:006", "006"),
        ("haldorn : 6", "006"),
        ("Haldorn:06", "006"),
        ("Haldorn 006", "006"),
        ("Haldorn-6", "006"),
        ("6", "006"),
        ("haldorn taublau", "006"),
        ("EPONGE GRISE", "146"),
        ("V12", "V-12"),
        ("two words v 012", "V-12"),
        ("Two Words:Gull-Wing", "V-12"),
        ("old gull", "136"),
        ("‘Old Gull’", "136"),
        ("Haldorn:'Old Gull'", "136"),
        ("1136", "136"),
        ("Haldorn:Old Gull", "136"),
        ("12-34", "12-034"),
        ("12034", "12-034"),
    ],
)
def test_a_pencil_is_found_as_it_is_written(text, code):
    assert find_target(text, INDEX).code == code
    assert find_target(text, PENCILS) == find_target(text, INDEX)


def test_what_stands_for_itself_comes_before_what_is_left_out():
    pencils = [Swatch("A", code, GREY) for code in ("6", "06", "006")]
    for swatch in pencils:
        assert find_swatch(f"A:{swatch.code}", pencils) is swatch
    with pytest.raises(InputError, match=r"several: A:06, A:006\. Say which"):
        find_swatch("A:0006", pencils[1:])


def test_signs_that_mean_something_are_not_left_out():
    signed = [Swatch("A", "5+", GREY), Swatch("A", "5%", GREY)]
    with pytest.raises(UnknownSwatchError):
        find_swatch("A:5", signed)


@given(st.sampled_from(PENCILS), st.data())
def test_case_space_and_zeros_do_not_matter(swatch, data):
    words = [data.draw(st.sampled_from((str.upper, str.lower, str)))(swatch.range)]
    words += [data.draw(st.sampled_from((":", " ", " : ", "  ", "-")))]
    words += [data.draw(st.sampled_from((swatch.code, swatch.code.lstrip("0"))))]
    assert find_swatch("".join(words), INDEX) is swatch


@pytest.mark.parametrize(
    ("text", "near"),
    [
        ("Haldorn:16", "'Haldorn:010' or 'Haldorn:006' or 'Haldorn:136'"),
        ("Haldron:6", "'Haldorn:006'"),
        ("Haldorn:147", "'Haldorn:146'"),
        ("Gul Wing", "'Gull Wing'"),
        ("Haldorm", "'Haldorn'"),
        ("12", "'V-12'"),
    ],
)
def test_what_is_suggested_is_what_was_meant(text, near):
    with pytest.raises(UnknownSwatchError) as caught:
        find_target(text, INDEX)
    for each in near.split(" or "):
        assert each in str(caught.value)


def damerau(one, other):
    """The distance with adjacent swaps, restricted form, as the recurrence has it."""
    away = {(i, 0): i for i in range(len(one) + 1)} | {(0, j): j for j in range(len(other) + 1)}
    for i, a in enumerate(one, start=1):
        for j, b in enumerate(other, start=1):
            away[i, j] = min(away[i - 1, j] + 1, away[i, j - 1] + 1, away[i - 1, j - 1] + (a != b))
            if i > 1 and j > 1 and (a, b) == (other[j - 2], one[i - 2]):
                away[i, j] = min(away[i, j], away[i - 2, j - 2] + 1)
    return away[len(one), len(other)]


NAMES = st.text("abc", min_size=1, max_size=6)


@given(st.lists(NAMES, min_size=1, max_size=8, unique=True), NAMES)
def test_all_at_a_distance_of_one_are_near(names, wanted):
    found = {name: away for away, _, _, name in Spellings(names).to(wanted)}
    for name in names:
        away = damerau(name, wanted)
        if away < 2:
            assert found[name] == away
        elif name in found:
            assert found[name] == away == 2


@given(st.text(max_size=12))
def test_a_normal_form_is_its_own(text):
    assert normal(normal(text)) == normal(text)


@pytest.mark.parametrize(
    ("text", "codes"),
    [
        ("Haldorn", ["006", "136", "146", "007", "010"]),
        ("haldorn:", ["006", "136", "146", "007", "010"]),
        ("Haldorn:*", ["006", "136", "146", "007", "010"]),
        ("Haldorn:001-010", ["006", "007", "010"]),  # one end is there
        ("Haldorn:006-009", ["006", "007"]),
        ("Haldorn:001-005", None),
        ("Haldorn:001-009", None),
        ("Haldorn:006-010", ["006", "007", "010"]),
        ("Haldorn 6 – 10", ["006", "007", "010"]),
        ("Haldorn:6..10", ["006", "007", "010"]),
        ("Haldorn:010-006", None),
        ("12-034", ["12-034"]),
        ("Haldorn:146", ["146"]),
    ],
)
def test_a_range_and_a_span_of_it(text, codes):
    if codes is None:
        with pytest.raises(UnknownSwatchError):
            find_several(text, INDEX)
    else:
        assert [swatch.code for swatch in find_several(text, INDEX)] == codes


def test_one_is_asked_for_where_several_are_named():
    with pytest.raises(InputError, match=r"stands for 5 pencils\. One is asked for here\."):
        find_target("Haldorn", INDEX)


@pytest.mark.parametrize("text", ["c04a2b", "rgb(192, 74, 43)", "RGB(192 74 43)", "rgb(192,74,43)"])
def test_a_colour_without_its_sign_and_as_rgb(text):
    theirs = coloraide.Color("rgb(192 74 43)").convert("lab").coords()
    np.testing.assert_allclose(find_target(text, INDEX).lab, theirs, atol=2e-4)


def test_six_hex_digits_that_are_a_code_are_that_pencil():
    pencil = Swatch("Haldorn", "c04a2b", GREY)
    assert find_target("C04A2B", [pencil]) is pencil


@pytest.mark.parametrize(
    ("text", "lab"),
    [
        ("lab(52,5 40,25 -30)", (52.5, 40.25, -30)),
        ("lab(52,5; 40,25; −30)", (52.5, 40.25, -30)),
        ("lab(52,5, 40,25, -30)", (52.5, 40.25, -30)),
        ("lab(52,40,-30)", (52, 40, -30)),
        ("lab(52, 40, -30)", (52, 40, -30)),
    ],
)
def test_decimal_commas(text, lab):
    assert parse_colour(text).tolist() == list(lab)


@pytest.mark.parametrize("text", ["lab(52,5 40)", "lab(52,5,40,1,30)", "rgb(256 0 0)", "rgb(1 2)"])
def test_colours_that_could_be_read_in_two_ways_are_refused(text):
    with pytest.raises(InputError):
        find_target(text, INDEX)


def test_colour_words_are_a_search():
    with pytest.raises(UnknownSwatchError, match=r"of that colour is Haldorn:010 \(Kelp\)"):
        find_target("dark olive", INDEX)
    found = search_pencils("dark olive", PENCILS)
    assert [each.swatch.code for each in found] == ["010"]
    assert found[0].called == "dark olive"
    # nothing is called so: what comes nearest to the centroid of that name
    near = pencils_of_colour("moderate olive", PENCILS)
    assert not near.so_called
    assert near.pencils[0].swatch.code == "010"
    assert pencils_of_colour("kelp olive", PENCILS).pencils == []


@pytest.mark.parametrize(
    ("words", "codes"),
    [
        ("blau", ["006"]),
        ("GULL", ["136", "V-12"]),
        ("old gull", ["136"]),
        ("eponge", ["146"]),
        ("ponge ris", ["146"]),
        ("haldorn gull", ["136"]),
        ("tar", ["007"]),
        ("nothing", []),
        ("", []),
    ],
)
def test_words_are_found_inside_words(words, codes):
    assert [each.swatch.code for each in search_pencils(words, PENCILS)] == codes


def test_a_word_of_its_own_comes_before_one_inside_another():
    pencils = [Swatch("A", code, GREY, name) for code, name in (("1", "Taublau"), ("2", "Blau"))]
    pencils.append(Swatch("A", "3", GREY, "Blaugrau"))
    assert [each.swatch.code for each in search_pencils("blau", pencils)] == ["2", "3", "1"]


def test_who_asks_for_a_part_of_names_is_led_to_the_search():
    pencils = [
        Swatch("A", code, GREY, name) for code, name in (("1", "Taublau"), ("3", "Blaugrau"))
    ]
    with pytest.raises(UnknownSwatchError, match=r"are 2 pencils .* A:3 \(Blaugrau\), A:1") as told:
        find_asked("blau", pencils)
    assert (told.value.remedy, told.value.details["words"]) == (Remedy.SEARCH, "blau")
    with pytest.raises(UnknownSwatchError, match="No swatch is called 'rot'"):
        find_asked("rot", pencils)


@pytest.mark.parametrize(
    ("content", "colours"),
    [
        ("Haldorn:006\nV12\n", ["Haldorn:006", "V12"]),
        ("Kelp\nTaublau\n", ["Kelp", "Taublau"]),
        ("Haldorn:006;sky;2\nV-12;sea;1\n", ["Haldorn:006", "V-12"]),
        ("label,colour\nsky,Kelp\n", ["Kelp"]),
        ("colour\nKelp\n", ["Kelp"]),
        ("#c04a2b\n", ["#c04a2b"]),
        ("Farbe\nKelp\nTaublau\n", ["Kelp", "Taublau"]),
        ("Couleur;poids\nKelp;2\n", ["Kelp"]),
        ("Nr.;Farbe\nHaldorn:006;sky\n", ["Haldorn:006"]),
        ("Name,Hex\nsky,#c04a2b\n", ["#c04a2b"]),
        ("Nr,colour\n3,Kelp\n", ["Kelp"]),
    ],
)
def test_a_list_may_have_no_heading(content, colours, tmp_path):
    path = tmp_path / "list.csv"
    path.write_text(content)
    rows = read_list(path)
    assert [row.colour for row in rows] == colours
    headed = content.lower().startswith(("colour", "label", "farbe", "couleur", "nr", "name"))
    assert rows[0].row == (2 if headed else 1)
    assert rows[0].label == ("sky" if "sky" in content else "")


def test_a_row_that_names_a_range_becomes_a_row_for_each_pencil(tmp_path):
    path = tmp_path / "list.csv"
    path.write_text("colour,label,weight\nTwo Words,sea,2\nnothing,sky,\nHaldorn:6-7,,\n")
    rows = spread(read_list(path), INDEX)
    assert [(row.colour, row.label, row.weight, row.row) for row in rows] == [
        *((f"Two Words:{code}", "sea", 2.0, 2) for code in ("V-12", "12-034", "5+")),
        ("nothing", "sky", 1.0, 3),
        *((f"Haldorn:{code}", "", 1.0, 4) for code in ("006", "007")),
    ]
