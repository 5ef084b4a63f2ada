"""Nearest swatches by looking at every one: right for any metric, and the oracle of faster ways."""

import numpy as np

from stopgap.arrays import Floats, Integers
from stopgap.difference import DifferenceFunction

_BLOCK = 2**18  # differences computed at once: about 2 MB an intermediate array


def rank_exhaustively(
    lab: Floats, targets: Floats, k: int, difference: DifferenceFunction
) -> tuple[Floats, Integers]:
    """The `k` nearest of `lab` (n, 3) to each of `targets` (m, 3): ΔE (m, k) and rows (m, k).

    Nearest first, equal differences by row. O(m n) differences in blocks, so memory is bounded;
    O(n) selection and O(k log k) sorting a target.
    """
    count = len(lab)
    delta_E = np.empty((len(targets), k))
    rows = np.empty((len(targets), k), dtype=np.intp)
    step = max(1, _BLOCK // max(1, count))
    for start in range(0, len(targets), step):
        block = slice(start, start + step)
        differences = difference(targets[block, np.newaxis, :], lab[np.newaxis, :, :])
        for offset, row_of_differences in enumerate(differences):
            nearest = _smallest(row_of_differences, k)
            rows[start + offset] = nearest
            delta_E[start + offset] = row_of_differences[nearest]
    return delta_E, rows


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
