"""The recipes nearest to a colour; a pencil laid as in its swatch and alone is none."""

from collections.abc import Collection, Mapping, Sequence
from typing import NamedTuple, Protocol

import numpy as np

from stopgap.arrays import Booleans, Floats, FloatsLike, Integers, distinct
from stopgap.difference import DifferenceFunction
from stopgap.layering.recipe_search import Catalogue, Found
from stopgap.neighbours import SwatchIndex, nearest_in_batches
from stopgap.planner.materials import labs_of
from stopgap.swatches import Lab, Swatch, Target

_FIRST = 16  # recipes asked of the index at first; each doubling costs about as much again
_PER_ANSWER = 3  # recipes asked for each answer: most pairs have one or two among the nearest
_GROWTH = 4
_TOGETHER = 2  # times that more are asked for all whose answers are not told, then for each alone
_PAIRS = 2**13  # of a target and a colour, whose differences are worked out together
_SLACK = 1e-9  # above what compiled differences are off numpy's
_SPARE = 3  # recipes asked for beyond those wanted: some are pencils laid heavily and alone


class Recipes(Protocol):
    """What all that can be laid is asked, whole or pruned."""

    @property
    def swatches(self) -> Sequence[Swatch]:
        """The pencils."""

    @property
    def pressures(self) -> Mapping[str, float]:
        """The load of each pressure."""

    def search(
        self, targets_lab: FloatsLike, *, limit: int = 5, without: Collection[str] = ()
    ) -> list[Found]:
        """As `RecipeIndex.search`."""

    def scan(
        self,
        target_lab: Lab,
        difference: DifferenceFunction,
        *,
        limit: int,
        without: Collection[str] = (),
    ) -> Found:
        """As `RecipeIndex.scan`."""


def nearest_of_each(
    targets: Sequence[Target],
    index: Recipes,
    barred: Sequence[Collection[str]],
    *,
    limit: int,
) -> list[Found]:
    """What `nearest_recipes` finds for each without those `barred`, most of it in one search.

    Whether recipes count hangs on their own pencils alone, so that of what all pencils give those
    with a barred one are passed over; one target by itself is asked without them at once.
    """
    together = [place for place, its in enumerate(barred) if len(targets) > 1 or not its]
    labs, wanted = labs_of(targets)[together], limit + _SPARE
    few = index.search(labs, limit=wanted) if together else []
    found = dict(zip(together, few, strict=True))
    as_swatched, number = _as_swatched(index), _numbers(index)
    answers = []
    for place, target in enumerate(targets):
        kept = None
        if place in found:
            gone = [number[address] for address in barred[place] if address in number]
            kept = _recipes_of(found[place], index, as_swatched, gone, limit, wanted)
        if kept is None:
            kept = nearest_recipes(target.lab, index, limit=limit, without=barred[place])
        answers.append(kept)
    return answers


def nearest_recipes(
    target_lab: Lab,
    index: Recipes,
    *,
    limit: int,
    without: Collection[str] = (),
    difference: DifferenceFunction | None = None,
) -> Found:
    """The `limit` nearest that are recipes, by the metric of the index or by another difference.

    Pencils whose address is in `without` are not used.
    """
    as_swatched, wanted = _as_swatched(index), limit + _SPARE
    while True:
        if difference is None:
            (found,) = index.search([target_lab], limit=wanted, without=without)
        else:
            found = index.scan(target_lab, difference, limit=wanted, without=without)
        kept = _recipes_of(found, index, as_swatched, (), limit, wanted)
        if kept is not None:
            return kept
        wanted *= 2


def _as_swatched(index: Recipes) -> Integers:
    """The laying (n,) of each pencil that is laid as in its swatch, -1 where none is."""
    names = list(index.pressures)
    return np.array(
        [
            pencil * len(names) + names.index(swatch.pressure) if swatch.pressure in names else -1
            for pencil, swatch in enumerate(index.swatches)
        ]
    )


def _numbers(index: Recipes) -> dict[str, int]:
    """The number of each pencil by its address."""
    return {swatch.address: number for number, swatch in enumerate(index.swatches)}


