"""Assignment that keeps the order of lightness: a small integer programme.

x[g, s] says that group g gets stack s. Where g is clearly lighter than h, the stack of g must be
lighter than that of h: for every lightness l among the stacks, "g gets something of lightness l or
less" and "h gets something of lightness l or more" exclude each other. The first is a running sum
of x[g, .] sorted by lightness, so a row of the programme has three entries. Pairs are added only
when an answer breaks them; the answer that breaks none is the optimum over all pairs, because each
programme solved before asks for less.

Where the time runs out, the fallback keeps the whole order of lightness strictly, which is more
than asked and therefore allowed, by an alignment of the two sorted sequences (the dynamic programme
of S. B. Needleman and C. D. Wunsch, 1970, Journal of Molecular Biology 48(3), 443-453), and is then
improved group by group. What any assignment costs at least is known from the programmes solved.
"""

from typing import NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers
from stopgap.planner.solver import Clock, Programme

_PASSES = 8


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
        cost, without, before = self.cost, self.without, self.before
        answer = self._cheapest()
        if self._allows(answer):  # nothing costs less, and no solver need be loaded
            return answer, 0.0
        levels, level_of = np.unique(self.lightness, return_inverse=True)
        programme = Programme()
        chosen = programme.add_variables(cost.size, whole=True).reshape(cost.shape)
        _one_each(programme, chosen)
        if self.result_of is not None:
            for members in self.apart:
                _once_each(programme, chosen[members], self.result_of)
        running: dict[int, Integers] = {}
        added = np.zeros_like(before)
        at_least = float(np.minimum(cost.min(axis=1, initial=np.inf), without).sum())
        while True:
            saved = cost - without[:, np.newaxis]
            objective = np.concatenate([saved.ravel(), np.zeros(programme.size - chosen.size)])
            solution = programme.minimise(objective, clock)
            at_least = max(at_least, solution.bound + float(without.sum()))
            if solution.values is None:
                answer = self._improved(align(cost, without, _topological(before), level_of))
                return answer, max(0.0, self._cost_of(answer) - at_least)
            picked = solution.values[chosen] > 0.5
            answer = np.where(picked.any(axis=1), picked.argmax(axis=1), -1)
            broken = before & _not_lighter(answer, self.lightness)
            if not broken.any():
                gap = self._cost_of(answer) - at_least
                return answer, 0.0 if solution.proved else max(0.0, gap)
            for g, h in np.argwhere(broken & ~added):
                for group in (int(g), int(h)):
                    if group not in running:
                        running[group] = _running_sum(
                            programme, chosen[group], level_of, len(levels)
                        )
                _exclude(programme, running[int(g)], running[int(h)])
            added |= broken

    def _cheapest(self) -> Integers:
        """For each group what costs it least, whatever the others get."""
        if not self.cost.size:
            return np.full(len(self.without), -1)
        return np.where(self.cost.min(axis=1) < self.without, self.cost.argmin(axis=1), -1)

    def _allows(self, answer: Integers) -> bool:
        """Whether lighter groups come out lighter, and no result is given twice."""
        if (self.before & _not_lighter(answer, self.lightness)).any():
            return False
        if self.result_of is None:
            return True
        given = (self.result_of[answer[members & (answer >= 0)]] for members in self.apart)
        return all(len(np.unique(results)) == len(results) for results in given)

    def _cost_of(self, answer: Integers) -> float:
        given = self.cost[np.arange(len(answer)), answer]
        return float(np.where(answer < 0, self.without, given).sum())

    def _improved(self, answer: Integers) -> Integers:
        """Each group in turn with the cheapest stack that the others leave it, until nothing
        changes.

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
    at_level = np.full((len(order), n_levels), -1, dtype=np.intp)
    for level in range(n_levels):
        there = np.flatnonzero(level_of == n_levels - 1 - level)  # light to dark
        at_level[:, level] = there[cost[:, there].argmin(axis=1)]
    total = np.zeros((len(order) + 1, n_levels + 1))  # first i groups, first j levels
    takes = np.zeros(total.shape, dtype=bool)
    for i, group in enumerate(order):
        skipped = total[i] + without[group]
        taken = total[i, :-1] + cost[group, at_level[group]]
        total[i + 1, 0] = skipped[0]
        for j in range(n_levels):
            least = min(skipped[j + 1], total[i + 1, j])
            takes[i + 1, j + 1] = taken[j] < least
            total[i + 1, j + 1] = min(taken[j], least)
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
