"""ISCC-NBS names against the Munsell renotation, of which the standard's categories are blocks."""

import csv
import re
from pathlib import Path

import numpy as np
import pytest
from coloraide import Color
from hypothesis import given, settings
from hypothesis import strategies as st

from stopgap.difference import delta_E
from stopgap.errors import InputError
from stopgap.naming import categories, colour_name, iscc_nbs, nearest_categories

REFERENCE = Path(__file__).parents[1] / "reference" / "munsell_real_d50.csv"
LEVEL_2_AROUND = (
    *("red", "reddish orange", "orange", "orange yellow", "yellow", "greenish yellow"),
    *("yellow green", "yellowish green", "green", "bluish green", "greenish blue", "blue"),
    *("purplish blue", "violet", "purple", "reddish purple", "purplish red"),
)
"""The hue names of level 2 in the order of their numbers: NBS SP 440, page A-15."""

PLACE = {name: place for place, name in enumerate(LEVEL_2_AROUND)} | {
    "pink": 0,
    "yellowish pink": 1,
    "reddish brown": 1,
    "brown": 2,
    "yellowish brown": 3,
    "olive brown": 4,
    "olive": 5,
    "olive green": 6,
    "purplish pink": 16,
}
"""Pinks, browns and olives at the place of the hue that they are light or dark shades of."""

NAMES_OF_HUE = {
    "R": "pink, red, purplish red, yellowish pink, reddish orange, reddish brown",
    "YR": "reddish orange, orange, orange yellow, yellowish pink, reddish brown, brown, "
    "yellowish brown",
    "Y": "orange yellow, yellow, greenish yellow, olive brown, olive, yellowish brown",
    "GY": "greenish yellow, yellow green, olive, olive green, yellowish green",
    "G": "yellowish green, green, bluish green",
    "BG": "green, bluish green, greenish blue",
    "B": "greenish blue, blue",
    "PB": "blue, purplish blue, violet",
    "P": "violet, purple, reddish purple",
    "RP": "reddish purple, purplish pink, purplish red, pink",
}
"""Level-2 names that agree with a Munsell hue; from memory of the charts of NBS SP 440."""


def munsell() -> tuple[list[tuple[str, float, float]], np.ndarray]:
    with REFERENCE.open(encoding="utf-8") as file:
        rows = list(csv.DictReader(line for line in file if not line.startswith("#")))
    notations = [(row["hue"], float(row["value"]), float(row["chroma"])) for row in rows]
    return notations, np.array([[float(row[axis]) for axis in "Lab"] for row in rows])


NOTATIONS, COLOURS = munsell()


def test_the_reference_file_is_what_its_header_says() -> None:
    import colour

    real = colour.notation.MUNSELL_COLOURS["real"]
    assert [(hue, value, chroma) for (hue, value, chroma), _ in real] == NOTATIONS
    assert len(real) == 2734
    xyY = np.array([xyY for _, xyY in real]) * [1.0, 1.0, 0.975 / 100.0]
    whites = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]
    XYZ = colour.adaptation.chromatic_adaptation_VonKries(
        colour.xyY_to_XYZ(xyY),
        colour.xy_to_XYZ(whites["C"]),
        colour.xy_to_XYZ(whites["D50"]),
        transform="Bradford",
    )
    np.testing.assert_allclose(colour.XYZ_to_Lab(XYZ, whites["D50"]), COLOURS, atol=1e-3)


def test_the_table_has_267_categories_with_unlike_names() -> None:
    names = [category.name for category in categories()]
    assert len(names) == len(set(names)) == 267
    assert [category.number for category in categories()] == list(range(1, 268))


def test_centroids_are_the_hex_of_the_table() -> None:
    """Computed by coloraide: Color(hex).convert("lab"), CIELAB D50 by Bradford."""
    path = Path(__file__).parents[2] / "src/stopgap/naming/data/iscc_nbs_centroids.csv"
    with path.open(encoding="utf-8") as file:
        rows = list(csv.DictReader(line for line in file if not line.startswith("#")))
    expected = [Color(row["hex"]).convert("lab").coords() for row in rows]
    found = [category.lab for category in categories()]
    np.testing.assert_allclose(found, expected, atol=1e-3)


def test_levels_have_29_and_13_names() -> None:
    """NBS SP 440, pages A-14 to A-16: 13 names on level 1, 29 on level 2."""
    assert len({category.level_2 for category in categories()}) == 29
    assert len({category.level_1 for category in categories()}) == 13


def test_level_2_is_in_the_name_of_the_category() -> None:
    """Except where the name is of a white, grey or black with a hue, or of a brownish pink."""
    for category in categories():
        if category.level_2 in category.name:
            continue
        assert re.search(r"white$|gray$|black$|brownish pink$", category.name), category


