"""Blends between two colours, and the gaps in them."""

from collections.abc import Callable
from itertools import combinations, pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from munsell_columns import munsell_swatches

from stopgap.blends import (
    Blend,
    Gap,
    blend,
    blend_of_family,
    direction_words,
    families,
    find_gaps,
    layer_family,
    propose,
)
from stopgap.blends.path import path_through
from stopgap.colorimetry.cam16 import cam16_ucs_to_lab, lab_to_cam16_ucs
from stopgap.difference import delta_E
from stopgap.errors import InputError, UsageError
from stopgap.layering import Recipe
from stopgap.swatches import Stack, Swatch

Lab = tuple[float, float, float]

MUNSELL = munsell_swatches()


def column(hue: str, chroma: float, values: tuple[float, ...]) -> list[Swatch]:
    return [MUNSELL[hue, value, chroma] for value in values]


def swatches(*colours: Lab) -> list[Swatch]:
    return [Swatch("Test", str(row), lab) for row, lab in enumerate(colours)]


def codes(found: Blend) -> list[str]:
    return [swatch.code for swatch in found.swatches]


def test_a_blend_through_a_column_of_one_hue_takes_every_value() -> None:
    values = (8.0, 7.0, 6.0, 5.0, 4.0, 3.0)
    wanted = column("5RP", 6.0, values)
    others = [each for key, each in MUNSELL.items() if key[0] in {"5G", "10Y"}]
    found = blend(wanted[0], wanted[-1], others + wanted[1:-1][::-1])
    assert found.swatches == tuple(wanted)
    assert found.closed
    assert found.largest_stray < 3.0
    np.testing.assert_allclose(
        found.steps, [float(delta_E(a.lab, b.lab)) for a, b in pairwise(wanted)]
    )


def test_a_value_taken_out_is_reported_as_the_only_gap_and_named_as_its_filler() -> None:
    wanted = column("10B", 6.0, (8.0, 7.0, 6.0, 5.0, 4.0, 3.0))
    taken = wanted.pop(3)
    found = blend(wanted[0], wanted[-1], wanted[1:-1])
    offered = [each for key, each in MUNSELL.items() if key[1:] in {(5.0, 4.0), (5.0, 6.0)}]
    gaps = find_gaps([found], offered)
    assert len(gaps) == 1
    gap = gaps[0]
    assert (gap.after.swatch, gap.before.swatch) == (wanted[2], wanted[3])
    assert gap.place == 2
    assert gap.step == float(delta_E(wanted[2].lab, wanted[3].lab))
    assert gap.fillers[0].swatch == taken
    assert gap.fillers[0].remaining == gap.remaining == 0
    assert gap.closing == (taken,)
    assert gap.words == "missing a value between"
    assert not gap.layered


@pytest.mark.parametrize("prefer", ["fewest", "smoothest"])
def test_fewest_and_smoothest(prefer: str) -> None:
    greys = swatches(*[(lightness, 0.0, 0.0) for lightness in (90, 30, 75, 85, 45, 60)])
    found = blend(greys[0], greys[1], greys, prefer=prefer, limit=20)
    lightness = [swatch.lab[0] for swatch in found.swatches]
    assert lightness == ([90, 75, 60, 45, 30] if prefer == "fewest" else [90, 85, 75, 60, 45, 30])


def test_enough_takes_no_more_pencils_than_the_limit_asks_for() -> None:
    greys = swatches(*[(90.0 - 5.0 * step, 0.0, 0.0) for step in range(13)])
    found = blend(greys[0], greys[-1], greys, prefer="enough", limit=12)
    assert found.closed
    fewer = blend(greys[0], greys[-1], greys, max_pencils=len(found.swatches) - 1)
    assert not fewer.closed
    wide = blend(greys[0], greys[-1], greys[5:6], prefer="enough", limit=12)
    assert len(wide.over_limit) == 2


def test_max_pencils_counts_those_at_the_ends() -> None:
    greys = swatches(*[(90.0 - 5.0 * step, 0.0, 0.0) for step in range(13)])
    for most in (2, 3, 5):
        found = blend(greys[0], greys[-1], greys, max_pencils=most)
        assert len(found.swatches) == most
    assert len(blend((90, 0, 0), (30, 0, 0), greys, max_pencils=3).swatches) == 3
    with pytest.raises(UsageError, match="too few"):
        blend(greys[0], greys[-1], greys, max_pencils=1)


