"""The shopping list: equal to looking at every purchase, and what must hold of any list."""

import dataclasses
import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from planner_oracles import Shop, random_lab, swatch

from stopgap import defaults
from stopgap.difference import delta_E
from stopgap.errors import StopgapError
from stopgap.planner import shopping_list
from stopgap.planner.shopping.buying import list_for, supply_of
from stopgap.planner.shopping.question import BlendNeed, ColourNeed
from stopgap.swatches import FreeColour, LaidStack, SoldSet, Stack

pytestmark = pytest.mark.slow

seeds = st.integers(0, 10**6)
AIMS = (
    "shortfall",
    "cost",
    "pencils",
    "blends beside their path",
    "toll",
    "order of addresses",
)


def place(lab):
    return FreeColour("place", tuple(float(value) for value in lab))


@dataclasses.dataclass
class Instance:
    needs: list
    owned: list
    offers: list
    recipes: list

    def plan(self, **options):
        return shopping_list(
            self.needs,
            self.owned,
            self.offers,
            **{"default_price": 1.0, "recipes": self.recipes, **options},
        )


def random_instance(seed, n_owned, n_offers, n_blends, n_colours, n_recipes=0, stops=False):
    """Blends along which pencils are scattered, colours near pencils, many offers much alike."""
    rng = np.random.default_rng(seed)
    ends = [(np.array(random_lab(rng)), np.array(random_lab(rng))) for _ in range(n_blends)]

    def lab():
        if ends and rng.random() < 0.75:
            start, end = ends[rng.integers(len(ends))]
            return start + rng.random() * (end - start) + rng.normal(0, 5, 3)
        return random_lab(rng)

    owned = [swatch(f"{i:02d}", lab(), range_="O", owned=True) for i in range(n_owned)]
    offers = []
    for i in range(n_offers):
        alike = offers and rng.random() < 0.5
        near = np.array(offers[rng.integers(len(offers))].lab) if alike else lab()
        price = float(rng.integers(1, 4))
        offers.append(swatch(f"{i:02d}", near + rng.normal(0, 1, 3), range_="B", price=price))
    pencils = owned + offers
    recipes = []
    for _ in range(n_recipes):
        pair = [pencils[i] for i in rng.choice(len(pencils), 2, replace=False)]
        recipes.append(LaidStack(Stack.of(*pair), tuple(map(float, lab())), 2.0))
    needs = []
    for number, (start, end) in enumerate(ends):
        first = place(start) if rng.random() < 0.6 else pencils[rng.integers(len(pencils))]
        needs.append(
            BlendNeed(
                f"blend {number}",
                first,
                place(end),
                step=float(rng.uniform(9, 22)),
                width=20.0,
                weight=float(rng.integers(1, 3)),
                tolerance=float(rng.choice([2.0, 8.0, 60.0])),
            )
        )
        if stops:
            needs[-1] = with_a_stop(needs[-1], pencils, rng)
    for number in range(n_colours):
        near = np.array(pencils[rng.integers(len(pencils))].lab) + rng.normal(0, 3, 3)
        needs.append(
            ColourNeed(f"colour {number}", place(near), tolerance=float(rng.uniform(1, 6)))
        )
    return Instance(needs, owned, offers, recipes)


def with_a_stop(need, pencils, rng):
    """The blend through a colour or a pencil, along another path, or by lightness, where it can."""
    start, end = np.array(need.start.lab), np.array(need.end.lab)
    between = place(start + rng.uniform(0.3, 0.7) * (end - start) + rng.normal(0, 5, 3))
    stop = between if rng.random() < 0.3 else pencils[rng.integers(len(pencils))]
    path = ("auto", "straight", "round")[rng.integers(3)]
    try:
        return dataclasses.replace(
            need, stops=(stop,), path=path, by_lightness=bool(rng.random() < 0.3)
        )
    except StopgapError:  # the same pencil twice, or not between the ends in lightness
        return need


