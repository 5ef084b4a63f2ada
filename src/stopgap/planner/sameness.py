"""Which colours are the same to the eye, as groups.

"The same to the eye" is not transitive: a may be the same as b and b the same as c while a and c
can be told apart. Groups are therefore formed by complete linkage: the two groups whose farthest
members are nearest are joined, again and again, as long as the farthest members stay within the
limit. So any two colours of one group are the same to the eye, which is what matters; two colours
that are the same may end in different groups where a third stands between them.
"""

import numpy as np

from stopgap.arrays import Floats, Integers
from stopgap.difference import DEFAULT_METRIC, GRADES, DifferenceFunction, delta_E

SAME_TO_THE_EYE = GRADES["same"]
"""The ΔE00 up to which two colours are graded the same."""

_BLOCK = 250_000  # differences computed at once, to bound the memory


def differences(
    labs_1: Floats, labs_2: Floats, metric: str | DifferenceFunction = DEFAULT_METRIC
) -> Floats:
    """ΔE of each of `labs_1` (n, 3) to each of `labs_2` (m, 3): shape (n, m), block by block."""
    table = np.empty((len(labs_1), len(labs_2)))
    rows = max(1, _BLOCK // max(1, len(labs_2)))
    for first in range(0, len(labs_1), rows):
        block = labs_1[first : first + rows, np.newaxis]
        table[first : first + rows] = delta_E(block, labs_2, metric)
    return table


def same_to_the_eye(labs: Floats, limit: float = SAME_TO_THE_EYE) -> Integers:
    """Group number of each colour: shape (n, 3) -> (n,), groups numbered in order of appearance.

    Independent of the order of the rows, but for the numbers.
    """
    if len(labs) < 2:
        return np.zeros(len(labs), dtype=np.intp)
    from scipy.cluster.hierarchy import fcluster, linkage

    distinct, member_of = np.unique(labs, axis=0, return_inverse=True)  # sorted: ties by Lab
    if len(distinct) == 1:
        return np.zeros(len(labs), dtype=np.intp)
    upper = np.triu_indices(len(distinct), 1)
    tree = linkage(differences(distinct, distinct)[upper], method="complete")
    numbers = fcluster(tree, limit, criterion="distance")[member_of.ravel()]
    _, first, inverse = np.unique(numbers, return_index=True, return_inverse=True)
    return np.argsort(np.argsort(first))[inverse.ravel()].astype(np.intp)