def test_bare_colours_at_the_ends_are_no_pencils() -> None:
    greys = swatches((70, 0, 0), (50, 0, 0))
    found = blend((80, 0, 0), (40, 0, 0), greys)
    assert [point.swatch for point in found.points] == [None, *greys, None]
    assert len(found.steps) == 3


@settings(derandomize=True, deadline=None, max_examples=40)
@given(st.integers(0, 10_000))
def test_a_blend_always_makes_progress_and_stays_in_its_corridor(seed: int) -> None:
    draw = np.random.default_rng(seed)
    offered = swatches(*map(tuple, draw.uniform([20, -50, -50], [90, 50, 50], (60, 3)).tolist()))
    found = blend(offered[0], offered[1], offered, corridor=12.0)
    progress = [point.progress for point in found.points]
    assert progress[0] == 0.0
    assert progress[-1] == 1.0
    assert all(later > earlier for earlier, later in pairwise(progress))
    assert found.largest_stray <= 12.0
    direct = float(delta_E(offered[0].lab, offered[1].lab))
    assert found.largest_step <= direct + 1e-9


def test_the_way_goes_through_stops_and_a_pencil_among_them_is_taken() -> None:
    start, end = Swatch("Test", "s", (60, 50, 0)), Swatch("Test", "e", (60, -50, 0))
    stop = Swatch("Test", "stop", (60, 0, 50))
    offered = [Swatch("Test", "grey", (60, 0, 0)), Swatch("Test", "ochre", (60, 25, 25))]
    assert "grey" in codes(blend(start, end, offered))
    assert codes(blend(start, end, offered, stops=[stop])) == ["s", "ochre", "stop", "e"]
    bent = blend(start, end, offered, stops=[(60, 0, 50)], corridor=10)
    assert codes(bent) == ["s", "ochre", "e"]


def test_by_lightness() -> None:
    roses = column("5RP", 6.0, (8.0, 6.0, 4.0))
    off = MUNSELL["10Y", 5.0, 6.0]
    found = blend(roses[0], roses[2], [roses[1], off], by_lightness=True)
    assert found.swatches == tuple(roses)
    with pytest.raises(UsageError, match="equal lightness"):
        blend((50, 10, 0), (50, 30, 0), roses, by_lightness=True)
    with pytest.raises(UsageError, match="in order"):
        blend(roses[0], roses[1], roses, stops=[roses[2]], by_lightness=True)


def test_progress_and_distance_of_points_on_and_off_the_path() -> None:
    path = path_through([(80, 10, 0), (60, 30, 20), (30, 20, -20)], "straight")
    corners = path.corners
    on = cam16_ucs_to_lab([corners[0] * 0.5 + corners[1] * 0.5, corners[1], corners[2]])
    found = path.locate(on)
    first = np.linalg.norm(corners[1] - corners[0]) / path.length
    np.testing.assert_allclose(found.progress, [first / 2, first, 1.0], atol=1e-7)
    np.testing.assert_allclose(found.distance, 0.0, atol=1e-6)
    aside = lab_to_cam16_ucs((80, 10, 0)) - 0.1 * (corners[1] - corners[0])
    found = path.locate(cam16_ucs_to_lab(aside[None]))
    assert found.progress[0] == 0.0
    assert found.distance[0] == pytest.approx(0.1 * np.linalg.norm(corners[1] - corners[0]))


def test_bad_blends() -> None:
    pair = swatches((70, 0, 0), (50, 0, 0))
    for limit in (0.0, -1.0, float("nan")):
        with pytest.raises(UsageError, match="limit"):
            blend(*pair, pair, limit=limit)
    with pytest.raises(UsageError, match="different pencils"):
        blend(pair[0], pair[0], pair)
    with pytest.raises(UsageError, match="same colour"):
        blend((50, 0, 0), pair[1], pair)
    with pytest.raises(UsageError, match="candidates"):
        blend(*pair, [])
    with pytest.raises(UsageError, match="prefer"):
        blend(*pair, pair, prefer="best")
    with pytest.raises(UsageError, match="corridor"):
        blend(*pair, pair, corridor=0.0)
    with pytest.raises(InputError, match="one colour"):
        blend([[50, 0, 0]] * 2, pair[1], pair)


def test_a_blend_that_cannot_be_closed_is_an_answer() -> None:
    pair = swatches((90, 0, 0), (20, 0, 0))
    found = blend(*pair, pair)
    assert not found.closed
    assert found.over_limit == (0,)
    gap = find_gaps([found])[0]
    assert (gap.closing, gap.remaining, gap.fillers) == ((), 1, ())


