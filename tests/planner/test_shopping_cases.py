"""Shopping lists whose answer can be seen, and the sentences for what cannot be done."""

from dataclasses import replace
from io import StringIO

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from planner_oracles import ANY_END, swatch

from stopgap import defaults
from stopgap.colorimetry.cam16 import lab_to_cam16_ucs
from stopgap.difference import delta_E
from stopgap.errors import InputError, Note, Remedy
from stopgap.neighbours.within import nearest_within
from stopgap.planner import (
    Terms,
    estimated_conditions,
    plan_purchase,
    planned_to_buy,
    shopping_list,
)
from stopgap.planner.materials import labs_of
from stopgap.planner.nearness import SAME_TO_THE_EYE
from stopgap.planner.shopping import frugal, layings, looking, task
from stopgap.planner.shopping.answer import NOT_LOOKED_AT
from stopgap.planner.shopping.buying import supply_of
from stopgap.planner.shopping.lean import programme
from stopgap.planner.shopping.lexicographic import purchase
from stopgap.planner.shopping.offers import offers_of
from stopgap.planner.shopping.question import BlendNeed, ColourNeed, same_as_owned
from stopgap.planner.shopping.steps import dominated
from stopgap.planner.shopping.wanted import WantedBlend
from stopgap.planner.solver import Clock, OutOfTime
from stopgap.reports.answers import shopping_report
from stopgap.reports.render.console import make_console
from stopgap.reports.render.terminal import render_terminal
from stopgap.swatches import (
    Core,
    FreeColour,
    LaidStack,
    LaidState,
    Lightfastness,
    SoldSet,
    Stack,
    Status,
    Stock,
    Swatch,
)

ASTM_II, ASTM_IV, BWS_8 = map(Lightfastness.parse, ("ASTM II", "ASTM IV", "BWS 8"))


def grey(code, lightness, **fields):
    return swatch(code, (lightness, 0, 0), **fields)


def place(lab, label="place"):
    return FreeColour(label, tuple(float(value) for value in lab))


def blend(label="greys", start=20, end=90, step=12.0, width=20.0, **fields):
    ends = place((start, 0, 0)), place((end, 0, 0))
    return BlendNeed(label, *ends, step, width, **{"tolerance": ANY_END, **fields})


def plan(needs, owned, offers, **options):
    return shopping_list(needs, owned, offers, **{"default_price": 2.0, **options})


def bought(answer):
    return [purchase.swatch.code for purchase in answer.buy]


GREYS = [grey(f"g{lightness}", lightness, owned=True) for lightness in (30, 42, 64, 76)]


def test_the_filler_of_a_hole_is_bought_and_the_strip_shows_it():
    answer = plan([blend()], GREYS, [grey("m", 53), grey("x", 35), swatch("y", (53, 30, 0))])
    assert bought(answer) == ["m"]
    assert answer.status == "optimal"
    need = answer.needs[0]
    before, after = need.before, need.after
    (gap,) = before.blend.over_limit
    assert before.labels[gap : gap + 2] == ("A:g42", "A:g64")
    assert before.blend.steps[gap] == pytest.approx(float(delta_E((42, 0, 0), (64, 0, 0))))
    assert "A:m" in after.labels
    assert after.met
    assert after.blend.closed
    assert answer.buy[0].purposes == ("greys",)


def test_one_filler_of_two_blends_is_cheaper_than_two():
    cross = BlendNeed(
        "cross", place((53, -18, 0)), place((53, 18, 0)), 17.0, width=0.5, tolerance=ANY_END
    )
    owned = [*GREYS, swatch("l", (53, -12, 0)), swatch("r", (53, 12, 0))]
    both = grey("both", 53, price=3.0)
    single = [grey("up", 53.9, price=2.0), swatch("over", (53, 2, 0), price=2.0)]
    narrow = blend(width=1.0)
    assert bought(plan([narrow], owned, [both, *single])) == ["up"]
    assert bought(plan([cross], owned, [both, *single])) == ["over"]
    together = plan([narrow, cross], owned, [both, *single])
    assert bought(together) == ["both"]
    assert set(together.buy[0].purposes) == {"greys", "cross"}


def test_fewest_pencils_of_equal_cost():
    colours = [ColourNeed(f"c{i}", place((50 + 2 * i, 0, 0)), 2.2) for i in range(2)]
    offers = [grey("a", 50, price=1.0), grey("b", 53, price=1.0), grey("z", 51, price=2.0)]
    assert float(delta_E((50, 0, 0), (53, 0, 0))) > 2.2
    colours[1] = ColourNeed("c1", place((52.9, 0, 0)), 2.2)
    assert bought(plan(colours, [grey("far", 90)], offers)) == ["z"]


