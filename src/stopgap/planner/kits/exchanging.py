"""A good choice of the few pencils that lose least, soon: by exchanging them one by one.

References
----------
M. B. Teitz and P. Bart (1968), "Heuristic methods for estimating the generalized vertex median of
a weighted graph", Operations Research 16(5), 955-961: the exchange.
H. R. Lourenço, O. C. Martin and T. Stützle (2003), "Iterated local search", in Handbook of
Metaheuristics, Kluwer: starting anew near the best.
"""

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers
from stopgap.neighbours import choose_medians
from stopgap.planner.kits.task import Options, Packing
from stopgap.planner.solver import TOLERANCE, Clock

FIRST_WRITTEN = 24
"""How many of the nearest recipes of each colour are asked for at first; then twice as many."""
_HITS = 6
"""How many of a colour's recipes a choice should have on average, so that it is told well."""
_MOST, _PART = 512, 16
"""How many are asked for at most; and of the time that is left one in so many parts."""
_STARTS, _MOVED, _SEED = 8, 3, 1
"""How often one starts anew from the best, and with how many other pencils."""


def options_for(task: Packing, clock: Clock) -> tuple[int, Options]:
    """So many of the nearest recipes of each colour, and these: as many as a choice is told well
    by, where there is time for them.

    Of all pairs of pencils (size / pencils)² are in a choice.
    """
    began = clock.left
    options = task.options(FIRST_WRITTEN)
    more = min(_HITS * (task.pencils / task.size) ** 2, _MOST) / FIRST_WRITTEN
    if began is not None and (left := clock.left) is not None:
        more = min(more, left / _PART / max(began - left, 1e-6))
    asked = int(FIRST_WRITTEN * more)
    if asked < 2 * FIRST_WRITTEN:
        return FIRST_WRITTEN, options
    return asked, task.options(asked)


def choose_by_exchange(task: Packing, options: Options, clock: Clock) -> Integers:
    """Rising columns of a good choice, which is the best of medians of single pencils and of some
    choices near the best so far, each after all exchanges of one pencil that cost less.

    At most half of what is left on the clock is taken.
    """
    listed = _Listed(options, task.pencils)
    chosen = choose_medians(listed.alone, task.weights, task.size, keep=task.keep)
    if not len(listed.rows):
        return chosen
    half, random = clock.half(), np.random.default_rng(_SEED)
    movable = np.ones(task.pencils, dtype=np.bool_)
    movable[list(task.keep)] = False
    best = np.zeros(task.pencils, dtype=np.bool_)
    best[chosen] = True
    least = _exchange(task, listed, best, movable, half)
    for _ in range(_STARTS):
        free, more = np.flatnonzero(best & movable), np.flatnonzero(~best & movable)
        moved = min(_MOVED, len(free), len(more))
        if not moved or half.left == 0.0:
            break
        choice = best.copy()
        choice[random.choice(free, moved, replace=False)] = False
        choice[random.choice(more, moved, replace=False)] = True
        mean = _exchange(task, listed, choice, movable, half)
        if mean < least - TOLERANCE:
            best, least = choice, mean
    return np.flatnonzero(best)


def _exchange(
    task: Packing, listed: "_Listed", taken: Booleans, movable: Booleans, clock: Clock
) -> float:
    """Exchange single pencils of those `taken` until none makes them cost less by what is listed;
    what they cost then.
    """
    improved = True
    while improved:
        improved = False
        for out in np.flatnonzero(taken & movable):
            if clock.left == 0.0:
                break
            taken[out] = False
            means = np.where(taken, np.inf, task.weights @ listed.with_one_more(taken))
            into = int(means.argmin())
            if means[into] < means[out] - TOLERANCE:
                taken[into] = improved = True
            else:
                taken[out] = True
    return float(task.weights @ listed.costs(taken))


class _Listed:
    """What is written down of options, by itself (n, pencils) and laid with another."""

    def __init__(self, options: Options, pencils: int) -> None:
        there = np.isfinite(options.cost)
        single = (options.pencils[..., 0] == options.pencils[..., 1]) & there
        rows, places = np.nonzero(single)
        alone = np.full((len(options.cost), pencils), np.inf)
        np.minimum.at(alone, (rows, options.pencils[rows, places, 0]), options.cost[rows, places])
        # a pencil that may not serve a colour is worse than any
        worst = 2.0 * alone.max(initial=0.0, where=np.isfinite(alone)) + 100.0
        self.alone = np.where(np.isfinite(alone), alone, worst)
        self.rows, places = np.nonzero(there & ~single)
        self._cost = options.cost[self.rows, places]
        self._first, self._second = options.pencils[self.rows, places].T

    def costs(self, taken: Booleans) -> Floats:
        """What a choice costs each colour (n,)."""
        costs: Floats = self.alone.min(axis=1, initial=np.inf, where=taken)
        both = taken[self._first] & taken[self._second]
        np.minimum.at(costs, self.rows[both], self._cost[both])
        return costs

    def with_one_more(self, taken: Booleans) -> Floats:
        """What a choice costs each colour, with each of the pencils besides (n, pencils)."""
        first, second = taken[self._first], taken[self._second]
        each = np.minimum(self.alone, self.costs(taken)[:, np.newaxis])
        for missing, column in ((second & ~first, self._first), (first & ~second, self._second)):
            np.minimum.at(each, (self.rows[missing], column[missing]), self._cost[missing])
        return each