instances = st.builds(
    random_instance,
    seeds,
    n_owned=st.integers(1, 6),
    n_offers=st.integers(1, 9),
    n_blends=st.integers(0, 3),
    n_colours=st.integers(1, 5),
    n_recipes=st.integers(0, 4),
    stops=st.booleans(),
)


def check_against_every_purchase(instance, budget=None, *, partial=False):
    plan = instance.plan(budget=budget, partial=partial)
    shop = Shop(instance.needs, instance.owned, instance.offers, instance.recipes)
    best = shop.best(budget, partial=partial)
    bought = sum(1 << shop.number[purchase.swatch.address] for purchase in plan.buy)
    found = (plan.shortfall, plan.cost, len(plan.buy), *shop.fine(bought))
    assert found == pytest.approx(best, rel=1e-6, abs=1e-6)
    assert plan.proved
    assert plan.bound == pytest.approx(plan.cost)
    for aim in plan.aims:
        if aim.name == "toll":
            assert aim.value == pytest.approx(found[-1])
    return plan, shop


@settings(derandomize=True, deadline=None, max_examples=100)
@given(instances)
def test_equals_every_purchase(instance):
    plan, shop = check_against_every_purchase(instance)
    for answer, met in zip(plan.needs, shop.met):
        assert answer.met == met[-1]
        assert bool(answer.reason) != answer.met


def in_sets(instance, seed):
    """The instance with up to three sets over its offers, some of which are not sold singly; of
    others nobody knows the price.
    """
    rng = np.random.default_rng(seed)
    names = [f"set {i}" for i in range(rng.integers(1, 4))]
    of = {name: set(rng.permutation(len(instance.offers))[: rng.integers(1, 6)]) for name in names}
    costs = {name: float(rng.integers(1, 7)) for name in names}
    offers = []
    for place, one in enumerate(instance.offers):
        sets = [SoldSet(name, costs[name]) for name in names if place in of[name]]
        price = None if rng.random() < (0.4 if sets else 0.2) else one.price
        offers.append(dataclasses.replace(one, sets=tuple(sets), price=price))
    addresses = {name: {instance.offers[place].address for place in of[name]} for name in names}
    sets = [(costs[name], addresses[name]) for name in names if of[name]]
    return dataclasses.replace(instance, offers=offers), sets


def check_sets_against_every_purchase(instance, seed, budget):
    instance, sets = in_sets(instance, seed)
    plan = instance.plan(budget=budget, default_price=None)
    known = [one.price for one in instance.offers if one.price is not None]
    guess = float(np.median(known)) if known else defaults.PRICE
    unknown = [one for one in instance.offers if one.price is None and not one.sets]
    offers = [
        dataclasses.replace(one, price=guess) if one in unknown else one for one in instance.offers
    ]
    shop = Shop(instance.needs, instance.owned, offers, instance.recipes, sets)
    assert plan.guessed is bool(unknown)
    assert [one.assumed for one in plan.buy] == [one.swatch in unknown for one in plan.buy]
    names = sorted({one.name for offer in instance.offers for one in offer.sets})
    singles = len(shop.number)
    bits = [singles + names.index(one.name) for one in plan.sets]
    bits += [shop.number[one.swatch.address] for one in plan.buy if not one.in_set]
    best = shop.best(budget)
    found = (plan.shortfall, plan.cost, len(bits), *shop.fine(sum(1 << bit for bit in bits)))
    assert found == pytest.approx(best, rel=1e-6, abs=1e-6)
    assert plan.proved
    assert plan.cost == pytest.approx(shop.cost[sum(1 << bit for bit in bits)])
    assert plan.bound == pytest.approx(plan.cost)
    brought = {address for one, bit in zip(plan.sets, bits) for address in sets[bit - singles][1]}
    assert {one.swatch.address for one in plan.buy if one.in_set} == brought
    assert all((one.price is None) == bool(one.in_set) for one in plan.buy)


