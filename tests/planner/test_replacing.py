"""Replacing a pencil: what lays better, told from the rule by hand."""

import math
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stopgap.difference import GRADES, delta_E, grade
from stopgap.errors import NothingFoundError, UsageError
from stopgap.planner import (
    ColourNeed,
    better_laying,
    find_stand_ins,
    shopping_list,
    to_answer_with,
)
from stopgap.swatches import Core, FreeColour, Selection, Status, Stock, Swatch

PENCILS = st.lists(
    st.tuples(st.integers(0, 30), st.none() | st.integers(1, 5), st.none() | st.sampled_from(Core)),
    min_size=2,
    max_size=8,
)
CORES = [None, Core.WAX, Core.OIL]
PRICE = st.sampled_from([1.0, 1.5, 2.25])


@settings(deadline=None, max_examples=40)
@given(PENCILS, st.booleans())
def test_only_what_is_known_to_lay_better_replaces_and_the_same_core_comes_first(pencils, told):
    named = [
        Swatch("Fen", str(place), (50.0 + apart / 4.0, 0.0, 0.0), laydown=laydown, core=core)
        for place, (apart, laydown, core) in enumerate(pencils)
    ]
    asked, *others = named
    if told and asked.laydown is None:
        asked = Swatch("Fen", "0", asked.lab, laydown=1, core=asked.core)
    least = max(2, asked.laydown or 0)
    expected = [one for one in others if (one.laydown or 0) > least]
    wanted = Selection(for_laydown=True)
    if not any(wanted.of(others)) or not expected:
        with pytest.raises(NothingFoundError):
            find_stand_ins(asked, named, selection=wanted)
        return
    words = list(GRADES)

    def key(one):
        apart = float(delta_E(asked.lab, one.lab))
        word = grade(apart)
        alike = asked.core is None or one.core is asked.core or word == "different"
        return words.index(word), not alike, apart, one.code

    answer = find_stand_ins(asked, named, selection=wanted, limit=3)
    found = [one.swatch for one in answer.matches]
    assert found == sorted(expected, key=key)[:3]
    assert all(f"lays {one.swatch.laydown} of 5" in one.besides for one in answer.matches)


def test_near_pencils_that_nobody_told_of_are_named():
    asked = Swatch("Fen", "1", (50.0, 0.0, 0.0), laydown=2)
    better = Swatch("Fen", "2", (60.0, 0.0, 0.0), laydown=3)
    near = Swatch("Fen", "3", (51.0, 0.0, 0.0))
    far = Swatch("Fen", "4", (90.0, 0.0, 0.0))
    (note,) = better_laying(asked, [asked, better, near, far]).notes
    assert "Fen:3" in note.text
    assert "Fen:4" not in note.text
    (_, note) = better_laying(Swatch("Fen", "1", asked.lab), [better, near]).notes
    assert "Fen:3" in note.text


@pytest.mark.parametrize(
    ("said", "gone"),
    [
        ({}, False),
        ({"status": Status.DISCONTINUED}, True),
        ({"stock": Stock.EMPTY}, True),
        ({"stock": Stock.STUB}, False),
        ({"stock": Stock.NONE}, False),
        ({"avoid": "scratches"}, True),
        ({"laydown": 1}, False),
    ],
)
def test_what_is_to_be_replaced_never_answers_for_itself(said, gone):
    asked = Swatch("Fen", "1", (50.0, 0.0, 0.0), **said)
    other = Swatch("Fen", "2", (60.0, 0.0, 0.0))
    assert (asked not in to_answer_with([asked, other], asked)) is gone
    assert to_answer_with([asked, other], asked, instead="replace") == (other,)
    bare = FreeColour("grey", asked.lab)
    assert to_answer_with([asked, other], bare) == (asked, other)
    with pytest.raises(UsageError, match="expected a pencil"):
        to_answer_with([asked, other], bare, instead="replace")


@settings(max_examples=25, deadline=None)
@given(
    pencils=st.lists(
        st.tuples(st.floats(0.05, 7.0), st.sampled_from([2, 3, 5]), st.sampled_from(CORES), PRICE),
        min_size=1,
        max_size=6,
    ),
    both=st.booleans(),
    tolerance=st.sampled_from([1.0, 3.5, 8.0]),
)
def test_what_is_bought_in_place_of_what_lays_badly_has_its_core_where_that_serves_as_well(
    pencils, both, tolerance
):
    """Against every purchase that there is, and of those the cheapest."""
    asked = [Swatch("Fen", "a", (50.0, 0.0, 0.0), laydown=1, core=Core.WAX)]
    if both:
        asked.append(Swatch("Fen", "b", (51.5, 0.0, 0.0), laydown=2, core=Core.OIL))
    for_sale = [
        Swatch("Sale", str(place), (50.0 + apart, 0.0, 0.0), laydown=lays, core=core, price=price)
        for place, (apart, lays, core, price) in enumerate(pencils)
    ]
    needs = [ColourNeed(one.code, one, tolerance, for_laydown=True) for one in asked]
    found = shopping_list(needs, [], for_sale, default_price=1.0, time_limit=None)
    words = list(GRADES)

    def met(one, bought):
        """Whether a need is met, and whether with another core in vain."""
        able = [each for each in for_sale if each.laydown > 2 and near(one, each) <= tolerance]
        there = [each for each in able if each in bought]
        if not there:
            return None
        alike = [words.index(grade(near(one, each))) for each in able if each.core is one.core]
        best = min(alike, default=len(words))
        in_vain = [
            each.core is not one.core
            and best < len(words) - 1
            and words.index(grade(near(one, each))) >= best
            for each in there
        ]
        return all(in_vain)

    def worth(bought):
        states = [met(one, bought) for one in asked]
        cost = math.fsum(each.price for each in bought)
        return states.count(None), states.count(True), cost, len(bought)

    every = [chosen for n in range(len(for_sale) + 1) for chosen in combinations(for_sale, n)]
    bought = tuple(one.swatch for one in found.buy)
    assert worth(bought) == pytest.approx(min(map(worth, every)))
    assert len(found.replaced) == len(asked) - len(found.unfilled)
    assert {one.by.swatches[0].address for one in found.replaced} <= {x.address for x in bought}


def near(one, other):
    """ΔE00."""
    return float(delta_E(one.lab, other.lab))