def test_least_toll_of_equal_cost_and_number():
    offers = [swatch("a", (53, 4, 0)), grey("m", 53), swatch("z", (53, -4, 0))]
    answer = plan([blend()], GREYS, offers)
    assert bought(answer) == ["m"]
    (aim,) = [aim for aim in answer.aims if aim.name == "toll"]
    assert aim.proved
    # greys lie on the path, so that each pencil counts a square of half the limit and nothing else
    inner = len(answer.needs[0].after.labels) - 2
    assert aim.value == pytest.approx(inner * (12.0 / 2) ** 2, abs=0.1)


def test_ties_go_by_address():
    offers = [grey("m2", 53), grey("m1", 53)]
    assert bought(plan([blend()], GREYS, offers)) == ["m1"]


def test_what_can_be_layered_need_not_be_bought():
    layered = LaidStack(Stack.of(GREYS[3], GREYS[1]), (53, 0, 0), 2.0)
    answer = plan([blend()], GREYS, [grey("m", 53)], recipes=[layered])
    assert answer.buy == ()
    assert answer.because == "what is owned meets every need already"
    assert layered in answer.needs[0].after.stacks


def test_a_blend_is_shown_with_pencils_alone_where_they_suffice():
    pencils = [grey(f"g{lightness}", lightness) for lightness in (31, 42, 53, 64, 77)]
    between = LaidStack(Stack.of(pencils[0], pencils[1]), (36, 0, 0), 2.0)
    (need,) = plan([blend()], pencils, [], recipes=[between]).needs
    assert need.met
    assert not any(laid.recipe for laid in need.after.stacks)


def test_a_recipe_of_a_pencil_to_buy_costs_that_pencil():
    dear, cheap = grey("m", 53, price=5.0), grey("k", 10, price=1.0)
    layered = LaidStack(Stack.of(cheap, pressures=["light"]), (53, 0, 0), 2.0)
    answer = plan([blend()], GREYS, [dear, cheap], recipes=[layered])
    assert bought(answer) == ["k"]
    assert answer.cost == 1.0


def test_makers_of_recipes_are_told_the_path_of_a_blend_and_the_listed_colours():
    seen = []

    def recipes(swatches, aims):
        seen.append(aims)
        near = aims[np.abs(aims[:, 0] - 53).argmin()]
        return [LaidStack(Stack.of(*swatches[:2]), tuple(near.tolist()), 2.0)]

    need = ColourNeed("c", place((60, 40, 0)))
    answer = plan([blend(step=13.0), need], GREYS, [], recipes=recipes)
    (listed,) = [aims for aims in seen if len(aims) == 1]
    assert listed.tolist() == [[60.0, 40.0, 0.0]]
    (along,) = [aims for aims in seen if len(aims) > 1]
    # greys from 20 to 90, no further from each other than a quarter of the limit
    np.testing.assert_allclose(along[:, 1:], 0.0, atol=1.0)
    ends = np.concatenate([[[20.0, 0, 0]], along, [[90.0, 0, 0]]])
    apart = np.linalg.norm(np.diff(lab_to_cam16_ucs(ends), axis=0), axis=1)
    assert apart.max() <= 13.0 / 4 + 1e-6
    assert answer.needs[0].met
    assert any(laid.recipe for laid in answer.needs[0].after.stacks)


def end_of_greys(end, **fields):
    return BlendNeed("greys", place((30, 0, 0)), end, **fields)


@pytest.mark.parametrize("named", [grey("end", 90), place((90, 0, 0))])
def test_an_end_that_is_not_at_hand_is_bought_however_it_is_named(named):
    owned = [*GREYS, grey("g53", 53, owned=True)]
    answer = plan([end_of_greys(named)], owned, [grey("end", 90)])
    assert bought(answer) == ["end"]
    assert answer.buy[0].purposes == ("greys",)
    assert len(answer.needs[0].before.lacking) == 1
    assert answer.needs[0].after.lacking == ()


def test_a_near_pencil_or_layers_of_ones_own_serve_as_an_end():
    owned, end = [*GREYS, grey("g53", 53), grey("g88", 88)], grey("end", 90)
    (need,) = plan([end_of_greys(end)], owned, [end]).needs
    assert need.met
    assert need.after.points[-1].laid.label == "A:g88"
    assert bought(plan([end_of_greys(end, tolerance=1.0)], owned, [end])) == ["end"]
    layers = LaidStack(Stack.of(*GREYS[:2]), (90.0, 0.0, 0.0), 0.5)
    found = plan([end_of_greys(end, tolerance=1.0)], owned, [end], recipes=[layers])
    assert found.buy == ()
    assert found.needs[0].after.points[-1].laid is layers


