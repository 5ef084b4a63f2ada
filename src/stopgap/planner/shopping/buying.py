"""The shopping list: the least purchase that meets every need that can be met, proved."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from stopgap.arrays import Booleans, Floats
from stopgap.colorimetry.cam16 import lab_to_cam16_ucs
from stopgap.defaults import TIME_LIMIT
from stopgap.difference import DEFAULT_METRIC, DifferenceFunction
from stopgap.errors import InputError
from stopgap.planner.materials import RecipeSource, unique_swatches
from stopgap.planner.shopping.alternatives import alternatives_to, same_as_owned
from stopgap.planner.shopping.answer import (
    Alternative,
    Chain,
    Laid,
    NeedAnswer,
    Purchase,
    ShoppingList,
    Stage,
)
from stopgap.planner.shopping.blend_graph import Passage, Space, passage_of
from stopgap.planner.shopping.heuristic import frugal_purchase
from stopgap.planner.shopping.lexicographic import COUNTED, Progress, Question, best_purchase
from stopgap.planner.shopping.listed_colour import Choice, choice_of
from stopgap.planner.shopping.needs import BlendNeed, Need
from stopgap.planner.shopping.offers import Offer, check_price, offers_of
from stopgap.planner.shopping.programme import model_of
from stopgap.planner.shopping.reasons import why_nothing, why_open
from stopgap.planner.shopping.supply import Supply, supply_of
from stopgap.planner.solver import Clock
from stopgap.swatches import Swatch

Part = Passage | Choice


def shopping_list(
    needs: Sequence[Need],
    owned: Sequence[Swatch],
    candidates: Sequence[Swatch],
    *,
    default_price: float,
    budget: float | None = None,
    partial: bool = False,
    ways: RecipeSource = (),
    metric: str | DifferenceFunction = DEFAULT_METRIC,
    space: Space = lab_to_cam16_ucs,
    alternatives: int = 3,
    time_limit: float | None = TIME_LIMIT,
    progress: Progress | None = None,
) -> ShoppingList:
    """What to buy so that blends have no gaps and listed colours can be laid.

    Without a budget: of all purchases that meet every need that can be met, one of least cost, of
    those one of fewest pencils, of those one that allows the smallest largest step in the blends
    that were open (as shown, a blend takes few recipes rather than the smallest steps); remaining
    ties go by address. With a budget: of all purchases that cost no more, one
    that leaves the least shortfall, which is what steps and colours have over their limits, in sum
    over the needs that could be met and times their weights; then as without.

    Parameters
    ----------
    needs
        Blends and listed colours; shades to stand in for are listed colours.
    owned, candidates
        Pencils at hand and pencils for sale, already selected by finish, status, lightfastness and
        so on. Candidates that are owned too are not for sale.
    default_price
        What a candidate without a price is taken to cost; its purchase says so.
    partial
        Whether to buy for needs that nothing can meet in full as well, so that they fall short of
        their limits as little as can be; otherwise no money goes there.
    ways
        Recipes and tints, or a function that makes them from all pencils and the colours aimed at:
        the listed ones and points inside the gaps. They are there once their pencils are.
    space
        Coordinates in which the way of a blend is straight, from CIE L*a*b*, (n, 3) -> (n, 3).
    alternatives
        How many other lists to look for.
    time_limit
        Seconds; after them the best purchase found, with its bound. None for as long as it takes.
    progress
        Told each aim as it is pursued.

    Raises
    ------
    InputError
        For an empty list of needs, a price or budget that is not a number of at least 0, or an
        address with two contents.
    """
    if not needs:
        raise InputError("needs: nothing is asked for; give at least one blend or colour.")
    if budget is not None:
        check_price(budget, "budget")
    clock = Clock(time_limit)
    mine = unique_swatches(owned, "owned")
    offers = offers_of(candidates, mine, default_price)
    make = _PartMaker(metric, space)
    supply = _supply(needs, mine, offers, ways, make)
    parts = [make(need, supply) for need in needs]
    asked = _asked(parts, len(offers), partial=partial)
    prices = np.array([offer.price for offer in offers], dtype=np.float64)
    question = _question(asked, prices, budget, partial, clock, progress or _say_nothing)
    bought = np.zeros(len(offers), dtype=bool)
    stages: tuple[Stage, ...] = ()
    others: tuple[Alternative, ...] = ()
    if question.passages or question.choices:
        found, stages = best_purchase(question)
        frugal = frugal_purchase(question)
        bought = frugal if found is None else min(found, frugal, key=question.merit)
        if bought is not found:
            # a proof that a plain heuristic undercuts is none, whatever the solver says
            stages = tuple(replace(stage, proved=False) for stage in stages)
        elif all(stage.proved for stage in stages if stage.aim in COUNTED):
            others = alternatives_to(bought, question, offers, alternatives)
    return _answer(parts, mine, offers, question, bought, stages, others)


@dataclass(frozen=True, slots=True)
class _PartMaker:
    metric: str | DifferenceFunction
    space: Space

    def __call__(self, need: Need, supply: Supply) -> Part:
        if isinstance(need, BlendNeed):
            return passage_of(need, supply, self.metric, self.space)
        return choice_of(need, supply, self.metric)


def _supply(
    needs: Sequence[Need],
    owned: Sequence[Swatch],
    offers: Sequence[Offer],
    ways: RecipeSource,
    make: Callable[[Need, Supply], Part],
) -> Supply:
    """The supply with recipes; a function that makes them is told what is aimed at."""
    aims: list[Floats] = []
    if callable(ways):
        alone = supply_of(owned, offers, (), np.empty((0, 3)))
        nothing = np.zeros(len(offers), dtype=bool)
        for need in sorted(needs, key=lambda need: need.key):
            part = make(need, alone)
            aims.append(
                part.inside_gaps(nothing)
                if isinstance(part, Passage)
                else np.array([part.need.lab], dtype=np.float64)
            )
    return supply_of(owned, offers, ways, np.concatenate([np.empty((0, 3)), *aims]))


def _asked(parts: Sequence[Part], n_offers: int, *, partial: bool) -> list[Part]:
    """The needs that a purchase meets, or with `partial` brings nearer, sorted."""
    nothing, everything = np.zeros(n_offers, dtype=bool), np.ones(n_offers, dtype=bool)
    asked = []
    for part in sorted(parts, key=lambda part: part.need.key):
        least = part.shortfall(everything)
        if part.shortfall(nothing) > least and (partial or least == 0.0):
            asked.append(part)
    return asked


def _question(
    asked: Sequence[Part],
    prices: Floats,
    budget: float | None,
    partial: bool,
    clock: Clock,
    progress: Progress,
) -> Question:
    passages = tuple(part for part in asked if isinstance(part, Passage))
    choices = tuple(part for part in asked if isinstance(part, Choice))
    may_stay_open = partial or budget is not None
    model = model_of(passages, choices, len(prices), may_stay_open=may_stay_open)
    return Question(passages, choices, prices, model, budget, partial, clock, progress)


def _say_nothing(aim: str) -> None:
    """Progress that nobody follows."""


def _answer(
    parts: Sequence[Part],
    owned: Sequence[Swatch],
    offers: Sequence[Offer],
    question: Question,
    bought: Booleans,
    stages: tuple[Stage, ...],
    others: tuple[Alternative, ...],
) -> ShoppingList:
    nothing, everything = np.zeros_like(bought), np.ones_like(bought)
    answers = []
    for part in parts:
        before, after = _laid(part, nothing), _laid(part, bought)
        reason = ""
        if after is None or not after.met:
            reason = why_open(part.need, _laid(part, everything), question.budget)
        answers.append(NeedAnswer(part.need, before, after, reason))
    same = same_as_owned(offers, owned)
    buy = tuple(
        Purchase(
            offer.swatch,
            offer.price,
            offer.assumed,
            _purposes(offer.swatch, answers),
            tuple(one.owned for one in same if one.swatch is offer.swatch),
        )
        for offer, taken in zip(offers, bought)
        if taken
    )
    bought_addresses = {purchase.swatch.address for purchase in buy}
    cost = question.cost(bought)
    costs = [stage for stage in stages if stage.aim == "cost"]
    solvable = any(answer.met for answer in answers) or question.passages or question.choices
    proved = all(stage.proved for stage in stages)
    return ShoppingList(
        status="time limit" if not proved else "optimal" if solvable else "infeasible",
        buy=buy,
        cost=cost,
        bound=min(cost, costs[0].bound) if costs else (cost if proved else 0.0),
        shortfall=question.shortfall(bought),
        stages=stages,
        needs=tuple(answers),
        alternatives=others,
        not_to_buy=tuple(one for one in same if one.swatch.address not in bought_addresses),
        because="" if buy else why_nothing(answers, offers, question),
    )


def _laid(part: Part, bought: Booleans) -> Chain | Laid | None:
    return part.chain(bought) if isinstance(part, Passage) else part.laid(bought)


def _purposes(swatch: Swatch, answers: Sequence[NeedAnswer]) -> tuple[str, ...]:
    """The labels of the needs that are laid with the pencil."""
    return tuple(
        answer.need.label
        for answer in answers
        if answer.after is not None
        and any(swatch.address in way.addresses for way in answer.after.ways)
    )
