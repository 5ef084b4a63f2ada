"""The next best purchases, each without something of every one before it.

Of parts that nothing couples one or a few differ from the best list and the others are as they are
there; so each part is asked for its own next best lists, the cheapest to ask first.
"""

import itertools
from collections.abc import Sequence
from contextlib import suppress

import numpy as np

from stopgap.arrays import Booleans
from stopgap.planner.shopping.answer import Alternative
from stopgap.planner.shopping.lexicographic.purchase import Counted
from stopgap.planner.shopping.lexicographic.pursuing import pursue
from stopgap.planner.shopping.task import Task
from stopgap.planner.solver import TOLERANCE, OutOfTime

NEAR = 1.5
"""Alternatives cost at most this many times the best list: this project's choice."""


def alternatives_to(
    bought: Booleans, task: Task, counted: Sequence[Counted], count: int
) -> tuple[Alternative, ...]:
    """Up to `count` next best lists, as far as they can be told in time.

    Each lacks at least one pencil or set of every list before it, so none is a longer copy of
    another; without a budget each meets the same needs at no more than NEAR times the cost.
    `counted` are the parts of what is `bought`.
    """
    lists, search = [bought], _NextBest(task, bought, counted)
    while len(lists) <= count:
        found = search.beside(lists)
        if found is None or task.clock.left == 0.0:
            break
        lists.append(found)
    return tuple(_alternative(each, task) for each in lists[1:])


def _alternative(bought: Booleans, task: Task) -> Alternative:
    swatches = tuple(offer.swatch for offer in task.sale.singly_bought(bought))
    sets = task.sale.sets_bought(bought)
    return Alternative(swatches, task.cost(bought), task.shortfall(bought), sets)


class _NextBest:
    """What each part has beside its best list, kept as it is asked for."""

    def __init__(self, task: Task, bought: Booleans, counted: Sequence[Counted]) -> None:
        # a budget is shared, and of the same core first may mean dearer
        together = task.budget is not None or task.minds_cores or len(counted) == 1
        self.counted = counted
        self.parts = [task] if together else [one.task for one in counted]
        self.things = [np.ones_like(bought)] if together else [one.things for one in self.parts]
        self.best = [bought & things for things in self.things]
        every = zip(self.parts, self.best, strict=True)
        self.alone = [part.held_by_all(best) for part, best in every]
        self.task, self.bought = task, bought
        self.asked: dict[tuple[int, float | None, frozenset[bytes]], Booleans | None] = {}

    def beside(self, lists: Sequence[Booleans]) -> Booleans | None:
        """The best list that lacks something of each of these, None if none costs little enough."""
        found = self._joined(lists, as_good=True)
        if found is None or self._merit(found) > self._merit(self.bought):
            found = self._joined(lists, as_good=False)
        return found if found is not None and found.any() else None

    def _joined(self, lists: Sequence[Booleans], *, as_good: bool) -> Booleans | None:
        """The best of what parts have that lacks something of each list; with `as_good` no part
        need tell what is dearer, and none is asked once one such is found.
        """
        every, dearer = frozenset(range(len(lists))), (NEAR - 1.0) * self.task.cost(self.bought)
        best: Booleans | None = None
        joined = {frozenset[int](): self.bought}
        for place, its_best in enumerate(self.best):
            spare = dearer if best is None else self.task.cost(best) - self.task.cost(self.bought)
            own = [its_best, *self._others(place, lists, None if as_good else spare)]
            reached = dict[frozenset[int], Booleans]()
            for (lacked, before), mine in itertools.product(joined.items(), own):
                its = {k for k, one in enumerate(lists) if (one & self.things[place] & ~mine).any()}
                now, with_it = lacked | its, (before & ~self.things[place]) | mine
                if now not in reached or self._merit(with_it) < self._merit(reached[now]):
                    reached[now] = with_it
            joined, best = reached, reached.get(every)
            if best is not None and self._merit(best) == self._merit(self.bought):
                break
        near = self.task.cost(self.bought) + dearer + TOLERANCE
        if best is not None and self.task.budget is None and self.task.cost(best) > near:
            return None
        return best

    def _merit(self, bought: Booleans) -> tuple[float, int]:
        return round(self.task.cost(bought), 6), int(bought.sum())

    def _others(self, place: int, lists: Sequence[Booleans], spare: float | None) -> list[Booleans]:
        """What a part has that lacks something of its best list, and of some of the others."""
        best, things = self.best[place], self.things[place]
        if not best.any() or self.alone[place]:
            return []
        kinds = {(one & things).tobytes(): one & things for one in lists}
        kinds.pop(best.tobytes(), None)
        sizes = range(len(kinds) + 1) if len(self.parts) > 1 else [len(kinds)]
        some = [each for size in sizes for each in itertools.combinations(kinds.values(), size)]
        found = [self._next(place, (best, *each), spare) for each in some]
        return [each for each in found if each is not None]

    def _next(self, place: int, lists: Sequence[Booleans], spare: float | None) -> Booleans | None:
        """The best that a part has without something of each list, that costs no more than `spare`
        beside its best; with None that is as good as its best, if that is simpler.
        """
        if spare is None and self.parts[place].cheap is None:
            spare = (NEAR - 1.0) * self.task.cost(self.bought)
        key = (place, spare, frozenset(each.tobytes() for each in lists))
        if key not in self.asked:
            self.asked[key] = None
            with suppress(OutOfTime):
                self.asked[key] = self._found(place, lists, spare)
        return self.asked[key]

    def _found(self, place: int, lists: Sequence[Booleans], spare: float | None) -> Booleans | None:
        task = self.parts[place]
        if spare is None:
            made, programme = self.counted[place].made, self.counted[place].programme.copy()
        else:
            most = task.cost(self.best[place]) + spare
            made = task.dearer(most)
            programme = task.within_budget(made)
            if task.budget is None:
                programme.add_row(made.offers, task.prices, 0.0, most + TOLERANCE)
        if made is None:
            return None
        for each in lists:
            pencils = made.offers[each]
            programme.add_row(pencils, np.ones(len(pencils)), 0.0, len(pencils) - 1.0)
        closed = made.offers[task.undercut(held=np.logical_or.reduce(lists))]
        aims = task.aims_counted(made)
        found, reached = pursue(task, made, programme, aims[:1] if spare is None else aims, closed)
        return found if all(aim.proved for aim in reached) else None
