"""Assignment that keeps the order of lightness: a small integer programme.

x[g, s] says that group g gets stack s. Where g is clearly lighter than h, the stack of g must be
lighter than that of h: for every lightness l among the stacks, "g gets something of lightness l or
less" and "h gets something of lightness l or more" exclude each other. The first is a running sum
of x[g, .] sorted by lightness, so a row of the programme has three entries. Pairs are added only
when an answer breaks them; the answer that breaks none is the optimum over all pairs, because each
programme solved before asks for less.

Before it stands an answer that keeps the whole order of lightness strictly, which is more than
asked and therefore allowed, by an alignment of the two sorted sequences (the dynamic programme of
S. B. Needleman and C. D. Wunsch, 1970, Journal of Molecular Biology 48(3), 443-453), improved group
by group. It stays where the time runs out; and what would cost more than it by the prices of the
assignment without any order is not in the programme at all. What any assignment costs at least is
known from those prices and from the programmes solved.
"""

from typing import NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers, distinct
from stopgap.planner.solver import TOLERANCE, Clock, Programme, assign, prices

_PASSES = 8
_SLACK = 1e-9


class OrderedGroups(NamedTuple):
    """Groups of colours that are to come out lighter than others, and what each stack costs them.

    `cost` has a row a group and a column a stack, `without` is what leaving a group without costs,
    `lightness` the L* of the stacks. `before[g, h]` is True where g must come out lighter than h.
    `result_of` numbers the result of each stack, None where results may be repeated; `apart`, of
    shape (stages, groups), says who gets different results: each is used once within a row.
    """

    cost: Floats
    without: Floats
    lightness: Floats
    before: Booleans
    result_of: Integers | None
    apart: Booleans

    def assign(self, clock: Clock) -> tuple[Integers, float]:
        """The stack of each group (-1 for none), and by how much less another could cost in sum: 0
        where it is proved that none does.
        """
        cost, without = self.cost, self.without
        level_of = np.unique(self.lightness, return_inverse=True)[1]
        first, at_least, beyond = self._in_any_order(clock)
        if self._allows(first):  # nothing costs less, and no solver need be loaded
            return first, 0.0
        aligned = align(cost, without, _topological(self.before), level_of)
        starts = (self._improved(one, clock) for one in (aligned, self._in_order(first)))
        good = min(starts, key=self._cost_of)
        spare = self._cost_of(good) - at_least
        near = beyond <= spare + _SLACK * (1.0 + spare)
        columns = np.flatnonzero(near.any(axis=0))
        if not len(columns):
            return good, max(0.0, spare)
        broken = self.before & _not_lighter(first, self.lightness)
        found, bound = self._among(columns)._solved(near[:, columns], broken, clock)
        at_least = max(at_least, bound)
        if found is not None:
            found = np.where(found < 0, -1, columns[found])
            if self._cost_of(found) <= self._cost_of(good):
                good = found
        gap = self._cost_of(good) - at_least
        return good, gap if gap > TOLERANCE * (1.0 + abs(at_least)) else 0.0

    def _in_any_order(self, clock: Clock) -> tuple[Integers, float, Floats]:
        """The best answer in whatever order of lightness, where that is quickly known, with each
        result given once; what every answer costs at least; and by how much more at least if a
        group gets a stack, of the shape of `cost`.
        """
        least = np.minimum(self.cost.min(axis=1, initial=np.inf), self.without)
        if self.result_of is None or len(self.apart) > 1 or clock.left == 0.0:
            answer = np.where(least < self.without, self.cost.argmin(axis=1), -1)
            return answer, float(least.sum()), self.cost - least[:, np.newaxis]
        by_result, stack = cheapest_of(self.cost, self.result_of)
        every = np.arange(len(self.cost))
        stay = np.where(np.eye(len(every), dtype=np.bool_), self.without[:, np.newaxis], np.inf)
        both = np.hstack([by_result, stay])
        columns = assign(both)
        of_group, of_result = prices(both, columns)
        beyond = self.cost - of_group[:, np.newaxis] - of_result[self.result_of]
        answer = np.hstack([stack, np.full(stay.shape, -1)])[every, columns]
        return answer, float(both[every, columns].sum()), beyond

    def _in_order(self, answer: Integers) -> Integers:
        """The same without those whose lightness breaks the order most."""
        answer = answer.copy()
        broken = self.before & _not_lighter(answer, self.lightness)
        while broken.any():
            worst = int((broken.sum(axis=0) + broken.sum(axis=1)).argmax())
            answer[worst] = -1
            broken[worst] = broken[:, worst] = False
        return answer

    def _among(self, columns: Integers) -> "OrderedGroups":
        """The same with some of the stacks alone."""
        results = None if self.result_of is None else self.result_of[columns]
        cost, lightness = self.cost[:, columns], self.lightness[columns]
        return self._replace(cost=cost, lightness=lightness, result_of=results)

    def _solved(
        self, near: Booleans, broken: Booleans, clock: Clock
    ) -> tuple[Integers | None, float]:
        """The best answer that gives a group nothing but what is `near`, None where there was no
        time for any; and what such an answer costs at least. The order of the pairs that are
        `broken` without it is asked for at once, that of others once they are.
        """
        cost, without, before = self.cost, self.without, self.before
        levels, level_of = np.unique(self.lightness, return_inverse=True)
        programme = Programme()
        chosen = programme.add_variables(cost.size, whole=True).reshape(cost.shape)
        programme.close(chosen[~near])
        _one_each(programme, chosen)
        if self.result_of is not None:
            for members in self.apart:
                _once_each(programme, chosen[members], self.result_of)
        running: dict[int, Integers] = {}
        added = np.zeros_like(before)
        at_least = -np.inf
        saved = cost - without[:, np.newaxis]
        while True:
            for g, h in np.argwhere(broken & ~added):
                for group in (int(g), int(h)):
                    if group not in running:
                        running[group] = _running_sum(
                            programme, chosen[group], level_of, len(levels)
                        )
                _exclude(programme, running[int(g)], running[int(h)])
            added |= broken
            objective = np.concatenate([saved.ravel(), np.zeros(programme.size - chosen.size)])
            solution = programme.minimise(objective, clock)
            at_least = max(at_least, solution.bound + float(without.sum()))
            if solution.values is None:
                return None, at_least
            picked = solution.values[chosen] > 0.5
            answer = np.where(picked.any(axis=1), picked.argmax(axis=1), -1)
            broken = before & _not_lighter(answer, self.lightness)
            if not broken.any():
                return answer, self._cost_of(answer) if solution.proved else at_least

    def _allows(self, answer: Integers) -> bool:
        """Whether lighter groups come out lighter, and no result is given twice."""
        if (self.before & _not_lighter(answer, self.lightness)).any():
            return False
        if self.result_of is None:
            return True
        given = (self.result_of[answer[members & (answer >= 0)]] for members in self.apart)
        return all(len(distinct(results)) == len(results) for results in given)

    def _cost_of(self, answer: Integers) -> float:
        given = self.cost[np.arange(len(answer)), answer]
        return float(np.where(answer < 0, self.without, given).sum())

    def _improved(self, answer: Integers, clock: Clock) -> Integers:
        """Each group in turn with the cheapest stack that the others leave it, until nothing
        changes, or the time is over.

        The whole order, which `align` keeps, is more than is asked; that no result is given twice,
        of which it knows nothing, is seen to first.
        """
        answer = answer.copy()
        if self.result_of is not None:
            for group in range(len(answer)):
                earlier = self._beside(group) & (np.arange(len(answer)) < group) & (answer >= 0)
                same = self.result_of[answer[group]] == self.result_of[answer]
                if answer[group] >= 0 and same[earlier].any():
                    answer[group] = -1
        for _ in range(_PASSES):
            changed = False
            for group in range(len(answer)):
                if clock.left == 0.0:
                    return answer
                open_ = np.where(self._free(answer, group), self.cost[group], np.inf)
                best = int(open_.argmin()) if open_.min() < self.without[group] else -1
                costs = np.append(self.cost[group], self.without[group])  # -1 is the last
                if costs[best] < costs[answer[group]]:
                    answer[group], changed = best, True
            if not changed:
                break
        return answer

    def _beside(self, group: int) -> Booleans:
        """The groups that get other results than this one."""
        return np.asarray(self.apart[self.apart[:, group]].any(axis=0), dtype=np.bool_)

    def _free(self, answer: Integers, group: int) -> Booleans:
        """The stacks that what the others were given leaves to a group."""
        others = (answer >= 0) & (np.arange(len(answer)) != group)
        lighter, darker = others & self.before[:, group], others & self.before[group]
        free = self.lightness < self.lightness[answer[lighter]].min(initial=np.inf)
        free &= self.lightness > self.lightness[answer[darker]].max(initial=-np.inf)
        if self.result_of is not None:
            free &= ~np.isin(self.result_of, self.result_of[answer[others & self._beside(group)]])
        return np.asarray(free, dtype=np.bool_)


