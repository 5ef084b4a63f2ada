"""The shopping list: the least purchase that meets every need that can be met, proved."""

import time
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from stopgap.arrays import Booleans
from stopgap.blends import Recipes
from stopgap.defaults import TIME_LIMIT
from stopgap.errors import InputError, Note
from stopgap.planner.materials import RecipeSource, unique_swatches
from stopgap.planner.shopping.answer import (
    NOT_LOOKED_AT,
    TIME_CAME_FIRST,
    Aim,
    Alternative,
    NeedAnswer,
    ShoppingList,
)
from stopgap.planner.shopping.frugal import frugal_purchase, least_cost, least_gain
from stopgap.planner.shopping.lexicographic.alternatives import alternatives_to
from stopgap.planner.shopping.lexicographic.purchase import best_purchase
from stopgap.planner.shopping.lexicographic.pursuing import settled
from stopgap.planner.shopping.looking import (
    ExaminedNeed,
    Wanted,
    asked_for,
    look,
    weigh_together,
    why_open,
)
from stopgap.planner.shopping.offers import (
    Offer,
    check_price,
    currency_of,
    offers_of,
    sets_for_sale,
)
from stopgap.planner.shopping.purchases import purchases_of
from stopgap.planner.shopping.question import Need, Supply, same_as_owned
from stopgap.planner.shopping.task import Progress, Task
from stopgap.planner.shopping.wanted import WantedBlend, WantedColour
from stopgap.planner.solver import Clock
from stopgap.swatches import Swatch

_MADE_READY = 0.6
"""Share of a time limit after which no more needs are made ready."""

_TOLD = 0.3
"""Share of a time limit that is kept back at most for telling how the needs stand."""

_AT_LEAST = 0.3
"""Seconds that a good list may take in any case, without a proof."""


def shopping_list(
    needs: Sequence[Need],
    owned: Sequence[Swatch],
    candidates: Sequence[Swatch],
    *,
    default_price: float | None,
    budget: float | None = None,
    partial: bool = False,
    recipes: RecipeSource = (),
    recipes_along: Recipes | None = None,
    alternatives: int = 3,
    time_limit: float | None = TIME_LIMIT,
    progress: Progress | None = None,
) -> ShoppingList:
    """What to buy so that blends have no gaps and listed colours can be laid.

    Without a budget: of all purchases that meet every need that can be met, one of least cost, of
    those one of fewest pencils, of those one with which the blends that were open have the least
    toll in sum; remaining ties go by address. With a budget: of all purchases that cost no more,
    one that leaves the least shortfall, which is that of the blends and what colours have over
    their tolerances, in sum over the needs that could be met and times their weights; then as
    without. Shortfall and toll of a blend are those of `blends.graph`, and each blend is laid as
    `blend` lays it with what is there.

    Parameters
    ----------
    needs
        Blends and listed colours; shades to stand in for are listed colours.
    owned, candidates
        Pencils at hand and pencils for sale, already selected by finish, status, lightfastness and
        so on. Candidates that are owned too are not for sale.
    default_price
        What a candidate without a price is taken to cost; its purchase says so. None guesses it:
        the median of its range, else of all candidates.
    partial
        Whether to buy for needs that nothing can meet in full as well, so that they fall short of
        their limits as little as can be; otherwise no money goes there.
    recipes
        Recipes and tints, or a function that makes them from all pencils and the colours aimed at:
        those along the paths of a blend, and the listed ones. They are there once their pencils
        are.
    recipes_along
        What blends are laid with in their place, as `blend` takes it.
    alternatives
        How many other lists to look for.
    time_limit
        Seconds; after them the best purchase found, with its bound. None for as long as it takes.
        Needs that there was no time to look at stay open.
    progress
        Told each aim as it is pursued.

    Raises
    ------
    InputError
        For an empty list of needs, a price or budget that is not a number of at least 0, prices in
        several currencies, or an address with two contents.
    """
    if not needs:
        raise InputError("needs: nothing is asked for; give at least one blend or colour.")
    supply = supply_of(owned, candidates, default_price)
    return list_for(
        [(needs, replace(supply, recipes=recipes, recipes_along=recipes_along))],
        budget=budget,
        partial=partial,
        alternatives=alternatives,
        time_limit=time_limit,
        progress=progress,
    )


def supply_of(
    owned: Sequence[Swatch],
    candidates: Sequence[Swatch],
    default_price: float | None,
    known: Sequence[Swatch] = (),
) -> Supply:
    """What needs on one paper are met with, from what `shopping_list` is given; raises as it.

    `known` are other pencils, which come with a set but are not to be used.
    """
    mine = unique_swatches(owned, "owned")
    offers = tuple(offers_of(candidates, mine, default_price, known))
    return Supply(tuple(mine), offers, sets_for_sale(offers, [*mine, *known]))


