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
from functools import partial

import numpy as np

from stopgap.arrays import Booleans, Floats
from stopgap.planner.shopping.lean.columns import ChainColumns, DualPrices, RouteSteps
from stopgap.planner.shopping.lean.programme import Formulation
from stopgap.planner.shopping.offers import Sale
from stopgap.planner.shopping.question import available
from stopgap.planner.solver import TOLERANCE, Clock

_SMOOTH = 0.5  # the share of the best prices so far in those that are asked
_PRUNE = 6  # rounds after which steps are left out
_FEW = 2_000  # steps: so few no round need make fewer
_SETTLED = 5_000  # the same where nothing can cost less than the best list met
_AT_ONCE = 8  # chains of a blend that a round makes
_AT_REST = 15  # rounds without a better bound that are enough
_STEPS = 8  # of these from the bound to the best list met the first is tried, then twice as many


@dataclass(frozen=True)
class CheapChains:
    """What no list costs less than, the best list met, and what the prices prove.

    `fewer` proves the same of how many things lists hold that cost no more than a given one.
    `parts` are as they were given, `kept` those with the steps of lists that cost at most `most`.
    """

    bound: float
    fewer: "Callable[[Booleans], CheapChains | None]"
    bought: Booleans
    prices: DualPrices
    parts: tuple[RouteSteps, ...]
    kept: tuple[RouteSteps, ...]
    most: float
    grid: float

    def within(
        self, most: float, among: tuple[RouteSteps, ...] | None = None
    ) -> tuple[RouteSteps, ...]:
        """The parts with the steps that a list of at most that cost can have, of all or `among`
        some that it is known to have.
        """
        parts = (self.kept if most <= self.most else self.parts) if among is None else among
        return _pruned(parts, self.prices, most, self.grid)

    def raised(self, cost: float) -> float:
        """The least that a list counts which counts so much, at most that of the best met."""
        return min(self.most, float(_raised(np.array(cost - TOLERANCE), self.grid)))

    @property
    def levels(self) -> tuple[float, ...]:
        """What a list may cost that is sought: first hardly more than is proved, as few steps come
        so near to it, then more and more, at last as much as the best list met.
        """
        gap = self.most - self.bound
        steps = [self.bound + gap / _STEPS * 2**k for k in range(_STEPS.bit_length() - 1)]
        if self.grid > 0.0:
            steps = [self.bound, *np.floor(np.array(steps) / self.grid + 1e-6) * self.grid]
        return (*(one for one in sorted(set(steps)) if one < self.most - TOLERANCE), self.most)


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


def _pruned(
    parts: Sequence[RouteSteps], prices: DualPrices, most: float, grid: float
) -> tuple[RouteSteps, ...]:
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
    parts: Sequence[RouteSteps],
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
    columns = ChainColumns(rest, sale, sale.prices, parts)
    search = _Search(columns, tuple(parts), sale, sale.prices, known, serves, clock)
    return search.proved_chains(partial(_fewer, search, rest))


def _fewer(cheap: "_Search", rest: Formulation, bought: Booleans) -> CheapChains | None:
    """The same by number, of lists that cost no more than the one `bought`."""
    sale, cost, each = cheap.sale, math.fsum(cheap.sale.prices[bought]), np.ones(len(bought))
    kept = cheap.kept if cheap.best is None else _pruned(cheap.kept, cheap.best, cost, cheap.grid)
    columns = ChainColumns(rest, sale, each, kept, at_most=cost)
    search = _Search(columns, kept, sale, each, bought, cheap.serves, cheap.clock.half())
    return search.proved_chains(lambda _: None)