@pytest.mark.parametrize("end", [grey("end", 90, status=Status.DISCONTINUED), place((90, 0, 0))])
def test_an_end_that_nobody_can_reach_stays_open(end):
    owned = [*GREYS, grey("g53", 53, owned=True)]
    answer = plan([end_of_greys(end)], owned, [grey("m", 54)])
    assert answer.status == "infeasible"
    name = answer.needs[0].need.ends[-1].label
    assert answer.needs[0].after.lacking == (name,)
    assert answer.needs[0].after.points[-1].laid is None
    assert answer.unfilled[0].reason.startswith(
        f"even with everything for sale, nothing is near {name}: A:g"
    )


def test_a_gap_nothing_closes_stays_open_and_costs_nothing():
    answer = plan([blend()], GREYS[:1], [grey("m", 53)])
    assert answer.buy == ()
    assert answer.status == "infeasible"
    assert answer.because == "no purchase would meet any of the needs that are open"
    assert "A:g30 to A:m is a step of" in answer.unfilled[0].reason
    near = ColourNeed("c", place((50, 40, 0)))
    assert "the nearest there is, A:g42" in plan([near], GREYS, []).unfilled[0].reason


def test_assumed_prices_are_flagged():
    answer = plan([blend()], GREYS, [grey("m", 53)], default_price=2.5)
    assert answer.buy[0].assumed
    assert answer.cost == 2.5
    assert not plan([blend()], GREYS, [grey("m", 53, price=2.5)]).buy[0].assumed


def test_budgets_of_nothing_a_little_and_enough():
    wide = blend("wide", step=12.0)
    red = ColourNeed("red", place((50, 60, 30)), 2.0)
    offers = [grey("m", 53, price=3.0), swatch("red", (50, 60, 30), price=4.0)]
    nothing = plan([wide, red], GREYS, offers, budget=0.0)
    assert nothing.because == "the budget of 0 is below the cheapest pencil, 3"
    assert [answer.reason for answer in nothing.needs] == ["over the budget of 0"] * 2
    little = plan([wide, red], GREYS, offers, budget=4.0)
    assert bought(little) == ["red"]  # farther over its limit than the gap
    heavy = plan([blend("wide", weight=9.0), red], GREYS, offers, budget=4.0)
    assert bought(heavy) == ["m"]
    enough = plan([wide, red], GREYS, offers, budget=7.0)
    assert sorted(bought(enough)) == ["m", "red"]
    assert enough.shortfall == 0.0


def test_what_not_to_buy():
    twin = grey("twin", 30.3)
    answer = plan([blend()], GREYS, [twin, grey("m", 53)])
    (warning,) = answer.not_to_buy
    assert warning.swatch is twin
    assert warning.owned.code == "g30"
    assert warning.delta_E == pytest.approx(float(delta_E((30.3, 0, 0), (30, 0, 0))))


@pytest.mark.parametrize(
    ("mine", "theirs"),
    [
        ({"core": Core.WAX}, {"core": Core.OIL}),
        ({}, {"core": Core.WAX}),
        ({"lightfastness": ASTM_IV}, {"lightfastness": ASTM_II}),
        ({"lightfastness": BWS_8}, {"lightfastness": ASTM_II}),
        ({}, {"lightfastness": ASTM_II}),
        ({"state": LaidState.DRY}, {"state": LaidState.WETTED}),
        ({"stock": Stock.STUB}, {}),
        ({"avoid": "scratches"}, {}),
        ({"laydown": 1}, {}),
    ],
)
def test_only_what_does_as_well_makes_a_pencil_of_its_colour_needless(mine, theirs):
    def told(mine, theirs):
        supply = supply_of([grey("mine", 30, **mine)], [grey("twin", 30.3, **theirs)], 1.0)
        return [one.swatch.code for one in same_as_owned([supply])]

    assert told(mine, theirs) == []
    assert told(theirs, theirs) == ["twin"]


def test_the_nearest_that_makes_a_pencil_needless_is_told():
    owned = [grey("stub", 30.2, stock=Stock.STUB), grey("full", 30)]
    (told,) = same_as_owned([supply_of(owned, [grey("twin", 30.3)], 1.0)])
    assert told.owned.code == "full"


def test_a_purchase_that_is_nearly_an_owned_pencil_says_so():
    need = ColourNeed("c", place((32, 0, 0)), 1.3)
    twin = grey("twin", 30.6)
    answer = plan([need], GREYS, [twin])
    assert bought(answer) == ["twin"]
    assert [one.code for one in answer.buy[0].same_as] == ["g30"]
    assert answer.not_to_buy == ()


