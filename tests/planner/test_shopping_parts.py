"""Needs in parts that nothing couples: the same list as all at once, and its alternatives."""

import itertools
from dataclasses import replace

import numpy as np
import pytest
from planner_oracles import swatch

from stopgap.planner import shopping_list
from stopgap.planner.shopping import buying
from stopgap.planner.shopping.lean.cheap_chains import CheapChains
from stopgap.planner.shopping.lean.columns import ChainColumns
from stopgap.planner.shopping.lean.parts import coupled
from stopgap.planner.shopping.lexicographic import levels as by_levels
from stopgap.planner.shopping.lexicographic import purchase
from stopgap.planner.shopping.question import BlendNeed, ColourNeed
from stopgap.planner.shopping.task import Task
from stopgap.planner.solver import Clock, Programme
from stopgap.swatches import FreeColour, LaidStack, SoldSet, Stack

PLACES = ((30, -45, -30), (50, 45, -20), (70, 0, 55), (40, 0, 0), (55, 0, 27))


@pytest.mark.parametrize("small", [0, 10_000])
def test_the_least_is_found_by_levels_from_whatever_list_is_known(small, monkeypatch):
    """From everything for sale, and no better list met on the way, it is the same as ever."""
    monkeypatch.setattr(by_levels, "_SMALL", small)
    levels, met = CheapChains.levels.fget, []
    monkeypatch.setattr(
        CheapChains, "levels", property(lambda one: met.append(levels(one)) or met[-1])
    )
    for seed in (1, 2):
        needs, offers, recipes, owned = far_apart(seed, sets=False)
        answers = []
        for poor in (False, True):
            with monkeypatch.context() as patch:
                if poor:
                    patch.setattr(ChainColumns, "whole", lambda *_: None)
                    patch.setattr(
                        buying, "frugal_purchase", lambda task, _: np.ones_like(task.prices, bool)
                    )
                met.clear()
                options = {"default_price": 1.0, "recipes": recipes, "time_limit": None}
                answers.append(shopping_list(needs, owned, offers, alternatives=0, **options))
        assert max(map(len, met)) > 2
        assert answers[0].proved
        found, expected = ([aim.value for aim in each.aims] for each in answers)
        assert found == pytest.approx(expected, rel=1e-6, abs=1e-6)
        assert answers[0].buy == answers[1].buy


def test_a_cheaper_list_is_sought_as_far_as_the_time_limit_allows_and_without_one_to_the_end():
    programme = Programme()
    places = programme.add_variables(100)
    programme.add_row(places, np.ones(100), 1.0, 1.0)
    nodes = [by_levels._effort(Clock(limit), programme)["mip_max_nodes"] for limit in (1, 60)]
    assert 1 < nodes[0] == nodes[1] / 60
    assert by_levels._effort(Clock(None), programme) == {}


def coupled_pair_by_pair(uses):
    """The same by joining any two groups that share anything until none do."""
    groups = [({place}, set(things.tolist())) for place, things in enumerate(uses)]
    for _ in uses:
        for one, other in itertools.combinations(groups, 2):
            if one[1] & other[1]:
                groups.remove(other)
                one[0].update(other[0])
                one[1].update(other[1])
                break
    return sorted(sorted(places) for places, _ in groups)


def test_coupled_as_pair_by_pair():
    rng = np.random.default_rng(3)
    sizes = set()
    for _ in range(300):
        n = rng.integers(1, 9)
        uses = [rng.choice(14, rng.integers(0, 4), replace=False) for _ in range(n)]
        groups = coupled(uses)
        assert groups == coupled_pair_by_pair(uses)
        sizes.add(len(groups))
    assert sizes >= set(range(1, 8))