class _Search:
    """The best prices so far, the best list met, and the steps that are left by both.

    `mixed` is what the least mixture of the chains so far counts.
    """

    def __init__(
        self,
        columns: ChainColumns,
        kept: tuple[RouteSteps, ...],
        sale: Sale,
        counts: Floats,
        bought: Booleans,
        serves: Callable[[Booleans], bool],
        clock: Clock,
    ) -> None:
        self.columns = columns
        self.kept, self.sale, self.counts = kept, sale, counts
        self.bought, self.serves, self.clock = bought, serves, clock
        self.grid, self.most = grid_of(counts), math.fsum(counts[bought])
        self.best: DualPrices | None = None
        self.bound, self.mixed, self.tried, self.idle = -np.inf, np.inf, np.inf, 0
        self.columns.add(_chains_within(kept, sale.there(bought)))

    def proved_chains(self, fewer: Callable[[Booleans], CheapChains | None]) -> CheapChains | None:
        """What is proved at last; None where there is no time for a first bound."""
        parts = self.kept
        self.run()
        if self.best is None:
            return None
        bound = min(self.most, max(0.0, self.proved))
        proved = (self.best, parts, self.kept, self.most, self.grid)
        return CheapChains(bound, fewer, self.bought, *proved)

    def run(self) -> None:
        """Ask as long as that brings anything, and leave out what is proved needless."""
        turn = 0
        while self.asks_again():
            turn += 1
            if turn % _PRUNE == 0 and not self.prune():
                break
        self.prune()

    def asks_again(self) -> bool:
        """Ask by the last prices, or by others that may be as right; whether to go on."""
        for anew in (False, True):
            solved = self.columns.solved(self.clock, anew=anew)
            if solved is None:
                return False
            self.mixed, last = solved
            shares = (0.0,) if self.best is None else (_SMOOTH, 0.0)
            new = any(self._brings_new(last, share) for share in shares)
            if self.idle > _AT_REST or self.mixed - self.bound <= TOLERANCE:
                return False
            if new:
                return True
        return False

    @property
    def proved(self) -> float:
        """What no list counts less than."""
        return float(_raised(np.array(self.bound), self.grid))

    def _brings_new(self, last: DualPrices, share: float) -> bool:
        prices = last if self.best is None else last.between(self.best, share)
        proved, chains = _asked(self.kept, prices)
        self.idle += 1
        if proved > self.bound + TOLERANCE:
            self.best, self.bound, self.idle = prices, proved, 0
        return self.columns.add(chains)

    def prune(self) -> bool:
        """Leave out what the best list met undercuts; whether many steps are left."""
        if self.best is None:
            return True
        below = self.most - max(self.grid / 2.0, TOLERANCE)  # half a step: a rounding decides none
        found = self.columns.whole(self.clock, below) if self._may_be_better() else None
        cost = np.inf if found is None else math.fsum(self.counts[found])
        if found is not None and cost < self.most and self.serves(found):
            self.bought, self.most = found, cost
        self.kept = _pruned(self.kept, self.best, self.most, self.grid)
        settled = self.proved >= self.most - TOLERANCE
        return sum(len(part.source) for part in self.kept) > (_SETTLED if settled else _FEW)

    def _may_be_better(self) -> bool:
        """Whether the mixture leaves room for a better list, and more than when one was tried."""
        tried, self.tried = self.tried, min(self.tried, self.mixed)
        least = float(_raised(np.array(self.mixed - TOLERANCE), self.grid))
        return least < self.most - TOLERANCE and self.mixed < tried - TOLERANCE


def _asked(
    parts: Sequence[RouteSteps], prices: DualPrices
) -> tuple[float, list[tuple[int, frozenset[int]]]]:
    """What prices prove that every list costs at least, and the cheapest chains of each part."""
    least, chains = dict[int, float](), []
    for part in parts:
        cheapest, its = part.cheapest(part.costs(prices), _AT_ONCE)
        least[part.blend] = min(least.get(part.blend, np.inf), cheapest)
        chains += [(part.blend, chain) for chain in its]
    return prices.fixed + math.fsum(least.values()), chains


def _chains_within(
    parts: Sequence[RouteSteps], there: Booleans
) -> list[tuple[int, frozenset[int]]]:
    """A chain of each part that has one of what is there."""
    return [
        (part.blend, chain)
        for part in parts
        for chain in part.cheapest(np.where(available(part.missing, there), 0.0, np.inf), 1)[1]
    ]