few = st.builds(
    random_instance,
    seeds,
    n_owned=st.integers(1, 5),
    n_offers=st.integers(1, 7),
    n_blends=st.integers(0, 2),
    n_colours=st.integers(1, 5),
    n_recipes=st.integers(0, 3),
)


@settings(derandomize=True, deadline=None, max_examples=50)
@given(few, seeds, st.none() | st.floats(0, 12))
def test_sets_and_singles_equal_every_purchase(instance, seed, budget):
    check_sets_against_every_purchase(instance, seed, budget)


@settings(derandomize=True, deadline=None, max_examples=100)
@given(instances, st.floats(0, 12))
def test_equals_every_purchase_within_a_budget(instance, budget):
    plan, _ = check_against_every_purchase(instance, budget)
    assert plan.cost <= budget + 1e-6


@settings(derandomize=True, deadline=None, max_examples=40)
@given(instances, st.sampled_from([None, 4.0, 30.0]))
def test_equals_every_purchase_where_needs_are_met_in_part(instance, budget):
    check_against_every_purchase(instance, budget, partial=True)


@pytest.mark.parametrize(("seed", "budget"), [(1, None), (2, 8.0)])
def test_ends_cost_the_same_named_by_pencil_and_by_colour(seed, budget):
    asked = random_instance(seed, n_owned=5, n_offers=12, n_blends=3, n_colours=1)
    pencils = [pencil for pencil in asked.offers if pencil.price]
    by_pencil = [
        dataclasses.replace(need, start=pencils[k], end=pencils[-1 - k], tolerance=tolerance)
        for k, (need, tolerance) in enumerate(zip(asked.needs, (2.0, 6.0, 12.0)))
    ]
    by_colour = [
        dataclasses.replace(need, start=place(need.start.lab), end=place(need.end.lab))
        for need in by_pencil
    ]
    one, other = (
        dataclasses.replace(asked, needs=needs).plan(budget=budget)
        for needs in (by_pencil, by_colour)
    )
    assert (one.cost, one.shortfall) == pytest.approx((other.cost, other.shortfall))
    assert [need.met for need in one.needs] == [need.met for need in other.needs]
    assert any(need.met for need in one.needs) or budget is not None
    for need in (*one.needs, *other.needs):
        for laid in filter(None, (need.before, need.after)):
            reached = [
                end is not None and end.delta_E <= need.need.tolerance for _, end in laid.ends
            ]
            assert not laid.met or all(reached)


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("budget", [None, 6.0])
def test_eight_needs_fifteen_candidates(seed, budget):
    instance = random_instance(100 + seed, 6, 15, 3, 5, n_recipes=4)
    check_against_every_purchase(instance, budget)


@settings(derandomize=True, deadline=None, max_examples=40)
@given(instances)
def test_every_pencil_has_a_purpose_and_every_need_is_laid_with_what_is_there(instance):
    plan = instance.plan()
    there = {pencil.address for pencil in instance.owned}
    there |= {purchase.swatch.address for purchase in plan.buy}
    for purchase in plan.buy:
        assert purchase.purposes
    for answer in plan.needs:
        if answer.met:
            assert all(laid.addresses <= there for laid in answer.after.stacks)


@settings(derandomize=True, deadline=None, max_examples=50)
@given(instances)
def test_owning_more_never_costs_more(instance):
    before = instance.plan()
    given_away = instance.offers[0]
    richer = dataclasses.replace(instance, owned=[*instance.owned, given_away])
    # what could not be met before may be met now, so only the needs met before are asked for
    met = [answer.need for answer in before.needs if answer.met]
    if met:
        poorer = dataclasses.replace(instance, needs=met)
        richer = dataclasses.replace(richer, needs=met)
        assert richer.plan().cost <= poorer.plan().cost + 1e-6


