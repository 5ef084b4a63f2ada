"""Light-to-dark orders against exhaustive search and against columns and circles of Munsell."""

import csv
from itertools import pairwise, permutations
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stopgap.blends.filing.light_to_dark import order
from stopgap.difference import delta_E
from stopgap.errors import InputError, UsageError

REFERENCE = Path(__file__).parents[1] / "reference" / "munsell_real_d50.csv"


def munsell() -> dict[tuple[str, float, float], tuple[float, float, float]]:
    """CIELAB D50 by (hue, value, chroma), from the renotation (see the header of the file)."""
    with REFERENCE.open(encoding="utf-8") as file:
        rows = list(csv.DictReader(line for line in file if not line.startswith("#")))
    return {
        (row["hue"], float(row["value"]), float(row["chroma"])): tuple(
            float(row[axis]) for axis in "Lab"
        )
        for row in rows
    }


COLOURS = munsell()
LETTERS = ("R", "YR", "Y", "GY", "G", "BG", "B", "PB", "P", "RP")
HUES = [f"{number}{letter}" for letter in LETTERS for number in ("2.5", "5", "7.5", "10")]


def slow_order(lab: np.ndarray, tolerance: float) -> tuple[float, float]:
    """Largest step and total of the best of all permutations that keep to the lightness rule."""
    steps = delta_E(lab[:, None], lab[None, :])
    best = (np.inf, np.inf)
    for rows in permutations(range(len(lab))):
        rises = [lab[j, 0] - lab[i, 0] for k, i in enumerate(rows) for j in rows[k + 1 :]]
        if max(rises, default=0.0) <= tolerance:
            taken = [steps[pair] for pair in pairwise(rows)]
            best = min(best, (max(taken, default=0.0), sum(taken)))
    return best


@settings(derandomize=True, deadline=None, max_examples=40)
@given(
    st.lists(st.tuples(st.floats(20, 90), *[st.floats(-40, 40)] * 2), min_size=1, max_size=6),
    st.sampled_from([0.0, 5.0, 30.0, 100.0]),
)
def test_order_equals_exhaustive_search(
    colours: list[tuple[float, float, float]], tolerance: float
) -> None:
    found = order(colours, tolerance)
    largest, total = slow_order(np.array(colours), tolerance)
    assert found.exact
    assert sorted(found.rows) == list(range(len(colours)))
    np.testing.assert_allclose([found.largest_step, found.total], [largest, total], atol=1e-7)
    assert found.bound == found.largest_step


@pytest.mark.parametrize(("hue", "chroma"), [("5RP", 6.0), ("10B", 4.0), ("5Y", 4.0), ("5G", 6.0)])
def test_a_column_of_one_hue_comes_back_in_value_order(hue: str, chroma: float) -> None:
    values = sorted({v for h, v, c in COLOURS if (h, c) == (hue, chroma)}, reverse=True)
    column = np.array([COLOURS[hue, value, chroma] for value in values])
    shuffled = np.random.default_rng(3).permutation(len(values))
    assert len(values) >= 7
    found = order(column[shuffled])
    assert shuffled[list(found.rows)].tolist() == list(range(len(values)))


def test_two_columns_mixed_keep_their_value_order() -> None:
    keys = [(hue, value, 6.0) for value in (8.0, 7.0, 6.0, 5.0, 4.0, 3.0) for hue in ("5RP", "10R")]
    shuffled = np.random.default_rng(4).permutation(len(keys))
    found = order([COLOURS[keys[place]] for place in shuffled])
    values = [keys[shuffled[row]][1] for row in found.rows]
    assert values == sorted(values, reverse=True)
    assert found.exact


@pytest.mark.parametrize(("value", "chroma"), [(5.0, 4.0), (6.0, 6.0)])
def test_a_hue_circle_is_walked_around_once(value: float, chroma: float) -> None:
    """All 40 hues at one value and chroma: each step goes to the next hue, in one direction."""
    shuffled = np.random.default_rng(5).permutation(len(HUES))
    found = order([COLOURS[HUES[place], value, chroma] for place in shuffled])
    places = [int(shuffled[row]) for row in found.rows]
    turns = {(after - before) % 40 for before, after in pairwise(places)}
    assert turns in ({1}, {39})
    assert found.exact


def test_a_slightly_lighter_but_duller_colour_may_go_before() -> None:
    """The tolerance lets a step be small; without it lightness alone decides."""
    lab = [[70, 40, 10], [66, 20, 5], [68, 60, 15]]
    assert order(lab, tolerance=0.0).rows == (0, 2, 1)
    assert order(lab, tolerance=5.0).rows == (2, 0, 1)


@pytest.mark.parametrize(("seed", "count"), [(1, 10), (2, 25), (3, 40), (4, 60)])
def test_long_orders_keep_the_lightness_rule_and_their_bound(seed: int, count: int) -> None:
    lab = np.random.default_rng(seed).uniform([20, -30, -30], [90, 30, 30], (count, 3))
    found = order(lab)
    assert sorted(found.rows) == list(range(count))
    lightness = lab[list(found.rows), 0]
    assert (lightness - np.minimum.accumulate(lightness)).max() <= 5.0
    steps = delta_E(lab[list(found.rows[:-1])], lab[list(found.rows[1:])])
    np.testing.assert_allclose(found.steps, steps)
    assert found.bound <= found.largest_step + 1e-9
    if count > 48:
        assert not found.exact


def test_twenty_colours_of_one_lightness_are_ordered_exactly() -> None:
    lab = np.random.default_rng(1).uniform([50, -30, -30], [50, 30, 30], (20, 3))
    found = order(lab)
    assert found.exact
    assert found.steps[0] > 0.0


def test_few_colours() -> None:
    assert order(np.empty((0, 3))).rows == ()
    assert order([[50, 0, 0]]).largest_step == 0.0
    assert order([[50, 0, 0]] * 3).largest_step == 0.0


def test_bad_input() -> None:
    with pytest.raises(UsageError, match="tolerance"):
        order([[50, 0, 0]], tolerance=-1.0)
    with pytest.raises(InputError, match="lab"):
        order([[50, 0]])
