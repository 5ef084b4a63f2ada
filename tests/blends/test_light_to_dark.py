"""Light-to-dark orders against exhaustive search and against columns and circles of Munsell."""

import csv
from collections.abc import Iterator
from itertools import pairwise, permutations
from pathlib import Path

import networkx
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stopgap.blends.filing.light_to_dark import least_largest_step, order
from stopgap.blends.filing.long_order import long_order
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
    assert least_largest_step(colours) <= found.largest_step + 1e-9


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
    assert least_largest_step(lab) <= found.largest_step + 1e-9
    if count > 48:
        assert not found.exact


def test_many_equal_steps_come_to_an_end() -> None:
    """Sixth powers of large steps are rounded, and what they seem to gain is nothing."""
    lab = np.random.default_rng(5).uniform([20, -40, -40], [95, 40, 40], (60, 3)).round(-1)
    assert sorted(order(lab).rows) == list(range(60))


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


def spanning_tree_of(lab: np.ndarray) -> float:
    """The largest edge of the minimum spanning tree, by networkx."""
    graph = networkx.Graph()
    steps = delta_E(lab[:, None], lab[None, :])
    graph.add_weighted_edges_from(
        (i, j, steps[i, j]) for i in range(len(lab)) for j in range(i + 1, len(lab))
    )
    tree = networkx.minimum_spanning_tree(graph)
    return max(weight for *_, weight in tree.edges(data="weight"))


@pytest.mark.parametrize("clumps", [150, 10, 2])
def test_the_bound_is_the_largest_edge_of_the_spanning_tree(clumps: int) -> None:
    """Also where every colour's nearest ones are of its own clump."""
    random = np.random.default_rng(clumps)
    middles = random.uniform([20, -60, -60], [90, 60, 60], (clumps, 3))
    lab = np.repeat(middles, 150 // clumps, axis=0) + random.normal(0, 0.5, (150, 3))
    assert least_largest_step(lab) == pytest.approx(spanning_tree_of(lab), abs=1e-9)


def moves_of(rows: list[int], reach: int, short: int) -> Iterator[list[int]]:
    """Every order that one move makes: a stretch turned round, or two neighbouring ones swapped."""
    for i in range(len(rows)):
        for j in range(i + 1, min(len(rows), i + reach) + 1):
            yield [*rows[:i], *rows[i:j][::-1], *rows[j:]]
            for k in range(i + 1, j):
                if min(k - i, j - k) <= short:
                    yield [*rows[:i], *rows[k:j], *rows[i:k], *rows[j:]]


def test_no_single_move_makes_a_long_order_better() -> None:
    """Nothing reaches a smaller total without a larger step or a lighter colour too late."""
    lab = np.random.default_rng(8).uniform([30, -30, -30], [80, 30, 30], (60, 3))
    steps = delta_E(lab[:, None], lab[None, :])
    rows = long_order(lab, 5.0).tolist()

    def worth(rows: list[int]) -> tuple[float, float]:
        taken = steps[rows[:-1], rows[1:]]
        return taken.max(), taken.sum()

    largest, total = worth(rows)
    for moved in moves_of(rows, reach=24, short=3):
        lightness = lab[moved, 0]
        if (lightness - np.minimum.accumulate(lightness)).max() <= 5.0:
            new_largest, new_total = worth(moved)
            assert new_largest > largest + 1e-9 or new_total > total - 1e-6


@pytest.mark.parametrize(("tolerance", "most"), [(0.0, 0.66), (5.0, 0.31), (1000.0, 0.28)])
def test_many_colours_keep_the_lightness_rule(tolerance: float, most: float) -> None:
    """The sum of steps as a share of that of a plain sort; a search over sets has 0.62, 0.30, 0.26.

    Where no colour may be lighter than one before, only those of one L* can change places.
    """
    lab = np.random.default_rng(9).uniform([20, -30, -30], [90, 30, 30], (300, 3)).round()
    found = order(lab, tolerance)
    assert sorted(found.rows) == list(range(300))
    lightness = lab[list(found.rows), 0]
    assert (lightness - np.minimum.accumulate(lightness)).max() <= tolerance
    sorted_by_lightness = lab[np.argsort(-lab[:, 0], kind="stable")]
    assert found.total < most * delta_E(sorted_by_lightness[:-1], sorted_by_lightness[1:]).sum()