@settings(derandomize=True, deadline=None, max_examples=50)
@given(instances, st.floats(0.1, 5))
def test_a_looser_limit_never_costs_more(instance, looser):
    met = [answer.need for answer in instance.plan().needs if answer.met]
    loose = [
        dataclasses.replace(need, step=need.step + looser, width=need.width + looser)
        if isinstance(need, BlendNeed)
        else dataclasses.replace(need, tolerance=need.tolerance + looser)
        for need in met
    ]
    if met:
        strict = dataclasses.replace(instance, needs=met).plan()
        assert dataclasses.replace(instance, needs=loose).plan().cost <= strict.cost + 1e-6


@settings(derandomize=True, deadline=None, max_examples=50)
@given(instances, st.floats(0, 1))
def test_a_lower_price_never_raises_the_cost(instance, share):
    first, *rest = instance.offers
    cheaper = [dataclasses.replace(first, price=first.price * share), *rest]
    lower = dataclasses.replace(instance, offers=cheaper, recipes=[])
    assert lower.plan().cost <= dataclasses.replace(instance, recipes=[]).plan().cost + 1e-6


@settings(derandomize=True, deadline=None, max_examples=50)
@given(instances)
def test_a_budget_of_the_optimum_meets_every_need(instance):
    without = instance.plan()
    with_it = instance.plan(budget=without.cost)
    assert [answer.met for answer in with_it.needs] == [answer.met for answer in without.needs]
    assert with_it.cost == pytest.approx(without.cost)


@settings(derandomize=True, deadline=None, max_examples=50)
@given(instances, st.floats(0, 6), st.floats(0, 6))
def test_a_larger_budget_never_leaves_more_open(instance, budget, more):
    small, large = instance.plan(budget=budget), instance.plan(budget=budget + more)
    assert large.shortfall <= small.shortfall + 1e-6


@settings(derandomize=True, deadline=None, max_examples=40)
@given(instances, st.randoms(use_true_random=False), st.sampled_from([None, 5.0]))
def test_the_order_of_rows_changes_nothing(instance, random, budget):
    first = instance.plan(budget=budget)
    for rows in (instance.needs, instance.owned, instance.offers, instance.recipes):
        random.shuffle(rows)
    second = instance.plan(budget=budget)
    assert [one.swatch for one in first.buy] == [one.swatch for one in second.buy]
    assert first.alternatives == second.alternatives
    assert first.aims == second.aims
    after = {answer.need.label: answer.after for answer in first.needs}
    assert after == {answer.need.label: answer.after for answer in second.needs}
    assert [answer.need for answer in second.needs] == instance.needs


@settings(derandomize=True, deadline=None, max_examples=50)
@given(instances)
def test_alternatives_meet_the_same_needs_and_lack_something(instance):
    plan = instance.plan()
    shop = Shop(instance.needs, instance.owned, instance.offers, instance.recipes)
    lists = [frozenset(purchase.swatch.address for purchase in plan.buy)]
    costs = [plan.cost]
    for other in plan.alternatives:
        bought = frozenset(pencil.address for pencil in other.swatches)
        assert not any(before <= bought for before in lists)
        purchase = sum(1 << shop.number[address] for address in bought)
        assert all(shop.met[asked][purchase] for asked in shop.asked)
        assert other.shortfall == pytest.approx(plan.shortfall)
        lists.append(bought)
        costs.append(other.cost)
    assert costs == sorted(costs)
    # the next cheapest list that lacks something was not overlooked
    if plan.buy:
        best = sum(1 << shop.number[address] for address in lists[0])
        good = np.all(
            [shop.shortfalls[asked] <= shop.shortfalls[asked][-1] + 1e-9 for asked in shop.asked],
            axis=0,
        )
        good &= (shop.purchases & best) != best
        cheapest = shop.cost[good].min() if good.any() else np.inf
        if cheapest <= 1.5 * plan.cost:
            assert costs[1] == pytest.approx(cheapest)
        else:
            assert not plan.alternatives