def test_time_over_still_gives_a_list_that_meets_the_needs():
    offers = [grey("m", 53, price=3.0), grey("n", 52, price=2.0), grey("o", 10, price=1.0)]
    answer = plan([blend()], GREYS, offers, time_limit=0.0)
    assert answer.status == "time limit"
    assert not answer.proved
    assert answer.needs[0].met
    assert bought(answer) == ["n"]
    assert answer.bound == answer.cost == 2.0  # what the blend costs at least, without a solver
    within = plan([blend()], GREYS, offers, time_limit=0.0, budget=2.0)
    assert bought(within) == ["n"]


@pytest.mark.parametrize("needs", ["colours", "blends"])
def test_without_time_for_recipes_nothing_is_proved_and_that_is_said(needs):
    pencils = [
        swatch("y", (85, 0, 60), owned=True),
        swatch("b", (45, 5, -40), owned=True),
        swatch("g", (60, -25, 15), price=3.0),
    ]
    colours = [ColourNeed("green", place((60, -25, 15)), 2.0)]
    wanted = colours if needs == "colours" else [blend()]

    def planned(limit):
        terms = Terms(default_price=2.0, time_limit=limit)
        return plan_purchase(wanted, pencils, layers=estimated_conditions(), terms=terms)

    assert planned(None).proved
    hurried = planned(0.0)
    assert hurried.status == "time limit"
    assert hurried.bound == 0.0 <= hurried.cost
    assert not hurried.alternatives
    assert any("recipes were tried" in note.text for note in hurried.notes)


def test_progress_names_the_aims():
    told = []
    plan([blend()], GREYS, [grey("m", 53), grey("n", 52)], progress=told.append)
    assert told[:3] == ["cost", "pencils", "toll"]


def test_nothing_for_sale_and_nothing_owned():
    assert plan([blend()], GREYS, GREYS).because.startswith("nothing is for sale")
    empty = plan([ColourNeed("c", place((50, 0, 0)))], [], [])
    assert empty.status == "infeasible"
    assert empty.needs[0].reason == "nothing is owned and nothing is for sale"
    assert plan([blend()], [], []).status == "infeasible"
    (one,) = plan([ColourNeed("c", place((50, 0, 0)))], [], [grey("m", 50)]).buy
    assert one.purposes == ("c",)


@pytest.mark.parametrize("price", [-1.0, float("nan"), float("inf"), "3 EUR", True])
def test_bad_prices_are_refused(price):
    with pytest.raises(InputError, match="price of A:m"):
        plan([blend()], GREYS, [grey("m", 53, price=price)])
    with pytest.raises(InputError, match="default_price"):
        plan([blend()], GREYS, [], default_price=price)
    with pytest.raises(InputError, match="budget"):
        plan([blend()], GREYS, [], budget=price)


def test_bad_needs_are_refused():
    with pytest.raises(InputError, match="nothing is asked for"):
        plan([], GREYS, [])
    with pytest.raises(InputError, match="both ends are the same colour"):
        blend(start=50, end=50)
    for bad in (0.0, -1.0, float("nan"), "12"):
        with pytest.raises(InputError, match="step must be a number above 0"):
            blend(step=bad)
        with pytest.raises(InputError, match="tolerance must be a number above 0"):
            ColourNeed("c", place((50, 0, 0)), bad)
    with pytest.raises(InputError, match="A:m occurs twice"):
        plan([blend()], GREYS, [grey("m", 53), grey("m", 54)])


def test_prices_of_two_currencies_are_never_added():
    euros, pounds = grey("m", 53, price=3.0, currency="EUR"), grey("n", 54, price=2.0)
    offers = [euros, pounds]
    answer = plan([blend()], GREYS, offers)
    assert (bought(answer), answer.currency) == (["n"], "EUR")  # who says none thinks in the same
    with pytest.raises(InputError, match=r"EUR \(A:m\), GBP \(A:n\)") as refused:
        plan([blend()], GREYS, [euros, replace(pounds, currency="gbp ")])
    assert refused.value.remedy is Remedy.ONE_CURRENCY
    unpriced = replace(pounds, price=None, currency="GBP")  # a price that nobody knows is in none
    assert plan([blend()], GREYS, [euros, unpriced]).currency == "EUR"
    told = render_terminal(shopping_report(answer), make_console(StringIO(), width=80))
    assert "Buy 1 for 2.00 EUR (proved" in told
    assert shopping_report(plan([blend()], GREYS, [grey("m", 53)])).data["currency"] is None


