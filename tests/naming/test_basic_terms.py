"""The misleading-label rule against the names people gave to colours in a survey."""

import csv
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest
from coloraide import Color
from hypothesis import given, settings
from hypothesis import strategies as st

from stopgap.errors import InputError
from stopgap.naming import BASIC_TERMS, categories, iscc_nbs, misleading_term

REFERENCE = Path(__file__).parents[1] / "reference" / "xkcd_one_basic_term.csv"


def survey() -> list[tuple[str, list[float], str]]:
    """Name, CIELAB D50 (coloraide's `lab`, adapted by Bradford) and basic term of each row."""
    with REFERENCE.open(encoding="utf-8") as file:
        lines = [line for line in file if not line.startswith("#")]
    rows = list(csv.DictReader(lines))
    assert len(rows) == 488
    return [(row["name"], Color(row["hex"]).convert("lab").coords(), row["term"]) for row in rows]


SURVEY = survey()


def share_flagged(names: Sequence[str], colours: Sequence[Sequence[float]]) -> float:
    return float(
        np.mean([misleading_term(name, lab) is not None for name, lab in zip(names, colours)])
    )


def test_ordinary_names_pass() -> None:
    """At most 2 % of the survey's names are flagged (measured: 0.4 %)."""
    names, colours, _ = zip(*SURVEY)
    assert share_flagged(names, colours) <= 0.02


def test_names_exchanged_between_terms_are_caught() -> None:
    """At least 85 % of names moved to a colour of another basic term are flagged (measured: 91 %).

    Each name is paired with a colour drawn from those that the survey gave another term.
    """
    draw = np.random.default_rng(20260101)
    names, colours = [], []
    for name, _, term in SURVEY * 3:
        others = [lab for _, lab, other in SURVEY if other != term]
        names.append(name)
        colours.append(others[draw.integers(len(others))])
    assert share_flagged(names, colours) >= 0.85


@pytest.mark.parametrize("term", [term for term in BASIC_TERMS if term != "gray"])
def test_the_standards_own_colours_pass(term: str) -> None:
    """A term is believed for the ISCC-NBS centroids whose name ends in it (NBS SP 440, 1976).

    But for two nearly black reds: "dark grayish red" and "blackish red".
    """
    own = [
        category.lab
        for category in categories()
        if category.name.split()[-1].replace("gray", "grey") == term
    ]
    assert own
    denied = sum(misleading_term(term, lab) is not None for lab in own)
    assert denied <= (2 if term == "red" else 0)


@pytest.mark.parametrize(
    ("name", "lab", "expected"),
    [
        ("Sea Green", (50, -10, -40), "green"),
        ("GREEN", (50, 60, 40), "green"),
        ("Payne's Grey", (30, -2, -12), None),  # common practice, no source: a bluish grey
        ("Blue Green", (50, -10, -40), None),  # one of two terms agrees
        ("Black Cherry", (25, 35, 15), None),  # black speaks of the fruit
        ("Ivory Black", (60, 50, 20), "black"),
        ("Greenish Umber", (50, 60, 40), None),  # no whole word
        ("Redwood", (50, -40, 0), None),
        ("Mid Gray", (50, 50, 50), "gray"),
        ("Dark Blue", (3, 0.5, -2), None),  # near black hardly any chroma is needed
        ("", (50, 0, 0), None),
    ],
)
def test_single_labels(name: str, lab: tuple[float, ...], expected: str | None) -> None:
    assert misleading_term(name, lab) == expected


@settings(derandomize=True, deadline=None)
@given(st.sampled_from(sorted(BASIC_TERMS)), st.tuples(*[st.floats(-120, 120)] * 3))
def test_either_spelling_of_case_gives_the_same_answer(
    term: str, lab: tuple[float, float, float]
) -> None:
    assert misleading_term(f"Pale {term}", lab) == misleading_term(f"PALE {term.upper()}", lab)


def test_more_than_one_colour_is_refused() -> None:
    with pytest.raises(InputError, match="one colour"):
        misleading_term("red", [[50, 0, 0], [60, 0, 0]])


def test_the_nearest_name_never_contradicts_itself_on_greys() -> None:
    for lightness in range(10, 96, 5):
        lab = [lightness, 0.0, 0.0]
        assert misleading_term(str(iscc_nbs(lab)), lab) is None
