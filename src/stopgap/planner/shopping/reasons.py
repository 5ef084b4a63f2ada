"""Why a need stays open and why there is nothing to buy, in one sentence each."""

from collections.abc import Sequence

import numpy as np

from stopgap.planner.shopping.answer import Chain, Laid, NeedAnswer
from stopgap.planner.shopping.lexicographic import Question
from stopgap.planner.shopping.needs import BlendNeed, Need
from stopgap.planner.shopping.offers import Offer
from stopgap.swatches import FreeColour, Target


def why_open(need: Need, with_everything: Chain | Laid | None, budget: float | None) -> str:
    """Why a need stays open, from how it would stand if everything for sale were bought."""
    if with_everything is None:
        return "nothing is owned and nothing is for sale"
    if with_everything.met:
        return "the time limit came first" if budget is None else f"over the budget of {budget:g}"
    if isinstance(with_everything, Laid):
        return (
            f"the nearest there is, {with_everything.way.label}, is {with_everything.delta_E:.1f} "
            f"away, over the tolerance of {with_everything.tolerance:g}"
        )
    if isinstance(need, BlendNeed) and not with_everything.ends_there:
        there = (with_everything.start_there, with_everything.end_there)
        ends = [_name(end) for end, is_there in zip((need.start, need.end), there) if not is_there]
        return (
            f"{' and '.join(ends)} can be neither had nor bought; "
            "give the colour in its place to plan without that pencil"
        )
    return "even with everything for sale, " + "; ".join(
        f"{with_everything.stops[place].label} to {with_everything.stops[place + 1].label} "
        f"is a step of {with_everything.steps[place]:.1f}, over {with_everything.limit:g}"
        for place in with_everything.gaps
    )


def why_nothing(answers: Sequence[NeedAnswer], offers: Sequence[Offer], question: Question) -> str:
    """Why nothing is to be bought."""
    if all(answer.met for answer in answers):
        return "what is owned meets every need already"
    if not offers:
        return "nothing is for sale: every candidate is owned, or there is none"
    if not (question.passages or question.choices):
        return "no purchase would meet any of the needs that are open"
    budget = question.budget
    if budget is None:
        return "nothing was found within the time limit"
    cheapest = float(np.min(question.prices))
    if budget < cheapest:
        return f"the budget of {budget:g} is below the cheapest pencil, {cheapest:g}"
    return f"nothing that the budget of {budget:g} buys brings any need nearer"


def _name(end: Target) -> str:
    return end.label if isinstance(end, FreeColour) else end.address
