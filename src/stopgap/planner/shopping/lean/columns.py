"""Chains as columns of a small programme: what is asked by its prices, and what they prove."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers
from stopgap.planner.highs import SimplexBasis
from stopgap.planner.shopping.lean.programme import Formulation
from stopgap.planner.shopping.offers import Sale
from stopgap.planner.shopping.question import available, price_of
from stopgap.planner.solver import Clock, Programme


@dataclass(frozen=True)
class DualPrices:
    """What prices prove: `fixed`, what all but the chains costs at least, and what each of the
    pencils (blends, pencils) costs a blend.
    """

    fixed: float
    pencils: Floats

    def between(self, other: "DualPrices", share: float) -> "DualPrices":
        """So much of another, and the rest of this one; what that proves is no less."""
        return DualPrices(
            share * other.fixed + (1.0 - share) * self.fixed,
            share * other.pencils + (1.0 - share) * self.pencils,
        )


@dataclass(frozen=True, eq=False)
class RouteSteps:
    """One route of a blend: what each node takes, and the steps that a list may have.

    These are sorted by their `target`, then by their `source`.
    """

    blend: int
    missing: Integers
    source: Integers
    target: Integers

    @classmethod
    def of(cls, blend: int, missing: Integers, kept: Booleans) -> "RouteSteps":
        """With the steps (n, n) that are kept."""
        target, source = np.nonzero(kept.T)
        return cls(blend, missing, source, target)

    def without(self, out: Booleans) -> "RouteSteps":
        """The same without some steps."""
        return replace(self, source=self.source[~out], target=self.target[~out])

    def among(self, offers: Booleans) -> "RouteSteps":
        """The same where nothing is bought but `offers`."""
        there = available(self.missing, offers)
        return self.without(~(there[self.source] & there[self.target]))

    @property
    def steps(self) -> Booleans:
        """Which steps there are, (n, n)."""
        kept = np.zeros((len(self.missing), len(self.missing)), dtype=np.bool_)
        kept[self.source, self.target] = True
        return kept

    def costs(self, prices: DualPrices) -> Floats:
        """What each node costs; of a pencil of several nodes each pays a share."""
        mine = prices.pencils[self.blend]
        times = np.bincount(self.missing[self.missing >= 0], minlength=len(mine))
        return price_of(self.missing, mine / np.maximum(times, 1))

    def from_start(self, cost: Floats) -> Floats:
        """What the cheapest chain to each node costs, with the node."""
        reached = np.full(len(cost), np.inf)
        reached[0] = 0.0
        for node, before in self._before.items():
            reached[node] = reached[before].min() + cost[node]
        return reached

    def to_end(self, cost: Floats) -> Floats:
        """What the cheapest chain from each node costs, with the node."""
        onward = np.full(len(cost), np.inf)
        onward[-1] = cost[-1]
        for node, after in self._after.items():
            onward[node] = onward[after].min() + cost[node]
        return onward

    def through(self, cost: Floats) -> Floats:
        """What the cheapest chain with each step costs."""
        whole: Floats = self.from_start(cost)[self.source] + self.to_end(cost)[self.target]
        return whole

    def cheapest(self, cost: Floats, count: int) -> tuple[float, list[frozenset[int]]]:
        """What the cheapest chain costs, and up to so many chains: it, and then again and again the
        cheapest one through a node that none before it has. Infinite and none where there is none.
        """
        reached, onward = self.from_start(cost), self.to_end(cost)
        through = reached + onward - np.where(np.isfinite(cost), cost, 0.0)
        left, chains = np.isfinite(through), list[frozenset[int]]()
        while len(chains) < count and left.any():
            best = int(np.where(left, through, np.inf).argmin())
            nodes = [*self._back(best, reached), best, *self._on(best, onward)]
            left[nodes] = False
            chains.append(frozenset(set(self.missing[nodes].ravel().tolist()) - {-1}))
        return float(reached[-1]), chains

    def _back(self, node: int, reached: Floats) -> Iterator[int]:
        """The nodes of the cheapest chain to a node before it."""
        while node:
            before = self._before[node]
            node = int(before[reached[before].argmin()])
            yield node

    def _on(self, node: int, onward: Floats) -> Iterator[int]:
        """The nodes of the cheapest chain from a node behind it."""
        while node != len(onward) - 1:
            after = self._after[node]
            node = int(after[onward[after].argmin()])
            yield node

    @cached_property
    def _before(self) -> dict[int, Integers]:
        return _grouped(self.target, self.source)

    @cached_property
    def _after(self) -> dict[int, Integers]:
        order = np.argsort(-self.source, kind="stable")
        return _grouped(-self.source[order], self.target[order])


def _grouped(by: Integers, values: Integers) -> dict[int, Integers]:
    nodes, starts = np.unique(by, return_index=True)
    return dict(zip(np.abs(nodes).tolist(), np.split(values, starts[1:])))


_TRIES = 10  # nodes of the search for a better list


class ChainColumns:
    """The small programme: what needs no chain, and chains by blend, each the offers it takes.

    `counts` is what each thing for sale counts; a list costs `at_most` that.
    """

    def __init__(
        self,
        rest: Formulation,
        sale: Sale,
        counts: Floats,
        parts: Sequence[RouteSteps],
        at_most: float | None = None,
    ) -> None:
        self.rest, self.sale, self.counts, self.at_most = rest, sale, counts, at_most
        self.bring = [rest.offers[things] for things in sale.givers]
        self._bringing = np.concatenate(sale.givers)
        self._brought = np.repeat(np.arange(len(sale.givers)), [*map(len, sale.givers)])
        blends = 1 + max(part.blend for part in parts)
        self.using = np.zeros((blends, len(sale.givers)), dtype=np.bool_)
        for part in parts:
            self.using[part.blend, part.missing[part.missing >= 0]] = True
        self.chains: dict[tuple[int, frozenset[int]], None] = {}
        self.linked: dict[tuple[int, int], int] = {}
        self._taken: list[tuple[int, int]] = []  # by each chain of those `linked`
        self._stood = SimplexBasis.none()

    def add(self, chains: Sequence[tuple[int, frozenset[int]]]) -> bool:
        """Whether any of the chains is new."""
        before = len(self.chains)
        for blend, chain in chains:
            if (blend, chain) in self.chains:
                continue
            for offer in sorted(chain):
                row = self.linked.setdefault((blend, offer), len(self.linked))
                self._taken.append((len(self.chains), row))
            self.chains[blend, chain] = None
        return len(self.chains) > before

    def solved(self, clock: Clock, *, anew: bool) -> tuple[float, DualPrices] | None:
        """What the least mixture counts, and its prices; None without time. Of several such prices
        those are had where simplex went on, or with `anew` those where it begins.
        """
        programme, one, first = self._made()
        objective = np.zeros(programme.size)
        objective[self.rest.offers] = self.counts
        relaxed = programme.relaxed(objective, clock, SimplexBasis.none() if anew else self._stood)
        if relaxed is None:
            return None
        self._stood = relaxed.basis or self._stood
        prices = np.zeros(self.using.shape)
        blends, offers = np.array([*self.linked], dtype=np.intp).reshape(-1, 2).T
        prices[blends, offers] = -relaxed.duals[one.stop :]
        prices += np.where(self.using, self._to_spare(relaxed.reduced[self.rest.offers]), 0.0)
        fixed = relaxed.bound - math.fsum(relaxed.duals[one])
        fixed -= math.fsum(np.minimum(relaxed.reduced[first:], 0.0))
        return relaxed.value, DualPrices(fixed, prices)

    def whole(self, clock: Clock, below: float) -> Booleans | None:
        """The list with these chains that counts least, and no more than that, if one is found."""
        programme = self._made()[0]
        objective = np.zeros(programme.size)
        objective[self.rest.offers] = self.counts
        second = Clock(1.0 if clock.left is None else min(1.0, clock.left))
        sought = {"mip_max_nodes": _TRIES, "objective_bound": below}
        values = programme.minimise(objective, second, options=sought).values
        return None if values is None else values[self.rest.offers] > 0.5

    def _made(self) -> tuple[Programme, slice, int]:
        """The programme, the rows that ask for a chain a blend, behind which are those that say
        what brings an offer to a blend, and the place of the first chain. What is new comes last.
        """
        programme, things = self.rest.programme.copy(), self.rest.offers
        bring = [self.bring[offer] for _, offer in self.linked]
        linked = np.isin(things, np.concatenate([things[:0], *bring]))
        programme.close(things[~linked & ~programme.used(things)])
        if self.at_most is not None:
            programme.hold(self.rest.objective(self.sale.prices), self.at_most)
        first, flow = programme.size, programme.add_variables(len(self.chains))
        one = slice(programme.n_rows, programme.n_rows + len(self.using))
        blends = np.array([blend for blend, _ in self.chains], dtype=np.intp)
        each = np.ones(len(self.using))
        programme.add_rows(blends, flow, np.ones(len(flow)), each, each)
        chains, rows = np.array(self._taken, dtype=np.intp).reshape(-1, 2).T
        brought = np.repeat(np.arange(len(bring)), [*map(len, bring)])
        programme.add_rows(
            np.concatenate([rows, brought]),
            np.concatenate([flow[chains], *bring]),
            np.concatenate([np.ones(len(rows)), -np.ones(len(brought))]),
            np.full(len(bring), -np.inf),
            np.zeros(len(bring)),
        )
        return programme, one, first

    def _to_spare(self, reduced: Floats) -> Floats:
        """By pencil what a blend may be told it costs beside, of what nobody pays for it yet."""
        users = self.using.sum(axis=0)
        each = [users[[*one.gives]].sum() for one in self.sale.sets]
        sharing = np.concatenate([users[self.sale.singles], np.array(each, dtype=np.intp)])
        spare = np.maximum(reduced, 0.0) / np.maximum(sharing, 1)
        least = np.full(len(self.bring), np.inf)
        np.minimum.at(least, self._brought, spare[self._bringing])
        return np.where(np.isinf(least), 0.0, least)
