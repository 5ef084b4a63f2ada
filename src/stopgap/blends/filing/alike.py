"""Which pencils of a box may stand in for each other: groups made by colour alone.

Clustering by complete linkage, so that no two of a group are farther
apart than the limit; linkage by the nearest or the mean would chain unlike colours together.
"""

from collections import Counter
from collections.abc import Sequence

import numpy as np

from stopgap.blends.filing.assignment import Family, Filed
from stopgap.blends.filing.light_to_dark import order
from stopgap.difference import GRADES, linked_within
from stopgap.errors import InputError, NothingFoundError
from stopgap.naming import iscc_nbs
from stopgap.swatches import Swatch

INTERCHANGEABLE = GRADES["close"]
"""ΔE00 that pencils of one group are apart at most: the end of the grade `close`."""


def families_by_colour(
    swatches: Sequence[Swatch], within: float = INTERCHANGEABLE
) -> tuple[Family, ...]:
    """The groups of two pencils or more of which no two are farther apart than `within` [ΔE00].

    The largest comes first; each bears the ISCC-NBS name of its middle, with a number where several
    do, and goes from light to dark. The order of `swatches` is immaterial.

    Raises
    ------
    InputError
        If `within` is not above 0.
    NothingFoundError
        If no two pencils are so near.
    """
    if not within > 0.0:
        raise InputError(f"expected a difference above 0, found {within!r}.", argument="within")
    every = sorted(swatches, key=lambda one: (one.lab, one.range, one.code))
    groups = _groups(every, within) if len(every) > 1 else []
    if not groups:
        raise NothingFoundError(f"No two of {len(every)} pencils are within ΔE00 {within:g}.")
    names = iscc_nbs([np.mean([one.lab for one in group], axis=0) for group in groups]).tolist()
    several, told = Counter(names), Counter[str]()
    found = []
    for group, name in zip(groups, names, strict=True):
        told[name] += 1
        called = f"{name} {told[name]}" if several[name] > 1 else name
        line = order([one.lab for one in group])
        filed = tuple(Filed(group[row], called) for row in line.rows)
        found.append(Family(called, filed, line.steps, line.exact))
    return tuple(found)


def _groups(every: Sequence[Swatch], within: float) -> list[list[Swatch]]:
    """Those of two or more, the largest first, among equals in the order of their pencils."""
    lab = np.array([one.lab for one in every])
    groups: dict[int, list[Swatch]] = {}
    for one, label in zip(every, linked_within(lab, within).tolist(), strict=True):
        groups.setdefault(label, []).append(one)
    return sorted((group for group in groups.values() if len(group) > 1), key=len, reverse=True)