def test_each_centroid_has_its_own_name_at_distance_zero() -> None:
    rows, distances = nearest_categories([category.lab for category in categories()])
    assert rows.tolist() == list(range(267))
    np.testing.assert_allclose(distances, 0.0, atol=1e-9)


@pytest.mark.parametrize(
    ("notation", "name"),
    [  # K. L. Kelly (1958), JRNBS 61(5), 427, centroid notations: printed, by way of an R package
        (("2.5R", 9.0, 4.0), "light pink"),  # centroid 2.5R 8.6/5.2
        (("2.5R", 7.0, 6.0), "moderate pink"),  # centroid 2.5R 7.2/5.2
        (("2.5R", 6.0, 12.0), "deep pink"),  # centroid 1.9R 6.0/11.1
    ],
)
def test_colours_near_published_centroids(notation: tuple[str, float, float], name: str) -> None:
    assert str(iscc_nbs(COLOURS[NOTATIONS.index(notation)])) == name


@pytest.mark.parametrize(
    ("lightness", "name"),
    [
        (5, "black"),
        (20, "black"),
        (35, "dark gray"),
        (55, "medium gray"),
        (75, "light gray"),
        (97, "white"),
    ],
)
def test_neutrals_are_greys_of_the_right_lightness(lightness: float, name: str) -> None:
    """Value limits 2.5, 4.5, 6.5 and 8.5 of NBS SP 440, from memory; L* is about ten times V."""
    for a, b in [(0.0, 0.0), (1.0, 0.5), (-0.5, -1.0)]:
        assert str(iscc_nbs([lightness, a, b])) == name


def test_agreement_with_the_hue_letters_of_the_munsell_notation() -> None:
    """Measured: 96 % of 2,734; 99 % at chroma 8 and above."""
    level_2 = [categories()[row].level_2 for row in nearest_categories(COLOURS)[0]]
    agree = np.array(
        [
            name in NAMES_OF_HUE[re.sub(r"[\d.]", "", hue)].split(", ")
            for (hue, _, _), name in zip(NOTATIONS, level_2)
        ]
    )
    strong = np.array([chroma >= 8 for _, _, chroma in NOTATIONS])
    assert agree.mean() >= 0.95
    assert agree[strong].mean() >= 0.98


@pytest.mark.parametrize(("value", "chroma"), [(4, 6), (5, 6), (5, 8), (6, 6), (6, 8), (7, 6)])
def test_hue_circles_pass_the_names_in_the_standards_order(value: float, chroma: float) -> None:
    """Around a circle of constant value and chroma no step goes back by more than one name."""
    letters = ["R", "YR", "Y", "GY", "G", "BG", "B", "PB", "P", "RP"]
    hues = [f"{number}{letter}" for letter in letters for number in ("2.5", "5", "7.5", "10")]
    circle = [
        COLOURS[NOTATIONS.index((hue, value, chroma))]
        for hue in hues
        if (hue, value, chroma) in NOTATIONS
    ]
    assert len(circle) >= 38
    places = [PLACE[categories()[row].level_2] for row in nearest_categories(circle)[0]]
    steps = np.diff([*places, places[0] + 17])
    steps = (steps + 8) % 17 - 8
    assert steps.sum() == 17
    assert steps.min() >= -1
    assert np.count_nonzero(steps < 0) <= 1


@settings(derandomize=True, deadline=None, max_examples=10)
@given(st.lists(st.tuples(st.floats(0, 100), *[st.floats(-90, 90)] * 2), min_size=1, max_size=6))
def test_names_are_those_of_an_exhaustive_search(colours: list[tuple[float, ...]]) -> None:
    def slow_name(lab: tuple[float, ...]) -> str:
        neutral = np.hypot(lab[1], lab[2]) < 1.5
        offered = [c for c in categories() if not neutral or c.name.split()[-1] == c.level_1]
        offered = [c for c in offered if not neutral or c.number >= 263]
        return min(offered, key=lambda c: float(delta_E(lab, c.lab))).name

    assert iscc_nbs(colours).tolist() == [slow_name(lab) for lab in colours]


def test_shapes_follow_the_input() -> None:
    assert iscc_nbs(COLOURS[:6].reshape(2, 3, 3)).shape == (2, 3)
    assert iscc_nbs(np.empty((0, 3))).shape == (0,)


def test_colour_name_tells_how_typical_a_colour_is() -> None:
    named = colour_name([60, 35, 15])
    assert str(named) == "deep pink"
    assert (named.category.level_2, named.category.level_1) == ("pink", "pink")
    assert named.distance == float(delta_E([60, 35, 15], named.category.lab))


def test_colour_name_takes_one_colour() -> None:
    with pytest.raises(InputError, match="one colour"):
        colour_name([[50, 0, 0]])
