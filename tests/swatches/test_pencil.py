"""Which of a pencil's swatches is its colour: the stated rule, over every set of swatches.

That a heavy dry swatch comes first is this project's rule (stated in `swatches.pencil`); that wet
and dry are never mixed is common practice, no source.
"""

from dataclasses import replace
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stopgap.swatches import (
    LaidState,
    MeasurementConditions,
    Pencil,
    Pressure,
    Swatch,
    colour_of,
    departure_notes,
    laid_words,
)

PLAIN = Swatch("Shore", "7", (50.0, 0.0, 0.0))
DRY = [state for state in LaidState if not state.wet]


def laid(**stated):
    date = stated.pop("date", "")
    return replace(PLAIN, measurement=MeasurementConditions(date=date), **stated)


swatches = st.lists(
    st.builds(
        laid,
        pressure=st.sampled_from(Pressure),
        passes=st.integers(1, 3),
        state=st.sampled_from(LaidState),
        paper=st.sampled_from(["", "Tan", "White"]),
        batch=st.sampled_from(["", "old"]),
        date=st.sampled_from(["", "2024-05-01", "2026-01-31"]),
        lab=st.tuples(*[st.floats(0, 100)] * 3),
    ),
    min_size=1,
    max_size=8,
)
papers = st.sampled_from(["", "tan", "white", "black"])


@given(swatches, papers)
def test_a_wet_swatch_is_never_the_colour_and_changes_nothing(found, on):
    dry = [swatch for swatch in found if not swatch.state.wet]
    colour = colour_of(found, on)
    assert colour is colour_of(dry, on)
    assert (colour is None) == (not dry)


@given(swatches, papers)
def test_a_heavy_dry_swatch_on_the_paper_asked_about_is_the_colour(found, on):
    perfect = [
        swatch
        for swatch in found
        if (swatch.pressure, swatch.state) == ("heavy", "dry")
        and (not on or swatch.paper.casefold() == on.casefold())
    ]
    if perfect:
        assert colour_of(found, on) in perfect


@given(swatches, papers)
def test_nothing_that_departs_less_is_passed_over(found, on):
    colour = colour_of(found, on)
    for other in found:
        if colour is None or other.state.wet:
            continue
        burnished = [each.state is LaidState.BURNISHED for each in (colour, other)]
        assert burnished[0] <= burnished[1]
        if burnished[0] == burnished[1]:
            rank = ["heavy", "medium", "light"].index
            assert rank(colour.pressure) <= rank(other.pressure)


@given(swatches, papers, st.randoms(use_true_random=False))
def test_the_order_decides_only_between_those_laid_alike(found, on, random):
    shuffled = list(found)
    random.shuffle(shuffled)
    one, other = colour_of(found, on), colour_of(shuffled, on)
    if one is not None:
        for name in ("pressure", "state", "passes", "measurement"):
            assert getattr(one, name) == getattr(other, name)
        assert not on or (one.paper.casefold() == on) == (other.paper.casefold() == on)


@pytest.mark.parametrize(
    ("better", "worse", "on"),
    [
        (laid(), laid(pressure=Pressure.MEDIUM), ""),
        (laid(pressure=Pressure.MEDIUM), laid(pressure=Pressure.LIGHT), ""),
        (laid(pressure=Pressure.LIGHT), laid(state=LaidState.BURNISHED), ""),
        (laid(paper="Tan"), laid(paper="White"), "tan"),
        (laid(paper="White"), laid(paper="Tan", pressure=Pressure.MEDIUM), "Tan"),
        (laid(paper="Tan", passes=2), laid(), "Tan"),
        (laid(), laid(passes=2, date="2026-01-31"), ""),
        (laid(batch="new", date="2026-01-31"), laid(batch="old", date="2024-05-01"), ""),
        (laid(date="2024-05-01"), laid(), ""),
    ],
)
def test_the_stated_order(better, worse, on):
    for found in ([better, worse], [worse, better]):
        assert colour_of(found, on) is better


def test_among_equals_the_first_counts():
    one, other = laid(batch="old"), laid(batch="new")
    assert colour_of([one, other]) is one
    assert colour_of([other, one]) is other


@pytest.mark.parametrize(("pressure", "state"), list(product(Pressure, DRY)))
def test_one_swatch_is_the_colour_whatever_it_was_and_it_is_said(pressure, state):
    only = laid(pressure=pressure, state=state)
    assert Pencil((only,)).colour("any paper") is only
    notes = departure_notes([only])
    assert bool(notes) == ((pressure, state) != ("heavy", "dry"))
    for note in notes:
        assert "Shore:7" in note.text


def test_how_a_swatch_was_laid_in_words():
    assert laid_words(laid()) == ""
    told = laid(pressure=Pressure.LIGHT, passes=3, state=LaidState.SOLVENT, paper="Tan", batch="b")
    assert laid_words(told) == "laid light, solvent, 3 times over, on Tan, batch b"