def test_a_wide_gap_needs_several_pencils() -> None:
    pair = swatches((90, 0, 0), (20, 0, 0))
    offered = [Swatch("Shop", str(L), (float(L), 0.0, 0.0)) for L in range(25, 90, 5)]
    gap = find_gaps([blend(*pair, pair)], offered)[0]

    def largest(chosen: tuple[Swatch, ...]) -> float:
        falling = sorted((*pair, *chosen), key=lambda swatch: -swatch.lab[0])
        return max(float(delta_E(a.lab, b.lab)) for a, b in pairwise(falling))

    by_count = {
        count: min(map(largest, combinations(offered, count)))
        for count in (len(gap.closing) - 1, len(gap.closing))
    }
    assert gap.remaining == 0
    assert by_count[len(gap.closing) - 1] > 12.0
    assert largest(gap.closing) == by_count[len(gap.closing)] <= 12.0
    assert gap.fillers[0].remaining == 2
    some = find_gaps([blend(*pair, pair)], offered[:3])[0]
    assert some.remaining == 1


def recipes_of(*colours: Lab) -> Callable[[np.ndarray], list[Recipe]]:
    """Recipes that look so, whatever is aimed at."""
    first, second = swatches((75, 0, 0), (50, 0, 0))
    made = [
        Recipe(
            Stack.of(first, second, pressures=["light", f"pressure {row}"]),
            lab,
            delta_E=1.0,
            interval=(0.0, 2.0),
            typical=1.0,
            sigma=1.0,
            cautions=(),
        )
        for row, lab in enumerate(colours)
    ]
    return lambda _: made


def test_a_gap_is_layered_across_where_the_recipes_come_near_enough() -> None:
    pair = swatches((75, 0, 0), (50, 0, 0))
    found = blend(*pair, pair)

    def gap_with(recipes: Callable[[np.ndarray], list[Recipe]]) -> Gap:
        across = blend(*pair, pair, recipes=recipes)
        (gap,) = find_gaps([found], layered=[across])
        assert gap.layered == across.closed
        return gap

    gap = gap_with(recipes_of((62, 0, 0)))
    assert gap.crossing is not None
    assert [point.lab for point in gap.crossing.recipes] == [(62, 0, 0)]
    assert max(gap.crossing.steps) <= 12.0
    assert not gap_with(recipes_of((62, 40, 0))).layered
    assert not gap_with(recipes_of()).layered
    assert gap.hurt == pytest.approx((gap.step - 12.0) / 2)


def test_a_gap_of_a_family_is_layered_across_as_a_blend_of_its_own() -> None:
    greys = swatches((85, 0, 0), (75, 0, 0), (50, 0, 0), (34, 0, 0))
    alone = blend_of_family(families(greys)[0], limit=12)
    across = layer_family(alone, recipes_of((62, 0, 0)))
    assert [point.lab[0] for point in across.points] == [85, 75, 62, 50, 34]
    progress = [point.progress for point in across.points]
    assert progress == sorted(set(progress))
    layered = {gap.place: gap.layered for gap in find_gaps([alone], layered=[across])}
    assert layered == {1: True, 2: False}


def test_gaps_are_sorted_by_how_much_they_hurt() -> None:
    wide, narrow = swatches((90, 0, 0), (20, 0, 0)), swatches((70, 0, 0), (50, 0, 0))
    gaps = find_gaps([blend(*narrow, narrow).named("n"), blend(*wide, wide, limit=30).named("w")])
    assert [gap.blend for gap in gaps] == ["w", "n"]
    assert [gap.hurt for gap in gaps] == sorted((gap.hurt for gap in gaps), reverse=True)


def test_direction_words() -> None:
    assert direction_words((80, 0, 0), (40, 0, 0)) == "missing a value between"
    assert direction_words((60, 50, 0), (60, 0, 50)) == "missing a hue between"
    assert direction_words((60, 60, 0), (60, 10, 0)) == "missing a duller one"
    assert direction_words((60, 10, 0), (60, 60, 0)) == "missing a more vivid one"


def test_families_as_blends() -> None:
    blues = swatches((60, 0, -45), (35, 5, -45), (50, 0, -45))
    found = blend_of_family(families(blues)[0], limit=5)
    assert codes(found) == ["0", "2", "1"]
    assert found.name == "blues"
    assert len(find_gaps([found])) == 2
    pinned = families(blues, propose(blues, {"Test:0": ("roses", None)}))
    alone = next(family for family in pinned if family.name == "roses")
    with pytest.raises(UsageError, match="one swatch"):
        blend_of_family(alone)
