"""Families a step or more apart that few more pencils would join."""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Floats, blocks
from stopgap.difference import delta_E
from stopgap.neighbours import SwatchIndex
from stopgap.neighbours.within import nearest_within

_AT_ONCE = 2**18  # pairs of colours, to bound the memory


class Joined(NamedTuple):
    """Two families by number, how far they are apart, and the rows of what would join them."""

    family: int
    other: int
    gap: float
    rows: tuple[int, ...]


def joining(lines: Sequence[Floats], spare: Floats, limit: float) -> list[Joined]:
    """Families further than a step from the nearest other that one or two more colours would join.

    Parameters
    ----------
    lines
        The colours (n, 3) of each family, at least one of each.
    spare
        The colours (m, 3) that may join them.
    limit
        The largest step ΔE00.
    """
    if not len(spare) or len(lines) < 2:
        return []
    bridges, reach = SwatchIndex(spare), dict[int, Floats]()
    joined = []
    for one, other, gap in _apart(lines, limit):
        for number in {one, other} - set(reach):
            reach[number] = _reach(lines[number], bridges, limit)
        rows = _least_largest(reach[one], reach[other], spare, limit)
        if rows is not None:
            joined.append(Joined(one, other, gap, tuple(dict.fromkeys(rows))))
    return joined


def _apart(lines: Sequence[Floats], limit: float) -> list[tuple[int, int, float]]:
    """Each family with the nearest other and the ΔE00 to it, if over the limit; each pair once."""
    family = np.repeat(np.arange(len(lines)), [len(line) for line in lines])
    every = SwatchIndex(np.concatenate(lines))
    pairs: dict[frozenset[int], tuple[int, int, float]] = {}
    for one, line in enumerate(lines):
        gaps, rows = every.nearest(line, 1, allowed=family != one)
        gap = float(gaps.min())
        if gap > limit:
            other = int(family[rows[gaps == gap]].min())
            pairs.setdefault(frozenset((one, other)), (one, other, gap))
    return list(pairs.values())


def _reach(line: Floats, bridges: SwatchIndex, limit: float) -> Floats:
    """How far every bridge is from a family, where that is no more than `limit`; else infinite."""
    reach = np.full(len(bridges), np.inf)
    for near in nearest_within(bridges, line, np.full(len(line), limit)):
        np.minimum.at(reach, near.rows, near.delta_E)
    return np.where(reach <= limit, reach, np.inf)


def _least_largest(
    one: Floats, other: Floats, spare: Floats, limit: float
) -> tuple[int, int] | None:
    """The bridges from one family to another, twice the same if it is one, whose largest step is
    least, if that is no more than `limit`.
    """
    firsts, seconds = np.flatnonzero(one <= limit), np.flatnonzero(other <= limit)
    if not (len(firsts) and len(seconds)):
        return None
    least, found = np.inf, None
    for some in blocks(len(firsts), max(1, _AT_ONCE // len(seconds))):
        first = firsts[some]
        across = delta_E(spare[first, np.newaxis], spare[seconds])
        largest = np.maximum(np.maximum(one[first, np.newaxis], other[seconds]), across)
        row, column = np.unravel_index(int(np.argmin(largest)), largest.shape)
        if largest[row, column] < least:
            least, found = float(largest[row, column]), (int(first[row]), int(seconds[column]))
    return found if least <= limit else None
