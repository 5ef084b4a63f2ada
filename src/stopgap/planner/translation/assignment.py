"""Somebody else's colour list, laid with the pencils at hand: the best assignment, proved.

What distinct means
-------------------
No two colours get the same pencil unless they are the same to the eye. Colours that are the same to
the eye (any two of a group within ΔE00 0.8) count as one colour and get the same stack. A recipe
may share a pencil with another recipe, or with the pencil laid alone, because what must differ is
the result: recipes whose results are the same to the eye are used for one colour only, and a recipe
no different from a pencil alone is not offered. A lesson in stages is distinct within each stage
where that brings its colours nearer than each result for one colour of the whole picture: what is
laid in different stages may share a pencil, and one colour keeps its answer through all of them.

What is best
------------
The sum of weight times ΔE is least; where nothing comes within ΔE00 10 of a colour, its part is
`hue_keeping_difference` instead, lest a grey stand for a vivid one. A colour left without counts as
twice the largest of the table, and as 100 at least, so that none is left while something is free.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

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
from stopgap.planner.solver import Clock
from stopgap.planner.translation.answer import Asked, TranslatedRow, Translation
from stopgap.planner.translation.rows import Decided, ranking, translation_of
from stopgap.planner.translation.sharing_out import SharingOut
from stopgap.swatches import LaidStack, Swatch

CANNOT_BE_HAD = GRADES["noticeable"]
"""ΔE00 beyond which the nearest stack is no stand-in: the grade `different` begins there."""
CLEARLY_LIGHTER = 5.0
"""Difference in L* from which the order of lightness is kept: this project's choice."""


def translate(
    asked: Sequence[Asked],
    candidates: Sequence[Swatch],
    *,
    distinct: bool = True,
    keep_order: bool = False,
    within_stages: bool = True,
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
    within_stages
        Whether what has stages is distinct within each, where that serves, not over the whole list.
    recipes
        Recipes and tints beside the candidates laid alone, or a function that makes them from the
        candidates and the colours asked for.
    cannot_be_had
        ΔE beyond which the nearest stack of all is no stand-in: the row is among the `impossible`.
    time_limit
        Seconds for all of it, with `keep_order`; after them `Translation.proved` is False, and
        `Translation.gap` says by how much less another answer could cost in sum.
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
    clock = Clock(time_limit)
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
    task = SharingOut.of(entries, labs, cost, lightness, result_of, barred, distinct=distinct)
    task = task.within_stages(entries) if within_stages else task
    found = task.decided(clearly_lighter if keep_order else None, clock)
    rows = [TranslatedRow(entry) for entry in asked]
    results = result_of if distinct else None
    apart = found.together[task.groups][:, task.groups]
    decided = Decided(
        entries,
        offered,
        table,
        cost,
        barred,
        found.chosen,
        task.groups,
        apart,
        results,
        found.before,
    )
    for number, place in enumerate(known):
        rows[place] = decided.row(number, by_hue=bool(far[number]))
    told = translation_of(rows, offered, cannot_be_had, gap=found.gap)
    return replace(told, notes=found.notes)


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
    one, alone, apart = np.array([chosen]), np.zeros(1, dtype=np.intp), np.ones((1, 1), dtype=bool)
    decided = Decided([asked[place]], offered, table, cost, barred, one, alone, apart)
    return decided.row(0, by_hue=bool(far[0]))


def _offered(
    candidates: Sequence[Swatch], source: RecipeSource, labs: Floats, distinct: bool
) -> tuple[list[LaidStack], Integers]:
    """Everything that may be used, pencils alone first, and the number of its result."""
    pencils = unique_swatches(candidates, "candidates")
    alone = [LaidStack.of(pencil) for pencil in pencils]
    recipes = recipes_from(source, pencils, labs)
    if recipes and distinct:
        nearest = SwatchIndex(labs_of(alone)).nearest(labs_of(recipes), 1)[0][:, 0]
        recipes = [recipe for recipe, apart in zip(recipes, nearest) if apart > SAME_TO_THE_EYE]
    results = len(alone) + same_to_the_eye(labs_of(recipes))
    return alone + recipes, np.concatenate([np.arange(len(alone)), results])


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
