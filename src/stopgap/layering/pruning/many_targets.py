"""What `PrunedSearch.search` finds of each of many targets, all looked for at once.

How far is to be looked for each is told by what some of the pencils lay. What all lay is then
sifted for what may be as near to any, and this is laid.
"""

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers
from stopgap.difference import delta_E_ciede2000
from stopgap.difference.bounds.ciede2000 import bound_ciede2000
from stopgap.difference.bounds.covers import cover_each
from stopgap.layering.pruning.alike import passed_over
from stopgap.layering.pruning.pruned_search import PrunedSearch
from stopgap.layering.pruning.sieve import sifted
from stopgap.layering.pruning.tried import together
from stopgap.layering.recipe_search import Found, Progress, best_of_groups, first_found

_MOST = 2**19  # pairs laid at once, with an index of 75 bytes each
_EVERY = 8  # of the pencils one is laid at first
_FINEST = 0.5, 0.05  # boxes of a cover: part of the difference, and L*, a*, b* at least
_FIRST, _GROWTH = 4, 4  # recipes looked at for each answer
_SLACK = 1e-9  # above what differences of the index are off

Nearest = Callable[[Floats, int], tuple[Floats, Integers]]
"""Of colours that are known the k nearest to targets (m, 3): ΔE00 (m, k) and rows (m, k)."""


def search_each(
    among: PrunedSearch,
    targets: Floats,
    nearest_of: Callable[[Floats], Nearest],
    *,
    limit: int,
    barred: Booleans | None = None,
    progress: Progress | None = None,
) -> list[Found]:
    """Of each of `targets` (m, 3) the `limit` nearest, one of a pair at most, pencils (n,) that are
    `barred` passed over. `nearest_of` indexes the colours (n, 3) of what is laid.

    `progress` is told of how many pairs of how many it is known, about, and before what takes long.
    """
    told = _Told(sum(kind.pairs for kind in among.kinds), len(targets), progress)
    told.pairs(0)
    p, n = among.pressures, len(among.swatches)
    none = np.zeros(n, dtype=np.bool_)
    passed = np.repeat(passed_over(none if barred is None else barred, among.alike, limit + 1), p)
    alone = np.array([delta_E_ciede2000(one, among.tints) for one in targets])
    alone[:, passed] = np.inf
    alone = alone.reshape(len(targets), n, p)
    some = np.arange(0, n, _EVERY)[:, np.newaxis] * p + np.arange(p)
    some = some[~passed[some]]
    few = _Laid.of(among, nearest_of, np.repeat(some, len(some)), np.tile(some, len(some)))
    reach = np.array([_last(one, limit) for one in few.nearest(targets, alone, limit)])
    reach = reach * (1.0 + _SLACK) + _SLACK
    told.pairs(0)
    found: dict[int, Found] = {}
    waiting = [np.flatnonzero(np.isfinite(reach))]
    while waiting:
        asked = waiting.pop()
        told.begin(len(found), len(asked))
        pairs = _near_any(among, targets[asked], reach[asked], passed, told)
        if pairs is not None:
            nearest = _Laid.of(among, nearest_of, *pairs).nearest(
                targets[asked], alone[asked], limit
            )
            found.update(zip(asked.tolist(), nearest, strict=True))
        elif len(asked) > 1:
            waiting += reversed(np.array_split(asked, 2))
    return [
        found[place] if place in found else among.search(one, limit=limit, barred=barred)
        for place, one in enumerate(targets)
    ]


def _near_any(
    among: PrunedSearch, targets: Floats, reach: Floats, passed: Booleans, told: "_Told"
) -> tuple[Integers, Integers] | None:
    """All pairs of layings (n,) that may lie within `reach` (m,) of targets (m, 3), and more; None
    where they are too many at once.
    """
    finest = np.maximum(_FINEST[0] * reach, _FINEST[1])
    boxes = cover_each(targets, reach, bound_ciede2000, finest=finest)
    told.pairs(0)
    none = np.arange(0)
    parts, many = [(none, none)], 0
    for kind in among.kinds:
        for part in sifted(kind, boxes, passed, told.pairs):
            parts.append(part)
            many += len(part[0])
            if many > _MOST:
                return None
    first, second = together(parts)
    return first, second


class _Told:
    """How many of so many pairs are known of all targets, as `progress` is told."""

    def __init__(self, total: int, targets: int, progress: Progress | None) -> None:
        self._total, self._targets, self._progress = total, targets, progress
        self._done, self._share, self._last = 0.0, 1.0, 0

    def begin(self, known: int, asked: int) -> None:
        """That so many targets are known, and so many are asked next."""
        self._done, self._share = self._total * known / self._targets, asked / self._targets

    def pairs(self, more: int) -> None:
        """That so many more pairs are known of these; where they are asked anew, as before."""
        self._done += more * self._share
        self._last = max(self._last, int(self._done))
        if self._progress is not None and self._last < self._total:
            self._progress(self._last, self._total)


def _last(found: Found, limit: int) -> float:
    """How far the last of so many is."""
    return float(found.delta_E[-1]) if len(found.delta_E) == limit else np.inf


class _Laid(NamedTuple):
    """Pairs (m, 2) as layings, the `group` (m,) of each and which `option` (m,) it is of this, and
    their colours (m, 3), `indexed`.
    """

    pressures: int
    group: Integers
    option: Integers
    layings: Integers
    lab: Floats
    indexed: Nearest

    @classmethod
    def of(
        cls,
        among: PrunedSearch,
        nearest_of: Callable[[Floats], Nearest],
        first: Integers,
        second: Integers,
    ) -> "_Laid":
        """Those of layings (m,) over each other that are tried."""
        group, option, layings = among.allowed(first, second)
        lab = among.laid(layings)
        return cls(among.pressures, group, option, layings, lab, nearest_of(lab))

    def nearest(self, targets: Floats, alone: Floats, limit: int) -> list[Found]:
        """Of them and of what each pencil lays `alone` (t, n, p) the nearest of each target."""
        found: dict[int, Found] = {}
        left, many = np.arange(len(targets)), _FIRST * limit
        while len(left):
            rows = self.indexed(targets[left], many)[1]
            for place, its in zip(left.tolist(), rows):
                delta_E = delta_E_ciede2000(targets[place], self.lab[its])
                best = self._best(its, delta_E, alone[place], limit)
                within = delta_E.max(initial=0.0) - _SLACK
                if len(its) == len(self.layings) or _last(best, limit) < within:
                    found[place] = best
            left = np.array([one for one in left.tolist() if one not in found], dtype=np.intp)
            many *= _GROWTH
        return [found[place] for place in range(len(targets))]

    def _best(self, rows: Integers, delta_E: Floats, alone: Floats, limit: int) -> Found:
        p, least = self.pressures, alone.min(axis=1)
        useful = delta_E < least[self.layings[rows] // p].min(axis=1)
        rows, delta_E = rows[useful], delta_E[useful]
        kept = best_of_groups(self.group[rows], self.option[rows], delta_E, 1)
        pencils = np.argpartition(least, min(limit, len(least)) - 1)[:limit]
        single = np.flatnonzero(least <= least[pencils].max())
        tints = np.stack([single * p + alone[single].argmin(axis=1), np.full_like(single, -1)], 1)
        return first_found(
            np.concatenate([tints, self.layings[rows[kept]]]),
            np.concatenate([least[single], delta_E[kept]]),
            limit,
        )
