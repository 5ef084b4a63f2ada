"""Somebody else's colour list, laid with the pencils at hand: the best assignment, proved.

What distinct means
-------------------
No two colours get the same pencil unless they are the same to the eye. Colours that are the same to
the eye (any two of a group within ΔE00 0.8) count as one colour and get the same stack. A recipe
may share a pencil with another recipe, or with the pencil laid alone, because what must differ is
the result: recipes whose results are the same to the eye are used for one colour only, and a recipe
no different from a pencil alone is not offered.

What is best
------------
The sum of weight times ΔE is least; where nothing comes within ΔE00 10 of a colour, its part is
`hue_keeping_difference` instead, lest a grey stand for a vivid one. A colour left without counts as
twice the largest of the table, and as 100 at least, so that none is left while something is free.
"""

from collections import Counter
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers
from stopgap.defaults import JOBS, TIME_LIMIT
from stopgap.difference import DEFAULT_METRIC, GRADES, DifferenceFunction
from stopgap.errors import InputError
from stopgap.neighbours import SwatchIndex, nearest_in_batches
from stopgap.planner.materials import RecipeSource, labs_of, recipes_from, unique_swatches
from stopgap.planner.nearness import (
    FAR,
    SAME_TO_THE_EYE,
    differences,
    lays_better,
    same_to_the_eye,
)
from stopgap.planner.solver import Clock, assign
from stopgap.planner.translation.answer import Asked, TranslatedRow, Translation
from stopgap.planner.translation.ordered_assignment import assign_in_order
from stopgap.planner.translation.rows import Decided, ranking, translation_of
from stopgap.swatches import LaidStack, Swatch

CANNOT_BE_HAD = GRADES["noticeable"]
"""ΔE00 beyond which the nearest stack is no stand-in: the grade `different` begins there."""
CLEARLY_LIGHTER = 5.0
"""Difference in L* from which the order of lightness is kept: this project's choice."""
_BLACK_TO_WHITE = 100.0
_NEVER = 10.0  # times what leaving a colour without costs


def translate(
    asked: Sequence[Asked],
    candidates: Sequence[Swatch],
    *,
    distinct: bool = True,
    keep_order: bool = False,
    recipes: RecipeSource = (),
    metric: str | DifferenceFunction = DEFAULT_METRIC,
    clearly_lighter: float = CLEARLY_LIGHTER,
    cannot_be_had: float = CANNOT_BE_HAD,
    time_limit: float | None = TIME_LIMIT,
    jobs: int | None = JOBS,
) -> Translation:
    """What to lay for each colour of a list.

    Parameters
    ----------
    asked
        The list; entries without a colour (unknown names) stay in it and are reported.
    candidates
        The pencils that may be used.
    distinct
        Whether colours that can be told apart get different results; else each gets its nearest.
    keep_order
        Whether a colour lighter than another by more than `clearly_lighter` in L* gets a stack that
        is lighter (by any amount) than the other's; colours that are the same to the eye count by
        their mean lightness.
    recipes
        Recipes and tints beside the candidates laid alone, or a function that makes them from the
        candidates and the colours asked for.
    cannot_be_had
        ΔE beyond which the nearest stack of all is no stand-in: the row is among the `impossible`.
    time_limit
        Seconds for `keep_order`; after them `Translation.proved` is False and the whole order of
        lightness is kept.
    jobs
        As in `nearest_in_batches`, for lists whose colours get their nearest each; those that
        depend on each other are decided together.

    Raises
    ------
    InputError
        For an empty list, a weight that is not above zero, or an address with two contents.
    """
    if not asked:
        raise InputError("the list holds no colour; give at least one.", argument="asked")
    if not clearly_lighter >= 0.0:
        raise InputError("expected a difference in L* of at least 0.", argument="clearly_lighter")
    known = _known_sorted(asked)
    labs = np.array([asked[place].lab for place in known], dtype=np.float64).reshape(-1, 3)
    offered, result_of = _offered(candidates, recipes, labs, distinct)
    if offered and not distinct and not keep_order:
        return _each_its_nearest(asked, known, labs, offered, metric, cannot_be_had, jobs)
    table = differences(labs, labs_of(offered), metric)
    barred = _barred(asked, known, offered)
    entries = [asked[place] for place in known]
    far, cost = ranking(entries, offered, table, metric, barred)
    lightness = labs_of(offered)[:, 0] if offered else np.empty(0)
    task = _Task.of(entries, labs, cost, lightness, result_of, barred, distinct=distinct)
    chosen, before, proved = task.decided(clearly_lighter if keep_order else None, time_limit)
    rows = [TranslatedRow(entry) for entry in asked]
    results = result_of if distinct else None
    decided = Decided(entries, offered, table, cost, barred, chosen, task.groups, results, before)
    for number, place in enumerate(known):
        rows[place] = decided.row(number, by_hue=bool(far[number]))
    return translation_of(rows, offered, cannot_be_had, proved=proved)


