"""What a list shows of a blend is what `blend` makes of it, and what `find_gaps` looks through."""

import csv

import numpy as np
import pytest

from stopgap.blends import blend, find_gaps
from stopgap.library import find_target, open_library
from stopgap.library.demo import datasets
from stopgap.planner import (
    BlendNeed,
    RecipesOfIndex,
    estimated_conditions,
    recipes_under,
    shopping_list,
)
from stopgap.swatches import Selection

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def swatches(demo_library):
    with open_library(demo_library) as library:
        return library.swatches()


def demo_needs(swatches):
    with (datasets() / "blends.csv").open(encoding="utf-8-sig", newline="") as file:
        return [
            BlendNeed(
                row["name"],
                find_target(row["from"], swatches),
                find_target(row["to"], swatches),
                float(row["step"] or 12),
            )
            for row in csv.DictReader(file)
        ]


def random_needs(swatches, count, seed):
    """Blends between any two pencils of the demo, owned or not, with limits from 7 to 16."""
    rng = np.random.default_rng(seed)
    usual = Selection().of(swatches)
    pairs = [rng.choice(len(usual), 2, replace=False) for _ in range(count)]
    return [
        BlendNeed(f"{number}", usual[first], usual[last], step=float(rng.uniform(7, 16)))
        for number, (first, last) in enumerate(pairs)
    ]


def owned_and_offers(swatches):
    owned = Selection(owned=True).of(swatches)
    return owned, [one for one in Selection().of(swatches) if not one.owned]


def alone(need, pencils, **options):
    return blend(need.start, need.end, pencils, limit=need.step, **options).named(need.label)


@pytest.mark.parametrize("seed", range(20))
def test_without_a_purchase_a_list_shows_what_blend_shows(swatches, seed):
    needs = random_needs(swatches, 10, seed) + (demo_needs(swatches) if seed == 0 else [])
    owned, offers = owned_and_offers(swatches)
    plan = shopping_list(needs, owned, offers, default_price=1.0, budget=0.0, alternatives=0)
    assert not plan.buy
    shown = [answer.before.blend for answer in plan.needs]
    assert shown == [alone(need, owned) for need in needs]
    assert [answer.after for answer in plan.needs] == [answer.before for answer in plan.needs]
    places = {(gap.blend, gap.place) for gap in find_gaps(shown)}
    assert places == {(one.name, place) for one in shown for place in one.over_limit}


@pytest.mark.parametrize("budget", [None, 6.0])
def test_after_a_purchase_a_list_shows_what_blend_makes_of_it(swatches, budget):
    needs = demo_needs(swatches) + random_needs(swatches, 3, 99)
    owned, offers = owned_and_offers(swatches)
    plan = shopping_list(needs, owned, offers, default_price=2.5, budget=budget, alternatives=0)
    assert plan.buy
    box = [*owned, *(purchase.swatch for purchase in plan.buy)]
    assert [answer.after.blend for answer in plan.needs] == [alone(need, box) for need in needs]


def test_recipes_are_those_that_blend_is_given(swatches):
    needs = demo_needs(swatches)
    owned, offers = owned_and_offers(swatches)
    conditions = estimated_conditions()
    recipes = RecipesOfIndex(recipes_under(conditions, owned))
    plan = shopping_list(needs, owned, offers, default_price=1.0, budget=0.0, recipes_along=recipes)
    shown = [answer.before.blend for answer in plan.needs]
    assert shown == [alone(need, owned, recipes=recipes) for need in needs]
    assert any(point.layered for one in shown for point in one.points)
