"""Nearest swatches by looking at every one: right for any metric, and the oracle of faster ways."""

import numpy as np

from stopgap.arrays import Floats, Integers
from stopgap.difference import DifferenceFunction

_BLOCK = 2**13  # differences computed at once: all intermediate arrays stay in the cache


def rank_exhaustively(
    lab: Floats,
    targets: Floats,
    k: int,
    difference: DifferenceFunction,
    rows: Integers | None = None,
) -> tuple[Floats, Integers]:
    """The `k` nearest of `lab` (n, 3) to each of `targets` (m, 3): ΔE (m, k) and rows (m, k).

    Nearest first, equal differences by row. Only `rows`, which must ascend, are looked at where
    they are given. O(m n) differences in blocks, so memory is bounded; O(n) selection and
    O(k log k) sorting a target.
    """
    candidates = lab if rows is None else lab[rows]
    delta_E = np.empty((len(targets), k))
    places = np.empty((len(targets), k), dtype=np.intp)
    step = max(1, _BLOCK // max(1, len(candidates)))
    for start in range(0, len(targets), step):
        differences = _differences(targets[start : start + step], candidates, difference)
        for offset, row_of_differences in enumerate(differences):
            nearest = _smallest(row_of_differences, k)
            places[start + offset] = nearest
            delta_E[start + offset] = row_of_differences[nearest]
    return delta_E, places if rows is None else rows[places]


def _differences(targets: Floats, lab: Floats, difference: DifferenceFunction) -> Floats:
    """Every difference, (m, n)."""
    if len(lab) <= _BLOCK:
        return difference(targets[:, np.newaxis, :], lab[np.newaxis, :, :])
    table = np.empty((len(targets), len(lab)))
    for start in range(0, len(lab), _BLOCK):
        block = slice(start, start + _BLOCK)
        table[:, block] = difference(targets[:, np.newaxis, :], lab[np.newaxis, block, :])
    return table


def _smallest(differences: Floats, k: int) -> Integers:
    """Places of the `k` smallest, by value and then by place."""
    if k == 0:
        return np.empty(0, dtype=np.intp)
    limit = np.partition(differences, k - 1)[k - 1]
    # everything up to the k-th value, ties included, so that the tie rule decides
    places = np.flatnonzero(differences <= limit)
    ordered = np.argsort(differences[places], kind="stable")
    chosen: Integers = places[ordered[:k]]
    return chosen