def _one_each(programme: Programme, chosen: Integers) -> None:
    """At most one stack a group."""
    rows = np.repeat(np.arange(len(chosen)), chosen.shape[1])
    ones = np.ones(len(chosen))
    programme.add_rows(rows, chosen.ravel(), np.ones(chosen.size), 0.0 * ones, ones)


def _once_each(programme: Programme, chosen: Integers, result_of: Integers) -> None:
    """At most one group a result."""
    once = np.ones(int(result_of.max()) + 1)
    rows = np.broadcast_to(result_of, chosen.shape)
    programme.add_rows(rows.ravel(), chosen.ravel(), np.ones(chosen.size), 0.0 * once, once)


def _running_sum(
    programme: Programme, chosen: Integers, level_of: Integers, n_levels: int
) -> Integers:
    """Variables s[l] = sum of `chosen` up to level l."""
    running = programme.add_variables(n_levels)
    levels = np.arange(n_levels)
    rows = np.concatenate([levels, levels[1:], level_of])
    places = np.concatenate([running, running[:-1], chosen])
    ones = np.ones(n_levels)
    values = np.concatenate([ones, -ones[1:], -np.ones(len(chosen))])
    programme.add_rows(rows, places, values, 0.0 * ones, 0.0 * ones)
    return running


def _exclude(programme: Programme, lighter: Integers, darker: Integers) -> None:
    """For every level l: lighter[l] + (darker[last] - darker[l - 1]) <= 1."""
    n_levels = len(lighter)
    levels = np.arange(n_levels)
    rows = np.concatenate([levels, levels, levels[1:]])
    places = np.concatenate([lighter, np.repeat(darker[-1:], n_levels), darker[:-1]])
    ones = np.ones(n_levels)
    values = np.concatenate([ones, ones, -ones[1:]])
    programme.add_rows(rows, places, values, -ones, ones)