def test_an_unknown_price_is_the_median_of_its_range_else_of_all():
    """Lest a range without prices seems cheap."""
    priced = [
        Swatch(name, str(number), (50.0, 0.0, 0.0), price=price)
        for name, prices in (("A", (1.0, 2.0, 6.0, None)), ("B", (4.0,)), ("C", (None,)))
        for number, price in enumerate(prices)
    ]
    by_address = {one.swatch.address: one for one in offers_of(priced, [], None)}
    assert (by_address["A:3"].price, by_address["A:3"].assumed) == (2.0, True)
    assert (by_address["C:0"].price, by_address["C:0"].assumed) == (3.0, True)
    assert (by_address["B:0"].price, by_address["B:0"].assumed) == (4.0, False)
    assert {one.price for one in offers_of(priced, [], 9.0) if one.assumed} == {9.0}
    assert offers_of(priced[-1:], [], None)[0].price == defaults.PRICE


def greys_in_a_set(cost=3.0, **fields):
    """Three greys that two blends need, two of them in a set, one of these sold nowhere else."""
    tin = (SoldSet("Tin", cost),)
    return [
        grey("1", 30, price=None, sets=tin, **fields),
        grey("2", 40, price=2.0, sets=(SoldSet("tin"),)),
        grey("3", 50, price=2.0),
    ]


def test_a_set_is_bought_where_it_costs_less_or_nothing_else_has_its_pencils():
    needs = [ColourNeed(f"grey {L}", place((L, 0, 0)), 1.0) for L in (30, 40, 50)]
    found = plan(needs, [], greys_in_a_set(), budget=None)
    assert [(one.swatch.code, one.price, one.in_set) for one in found.buy] == [
        ("3", 2.0, ""),
        ("1", None, "Tin"),
        ("2", None, "Tin"),
    ]
    assert (found.cost, found.proved, found.guessed) == (5.0, True, False)
    # on the phone the first pencil bears the price of all, so that the sum is right
    on_list = planned_to_buy(found)
    assert [one.price for one in on_list] == [2.0, 3.0, 0.0]
    assert "set Tin of A, 2 pencils together" in on_list[1].purpose
    told = render_terminal(shopping_report(found), make_console(StringIO(), width=80))
    assert "Buy 1 pencil and 1 set for 5.00" in told
    assert "set Tin of A: 2 pencils for 3.00 together." in told
    (dear,) = plan(needs[1:2], [], greys_in_a_set()).buy  # for one of them it does not pay
    assert (dear.swatch.code, dear.price) == ("2", 2.0)
    owned = replace(greys_in_a_set()[0], owned=True)
    (_, *offers) = greys_in_a_set()
    (mine,) = plan(needs[:2], [owned], offers).buy
    assert mine.swatch.code == "2"


def test_a_set_has_one_price():
    pencils = greys_in_a_set()
    other = replace(pencils[1], sets=(SoldSet("TIN", 4.0),))
    with pytest.raises(InputError, match="costs 3 by A:1 and 4 by A:2"):
        plan([blend()], [], [pencils[0], other])


def test_nothing_is_called_proved_over_guesses():
    offers = [grey(str(L), L, price=price) for L, price in ((30, 1.0), (40, None), (50, 1.0))]
    for guessed, some in ((True, offers), (False, [replace(one, price=1.0) for one in offers])):
        found = shopping_list([blend(start=20, end=60)], [], some, default_price=None)
        assert found.status == "optimal"
        assert found.guessed == guessed
        report = shopping_report(found)
        assert report.data["proved"] != guessed
        assert ("proved" in render_terminal(report)) != guessed


def test_a_list_out_of_time_still_meets_every_need_with_an_honest_bound():
    colours = [ColourNeed(f"c{i}", place((20 + 9 * i, 0, 0)), 1.0) for i in range(8)]
    offers = [grey(f"o{i}", 20 + 9 * i, price=1.0 + i) for i in range(8)]
    for budget in (None, 12.0):
        hurried = plan(
            [*colours, blend()], GREYS, [*offers, grey("m", 53)], budget=budget, time_limit=0
        )
        best = plan([*colours, blend()], GREYS, [*offers, grey("m", 53)], budget=budget)
        assert hurried.status == "time limit"
        assert hurried.bound <= best.cost <= max(hurried.cost, budget or 0.0)
        assert hurried.buy
        assert len(hurried.unfilled) == 0 or hurried.cost <= budget


def test_the_least_cost_is_told_where_there_was_no_time_for_the_number(monkeypatch):
    cheap_chains = task.cheap_chains
    monkeypatch.setattr(
        task, "cheap_chains", lambda *of: replace(cheap_chains(*of), fewer=lambda _: None)
    )
    answer = plan([blend()], GREYS, [grey("m", 53, price=2.0), grey("n", 52, price=2.0)])
    assert (answer.status, answer.cost, answer.bound) == ("time limit", 2.0, 2.0)
    assert [(aim.name, aim.proved) for aim in answer.aims] == [("cost", True), ("pencils", False)]


