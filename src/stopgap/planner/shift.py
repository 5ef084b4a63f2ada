"""Whether one set of colours lies off another as a whole, and by how much.

The pairs are the mutual nearest. If the two sets do not lie off each other, a difference of a pair
in L*, a* or b* is as often above as below zero; the sign test (J. Arbuthnot, 1710; W. J. Conover,
"Practical Nonparametric Statistics", section 3.4) asks each of the three whether it is, at a level
shared among them (Bonferroni). It is made once, on the pairs as the sets stand, because pairs found
after a shift was tried would be chosen to fit it. Only then is the size estimated: the median of
the differences in the coordinates that failed the test, pairs and median in turn until the pairs
stay (the iterative closest point of P. J. Besl and N. D. McKay, 1992, IEEE Transactions on Pattern
Analysis and Machine Intelligence 14(2), 239-256), since nearest pairs alone understate a shift.

A shift near the distance between neighbours of one set, or more, pairs the wrong colours and may
pass unseen; sets that hold few colours in common hide smaller ones.
"""

import math
from dataclasses import dataclass

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers
from stopgap.difference import DifferenceFunction
from stopgap.planner.sameness import differences
from stopgap.planner.ways import Lab

LEVEL = 0.01
"""Chance of calling a shift where there is none."""
SMALLEST = 1.0
"""Length in Lab below which a shift is not worth a warning: this project's choice."""
_ROUNDS = 50


@dataclass(frozen=True, slots=True)
class Shift:
    """The second set minus the first; `lab` is 0 where not significant.

    `p_values` are of the sign tests in L*, a*, b*, before sharing the level; `pairs` is the number
    of mutual nearest pairs that they rest on.
    """

    lab: Lab
    p_values: tuple[float, float, float]
    pairs: int

    @property
    def significant(self) -> bool:
        """Whether there is a shift to speak of."""
        return any(self.lab)


def mutual_nearest(table: Floats) -> Integers:
    """Pairs (i, j) of `table` (n, m) of which each is the other's nearest: shape (pairs, 2)."""
    best, back = table.argmin(axis=1), table.argmin(axis=0)
    rows = np.flatnonzero(back[best] == np.arange(len(best)))
    return np.column_stack([rows, best[rows]])


def estimate_shift(labs_1: Floats, labs_2: Floats, metric: str | DifferenceFunction) -> Shift:
    """The shift from `labs_1` (n, 3) to `labs_2` (m, 3)."""
    apart = _pair_differences(labs_1, labs_2, np.zeros(3), metric)
    p_values = tuple(sign_test(apart[:, axis]) for axis in range(3))
    failed = np.array([p < LEVEL / 3 for p in p_values])
    shift = _settle(labs_1, labs_2, failed, metric) if failed.any() else np.zeros(3)
    if np.linalg.norm(shift) < SMALLEST:
        shift = np.zeros(3)
    L, a, b = (float(value) for value in shift)
    return Shift((L, a, b), (p_values[0], p_values[1], p_values[2]), len(apart))


def sign_test(differences_: Floats) -> float:
    """Two-sided p of as uneven a split between signs, zeros left out (Conover, 3.4)."""
    above, below = int((differences_ > 0).sum()), int((differences_ < 0).sum())
    n, fewer = above + below, min(above, below)
    tail = sum(math.comb(n, k) for k in range(fewer + 1))
    return min(1.0, float(2 * tail / 2**n))


def _settle(
    labs_1: Floats, labs_2: Floats, axes: Booleans, metric: str | DifferenceFunction
) -> Floats:
    """Median and pairs in turn until the median stays."""
    shift = np.zeros(3)
    for _ in range(_ROUNDS):
        medians = np.median(_pair_differences(labs_1, labs_2, shift, metric), axis=0)
        settled = np.where(axes, medians, 0.0)
        if np.array_equal(settled, shift):
            break
        shift = settled
    return shift


def _pair_differences(
    labs_1: Floats, labs_2: Floats, shift: Floats, metric: str | DifferenceFunction
) -> Floats:
    """Second minus first of the pairs that are mutual nearest once `shift` is taken out."""
    pairs = mutual_nearest(differences(labs_1, labs_2 - shift, metric))
    return np.asarray(labs_2[pairs[:, 1]] - labs_1[pairs[:, 0]], dtype=np.float64)
