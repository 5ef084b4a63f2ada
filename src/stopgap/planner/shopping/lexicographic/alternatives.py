"""The next best purchases, each without something of every one before it.

Of parts that nothing couples one or a few differ from the best list and the others are as they are
there; so each part is asked for its own next best lists, the cheapest to ask first.
"""

import itertools
from collections.abc import Sequence

import numpy as np

from stopgap.arrays import Booleans
from stopgap.planner.shopping.answer import Alternative
from stopgap.planner.shopping.lexicographic.pursuing import AtLeast, pursue
from stopgap.planner.shopping.task import Task
from stopgap.planner.solver import TOLERANCE, OutOfTime

NEAR = 1.5
"""Alternatives cost at most this many times the best list: this project's choice."""


def alternatives_to(bought: Booleans, task: Task, count: int) -> tuple[Alternative, ...]:
    """Up to `count` next best lists.

    Each lacks at least one pencil or set of every list before it, so none is a longer copy of
    another; without a budget each meets the same needs at no more than NEAR times the cost.
    """
    lists, search = [bought], _NextBest(task, bought)
    while len(lists) <= count:
        try:
            found = search.beside(lists)
        except OutOfTime:
            break
        if found is None:
            break
        lists.append(found)
    return tuple(_alternative(each, task) for each in lists[1:])


def _alternative(bought: Booleans, task: Task) -> Alternative:
    swatches = tuple(offer.swatch for offer in task.sale.singly_bought(bought))
    sets = task.sale.sets_bought(bought)
    return Alternative(swatches, task.cost(bought), task.shortfall(bought), sets)


class _NextBest:
    """What each part has beside its best list, kept as it is asked for."""

    def __init__(self, task: Task, bought: Booleans) -> None:
        # a budget is shared, and of the same core first may mean dearer
        self.parts = (task,) if task.budget is not None or task.minds_cores else task.parts
        self.task, self.bought = task, bought
        self.best = [bought & part.things for part in self.parts]
        if len(self.parts) == 1:
            self.best = [bought]
        self.asked: dict[tuple[int, bool, frozenset[bytes]], Booleans | None] = {}

    def beside(self, lists: Sequence[Booleans]) -> Booleans | None:
        """The best list that lacks something of each of these, None if none costs little enough.

        Raises OutOfTime where that cannot be told in time.
        """
        found = self._joined(lists, as_good=True)
        if found is None or self._merit(found) > self._merit(self.bought):
            found = self._joined(lists, as_good=False)
        near = NEAR * self.task.cost(self.bought) + TOLERANCE
        if found is None or (self.task.budget is None and self.task.cost(found) > near):
            return None
        return found if found.any() else None

    def _joined(self, lists: Sequence[Booleans], *, as_good: bool) -> Booleans | None:
        """The best of what parts have that lacks something of each list, by the lists lacked; with
        `as_good` no part need tell what is dearer, and none is asked once one such is found.
        """
        every = frozenset(range(len(lists)))
        joined = {frozenset[int](): np.zeros_like(self.bought)}
        for place, best in enumerate(self.best):
            rest = np.logical_or.reduce([*self.best[place + 1 :], np.zeros_like(best)])
            own = [best, *self._others(place, lists, as_good=as_good)]
            reached = dict[frozenset[int], Booleans]()
            for (lacked, before), mine in itertools.product(joined.items(), own):
                its = {k for k, one in enumerate(lists) if self._lacks(place, mine, one)}
                now, with_it = lacked | its, before | mine
                if now not in reached or self._merit(with_it) < self._merit(reached[now]):
                    reached[now] = with_it
            joined = reached
            if every in joined and self._merit(joined[every] | rest) == self._merit(self.bought):
                return np.asarray(joined[every] | rest)
        return joined.get(every)

    def _lacks(self, place: int, mine: Booleans, other: Booleans) -> bool:
        things = other if len(self.parts) == 1 else other & self.parts[place].things
        return bool((things & ~mine).any())

    def _merit(self, bought: Booleans) -> tuple[float, int]:
        return round(self.task.cost(bought), 6), int(bought.sum())

    def _others(self, place: int, lists: Sequence[Booleans], *, as_good: bool) -> list[Booleans]:
        """What a part has that lacks something of its best list, and of some of the others."""
        best = self.best[place]
        if not best.any():
            return []
        things = np.ones_like(best) if len(self.parts) == 1 else self.parts[place].things
        kinds = {(one & things).tobytes(): one & things for one in lists}
        kinds.pop(best.tobytes(), None)
        sizes = range(len(kinds) + 1) if len(self.parts) > 1 else [len(kinds)]
        some = [each for size in sizes for each in itertools.combinations(kinds.values(), size)]
        found = [self._next(place, (best, *each), as_good=as_good) for each in some]
        return [each for each in found if each is not None]

    def _next(self, place: int, lists: Sequence[Booleans], *, as_good: bool) -> Booleans | None:
        as_good = as_good and self.parts[place].cheap is not None
        key = (place, as_good, frozenset(each.tobytes() for each in lists))
        if key not in self.asked:
            self.asked[key] = self._found(place, lists, as_good=as_good)
        return self.asked[key]

    def _found(self, place: int, lists: Sequence[Booleans], *, as_good: bool) -> Booleans | None:
        task, best = self.parts[place], self.best[place]
        most = task.cost(best)
        if not as_good:
            most += (NEAR - 1.0) * self.task.cost(self.bought)
        made = task.dearer(most)
        programme = task.within_budget(made)
        if task.budget is None:
            programme.add_row(made.offers, task.prices, 0.0, most + TOLERANCE)
        for each in lists:
            pencils = made.offers[each]
            programme.add_row(pencils, np.ones(len(pencils)), 0.0, len(pencils) - 1.0)
        closed = made.offers[task.undercut(held=np.logical_or.reduce(lists))]
        counted, known = task.aims_counted(made), _as_good(task, best) if as_good else None
        found, aims = pursue(task, made, programme, counted, closed, at_least=known)
        task.clock.check()
        if found is not None and not all(aim.proved for aim in aims):
            raise OutOfTime
        return found


def _as_good(task: Task, bought: Booleans) -> AtLeast:
    """What no list as cheap as the best one betters, where cost comes first and then the number."""
    counts = {"cost": task.cost(bought), "pencils": float(bought.sum())}
    return lambda name, _: counts.get(name, 0.0)