def _not_lighter(answer: Integers, lightness: Floats) -> Booleans:
    """[g, h]: both are served and g does not come out lighter than h."""
    served = answer >= 0
    given = lightness[answer]
    both = served[:, np.newaxis] & served
    return np.asarray(both & (given[:, np.newaxis] <= given), dtype=np.bool_)


def _topological(before: Booleans) -> Integers:
    """The groups light to dark: who must come out lighter than more others stands first."""
    return np.lexsort((before.sum(axis=0), -before.sum(axis=1)))


def align(cost: Floats, without: Floats, order: Integers, level_of: Integers) -> Integers:
    """The stack of each group (-1 for none), strictly darker along `order`: least total cost.

    `order` lists the groups light to dark; `level_of` is the rank in lightness of each stack.
    """
    n_levels = int(level_of.max()) + 1
    cheapest, at_level = cheapest_of(cost, n_levels - 1 - level_of)  # light to dark
    total = np.zeros((len(order) + 1, n_levels + 1))  # first i groups, first j levels
    takes = np.zeros(total.shape, dtype=bool)
    for i, group in enumerate(order):
        skipped = total[i] + without[group]
        taken = total[i, :-1] + cheapest[group]
        best = np.append(skipped[0], np.minimum(taken, skipped[1:]))
        total[i + 1] = np.minimum.accumulate(best)
        takes[i + 1, 1:] = taken < np.minimum(skipped[1:], total[i + 1, :-1])
    answer = np.full(len(order), -1, dtype=np.intp)
    i, j = len(order), n_levels
    while i and j:
        if takes[i, j]:
            i, j = i - 1, j - 1
            answer[order[i]] = at_level[order[i], j]
        elif total[i, j] == total[i, j - 1]:
            j -= 1
        else:
            i -= 1
    return answer


def cheapest_of(cost: Floats, kind_of: Integers) -> tuple[Floats, Integers]:
    """The least cost (n, k) of each of n groups by the kind, from 0 to k - 1, of what costs it
    (n, m), and where that is; of equals the first.
    """
    order = np.argsort(kind_of, kind="stable")
    starts = np.flatnonzero(np.diff(kind_of[order], prepend=-1))
    least = np.minimum.reduceat(cost[:, order], starts, axis=1)
    where = np.empty(least.shape, dtype=np.intp)
    for row, (own, of_kind) in enumerate(zip(cost[:, order], least, strict=True)):
        places = np.flatnonzero(own == np.repeat(of_kind, np.diff(starts, append=len(order))))
        kinds = kind_of[order][places]
        where[row] = order[places[np.diff(kinds, prepend=-1) > 0]]
    return least, where
