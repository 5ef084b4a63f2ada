"""Which steps of blends a list of at most some cost can have, and what every list costs at least.

A blend that misses pencils takes one chain, of so many that a programme with all their steps is
large and its proof long. Here the chains are columns of a small programme, of which only those that
its prices ask for are ever made: prices of the pencils, shared out among the needs, for which each
blend has a cheapest chain. What the chains and the rest cost by such prices in sum no list costs
less than; and a step that lies on no chain cheap enough by them no list of that cost has.

References
----------
G. B. Dantzig and P. Wolfe (1960), "Decomposition principle for linear programs", Operations
Research 8(1), 101-111: columns as they are needed, and the bound.
P. Wentges (1997), "Weighted Dantzig-Wolfe decomposition for linear mixed-integer programming",
International Transactions in Operational Research 4(2), 151-162: asking between the last prices and
the best so far, without which the bound goes up and down.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from stopgap.arrays import Booleans, Floats
from stopgap.planner.shopping.lean.columns import Columns, Part, Prices
from stopgap.planner.shopping.lean.programme import Formulation
from stopgap.planner.shopping.offers import Sale
from stopgap.planner.shopping.question import available
from stopgap.planner.solver import TOLERANCE, Clock

_SMOOTH = 0.5  # the share of the best prices so far in those that are asked
_PRUNE = 6  # rounds after which steps are left out
_FEW = 2_000  # steps: so few no round need make fewer
_AT_REST = 15  # rounds without a better bound that are enough


@dataclass(frozen=True)
class CheapChains:
    """What no list costs less than, the best list met, and what the prices prove.

    `parts` are as they were given, `kept` those with the steps of lists that cost at most `most`.
    """

    bound: float
    bought: Booleans
    prices: Prices
    parts: tuple[Part, ...]
    kept: tuple[Part, ...]
    most: float
    grid: float

    def within(self, most: float) -> list[Booleans]:
        """By part the steps (n, n) that a list of at most that cost can have."""
        parts = self.kept if most <= self.most else self.parts
        return [part.steps for part in _pruned(parts, self.prices, most, self.grid)]


def grid_of(prices: Floats) -> float:
    """What every sum of prices is a multiple of, where these are whole hundredths, else 0."""
    hundredths = np.round(prices * 100.0)
    if not np.allclose(hundredths, prices * 100.0, rtol=0.0, atol=1e-9):
        return 0.0
    return math.gcd(*hundredths.astype(np.int64).tolist()) / 100.0


def _raised(cost: Floats, grid: float) -> Floats:
    """The least that a list costs which costs so much at least."""
    if grid == 0.0:
        return cost
    return np.asarray(np.ceil(cost / grid - 1e-6) * grid, dtype=np.float64)


def _pruned(parts: Sequence[Part], prices: Prices, most: float, grid: float) -> tuple[Part, ...]:
    """The parts with the steps that a list of at most that cost can have."""
    through = [part.through(part.costs(prices)) for part in parts]
    least: dict[int, float] = {}
    for part, each in zip(parts, through):
        least[part.blend] = min(least.get(part.blend, np.inf), float(each.min(initial=np.inf)))
    rest = prices.fixed + math.fsum(least.values())
    limit = most + TOLERANCE * (1.0 + most)
    return tuple(
        part.without(_raised(rest - least[part.blend] + each, grid) > limit)
        for part, each in zip(parts, through)
    )


def cheap_chains(
    parts: Sequence[Part],
    rest: Formulation,
    sale: Sale,
    known: Booleans,
    serves: Callable[[Booleans], bool],
    clock: Clock,
) -> CheapChains | None:
    """What is proved by prices, from a list that is `known` to serve everything.

    `rest` is the programme without chains; `serves` tells of other lists whether they do. None
    where there is no time for a first bound.
    """
    columns, grid = Columns(rest, sale, parts), grid_of(sale.prices)
    columns.add(_chains_within(parts, sale.there(known)))
    bought, most, bound, idle = known, math.fsum(sale.prices[known]), -np.inf, 0
    best: Prices | None = None
    kept, going, turn = tuple(parts), True, 0
    while going and (solved := columns.solved(clock)) is not None:
        value, last = solved
        new, turn = False, turn + 1
        for share in (0.0,) if best is None else (_SMOOTH, 0.0):
            prices = last if best is None else last.between(best, share)
            proved, chains = _asked(kept, prices)
            idle += 1
            if proved > bound + TOLERANCE:
                best, bound, idle = prices, proved, 0
            if new := columns.add(chains):
                break
        going = new and idle <= _AT_REST and value - bound > TOLERANCE
        if best is not None and (turn % _PRUNE == 0 or not going):
            found = columns.whole(clock)
            if found is not None and math.fsum(sale.prices[found]) < most and serves(found):
                bought, most = found, math.fsum(sale.prices[found])
            kept = _pruned(kept, best, most, grid)
            going &= sum(len(part.source) for part in kept) > _FEW
    if best is None:
        return None
    bound = min(most, float(_raised(np.array(bound), grid)))
    return CheapChains(bound, bought, best, tuple(parts), kept, most, grid)


def _asked(parts: Sequence[Part], prices: Prices) -> tuple[float, list[tuple[int, frozenset[int]]]]:
    """What prices prove that every list costs at least, and the cheapest chain of each part."""
    least, chains = dict[int, float](), []
    for part in parts:
        reached = part.from_start(part.costs(prices))
        if np.isfinite(reached[-1]):
            least[part.blend] = min(least.get(part.blend, np.inf), float(reached[-1]))
            chains.append((part.blend, part.cheapest(reached)))
    return prices.fixed + math.fsum(least.values()), chains


def _chains_within(parts: Sequence[Part], there: Booleans) -> list[tuple[int, frozenset[int]]]:
    """A chain of each part that has one of what is there."""
    chains = []
    for part in parts:
        cost = np.where(available(part.missing, there), 0.0, np.inf)
        reached = part.from_start(cost)
        if np.isfinite(reached[-1]):
            chains.append((part.blend, part.cheapest(reached)))
    return chains
