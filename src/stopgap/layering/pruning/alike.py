"""Pencils that lay the same colours, of which a search needs but the first few.

Recipes that come equally near are ordered by the places of their pencils. Whatever recipe takes a
pencil, the same with one that is alike and stands before it comes before it. Only of clear pencils
of one L* is it the place that says which lies beneath, and then two that are alike may differ: so
none is alike whose L* another has that is not.
"""

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers


def alike(lightness: Floats, numbers: Floats) -> Integers:
    """The first pencil (n,) that each is alike, by L* (n,) and all `numbers` (n, k) it is laid by,
    to the last bit.
    """
    if not len(lightness):
        return np.arange(0)
    rows = np.ascontiguousarray(np.column_stack([lightness, numbers]))
    whole = rows.view(np.dtype((np.void, rows.shape[1] * rows.itemsize))).ravel()
    first, group = np.unique(whole, return_index=True, return_inverse=True)[1:]
    _, level, many = np.unique(lightness[first], return_inverse=True, return_counts=True)
    return np.asarray(np.where((many[level] == 1)[group], first[group], np.arange(len(lightness))))


def passed_over(barred: Booleans, groups: Integers, many: int) -> Booleans:
    """Pencils (n,) that are `barred`, or after the first so `many` of their group that are not."""
    left = np.flatnonzero(~barred)
    order = np.argsort(groups[left], kind="stable")
    ordered = groups[left][order]
    rank = np.arange(len(left)) - np.searchsorted(ordered, ordered)
    passed = barred.copy()
    passed[left[order[rank >= many]]] = True
    return passed