@pytest.mark.parametrize("budget", [None, 3.0])
def test_a_programme_too_large_for_any_time_is_told_as_that(budget, monkeypatch):
    monkeypatch.setattr(programme, "MOST_STEPS", 3)
    offers = [grey(f"o{lightness}", lightness, price=2.0) for lightness in (50, 53, 56)]
    answer = plan([blend()], GREYS, offers, budget=budget, time_limit=None)
    assert answer.too_large
    assert not answer.proved
    assert bought(answer)
    assert answer.bound <= answer.cost
    told = " ".join(render_terminal(shopping_report(answer)).split())
    assert "the best found of too many to try them all" in told
    assert "more time would not help" in told
    assert "in time" not in told
    monkeypatch.undo()
    best = plan([blend()], GREYS, offers, budget=budget, time_limit=None)
    assert answer.cost >= best.cost >= answer.bound
    assert not best.too_large


def test_what_a_need_wishes_is_worked_out_again_only_where_its_own_pencils_are_bought(monkeypatch):
    """Needs that share no pencil cost one look each, however many there are."""
    looked_at = []
    cheapest = frugal._cheapest
    monkeypatch.setattr(
        frugal,
        "_cheapest",
        lambda part, prices: looked_at.append(part) or cheapest(part, prices),
    )
    colours = [ColourNeed(f"c{i}", place((12 + 8 * i, 0, 0)), 1.0) for i in range(10)]
    offers = [grey(f"o{i}", 12 + 8 * i, price=1.0) for i in range(10)]
    owned = [grey(f"w{i}", 15 + 8 * i, owned=True) for i in range(10)]
    assert len(plan(colours, owned, offers, time_limit=None).buy) == 10
    assert len(looked_at) <= 2 * len(colours)


def test_no_programme_is_begun_once_the_time_is_over():
    with pytest.raises(OutOfTime):
        dominated(np.ones((3, 3)), np.ones((3, 3)), np.array([True, False, True]), Clock(0.0))


def test_what_there_was_no_time_to_look_at_is_told_and_the_rest_is_bought(monkeypatch):
    ready, begun = looking.wanted_blend, []

    def until_the_third(need, supply, asked, clock):
        begun.append(need)
        return ready(need, supply, asked, Clock(0.0) if len(begun) > 2 else clock)

    monkeypatch.setattr(looking, "wanted_blend", until_the_third)
    blends = [replace(blend(), label=f"b{i}") for i in range(4)]
    answer = plan(blends, GREYS, [grey("m", 53, price=2.0)])
    assert [one.met for one in answer.needs] == [True, True, False, False]
    assert [one.reason for one in answer.needs[2:]] == [NOT_LOOKED_AT] * 2
    assert (answer.status, answer.cost, answer.bound) == ("time limit", 2.0, 2.0)
    told = render_terminal(shopping_report(answer), make_console(StringIO(), width=80))
    assert "not looked at before the time limit" in told
    assert "now: nothing" not in told


@pytest.mark.parametrize(("what", "step"), [("chains", 12.0), ("steps", 8.0)])
def test_a_blend_whose_chains_or_steps_there_was_no_time_for_is_left_and_told(
    what, step, monkeypatch
):
    """Steps by themselves are looked for where a blend cannot be closed, only come nearer."""
    find, over = getattr(WantedBlend, f"find_{what}"), Clock(0.0)
    monkeypatch.setattr(WantedBlend, f"find_{what}", lambda one, _: find(one, over))
    needs = [blend(step=step), ColourNeed("c", place((53, 0, 0)))]
    answer = plan(needs, GREYS, [grey("m", 53)], partial=True)
    assert answer.status == "time limit"
    assert [str(one.why or "") for one in answer.needs] == [str(Note(NOT_LOOKED_AT)), ""]
    assert bought(answer) == ["m"]


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 10**6), st.integers(1, 4), st.booleans())
def test_the_cheap_bound_is_never_above_the_best_list(seed, count, two):
    """Needs that share pencils and needs that do not, with pencils that serve several."""
    random = np.random.default_rng(seed)
    offers = [
        grey(f"o{i}", float(L), price=float(price))
        for i, (L, price) in enumerate(
            zip(random.integers(5, 95, 7), random.integers(1, 9, 7), strict=True)
        )
    ]
    needs = [
        ColourNeed(f"c{i}", place((float(L), 0, 0)), 4.0)
        for i, L in enumerate(random.integers(5, 95, count))
    ]
    needs += [blend(start=20, end=60)] if two else []
    best = plan(needs, GREYS[:2], offers, time_limit=None)
    hurried = plan(needs, GREYS[:2], offers, time_limit=0.0)
    assert best.proved
    assert hurried.bound <= best.cost + 1e-9


