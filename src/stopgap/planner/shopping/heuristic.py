"""A good purchase without a proof, for when the time is over.

Each need by itself has a cheapest purchase: the cheapest chain of a blend, the cheapest laying of
a colour, with what is bought already for nothing. Taken one after the other, dearest saving first,
they make a list; then every pencil is given back that no need misses, the dearest first.
"""

import numpy as np

from stopgap.arrays import Booleans, Floats
from stopgap.blends.graph import ROUNDING
from stopgap.planner.shopping.lexicographic import Task
from stopgap.planner.shopping.reduction import least_sums, on_chains
from stopgap.planner.shopping.wanted import Route, WantedBlend, WantedColour
from stopgap.planner.solver import TOLERANCE


def frugal_purchase(task: Task) -> Booleans:
    """Within the budget if there is one; else one that brings every need as near as can be."""
    bought = np.zeros(len(task.prices), dtype=bool)
    left: list[WantedBlend | WantedColour] = [*task.blends, *task.colours]
    while left:
        wishes = [bought | _cheapest(part, task.prices * ~bought) for part in left]
        costs = [task.cost(wish) - task.cost(bought) for wish in wishes]
        gains = [
            part.need.weight * (part.shortfall(bought) - part.shortfall(wish))
            for part, wish in zip(left, wishes)
        ]
        worth = [gain / (cost + TOLERANCE) for gain, cost in zip(gains, costs)]
        if task.budget is not None:
            room = task.budget - task.cost(bought) + TOLERANCE
            worth = [value if cost <= room else -1.0 for value, cost in zip(worth, costs)]
        best = int(np.argmax(worth))
        if worth[best] < 0.0:
            break
        bought = wishes[best]
        del left[best]
    return _without_the_needless(task, bought)


def _without_the_needless(task: Task, bought: Booleans) -> Booleans:
    """Less each pencil in turn, the dearest first, that no need misses."""
    kept, least = bought.copy(), task.shortfall(bought)
    for offer in np.flatnonzero(bought)[np.argsort(-task.prices[bought], kind="stable")]:
        kept[offer] = False
        kept[offer] = task.shortfall(kept) > least + TOLERANCE
    return kept


def _cheapest(wanted: WantedBlend | WantedColour, prices: Floats) -> Booleans:
    """The offers of the cheapest purchase that brings one need as near as can be."""
    if isinstance(wanted, WantedColour):
        price = np.array([prices[list(offers)].sum() for offers in wanted.missing])
        near = wanted.delta_E <= max(wanted.need.tolerance, wanted.delta_E[0])
        taken = set(wanted.missing[int(np.where(near, price, np.inf).argmin())])
    else:
        chains = (_cheapest_chain(route, wanted, prices) for route in wanted.routes)
        taken = min((chain for chain in chains if chain is not None), key=lambda one: one[0])[1]
        taken |= {offer for end in wanted.ends for offer in end or ()}
    return np.isin(np.arange(len(prices)), list(taken))


def _cheapest_chain(
    route: Route, wanted: WantedBlend, prices: Floats
) -> tuple[float, set[int]] | None:
    """Price and offers of the cheapest chain of those that fall short as little as can be."""
    best = on_chains(route.shortfall, wanted.least_shortfall + ROUNDING)
    if not best.any():
        return None
    price = np.array([prices[list(offers)].sum() for offers in route.missing])
    cost = np.where(best, price, np.inf)
    to_end = least_sums(cost)[1]
    node, taken = 0, set[int]()
    while node != len(price) - 1:
        node = int((cost[node] + to_end).argmin())
        taken |= set(route.missing[node])
    return float(to_end[0]), taken