def far_apart(seed, *, sets):
    """Needs about places far from one another, each with pencils of its own, some of them alike,
    of few prices; with `sets` some of two places; with recipes of two pencils of a place.
    """
    rng = np.random.default_rng(seed)
    offers, needs, recipes, owned = [], [], [], []
    tins = [SoldSet(f"tin {i}", float(rng.integers(2, 5))) for i in range(2)]
    for number, middle in enumerate(PLACES):
        labs = np.array(middle) + rng.normal(0, 5, (6, 3))
        mine = [
            swatch(
                f"{number}{i}",
                lab,
                price=float(rng.integers(1, 4)) if number < 4 else 1.0,
                sets=(tins[number % 2],) if sets and i == number // 2 and seed % 2 else (),
            )
            for i, lab in enumerate(labs)
        ]
        offers += mine
        beside = np.array(middle) + np.array((0, 14, 0))
        owned.append(swatch(f"{number}", beside, range_="O", owned=True))
        made = tuple(map(float, labs[:2].mean(axis=0)))
        recipes.append(LaidStack(Stack.of(*mine[:2]), made, 1.0))
        for k in range(rng.integers(1, 3)):
            lab = tuple(map(float, labs[k] + rng.normal(0, 2, 3)))
            needs.append(ColourNeed(f"c{number}{k}", FreeColour("place", lab), 5.0))

    def end(place, along):
        return FreeColour("end", tuple(float(each) for each in np.array(place) + along))

    ends = end(PLACES[0], (0, 0, 0)), end(PLACES[0], (0, 70, 0))
    steps = [
        swatch(f"step {k}", ends[0].lab + np.array((0, 14 * k, 0)), owned=k in {1, 2, 4}, price=1.0)
        for k in (1, 2, 4, 3, 5)
    ]
    owned += steps[:3]
    offers += steps[3:]
    needs.append(BlendNeed("gap in it", *ends, 14.0, 20.0, tolerance=5.0))
    ends = end(PLACES[3], (0, 0, 0)), end(PLACES[2], (0, 0, 0))
    needs.append(BlendNeed("its toll by others' pencils", *ends, 30.0, 40.0, tolerance=7.0))
    return needs, offers, recipes, owned


@pytest.mark.parametrize("sets", [False, True])
def test_a_list_of_what_no_list_can_lack_is_the_best_without_a_programme(sets, monkeypatch):
    """As by its programme: every aim, and every alternative."""
    only, lists = purchase._only, []

    def told(task):
        lists.append(found := only(task))
        return found

    for seed, few in ((1, 1), (2, 2)):
        needs, offers, recipes, owned = far_apart(seed, sets=sets)
        options = {"default_price": 1.0, "recipes": recipes, "time_limit": None}
        options |= {"partial": seed == 2}
        with monkeypatch.context() as patch:
            patch.setattr(purchase, "_only", told)
            one = shopping_list(needs, owned, offers[::few], **options)
            patch.setattr(Task, "held_by_all", lambda *_: False)
            other = shopping_list(needs, owned, offers[::few], **options)
        assert one.proved
        assert [aim.name for aim in one.aims] == [aim.name for aim in other.aims]
        found, expected = ([aim.value for aim in each.aims] for each in (one, other))
        assert found == pytest.approx(expected, rel=1e-6, abs=1e-6)
        assert replace(one, aims=(), bound=0.0) == replace(other, aims=(), bound=0.0)
    assert 0 < sum(each is not None for each in lists) < len(lists) / 2


@pytest.mark.parametrize(
    ("budget", "sets"), [(None, False), (None, True), (30.0, False), (7.0, True)]
)
def test_the_best_of_the_parts_is_the_best_of_all(budget, sets, monkeypatch):
    """Against the undivided programme: every aim, and the cost of every alternative."""
    parts, solved, many, freed = Task.parts.func, purchase._solved, [], []

    def told(task):
        found = solved(task)
        many.append(len(found[1]))
        freed.append(found[0].budget != task.budget)
        return found

    for seed in (1, 2):
        needs, offers, recipes, owned = far_apart(seed, sets=sets)
        answers = []
        for divided in (True, False):
            monkeypatch.setattr(Task, "parts", property(parts if divided else lambda one: (one,)))
            monkeypatch.setattr(
                purchase,
                "_solved",
                told if divided else lambda one: (one, [purchase._counted(one)]),
            )
            answers.append(
                shopping_list(
                    needs,
                    owned,
                    offers,
                    default_price=1.0,
                    budget=budget,
                    recipes=recipes,
                    alternatives=3,
                    time_limit=None,
                )
            )
        one, whole = answers
        assert one.proved
        assert [aim.name for aim in one.aims] == [aim.name for aim in whole.aims]
        found, expected = ([aim.value for aim in each.aims] for each in answers)
        assert found == pytest.approx(expected, rel=1e-6, abs=1e-6)
        assert one.bound == pytest.approx(one.cost)
        lists = [replace(each, alternatives=(), aims=(), bound=0.0) for each in answers]
        assert lists[0] == lists[1]
        others = [[(each.cost, each.shortfall) for each in its.alternatives] for its in answers]
        assert others[0] == pytest.approx(np.array(others[1]), rel=1e-6, abs=1e-6)
    assert (max(many) > 1) == (budget != 7.0)  # all at once where the budget does not suffice
    assert all(freed) == any(freed) == (budget == 30.0)