@pytest.mark.parametrize(
    ("budget", "for_laydown", "in_sets"), [(None, False, False), (6.0, True, True)]
)
def test_a_pencil_that_another_undercuts_never_enters_and_the_list_is_the_same(
    budget, for_laydown, in_sets, monkeypatch
):
    """Against the same programme with every pencil in it; alternatives may be others as good."""
    left_out = []

    def counted(*asked, undercut=task.undercut, **how):
        left_out.append(len(undercut(*asked, **how)))
        return undercut(*asked, **how)

    for seed in range(6):
        random = np.random.default_rng(seed)
        labs = random.uniform([20, -12, -12], [60, 12, 12], (40, 3)).tolist()
        prices = random.integers(1, 4, 40).tolist()
        offers = [
            swatch(
                f"{i:02d}",
                lab,
                price=price,
                laydown=1 + i % 5,
                core=list(Core)[i % 2],
                sets=(SoldSet(f"s{i % 2}", 4.0),) if in_sets and i < 6 else (),
            )
            for i, (lab, price) in enumerate(zip(labs, prices))
        ]
        aims = random.uniform([25, -8, -8], [55, 8, 8], (5, 3)).tolist()
        targets = [*map(place, aims), *(offers[::15] if for_laydown else [])]
        needs = [
            ColourNeed(f"c{i}", target, 6.0, for_laydown=for_laydown)
            for i, target in enumerate(targets)
        ]
        needs += [blend(start=25, end=50)] if seed % 3 == 0 else []
        answers = []
        for closed in (counted, lambda *_, **__: np.empty(0, dtype=np.intp)):
            monkeypatch.setattr(task, "undercut", closed)
            answers.append(plan(needs, GREYS[:1], offers, budget=budget, time_limit=None))
        others = [[(one.cost, one.shortfall) for one in each.alternatives] for each in answers]
        assert others[0] == pytest.approx(np.array(others[1]), rel=1e-6, abs=1e-6)
        assert replace(answers[0], alternatives=()) == replace(answers[1], alternatives=())
    assert sum(left_out) > 10


@pytest.mark.parametrize("budget", [None, 7.0])
def test_what_no_list_as_cheap_may_hold_never_enters_and_the_list_is_the_same(budget, monkeypatch):
    """Against the same programme with every pencil in it and with every blend whole, be its chain
    there already or not.
    """
    may_hold, left_out, has_chain = purchase._may_hold, [], WantedBlend.has_chain
    chains = []

    def counted(*of):
        may = may_hold(*of)
        left_out.append((~may).sum())
        chains.extend(has_chain.fget(one) for one in of[0].blends)
        return may

    owned = [grey(f"g{lightness}", lightness, owned=True) for lightness in range(30, 60, 8)]
    for seed in range(3):
        random = np.random.default_rng(seed)
        labs = random.uniform([35, -5, -5], [85, 5, 5], (24, 3)).tolist()
        offers = [swatch(f"{i:02d}", lab, price=1.0 + i % 3) for i, lab in enumerate(labs)]
        needs = [ColourNeed(f"c{i}", place(lab), 4.0) for i, lab in enumerate(labs[:3])]
        for name, end in (("short", (55, 4, 4)), ("long", (85, 0, 0))):
            ends = place((32, 0, 0), "start"), place(end, "end")
            needs.append(BlendNeed(name, *ends, 14.0, 20.0, tolerance=5.0))
        answers = []
        for may, there in ((counted, has_chain), (lambda asked, *_: asked.prices >= 0.0, False)):
            monkeypatch.setattr(purchase, "_may_hold", may)
            monkeypatch.setattr(WantedBlend, "has_chain", there)
            answers.append(plan(needs, owned, offers, budget=budget, time_limit=None))
        others = [[(one.cost, one.shortfall) for one in each.alternatives] for each in answers]
        assert others[0] == pytest.approx(np.array(others[1]), rel=1e-6, abs=1e-6)
        lists = [(bought(one), one.cost, one.shortfall) for one in answers]
        assert answers[0].needs == answers[1].needs
        assert lists[0] == lists[1]
    assert sum(left_out) > 10
    assert 0 < sum(chains) < len(chains)


