"""Which result each colour of a list gets: groups of colours, what each result costs them, solved.

Distinct within stages is asked for as well where a list has stages, and taken where it is nearer.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers
from stopgap.errors import Note
from stopgap.planner.nearness import same_to_the_eye
from stopgap.planner.solver import Clock, assign
from stopgap.planner.translation.answer import Asked
from stopgap.planner.translation.ordered_assignment import OrderedGroups
from stopgap.planner.translation.rows import in_stages

_BLACK_TO_WHITE = 100.0
_NEVER = 10.0  # times what leaving a colour without costs


class SharingOut(NamedTuple):
    """Groups of colours to be assigned: what each result costs each group, and none at all.

    `groups` is the group of each colour. `cost` is of shape (groups, offered), `without` and
    `lightness` (groups,); `offered` and `result_of` are L* and the number of the result of what is
    offered, each used once in each of `stages` (stages, groups) where `distinct`.
    """

    groups: Integers
    cost: Floats
    without: Floats
    lightness: Floats
    offered: Floats
    result_of: Integers
    distinct: bool
    stages: Booleans

    @classmethod
    def of(
        cls,
        entries: Sequence[Asked],
        labs: Floats,
        table: Floats,
        offered: Floats,
        result_of: Integers,
        barred: Booleans,
        *,
        distinct: bool,
    ) -> "SharingOut":
        """The task of entries of colours `labs`, `table` their ΔE to what is offered.

        What is `barred` for a colour costs more than leaving it without.
        """
        groups = same_to_the_eye(labs) if distinct else _alike(entries)
        if not table.size:
            none = np.empty(0)
            return cls(groups, table, none, none, offered, result_of, distinct, _all(groups))
        weights, member = np.array([entry.weight for entry in entries]), _membership(groups)
        cost = member @ (weights[:, np.newaxis] * table)
        without = member @ weights * max(_BLACK_TO_WHITE, 2.0 * float(table.max()))
        cost[member @ barred > 0.0] = _NEVER * without.max()
        lightness = member @ labs[:, 0] / member.sum(axis=1)
        whole = _all(groups)
        return cls(groups, cost, without, lightness, offered, result_of, distinct, whole)

    def within_stages(self, entries: Sequence[Asked]) -> "SharingOut":
        """The same, distinct within the stages of its entries alone."""
        return self._replace(stages=in_stages(entries, self.groups)) if self.distinct else self

    def decided(self, clearly_lighter: float | None, clock: Clock) -> "_Found":
        """What each colour gets; distinct within stages where that is nearer in sum.

        With `clearly_lighter`, groups lighter by more than that come out lighter.
        """
        if not len(self.without):
            return _Found(np.full(len(self.groups), -1, dtype=np.intp), self.stages)
        before = None
        if clearly_lighter is not None:
            before = _clearly_before(self.lightness, clearly_lighter)
        whole = _all(self.groups)
        found, gap = self._solved(before, whole, clock)
        notes: tuple[Note, ...] = ()
        if len(self.stages) > 1:
            within, gap_within = self._solved(before, self.stages, clock)
            saved = self._total(found) - self._total(within)
            if saved > _SAVED:
                found, gap, whole = within, gap_within, self.stages
                notes = (Note(_WITHIN.format(saved), plain=_WITHIN_PLAINLY),)
        order = None if before is None else before[self.groups][:, self.groups]
        return _Found(found[self.groups], whole, order, gap, notes)

    def _solved(
        self, before: Booleans | None, apart: Booleans, clock: Clock
    ) -> tuple[Integers, float]:
        if before is None and len(apart) == 1:
            return _assign_results(self.cost, self.without, self.result_of), 0.0
        if before is None:
            before = np.zeros((len(self.without), len(self.without)), dtype=np.bool_)
        results = self.result_of if self.distinct else None
        groups = OrderedGroups(self.cost, self.without, self.offered, before, results, apart)
        return groups.assign(clock)

    def _total(self, chosen: Integers) -> float:
        given = self.cost[np.arange(len(chosen)), chosen]
        return float(np.where(chosen < 0, self.without, given).sum())


_SAVED = 1e-3  # in sum, below which each result serves one colour of the whole list
_WITHIN = (
    "Distinct within each stage: with each pencil for one colour of the whole list, differences "
    "would come to {:.1f} more in sum."
)
_WITHIN_PLAINLY = (
    "Distinct within each stage: with each pencil for one colour of the whole list, some would be "
    "farther off."
)


class _Found(NamedTuple):
    """What each colour gets, -1 for nothing; in which stages that is distinct; which colours were
    kept lighter; by how much less another could cost; and what was traded.
    """

    chosen: Integers
    apart: Booleans
    before: Booleans | None = None
    gap: float = 0.0
    notes: tuple[Note, ...] = ()

    @property
    def together(self) -> Booleans:
        """[g, h]: whether the groups are in one of the stages."""
        if len(self.apart) == 1:
            return np.broadcast_to(np.True_, (self.apart.shape[1],) * 2)
        shared: Booleans = self.apart.T @ self.apart
        return shared


def _all(groups: Integers) -> Booleans:
    """One stage that all groups are in."""
    return np.ones((1, int(groups.max(initial=-1)) + 1), dtype=np.bool_)


def _membership(group_of: Integers) -> Floats:
    """1 where an entry (column) belongs to a group (row)."""
    member: Floats = (np.arange(group_of.max() + 1)[:, np.newaxis] == group_of).astype(np.float64)
    return member


def _alike(entries: Sequence[Asked]) -> Integers:
    """A number for each entry, the same where the same colour is asked for."""
    numbers: dict[tuple[object, str], int] = {}
    asked = [numbers.setdefault((entry.lab, entry.instead), len(numbers)) for entry in entries]
    return np.array(asked, dtype=np.intp)


def _clearly_before(lightness: Floats, limit: float) -> Booleans:
    """[g, h]: whether g is clearly lighter than h."""
    clearly: Booleans = lightness[:, np.newaxis] - lightness > limit
    return clearly


def _assign_results(cost: Floats, without: Floats, result_of: Integers) -> Integers:
    """The stack of each group, -1 for none, each result used once: least total cost."""
    n_groups = len(cost)
    cheapest = cost.argmin(axis=1)
    least = cost[np.arange(n_groups), cheapest]
    if (least < without).all() and len(set(result_of[cheapest].tolist())) == n_groups:
        return np.asarray(
            cheapest
        )  # nobody is in another's way, and scipy's solvers take 0.3 s to load
    by_result = np.full((n_groups, int(result_of.max()) + 1), np.inf)
    best_stack = np.zeros(by_result.shape, dtype=np.intp)
    for stack, result in enumerate(result_of):
        better = cost[:, stack] < by_result[:, result]
        by_result[better, result] = cost[better, stack]
        best_stack[better, result] = stack
    stay = np.broadcast_to(without[:, np.newaxis], (n_groups, n_groups))
    column = assign(np.hstack([by_result, stay]))
    served = column < by_result.shape[1]
    groups = np.arange(n_groups)
    return np.where(served, best_stack[groups, np.where(served, column, 0)], -1)
