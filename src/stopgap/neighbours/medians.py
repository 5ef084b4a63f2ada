"""Few that stand for many: the p-median problem, by greedy choice and exchange; cells of Lab.

References
----------
M. B. Teitz and P. Bart (1968), "Heuristic methods for estimating the generalized vertex median of a
weighted graph", Operations Research 16(5), 955-961: exchange one for another while that helps.
"""

from collections.abc import Sequence

import numpy as np

from stopgap.arrays import Floats, FloatsLike, Integers, as_floats, as_lab
from stopgap.errors import InputError

CELL = 8.0
"""Edge [ΔE*ab] of the cells of Lab that are weighed as one: below what tells two pencils apart."""

_GAIN = 1e-12  # of the cost; less is rounding


def choose_medians(
    cost: FloatsLike, weights: FloatsLike, count: int, *, keep: Sequence[int] = ()
) -> Integers:
    """Rising columns (count,) of `cost` (n, m) so that each row's least cost among them sums least.

    Rows count by `weights` (n,); the columns of `keep` are among those chosen. What is found no
    single exchange makes better; whether it is the best there is is not proved.

    Raises
    ------
    InputError
        If shapes do not agree, a weight is below 0, or `count` is not from 1 to m and as many as
        are to be kept.
    """
    costs, shares = as_floats(cost, "cost"), as_floats(weights, "weights")
    if costs.ndim != 2 or shares.shape != costs.shape[:1] or shares.min(initial=0.0) < 0.0:
        raise InputError("cost: expected (n, m), and as many weights of 0 or more as rows.")
    fewest = max(1, len(keep))
    if not fewest <= count <= costs.shape[1]:
        raise InputError(f"count: expected {fewest} to {costs.shape[1]}, found {count}.")
    chosen = _greedy(costs, shares, count, keep)
    while (exchange := _best_exchange(costs, shares, chosen, len(keep))) is not None:
        place, column = exchange
        chosen[place] = column
    return np.sort(chosen)


def in_cells(lab: FloatsLike, weights: FloatsLike, edge: float = CELL) -> tuple[Floats, Floats]:
    """Colours (n, 3), those in one cell of Lab as one: weighted means (k, 3), and weights."""
    labs, shares = as_lab(lab), as_floats(weights, "weights")
    cells = np.floor(labs / edge).astype(np.intp)
    cells -= cells.min(axis=0)
    number = np.ravel_multi_index(tuple(cells.T), tuple(cells.max(axis=0) + 1))
    _, place = np.unique(number, return_inverse=True)
    together = np.bincount(place, weights=shares).astype(np.float64)
    sums = [np.bincount(place, weights=shares * axis) for axis in labs.T]
    return np.array(sums).T / together[:, np.newaxis], together


def _greedy(costs: Floats, shares: Floats, count: int, keep: Sequence[int]) -> Integers:
    chosen = np.array([*keep, *[0] * (count - len(keep))], dtype=np.intp)
    nearest = costs[:, list(keep)].min(axis=1, initial=np.inf)
    for place in range(len(keep), count):
        totals = shares @ np.minimum(costs, nearest[:, np.newaxis])
        totals[chosen[:place]] = np.inf
        chosen[place] = totals.argmin()
        nearest = np.minimum(nearest, costs[:, chosen[place]])
    return chosen


def _best_exchange(
    costs: Floats, shares: Floats, chosen: Integers, kept: int
) -> tuple[int, int] | None:
    """The place whose column is to be exchanged, none of the first `kept`, and the column that
    comes, if that helps.
    """
    among = costs[:, chosen]
    order = np.argsort(among, axis=1, kind="stable")[:, :2]
    first = np.take_along_axis(among, order[:, :1], 1)
    second = np.take_along_axis(among, order[:, 1:2], 1) if len(chosen) > 1 else np.inf
    with_it = np.minimum(costs, first)
    without = np.minimum(costs, second) - with_it  # what losing its nearest costs a row besides
    served = shares[:, np.newaxis] * (order[:, :1] == np.arange(len(chosen)))
    totals = shares @ with_it + served.T @ without
    totals[:, chosen] = np.inf
    totals[:kept] = np.inf
    place, column = np.unravel_index(totals.argmin(), totals.shape)
    now = float(shares @ first[:, 0])
    return (int(place), int(column)) if totals[place, column] < now - _GAIN * (now + 1.0) else None