@pytest.mark.parametrize("in_sets", [False, True])
def test_steps_that_are_too_dear_never_enter_and_the_list_is_the_same(in_sets, monkeypatch):
    """Against the same programme with every step in it, with recipes that share their pencils."""
    cheap_chains, left, made, fewest = task.cheap_chains, [0, 0], [], []

    def counted(parts, *of):
        found = cheap_chains(parts, *of)
        left[0] += sum(len(part.source) for part in parts)
        left[1] += sum(len(part.source) for part in found.within(found.most))
        made.append(found)
        return replace(found, fewer=lambda bought: fewest.append(found.fewer(bought)) or fewest[-1])

    for seed in range(2):
        random = np.random.default_rng(seed)
        labs = random.uniform([22, -7, -7], [88, 7, 7], (26, 3)).tolist()
        tins = [(SoldSet(f"t{i}", 3.0),) for i in range(2)]
        offers = [
            swatch(
                f"{i:02d}",
                lab,
                price=float(random.integers(1, 5)) * (1.0, 0.35)[seed % 2],
                sets=tins[i % 2] if in_sets and i < 8 else (),
            )
            for i, lab in enumerate(labs)
        ]
        pairs = [random.choice(len(offers), 2, replace=False) for _ in range(5)]
        recipes = [
            LaidStack(
                Stack.of(offers[i], offers[j]), (float(random.uniform(25, 85)), 1.0, 0.0), 1.0
            )
            for i, j in pairs
        ]
        needs = [ColourNeed(f"c{i}", place(lab), 5.0) for i, lab in enumerate(labs[:3])]
        needs += [blend("a", 22, 85, step=13.0), blend("b", 35, 80, step=12.0, tolerance=6.0)]
        answers = []
        for cheap in (counted, lambda *_: None):
            monkeypatch.setattr(task, "cheap_chains", cheap)
            options = {"budget": None, "time_limit": None, "recipes": recipes, "alternatives": 4}
            answers.append(plan(needs, GREYS[:1], offers, **options))
        assert answers[0].proved
        assert made[-1].bound <= answers[0].cost + 1e-9
        others = [[(one.cost, one.shortfall) for one in each.alternatives] for each in answers]
        assert others[0] == pytest.approx(np.array(others[1]), rel=1e-6, abs=1e-6)
        aims = [[one.value for one in each.aims] for each in answers]
        assert aims[0] == pytest.approx(aims[1])
        (number,) = (one.value for one in answers[1].aims if one.name == "pencils")
        assert 0.0 < fewest[-1].bound <= number + 1e-9
        lists = [replace(one, alternatives=(), aims=(), bound=0.0) for one in answers]
        assert lists[0] == lists[1]
    assert len(made) == 2
    assert left[1] < 0.9 * left[0]  # so small a question has few steps to spare


def test_the_same_to_the_eye_are_those_that_a_whole_table_finds():
    random = np.random.default_rng(5)
    some = [
        Swatch("A", str(i), tuple(one))
        for i, one in enumerate(random.uniform([40, -8, -8], [60, 8, 8], (300, 3)).tolist())
    ]
    supply = supply_of(some[:100], some[100:], 1.0)
    theirs, ours = labs_of([each.swatch for each in supply.offers]), labs_of(supply.owned)
    table = delta_E(theirs[:, None], ours)
    found = {one.swatch.code: (one.owned.code, one.delta_E) for one in same_as_owned([supply])}
    near = np.flatnonzero(table.min(axis=1) <= SAME_TO_THE_EYE)
    assert len(near) > 5
    assert found == {
        supply.offers[row].swatch.code: (supply.owned[col].code, table[row, col])
        for row, col in zip(near, table[near].argmin(axis=1), strict=True)
    }


def everything(index, targets, reach, allowed=None):
    """What `nearest_within` says with no reach at all: every way there is."""
    return nearest_within(index, targets, np.full(len(targets), np.inf), allowed)


@pytest.mark.parametrize("budget", [None, 4.0])
def test_the_few_ways_that_are_kept_answer_as_all_ways_would(budget, monkeypatch):
    """With nothing owned, with shades that do not serve themselves, within and beyond reach."""
    kept = []

    def counted(*args):
        for near in nearest_within(*args):
            kept.append(len(near.rows))
            yield near

    for seed in range(4):
        random = np.random.default_rng(seed)
        labs = random.uniform([10, -40, -40], [90, 40, 40], (60, 3)).tolist()
        offers = [
            swatch(f"{i:02d}", lab, price=float(i % 4), laydown=1 + i % 5, core=list(Core)[i % 2])
            for i, lab in enumerate(labs)
        ]
        needs = [
            ColourNeed(f"c{i}", target, 8.0, for_laydown=True)
            for i, target in enumerate([*offers[::10], *map(place, labs[5::20] + np.array(9.0))])
        ]
        needs += [blend(start=20, end=70)] if seed % 3 == 0 else []
        owned = [] if seed % 2 else GREYS[:2]
        answers = []
        for ways in (counted, everything):
            monkeypatch.setattr(layings, "nearest_within", ways)
            answers.append(plan(needs, owned, offers, budget=budget, time_limit=None))
        assert answers[0] == answers[1]
    share = 0.5 if budget is None else 1.0  # with one, and nothing owned, every way counts
    assert sum(kept) < share * len(kept) * len(offers)
