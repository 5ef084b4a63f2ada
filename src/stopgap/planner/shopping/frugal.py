"""A good purchase without a proof, and a bound that costs little: what stands when time is over.

Each need by itself has a cheapest purchase: the cheapest chain of a blend, the cheapest laying of a
colour, with what is bought already for nothing. Taken one after the other, dearest saving first,
they make a list; where a set costs less than what it brings, it is bought in its place; then
everything is given back that no need misses, the dearest first.

No list costs less than what the dearest need costs by itself, and none less than all needs cost
where each offer is shared out evenly among those that could use it: whoever buys it pays for all
its shares. In a chain a pencil may be used in several recipes; there its price is shared out among
these, or only the dearest node of the chain is counted. The price of a set is shared out among its
pencils.
"""

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers
from stopgap.planner.shopping.lean.needed import served
from stopgap.planner.shopping.question import price_of
from stopgap.planner.shopping.routes import Route
from stopgap.planner.shopping.steps import least_sums
from stopgap.planner.shopping.task import Task
from stopgap.planner.shopping.wanted import WantedBlend, WantedColour
from stopgap.planner.solver import TOLERANCE, Clock


class _Wish(NamedTuple):
    """What to buy for one need, what it costs more, and the shortfall that it ends."""

    things: Booleans
    cost: float
    gain: float


def frugal_purchase(task: Task, clock: Clock) -> Booleans:
    """Within the budget if there is one; else one that brings every need as near as can be.

    What a need wishes changes only with what is bought of its own offers. Half the time that is
    left may go into looking for the best need to serve next; then they are served as they come, and
    once all time is over, as they wished last, those that were never asked not at all.
    """
    bought = np.zeros(len(task.prices), dtype=bool)
    left = [*task.needs]
    wishes: dict[int, tuple[bytes, _Wish]] = {}
    unasked = _Wish(bought, 0.0, -1.0)
    looking = clock.half()

    def wish_of(part: WantedBlend | WantedColour) -> _Wish:
        there = task.sale.there(bought)[part.offers].tobytes()
        before, wish = wishes.get(id(part), (b"", unasked))
        if before != there and clock.left != 0.0:
            wish = _wish(part, task, bought)
            wishes[id(part)] = there, wish
        return wish

    while left:
        room = np.inf if task.budget is None else task.budget - task.cost(bought) + TOLERANCE
        looked_at: list[_Wish] = []
        for part in left:
            looked_at.append(wish_of(part))
            if looking.left == 0.0:
                break
        worth = [
            one.gain / (one.cost + TOLERANCE) if one.cost <= room else -1.0 for one in looked_at
        ]
        best = int(np.argmax(worth))
        if worth[best] >= 0.0:
            bought = bought | looked_at[best].things
        elif len(looked_at) == len(left):
            break
        del left[best]
    return _without_the_needless(task, _with_sets(task, bought), clock)


def _wish(part: WantedBlend | WantedColour, task: Task, bought: Booleans) -> _Wish:
    sale = task.sale
    there = sale.there(bought)
    pencils = _cheapest(part, task.prices[sale.cheapest] * ~there)
    gain = part.shortfall(there) - part.shortfall(there | pencils)
    things = np.zeros(len(bought), dtype=bool)
    things[sale.cheapest[pencils & ~there]] = True
    return _Wish(things, math.fsum(task.prices[things]), part.need.weight * gain)


def _with_sets(task: Task, bought: Booleans) -> Booleans:
    """The same with each set in the place of what it brings, where that costs no less."""
    sale, bought = task.sale, bought.copy()
    for thing, one in enumerate(sale.sets, len(sale.singles)):
        singly = np.isin(sale.singles, one.gives) & bought[: len(sale.singles)]
        if not bought[thing] and sale.prices[thing] <= sale.prices[: len(singly)][singly].sum():
            bought[: len(singly)][singly] = False
            bought[thing] = True
    return bought


def _without_the_needless(task: Task, bought: Booleans, clock: Clock) -> Booleans:
    """Less each thing in turn, the dearest first, that no need misses, while there is time."""
    kept = bought.copy()
    missed = 0.0
    there = task.sale.there(kept)
    for thing in np.flatnonzero(bought)[np.argsort(-task.prices[bought], kind="stable")]:
        if clock.left == 0.0:
            break
        kept[thing] = False
        left = task.sale.there(kept)
        gone = there & ~left
        concerned = [part for part in task.needs if gone[part.offers].any()]
        more = _missed(task, concerned, there, left)
        if missed + more > TOLERANCE:
            kept[thing] = True
        else:
            missed += more
            there = left
    return kept


def _missed(
    task: Task, parts: Sequence[WantedBlend | WantedColour], there: Booleans, left: Booleans
) -> float:
    """What these fall short more with what is left of what was there; where all were served that
    counts alone whether they still are.
    """
    if task.budget is None and all(served(part, there) for part in parts):
        return 0.0 if all(served(part, left) for part in parts) else np.inf
    with_it = math.fsum(part.need.weight * part.shortfall(there) for part in parts)
    return math.fsum(part.need.weight * part.shortfall(left) for part in parts) - with_it