def _recipes_of(
    found: Found,
    index: Recipes,
    as_swatched: Integers,
    gone: Sequence[int],
    limit: int,
    wanted: int,
) -> Found | None:
    """The nearest `limit` that are recipes without the pencils that are `gone`, of the nearest
    `wanted`; None where these are too few to tell.
    """
    pencils = found.layings // len(index.pressures)
    alone = found.layings[:, 1] < 0
    kept = ~alone | (as_swatched[pencils[:, 0]] != found.layings[:, 0])
    for number in gone:
        kept &= (pencils != number).all(axis=1)
    rows = np.flatnonzero(kept)
    if len(rows) < limit and len(found.delta_E) >= wanted:
        return None
    return Found(found.layings[rows[:limit]], found.delta_E[rows[:limit]])


class RowSearch(NamedTuple):
    """The `limit` nearest recipes of a catalogue by the index of their colours, at most `per_pair`
    of a pair, rows (n,) that are not `allowed` passed over.

    The index gives rows in rising order, of which the useless ones and those of pairs that have had
    their turn are passed over, until none that was not seen can be among the answers.
    """

    colours: SwatchIndex
    catalogue: Catalogue
    allowed: Booleans | None
    limit: int
    per_pair: int

    def found(self, targets: Floats, jobs: int | None) -> list[Found]:
        """The answers for targets (m, 3); `jobs` as in `nearest_in_batches`."""
        many = max(_FIRST, _PER_ANSWER * self.limit)
        found = self._among_nearest(targets, many, jobs)
        for _ in range(_TOGETHER):
            many *= _GROWTH
            left = [place for place, one in enumerate(found) if one is None]
            more = self._among_nearest(targets[left], many, jobs) if left else []
            for place, one in zip(left, more, strict=True):
                found[place] = one
        return [
            self._settled(target, many) if one is None else one
            for target, one in zip(targets, found, strict=True)
        ]

    def _among_nearest(self, targets: Floats, many: int, jobs: int | None) -> "list[Found | None]":
        """The answer for each target from its nearest `many` rows, None where these do not tell."""
        _, rows = nearest_in_batches(self.colours, targets, many, allowed=self.allowed, jobs=jobs)
        answers: list[Found | None] = []
        at_once = max(1, _PAIRS // many)
        for start in range(0, len(targets), at_once):
            some, seen = targets[start : start + at_once], rows[start : start + at_once]
            delta_E = self.colours.difference(some[:, np.newaxis], self.colours.lab[seen])
            found = self._best(seen, delta_E)
            reaches = (delta_E.max(axis=1, initial=0.0) - _SLACK).tolist()
            whole = seen.shape[1] < many
            answers += [
                one if whole or self._full(one, reach) else None
                for one, reach in zip(found, reaches, strict=True)
            ]
        return answers

    def _settled(self, target: Floats, many: int) -> Found:
        """The answer for one target, from more and more rows."""
        lab, tints = self.colours.lab, self.catalogue.tints
        useful, rows = self.allowed, np.empty(0, dtype=np.intp)
        while True:
            more = self.colours.nearest(target, many, allowed=useful)[1][0]
            reach = float(self.colours.difference(target, lab[more]).max(initial=0.0)) - _SLACK
            rows = _union(rows, more)
            delta_E = self.colours.difference(target, lab[rows])
            (found,) = self._best(rows[np.newaxis], delta_E[np.newaxis])
            if len(more) < many or self._full(found, reach):
                return found
            # of pencils that alone come within reach no other pair can be useful
            near = np.zeros(self.catalogue.pencils, dtype=np.bool_)
            near[rows[(rows < tints) & (delta_E <= reach)] // self.catalogue.pressures] = True
            useful = ~self.catalogue.using(near)
            useful[:tints] = True
            if self.allowed is not None:
                useful &= self.allowed
            many *= _GROWTH

    def _best(self, rows: Integers, delta_E: Floats) -> list[Found]:
        return self.catalogue.best(rows, delta_E, limit=self.limit, per_pair=self.per_pair)

    def _full(self, found: Found, reach: float) -> bool:
        """Whether there are as many as wanted, all nearer than what was not looked at."""
        return len(found.delta_E) == self.limit and bool(found.delta_E[-1] < reach)


def _union(one: Integers, other: Integers) -> Integers:
    """Rows of either, once."""
    return distinct(np.concatenate([one, other]))
