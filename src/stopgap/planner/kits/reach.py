"""What pencils reach, alone and laid over each other, and what is lost where few are taken."""

import time
from collections.abc import Collection, Sequence
from contextlib import suppress
from typing import TYPE_CHECKING

import numpy as np

from stopgap.arrays import Floats, Integers
from stopgap.layering.recipe_search import Found
from stopgap.planner.kits.task import Options
from stopgap.planner.materials import labs_of
from stopgap.planner.nearness import differences
from stopgap.planner.recipes.for_lists import FOR_RECIPES, recipes_in_time
from stopgap.planner.recipes.kept import recipes_under
from stopgap.planner.solver import Clock, OutOfTime
from stopgap.planner.translation.answer import Asked
from stopgap.swatches import LaidStack, LayingConditions, Swatch

if TYPE_CHECKING:
    from stopgap.layering.recipe_search import Progress
    from stopgap.planner.recipes.cache import RecipeCache
    from stopgap.planner.recipes.index import RecipeIndex

_AT_ONCE = 256  # colours between two looks at the clock
_SEARCHES = 6.0  # as much time as a search of all is kept for the last answer and what it says


class Reach:
    """All pencils and their recipes, asked for what comes nearest to some colours.

    What is laid is a row of layings: of pencils alone, -1 and the column; of recipes, as the index
    has them.
    """

    def __init__(
        self, asked: Sequence[Asked], pencils: Sequence[Swatch], made: "RecipeIndex | None"
    ) -> None:
        self.asked, self.pencils, self.made = asked, pencils, made
        self.labs = np.array([entry.lab for entry in asked], dtype=np.float64)
        self.alone = differences(self.labs, labs_of(pencils))
        column = {one.address: place for place, one in enumerate(pencils)}
        for row, entry in enumerate(asked):
            if entry.instead in column:
                self.alone[row, column[entry.instead]] = np.inf
        if made is not None:
            self.column_of = np.array([column[one.address] for one in made.swatches], dtype=np.intp)

    def options(self, written: int, of_all: Floats) -> Options:
        """What serves each colour, and what it loses: every pencil, and the nearest recipes."""
        n, m = self.alone.shape
        cost = self.alone - of_all[:, np.newaxis]
        pencils = np.broadcast_to(np.arange(m)[np.newaxis, :, np.newaxis], (n, m, 2))
        if self.made is None:
            beyond = np.full(n, np.inf)
            if written < m:
                beyond = np.partition(cost, written, axis=1)[:, written]
            return Options(np.maximum(cost, 0.0), pencils, np.maximum(beyond, 0.0))
        more = np.full((n, written), np.inf)
        taken = np.zeros((n, written, 2), dtype=np.intp)
        beyond = np.full(n, np.inf)
        for row, (layings, delta_E) in enumerate(self._search(written, ())):
            many = len(delta_E)
            if many == written:
                beyond[row] = delta_E[-1]
            more[row, :many], taken[row, :many] = delta_E, self._columns(layings)
        lost = [np.maximum(one - of_all[:, np.newaxis], 0.0) for one in (self.alone, more)]
        return Options(
            np.concatenate(lost, axis=1),
            np.concatenate([pencils, taken], axis=1),
            np.maximum(beyond - of_all, 0.0),
        )

    def nearest(
        self, columns: Integers, clock: Clock | None = None
    ) -> tuple[list[tuple[int, int]], Floats]:
        """What of some pencils comes nearest to each colour, as layings, and its ΔE00 (n,); raises
        OutOfTime where the clock runs out before that is known.
        """
        near = self.alone[:, columns]
        place = near.argmin(axis=1)
        delta_E = near[np.arange(len(near)), place]
        laid = [(-1, int(columns[one])) for one in place]
        if self.made is None:
            return laid, delta_E
        taken = set(columns.tolist())
        without = [one.address for place, one in enumerate(self.pencils) if place not in taken]
        for row, (layings, apart) in enumerate(self._search(1, without, clock)):
            if len(apart) and apart[0] < delta_E[row]:
                first, second = layings[0].tolist()
                laid[row], delta_E[row] = (first, second), float(apart[0])
        return laid, delta_E

    def stacks(self, laid: Sequence[tuple[int, int]], *, sure: bool = True) -> list[LaidStack]:
        """What layings are; unless `sure`, without how sure recipes are."""
        stacks = [LaidStack.of(self.pencils[column if first < 0 else 0]) for first, column in laid]
        rows = [row for row, (first, _) in enumerate(laid) if first >= 0]
        if self.made is not None and rows:
            # colours side by side often have one nearest recipe
            once = dict.fromkeys(laid[row] for row in rows)
            layings = np.array([*once], dtype=np.intp)
            (recipes,) = self.made.described([Found(layings, np.zeros(len(once)))], sure=sure)
            described = dict(zip(once, recipes, strict=True))
            for row in rows:
                stacks[row] = described[laid[row]].laid
        return stacks

    def _search(
        self, limit: int, without: Collection[str], clock: Clock | None = None
    ) -> list[Found]:
        """The nearest recipes of each colour, none with a pencil that it is to replace."""
        if self.made is None:
            return []
        rows_of: dict[str, list[int]] = {}
        for row, entry in enumerate(self.asked):
            rows_of.setdefault(entry.instead, []).append(row)
        found: dict[int, Found] = {}
        for instead, rows in rows_of.items():
            barred = {*without, instead} - {""}
            for first in range(0, len(rows), _AT_ONCE):
                if clock is not None:
                    clock.check()
                some = rows[first : first + _AT_ONCE]
                found |= zip(some, self.made.search(self.labs[some], limit=limit, without=barred))
        return [found[row] for row in range(len(self.asked))]

    def _columns(self, layings: Integers) -> Integers:
        """The pencils (k, 2) that layings take, twice the same where it is one."""
        pressures = len(self.made.pressures) if self.made else 1
        both = np.where(layings < 0, layings[:, :1], layings)
        columns: Integers = self.column_of[both // pressures]
        return columns


def reached(
    asked: Sequence[Asked],
    pencils: Sequence[Swatch],
    layers: LayingConditions | None,
    clock: Clock,
    cache: "RecipeCache | None",
    progress: "Progress | None",
) -> tuple[Reach, list[tuple[int, int]], Floats, float]:
    """What pencils reach, with layers where there is time to count and to tell them; what of all
    is nearest to each colour; and the seconds that telling takes.
    """
    every = np.arange(len(pencils))
    if layers is not None:
        share = clock.part(FOR_RECIPES)
        with suppress(OutOfTime):
            made = recipes_in_time(recipes_under, layers, pencils, share, cache, progress)
            started = time.monotonic()
            box = Reach(asked, pencils, made)
            nearest = box.nearest(every, share)
            telling = _SEARCHES * (time.monotonic() - started)
            clock.less(telling).check()
            return box, *nearest, telling
    box = Reach(asked, pencils, None)
    return box, *box.nearest(every), 0.0