def list_for(
    parts: Sequence[tuple[Sequence[Need], Supply]],
    *,
    budget: float | None = None,
    partial: bool = False,
    alternatives: int = 3,
    time_limit: float | None = TIME_LIMIT,
    progress: Progress | None = None,
) -> ShoppingList:
    """One shopping list for needs on several papers, each part with its pencils as they look there.

    All supplies are of the same pencils. Needs are told part by part; else as `shopping_list`.
    """
    if budget is not None:
        check_price(budget, "budget")
    clock = Clock(time_limit)
    supplies = [supply for _, supply in parts]
    sale = supplies[0].sale
    good = Clock(None if time_limit is None else max(time_limit, _AT_LEAST), clock.started)
    ready, open_ = good.part(_MADE_READY), budget is not None
    looked = [
        one for part in parts for one in look(*part, ready, may_stay_open=open_, partial=partial)
    ]
    asked, unseen = asked_for(looked, len(sale.offers), good.half(), partial=partial)
    nothing = np.zeros(len(sale.prices), dtype=bool)
    spent = _time_to_tell(asked, np.zeros(len(sale.offers), dtype=bool), time_limit)
    task = Task.of(asked, sale, budget, clock.less(spent), progress or _say_nothing)
    bought, bound = nothing, 0.0
    aims: tuple[Aim, ...] = ()
    others: tuple[Alternative, ...] = ()
    if asked:
        bound = least_cost(task, good.less(spent))
        task = replace(task, known=frugal_purchase(task, good.less(spent)))
        bought, aims, counted = best_purchase(task)
        bound = max(bound, least_gain(task, bought))
        if settled(aims) and not unseen:
            others = alternatives_to(bought, task, counted, alternatives)
    if unseen:
        seen = len(looked) - len(unseen)
        aims = (*_of_all(aims, task), Aim("needs looked at", len(looked), seen, proved=False))
    keys = {need.key for need in unseen}
    there = sale.there(bought)
    weigh_together([one.wanted for one in looked], there)
    answers = tuple(_need_answer(one, there, task, missed=one.need.key in keys) for one in looked)
    return _answer(answers, supplies, task, bought, aims, others, bound)


def _of_all(aims: tuple[Aim, ...], task: Task) -> tuple[Aim, ...]:
    """Of aims of some needs what is proved of all: with a budget others might be worth more than
    what was bought.
    """
    if task.budget is None:
        return aims
    return tuple(aim._replace(bound=0.0, proved=False) for aim in aims)


def _time_to_tell(asked: Sequence[Wanted], nothing: Booleans, time_limit: float | None) -> float:
    """Seconds that it takes to say how needs stand before and after, recipes at once and
    the rest by the first of each kind.

    At most the share of the limit that is kept for it.
    """
    at = time.monotonic()
    weigh_together(asked, nothing)
    spent = 2.0 * (time.monotonic() - at)
    for kind in (WantedBlend, WantedColour):
        alike = [one for one in asked if isinstance(one, kind)]
        at = time.monotonic()
        for one in alike[:1]:
            one.answer(nothing)
        spent += 2.0 * (time.monotonic() - at) * len(alike)
    return spent if time_limit is None else min(spent, _TOLD * time_limit)


def _say_nothing(aim: str) -> None:
    """Progress that nobody follows."""


def _answer(
    answers: tuple[NeedAnswer, ...],
    supplies: Sequence[Supply],
    task: Task,
    bought: Booleans,
    aims: tuple[Aim, ...],
    others: tuple[Alternative, ...],
    bound: float,
) -> ShoppingList:
    same, offers = same_as_owned(supplies), supplies[0].offers
    sets = task.sale.sets_bought(bought)
    buy = purchases_of(task.sale.singly_bought(bought), sets, offers, answers, same)
    addresses = {purchase.swatch.address for purchase in buy}
    cost = task.cost(bought)
    proved = all(aim.proved for aim in aims)
    bounds = [cost if proved else 0.0, *(aim.bound for aim in aims if aim.name == "cost")]
    bound = max(bound, bounds[-1])
    return ShoppingList(
        status=_status(answers, task, proved=proved),
        buy=buy,
        cost=cost,
        bound=min(cost, bound),
        shortfall=task.shortfall(bought),
        aims=aims,
        needs=answers,
        alternatives=others,
        not_to_buy=tuple(one for one in same if one.swatch.address not in addresses),
        because="" if buy else _why_nothing(answers, offers, task),
        currency=currency_of(offers),
        guessed=any(offer.assumed for offer in offers),
        sets=sets,
    )


def _need_answer(looked: ExaminedNeed, bought: Booleans, task: Task, *, missed: bool) -> NeedAnswer:
    """How a need stands with the pencils bought, and why it stays open: there was no time for it,
    or by what everything for sale would make of it.
    """
    need, wanted = looked
    if wanted is None:
        return NeedAnswer(need, None, None, Note(NOT_LOOKED_AT))
    before = after = wanted.answer(np.zeros_like(bought))
    if bought.any() and (then := wanted.answer(bought)) != before:
        after = then
    if after is not None and after.met:
        return NeedAnswer(need, before, after)
    everything = np.ones_like(bought)
    if missed or (task.budget is None and wanted.met(everything)):
        return NeedAnswer(need, before, after, Note(TIME_CAME_FIRST))
    why = why_open(need, wanted.at_best(everything), task.budget)
    return NeedAnswer(need, before, after, why)


def _status(answers: Sequence[NeedAnswer], task: Task, *, proved: bool) -> str:
    if not proved:
        return "time limit"
    solvable = task.blends or task.colours or any(answer.met for answer in answers)
    return "optimal" if solvable else "infeasible"


def _why_nothing(answers: Sequence[NeedAnswer], offers: Sequence[Offer], task: Task) -> str:
    """Why nothing is to be bought."""
    if all(answer.met for answer in answers):
        return "what is owned meets every need already"
    if not offers:
        return "nothing is for sale: every candidate is owned, or there is none"
    if not (task.blends or task.colours):
        return "no purchase would meet any of the needs that are open"
    if task.budget is None:
        return "nothing was found within the time limit"
    cheapest = float(np.min(task.prices))
    if task.budget < cheapest:
        of_all = "pencil or set" if task.sale.sets else "pencil"
        return f"the budget of {task.budget:g} is below the cheapest {of_all}, {cheapest:g}"
    return f"nothing that the budget of {task.budget:g} buys brings any need nearer"