class _Task(NamedTuple):
    """Groups of colours to be assigned: what each result costs each group, and none at all.

    `groups` is the group of each colour. `cost` is of shape (groups, offered), `without` and
    `lightness` (groups,); `offered` and `result_of` are L* and the number of the result of what is
    offered, each used once where `distinct`.
    """

    groups: Integers
    cost: Floats
    without: Floats
    lightness: Floats
    offered: Floats
    result_of: Integers
    distinct: bool

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
    ) -> "_Task":
        """The task of entries of colours `labs`, `table` their ΔE to what is offered.

        What is `barred` for a colour costs more than leaving it without.
        """
        groups = same_to_the_eye(labs) if distinct else _alike(entries)
        if not table.size:
            return cls(groups, table, np.empty(0), np.empty(0), offered, result_of, distinct)
        weights, member = np.array([entry.weight for entry in entries]), _membership(groups)
        cost = member @ (weights[:, np.newaxis] * table)
        without = member @ weights * max(_BLACK_TO_WHITE, 2.0 * float(table.max()))
        cost[member @ barred > 0.0] = _NEVER * without.max()
        lightness = member @ labs[:, 0] / member.sum(axis=1)
        return cls(groups, cost, without, lightness, offered, result_of, distinct)

    def decided(
        self, clearly_lighter: float | None, time_limit: float | None
    ) -> tuple[Integers, Booleans | None, bool]:
        """What each colour gets, -1 for nothing; which colours were kept lighter; if proved.

        With `clearly_lighter`, groups lighter by more than that come out lighter.
        """
        if not len(self.without):
            return np.full(len(self.groups), -1, dtype=np.intp), None, True
        if clearly_lighter is None:
            chosen = _assign_results(self.cost, self.without, self.result_of)
            return chosen[self.groups], None, True
        before = _clearly_before(self.lightness, clearly_lighter)
        results = self.result_of if self.distinct else None
        chosen, proved = assign_in_order(
            self.cost, self.without, self.offered, before, results, Clock(time_limit)
        )
        return chosen[self.groups], before[self.groups][:, self.groups], proved


def _known_sorted(asked: Sequence[Asked]) -> list[int]:
    """Places of the entries that have a colour, in an order that the list's own does not change."""
    known = [place for place, entry in enumerate(asked) if entry.lab is not None]
    return sorted(known, key=lambda place: asked[place].key)


def _each_its_nearest(
    asked: Sequence[Asked],
    known: Sequence[int],
    labs: Floats,
    offered: Sequence[LaidStack],
    metric: str | DifferenceFunction,
    cannot_be_had: float,
    jobs: int | None,
) -> Translation:
    """The list of which each of the `known` entries, of colours `labs`, gets the nearest stack."""
    index = SwatchIndex(labs_of(offered), metric)
    # a pencil, or a pair, at other pressures is no second
    many = 1 + max(Counter(stack.addresses for stack in offered).values())
    delta_E, columns = nearest_in_batches(index, labs, many, jobs=jobs)
    rows = [TranslatedRow(entry) for entry in asked]
    for place, near, nearest in zip(known, delta_E.tolist(), columns.tolist()):
        if asked[place].instead or (metric == DEFAULT_METRIC and near[0] > FAR):
            rows[place] = _of_every_stack(asked, place, offered, metric)
            continue
        best = offered[nearest[0]]
        others = ((offered[column], apart) for column, apart in zip(nearest, near))
        second = next((one for one in others if one[0].addresses != best.addresses), (None, None))
        rows[place] = TranslatedRow(asked[place], best, near[0], best, near[0], *second)
    return translation_of(rows, offered, cannot_be_had)


def _of_every_stack(
    asked: Sequence[Asked],
    place: int,
    offered: Sequence[LaidStack],
    metric: str | DifferenceFunction,
) -> TranslatedRow:
    """One entry that gets the best there is, all of it looked at."""
    lab, barred = np.array([asked[place].lab], dtype=np.float64), _barred(asked, [place], offered)
    table = differences(lab, labs_of(offered), metric)
    far, cost = ranking([asked[place]], offered, table, metric, barred)
    chosen = int(np.where(barred, np.inf, cost).argmin())
    chosen = -1 if barred[0, chosen] else chosen
    one, alone = np.array([chosen]), np.zeros(1, dtype=np.intp)
    decided = Decided([asked[place]], offered, table, cost, barred, one, alone)
    return decided.row(0, by_hue=bool(far[0]))


def _offered(
    candidates: Sequence[Swatch], source: RecipeSource, labs: Floats, distinct: bool
) -> tuple[list[LaidStack], Integers]:
    """Everything that may be used, pencils alone first, and the number of its result."""
    pencils = unique_swatches(candidates, "candidates")
    alone = [LaidStack.of(pencil) for pencil in pencils]
    recipes = recipes_from(source, pencils, labs)
    if recipes and distinct:
        nearest = differences(labs_of(recipes), labs_of(alone)).min(axis=1)
        recipes = [recipe for recipe, apart in zip(recipes, nearest) if apart > SAME_TO_THE_EYE]
    results = len(alone) + same_to_the_eye(labs_of(recipes))
    return alone + recipes, np.concatenate([np.arange(len(alone)), results])


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


def _barred(asked: Sequence[Asked], known: Sequence[int], offered: Sequence[LaidStack]) -> Booleans:
    """[known, stack]: whether the stack takes the very pencil that the entry is to replace, or one
    that is not known to lay better where it is for its laydown.
    """
    barred = np.zeros((len(known), len(offered)), dtype=np.bool_)
    for row, place in enumerate(known):
        instead, badly = asked[place].instead, asked[place].laid_badly
        if badly is not None:
            barred[row] = [not lays_better(badly, stack.swatches) for stack in offered]
        elif instead:
            barred[row] = [instead in stack.addresses for stack in offered]
    return barred
