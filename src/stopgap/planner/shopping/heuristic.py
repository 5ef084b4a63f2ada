"""A good purchase without a proof, for when the time is over.

Each need by itself has a cheapest purchase: the cheapest chain of a blend, the cheapest way of a
colour, with what is bought already for nothing. Taken one after the other, dearest saving first,
they make a list; then every pencil is given back that no need misses, the dearest first.
"""

import numpy as np

from stopgap.arrays import Booleans, Floats
from stopgap.planner.chains import cheapest_chain
from stopgap.planner.shopping.blend_graph import Passage
from stopgap.planner.shopping.lexicographic import Question
from stopgap.planner.shopping.listed_colour import Choice
from stopgap.planner.solver import TOLERANCE


def frugal_purchase(question: Question) -> Booleans:
    """Within the budget if there is one; else one that brings every need as near as can be."""
    bought = np.zeros(len(question.prices), dtype=bool)
    left: list[Passage | Choice] = [*question.passages, *question.choices]
    while left:
        wishes = [bought | _cheapest(part, question.prices * ~bought) for part in left]
        costs = [question.cost(wish) - question.cost(bought) for wish in wishes]
        gains = [
            part.need.weight * (part.shortfall(bought) - part.shortfall(wish))
            for part, wish in zip(left, wishes)
        ]
        worth = [gain / (cost + TOLERANCE) for gain, cost in zip(gains, costs)]
        if question.budget is not None:
            room = question.budget - question.cost(bought) + TOLERANCE
            worth = [value if cost <= room else -1.0 for value, cost in zip(worth, costs)]
        best = int(np.argmax(worth))
        if worth[best] < 0.0:
            break
        bought = wishes[best]
        del left[best]
    return _without_the_needless(question, bought)


def _without_the_needless(question: Question, bought: Booleans) -> Booleans:
    """Less each pencil in turn, the dearest first, that no need misses."""
    kept, least = bought.copy(), question.shortfall(bought)
    for offer in np.flatnonzero(bought)[np.argsort(-question.prices[bought], kind="stable")]:
        kept[offer] = False
        kept[offer] = question.shortfall(kept) > least + TOLERANCE
    return kept


def _cheapest(part: Passage | Choice, prices: Floats) -> Booleans:
    """The offers of the cheapest purchase that brings one need as near as can be."""
    wanted = np.zeros(len(prices), dtype=bool)
    missing = [list(offers or ()) for offers in part.missing]
    price = np.array([prices[offers].sum() for offers in missing])
    if isinstance(part, Passage):
        stops = cheapest_chain(part.steps, part.need.step, price)
    else:
        near = part.delta_E <= max(part.need.tolerance, part.delta_E[0])
        stops = [int(np.where(near, price, np.inf).argmin())]
    for stop in stops:
        wanted[missing[stop]] = True
    return wanted
