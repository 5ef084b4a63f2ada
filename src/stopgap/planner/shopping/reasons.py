"""Why a need stays open and why there is nothing to buy, in one sentence each."""

from collections.abc import Sequence

import numpy as np

from stopgap.planner.shopping.answer import LaidBlend, LaidColour, NeedAnswer
from stopgap.planner.shopping.lexicographic import Task
from stopgap.planner.shopping.supply import Offer


def why_open(with_everything: LaidBlend | LaidColour | None, budget: float | None) -> str:
    """Why a need stays open, from how it would stand if everything for sale were bought."""
    if with_everything is None:
        return "nothing is owned and nothing is for sale"
    if with_everything.met:
        return "the time limit came first" if budget is None else f"over the budget of {budget:g}"
    if isinstance(with_everything, LaidColour):
        return (
            f"the nearest there is, {with_everything.laid.label}, is {with_everything.delta_E:.1f} "
            f"away, over the tolerance of {with_everything.tolerance:g}"
        )
    if not with_everything.ends_there:
        there = (with_everything.start_there, with_everything.end_there)
        ends = [end for end, is_there in zip(with_everything.ends, there) if not is_there]
        return (
            f"{' and '.join(ends)} can be neither had nor bought; "
            "give the colour in its place to plan without that pencil"
        )
    labels, blend = with_everything.labels, with_everything.blend
    return "even with everything for sale, " + "; ".join(
        f"{labels[place]} to {labels[place + 1]} "
        f"is a step of {blend.steps[place]:.1f}, over {blend.limit:g}"
        for place in blend.over_limit
    )


def why_nothing(answers: Sequence[NeedAnswer], offers: Sequence[Offer], task: Task) -> str:
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
        return f"the budget of {task.budget:g} is below the cheapest pencil, {cheapest:g}"
    return f"nothing that the budget of {task.budget:g} buys brings any need nearer"