def _cheapest(wanted: WantedBlend | WantedColour, prices: Floats) -> Booleans:
    """The offers of the cheapest purchase that brings one need as near as can be."""
    if isinstance(wanted, WantedColour):
        price = price_of(wanted.missing, prices)
        near = wanted.nearest
        if wanted.second_best is not None:
            near &= ~wanted.second_best
        taken = set(wanted.missing[int(np.where(near, price, np.inf).argmin())].tolist())
    else:
        taken = set[int]() if wanted.has_chain else _cheapest_for(wanted, prices)
        unpaid = np.where(_marked(taken, len(prices)), 0.0, prices)
        for end in wanted.ends:
            taken |= set(end.serving[int(price_of(end.serving, unpaid).argmin())].tolist())
    return _marked(taken, len(prices))


def _marked(taken: set[int], count: int) -> Booleans:
    """Which of so many offers are taken."""
    marked = np.zeros(count, dtype=np.bool_)
    marked[[*(taken - {-1})]] = True
    return marked


def _cheapest_for(blend: WantedBlend, prices: Floats) -> set[int]:
    """The offers of the cheapest chain that brings a blend as near as can be."""
    each = zip(blend.near, blend.nearest_steps)
    chains = (_cheapest_chain(route, steps, prices) for route, steps in each)
    return min((chain for chain in chains if chain is not None), key=lambda one: one[0])[1]


def _cheapest_chain(route: Route, best: Booleans, prices: Floats) -> tuple[float, set[int]] | None:
    """Price and offers of the cheapest chain of these steps, None without any."""
    if not best.any():
        return None
    price = price_of(route.missing, prices)
    cost = np.where(best, price, np.inf)
    to_end = least_sums(cost)[1]
    node, taken = 0, set[int]()
    while node != len(price) - 1:
        node = int((cost[node] + to_end).argmin())
        taken |= set(route.missing[node].tolist())
    return float(to_end[0]), taken


def least_cost(task: Task, clock: Clock) -> float:
    """What no purchase costs less than that serves all needs as near as can be; 0 with a budget.

    A need that there is no time for counts nothing.
    """
    if task.budget is not None:
        return 0.0
    prices = task.sale.shares
    using = np.zeros(len(prices))
    for part in task.needs:
        using[part.offers] += 1.0
    shared = prices / np.maximum(using, 1.0)
    alone, together = 0.0, 0.0
    for part in task.needs:
        if clock.left == 0.0:
            break
        alone = max(alone, _least_of(part, prices))
        together += _least_of(part, shared)
    return max(alone, together)


def least_gain(task: Task, bought: Booleans) -> float:
    """What no purchase costs less than that leaves no more shortfall than the one `bought`: where
    nothing leaves more, it holds something.
    """
    nothing = np.zeros_like(bought)
    if task.shortfall(nothing) <= task.shortfall(bought) + TOLERANCE:
        return 0.0
    return float(task.prices.min())


def _least_of(wanted: WantedBlend | WantedColour, prices: Floats) -> float:
    """What serving one need as near as can be costs at least."""
    if isinstance(wanted, WantedColour):
        return float(price_of(wanted.missing[wanted.nearest], prices).min())
    needed = set[int]().union(*(_taken_by_all(end.serving) for end in wanted.ends))
    unpaid = prices.copy()
    unpaid[list(needed)] = 0.0
    ends = max(float(price_of(end.serving, unpaid).min()) for end in wanted.ends)
    chain = 0.0
    if not wanted.has_chain:
        each = zip(wanted.near, wanted.nearest_steps)
        chain = min(_least_chain(route, steps, unpaid) for route, steps in each)
    return math.fsum(prices[list(needed)]) + max(ends, chain)


def _taken_by_all(table: Integers) -> set[int]:
    """The offers that every row of a table takes."""
    return set[int].intersection(*map(set, table.tolist())) - {-1}


def _least_chain(route: Route, best: Booleans, prices: Floats) -> float:
    """What a chain of these steps costs at least, infinite without any."""
    if not best.any():
        return np.inf
    taken = route.missing[route.missing >= 0]
    times = np.bincount(taken, minlength=len(prices))
    shares = price_of(route.missing, prices / np.maximum(times, 1))
    whole = price_of(route.missing, prices)
    by_shares = float(least_sums(np.where(best, shares, np.inf))[1][0])
    return max(by_shares, _dearest_node(best, whole))


def _dearest_node(steps: Booleans, price: Floats) -> float:
    """The price of the dearest node of the chain whose dearest node is cheapest."""
    reached = np.full(len(price), np.inf)
    reached[0] = 0.0
    for node in range(1, len(price)):
        before = reached[:node][steps[:node, node]]
        if len(before):
            reached[node] = max(float(before.min()), float(price[node]))
    return float(reached[-1])
