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

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers
from stopgap.planner.solver import Clock, Programme

_PASSES = 8


def assign_in_order(
    cost: Floats,
    without: Floats,
    lightness: Floats,
    before: Booleans,
    result_of: Integers | None,
    apart: Booleans,
    clock: Clock,
) -> tuple[Integers, float]:
    """The stack of each group (-1 for none), and by how much less another could cost in sum: 0
    where it is proved that none does.

    Parameters
    ----------
    cost
        Shape (groups, stacks).
    without
        What leaving a group without costs, shape (groups,).
    lightness
        L* of the stacks.
    before
        [g, h] is True where g must come out lighter than h, shape (groups, groups).
    result_of
        Number of the result of each stack, None where results may be repeated.
    apart
        Who gets different results, shape (stages, groups): each is used once within a row.
    """
    n_groups, n_stacks = cost.shape
    levels, level_of = np.unique(lightness, return_inverse=True)
    programme = Programme()
    chosen = programme.add_variables(n_groups * n_stacks, whole=True).reshape(cost.shape)
    _one_each(programme, chosen)
    if result_of is not None:
        for members in apart:
            _once_each(programme, chosen[members], result_of)
    running: dict[int, Integers] = {}
    added = np.zeros_like(before)
    at_least = float(np.minimum(cost.min(axis=1, initial=np.inf), without).sum())
    while True:
        saved = cost - without[:, np.newaxis]
        objective = np.concatenate([saved.ravel(), np.zeros(programme.size - chosen.size)])
        solution = programme.minimise(objective, clock)
        at_least = max(at_least, solution.bound + float(without.sum()))
        if solution.values is None:
            answer = align(cost, without, _topological(before), level_of)
            answer = _improved(answer, cost, without, lightness, before, result_of, apart)
            return answer, max(0.0, _cost_of(answer, cost, without) - at_least)
        picked = solution.values[chosen] > 0.5
        answer = np.where(picked.any(axis=1), picked.argmax(axis=1), -1)
        broken = before & _not_lighter(answer, lightness)
        if not broken.any():
            gap = _cost_of(answer, cost, without) - at_least
            return answer, 0.0 if solution.proved else max(0.0, gap)
        for g, h in np.argwhere(broken & ~added):
            for group in (int(g), int(h)):
                if group not in running:
                    running[group] = _running_sum(programme, chosen[group], level_of, len(levels))
            _exclude(programme, running[int(g)], running[int(h)])
        added |= broken


def _cost_of(answer: Integers, cost: Floats, without: Floats) -> float:
    given = cost[np.arange(len(answer)), answer]
    return float(np.where(answer < 0, without, given).sum())


def _improved(
    answer: Integers,
    cost: Floats,
    without: Floats,
    lightness: Floats,
    before: Booleans,
    result_of: Integers | None,
    apart: Booleans,
) -> Integers:
    """Each group in turn with the cheapest stack that the others leave it, until nothing changes.

    The whole order, which `align` keeps, is more than is asked; that no result is given twice, of
    which it knows nothing, is seen to first.
    """
    answer = answer.copy()
    if result_of is not None:
        for group in range(len(answer)):
            beside = apart[apart[:, group]].any(axis=0) & (np.arange(len(answer)) < group)
            if (
                answer[group] >= 0
                and (result_of[answer[group]] == result_of[answer])[beside & (answer >= 0)].any()
            ):
                answer[group] = -1
    results = np.arange(cost.shape[1]) if result_of is None else result_of
    for _ in range(_PASSES):
        changed = False
        for group in range(len(answer)):
            others = (answer >= 0) & (np.arange(len(answer)) != group)
            lighter, darker = others & before[:, group], others & before[group]
            free = lightness < lightness[answer[lighter]].min(initial=np.inf)
            free &= lightness > lightness[answer[darker]].max(initial=-np.inf)
            if result_of is not None:
                beside = others & apart[apart[:, group]].any(axis=0)
                free &= ~np.isin(results, results[answer[beside]])
            open_ = np.where(free, cost[group], np.inf)
            best = int(open_.argmin()) if open_.min() < without[group] else -1
            now = without[group] if answer[group] < 0 else cost[group, answer[group]]
            then = without[group] if best < 0 else cost[group, best]
            if then < now:
                answer[group], changed = best, True
        if not changed:
            break
    return answer


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