@settings(derandomize=True, deadline=None, max_examples=40)
@given(instances, st.sampled_from([None, 5.0]), st.booleans())
def test_when_the_time_is_over_the_list_is_still_a_good_one(instance, budget, partial):
    best = instance.plan(budget=budget, partial=partial, alternatives=0)
    hasty = instance.plan(budget=budget, partial=partial, alternatives=0, time_limit=0.0)
    assert hasty.proved == (not best.aims)
    if budget is None:
        assert [one.met for one in hasty.needs] == [one.met for one in best.needs]
        assert hasty.shortfall == pytest.approx(best.shortfall)
        assert hasty.bound <= best.cost <= hasty.cost + 1e-6
    else:
        assert hasty.cost <= budget + 1e-6
        assert hasty.shortfall >= best.shortfall - 1e-6


def test_aims_are_reported_in_their_order():
    plan = random_instance(3, 4, 12, 2, 4).plan(budget=5.0)
    order = [AIMS.index(aim.name) for aim in plan.aims]
    assert order == sorted(order)
    assert len(order) >= 3


def test_the_solver_never_writes_among_our_rows(capfd):
    # an instance on which HiGHS of scipy 1.17.1 prints a line of its own to standard output
    instance = random_instance(903871, n_owned=1, n_offers=4, n_blends=1, n_colours=0, n_recipes=2)
    assert instance.plan(partial=True, alternatives=0).aims
    assert capfd.readouterr().out == ""


@pytest.mark.parametrize(
    ("seed", "sizes", "options"),
    [
        (631068494, (2, 5, 1, 2, 2), {"partial": True}),
        (232951690, (6, 8, 2, 3, 2), {"budget": 1.15}),
    ],
)
def test_a_toll_of_rounding_errors_counts_as_none(seed, sizes, options):
    # straight from end to end: a toll of 1e-27, which once closed every step of the chain
    check_against_every_purchase(random_instance(seed, *sizes), **options)


def test_an_instance_on_which_older_solvers_proved_too_much():
    # HiGHS of scipy 1.15.0 to 1.17.0 proved a shortfall here that one purchase undercut
    instance = random_instance(503775, n_owned=4, n_offers=4, n_blends=3, n_colours=1, n_recipes=0)
    check_against_every_purchase(instance, partial=True)


@given(seeds)
@settings(max_examples=25, deadline=None)
def test_one_purchase_serves_needs_on_two_papers(seed):
    """Every purchase is looked at: colours of the same pencils are others on the other paper."""
    rng = np.random.default_rng(seed)
    mine = [swatch(f"{i}", random_lab(rng), range_="O", owned=True) for i in range(2)]
    sale = [
        swatch(f"{i}", random_lab(rng), range_="S", price=float(rng.integers(1, 5)))
        for i in range(5)
    ]

    def other(pencils):
        return [dataclasses.replace(one, lab=random_lab(rng)) for one in pencils]

    parts, looked = [], []
    for owned, offers in ((mine, sale), (other(mine), other(sale))):
        near = [np.add(one.lab, rng.normal(0, 2, 3)) for one in rng.permutation(offers)[:2]]
        needs = [ColourNeed(f"{len(parts)} {i}", place(lab), 8.0) for i, lab in enumerate(near)]
        parts.append((needs, supply_of(owned, offers, 1.0)))
        looked += [
            {one.address for one in (*owned, *offers) if delta_E(need.lab, one.lab) <= 8.0}
            for need in needs
        ]
    found = list_for(parts, time_limit=None)
    there = {one.address for one in mine}
    purchases = [
        (sum(one.price for one in some), len(some))
        for count in range(len(sale) + 1)
        for some in itertools.combinations(sale, count)
        if all(serves & (there | {one.address for one in some}) for serves in looked)
    ]
    assert found.status == "optimal"
    assert (found.cost, len(found.buy)) == min(purchases)
    assert [answer.need.label for answer in found.needs] == ["0 0", "0 1", "1 0", "1 1"]
