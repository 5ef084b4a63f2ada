"""Which few pencils serve a picture best: the p-median problem, by greedy choice and exchange.

Pencils are chosen for the whole picture at once and not by way of its main colours, since the
nearest pencils of those need not be the few that together come nearest.

References
----------
M. B. Teitz and P. Bart (1968), "Heuristic methods for estimating the generalized vertex median of a
weighted graph", Operations Research 16(5), 955-961: exchange one for another while that helps.
"""

from collections.abc import Sequence

import numpy as np

from stopgap.arrays import Floats, FloatsLike, Integers, as_floats
from stopgap.difference import delta_E_ciede2000
from stopgap.errors import InputError, NothingFoundError, Remedy
from stopgap.scanning.main_colours import Histogram, MainColours, main_colours_of
from stopgap.swatches import Swatch

_CELL = 8.0
"""Edge [ΔE*ab] of the cells of Lab that are weighed as one: below what tells two pencils apart."""

_GAIN = 1e-12  # of the cost; less is rounding


def choose_pencils(histogram: Histogram, swatches: Sequence[Swatch], count: int) -> MainColours:
    """At most `count` of the swatches whose nearest leaves the least mean ΔE00 over the picture.

    Raises
    ------
    NothingFoundError
        If there is no swatch.
    """
    if not swatches:
        raise NothingFoundError("There is no pencil to choose from.", remedy=Remedy.ANY_PENCIL)
    lab = np.array([swatch.lab for swatch in swatches])
    coarse = _coarser(histogram)
    costs = delta_E_ciede2000(coarse.lab[:, np.newaxis], lab)
    chosen = choose_medians(costs, coarse.share, min(count, len(swatches)))
    pencils = tuple(swatches[place] for place in chosen)
    return main_colours_of(histogram, lab[chosen], count, pencils)


def choose_medians(cost: FloatsLike, weights: FloatsLike, count: int) -> Integers:
    """Rising columns (count,) of `cost` (n, m) so that each row's least cost among them sums least.

    Rows count by `weights` (n,). What is found no single exchange makes better; whether it is the
    best there is is not proved.

    Raises
    ------
    InputError
        If shapes do not agree, a weight is below 0, or `count` is not from 1 to m.
    """
    costs, shares = as_floats(cost, "cost"), as_floats(weights, "weights")
    if costs.ndim != 2 or shares.shape != costs.shape[:1] or shares.min(initial=0.0) < 0.0:
        raise InputError("cost: expected (n, m), and as many weights of 0 or more as rows.")
    if not 1 <= count <= costs.shape[1]:
        raise InputError(f"count: expected 1 to {costs.shape[1]}, found {count}.")
    chosen = _greedy(costs, shares, count)
    while (exchange := _best_exchange(costs, shares, chosen)) is not None:
        place, column = exchange
        chosen[place] = column
    return np.sort(chosen)


def _greedy(costs: Floats, shares: Floats, count: int) -> Integers:
    nearest = np.full(len(costs), np.inf)
    chosen = np.empty(count, dtype=np.intp)
    for place in range(count):
        totals = shares @ np.minimum(costs, nearest[:, np.newaxis])
        totals[chosen[:place]] = np.inf
        chosen[place] = totals.argmin()
        nearest = np.minimum(nearest, costs[:, chosen[place]])
    return chosen


def _best_exchange(costs: Floats, shares: Floats, chosen: Integers) -> tuple[int, int] | None:
    """The place whose column is to be exchanged and the column that comes, if that helps."""
    among = costs[:, chosen]
    order = np.argsort(among, axis=1, kind="stable")[:, :2]
    first = np.take_along_axis(among, order[:, :1], 1)
    second = np.take_along_axis(among, order[:, 1:2], 1) if len(chosen) > 1 else np.inf
    with_it = np.minimum(costs, first)
    without = np.minimum(costs, second) - with_it  # what losing its nearest costs a row besides
    served = shares[:, np.newaxis] * (order[:, :1] == np.arange(len(chosen)))
    totals = shares @ with_it + served.T @ without
    totals[:, chosen] = np.inf
    place, column = np.unravel_index(totals.argmin(), totals.shape)
    now = float(shares @ first[:, 0])
    return (int(place), int(column)) if totals[place, column] < now - _GAIN * (now + 1.0) else None


def _coarser(histogram: Histogram) -> Histogram:
    cells = np.floor(histogram.lab / _CELL).astype(np.intp)
    cells -= cells.min(axis=0)
    number = np.ravel_multi_index(tuple(cells.T), tuple(cells.max(axis=0) + 1))
    _, place = np.unique(number, return_inverse=True)
    share = np.bincount(place, weights=histogram.share).astype(np.float64)
    sums = [np.bincount(place, weights=histogram.share * axis) for axis in histogram.lab.T]
    return Histogram(np.array(sums).T / share[:, np.newaxis], share, histogram.thumbnail)
