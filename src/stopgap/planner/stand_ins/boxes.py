"""A box of candidates that many targets are asked of: what of it is nearest to each, and tied.

Of most targets a few candidates tell that; only for those left all are looked at that may be the
nearest.
"""

from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers
from stopgap.defaults import METRIC
from stopgap.neighbours import SwatchIndex
from stopgap.planner.doubt import reach_of_rivals
from stopgap.planner.draws import Expected
from stopgap.planner.materials import labs_of
from stopgap.planner.nearness import FAR
from stopgap.planner.stand_ins.carried import all_tied, tied_among
from stopgap.planner.stand_ins.ranking import BY_DELTA_E, Ranked, Ranking, rank
from stopgap.swatches import Swatch, Swatches, Target

_AT_ONCE = 1024  # targets
_RIVALS, _GROWTH = 8, 4  # candidates that are looked at for a target at first, and then times
_MOST = 256  # so many at most, and then all


class NearAndTied(NamedTuple):
    """What is nearest to a target, and which of it is tied."""

    ranked: Ranked
    tied: Booleans


class PencilBox(NamedTuple):
    """Candidates by address, sorted, and indices of them as measured and as expected."""

    candidates: Swatches
    row_of: Mapping[str, int]
    measured: SwatchIndex
    expected: Expected
    there: SwatchIndex

    @classmethod
    def of(cls, candidates: Sequence[Swatch]) -> "PencilBox":
        every = Swatches(sorted(candidates, key=lambda swatch: (swatch.range, swatch.code)))
        row_of = {swatch.address: row for row, swatch in enumerate(every)}
        expected = Expected.of(every, {None: 0})
        return cls(every, row_of, SwatchIndex(labs_of(every)), expected, SwatchIndex(expected.lab))

    def own_row(self, target: Target) -> int:
        """The row of the target itself, -1 where it is no candidate."""
        return self.row_of.get(target.address, -1) if isinstance(target, Swatch) else -1

    def ranking(self, target: Target) -> Ranking:
        """How all rank for a target."""
        own, lab = self.own_row(target), self.measured.lab
        without = None if own < 0 else own
        return rank(target, self.candidates, METRIC, cautious=False, without=without, lab=lab)

    def ranked(self, target: Target, ranking: Ranking) -> Ranked:
        """All but the target itself, as they rank."""
        count = len(self.candidates) - (self.own_row(target) >= 0)
        return Ranked.of(target, ranking, ranking.order[:count])

    def nearest(self, targets: Sequence[Target], limit: int) -> "list[NearAndTied | None]":
        """The `limit` nearest of each target as they rank; None where there is no candidate."""
        parts = (targets[at : at + _AT_ONCE] for at in range(0, len(targets), _AT_ONCE))
        return [one for part in parts for one in self._some_nearest(part, limit)]

    def _some_nearest(self, targets: Sequence[Target], limit: int) -> "list[NearAndTied | None]":
        """The same of as many targets as there is memory for."""
        own = np.array([self.own_row(target) for target in targets], dtype=np.intp)
        found = self._within_far(targets, own, limit)
        left = [
            place
            for place in range(len(targets))
            if place not in found and len(self.candidates) > int(own[place] >= 0)
        ]
        ranked = [
            self.ranked(one, self.ranking(one).beside(())) for one in map(targets.__getitem__, left)
        ]
        tied = all_tied(ranked, self.candidates, limit)
        for place, one, its in zip(left, ranked, tied, strict=True):
            found[place] = NearAndTied(one.first(limit), its)
        return [found.get(place) for place in range(len(targets))]

    def _within_far(
        self, targets: Sequence[Target], own: Integers, limit: int
    ) -> "dict[int, NearAndTied]":
        """By their places, of the targets that a candidate is within FAR of, the `limit` nearest.

        `own` (m,) is the row of each target itself, -1 where it is no candidate. Of what else may
        be the nearest, as much is looked at as tells which of those are tied.
        """
        found: dict[int, NearAndTied] = {}
        most = len(self.candidates) - int((own >= 0).any())
        many = _RIVALS
        if most <= max(many, limit):
            return found
        labs, theirs = labs_of(targets), Expected.of(targets, {None: 0})
        near, first = _without(own, *self.measured.nearest(labs, limit + 1))
        apart, rows = _without(own, *self.there.nearest(theirs.lab, many + 1))
        reach = reach_of_rivals(theirs, self.expected, apart[:, 0])
        pending = np.flatnonzero(near[:, 0] <= FAR)
        apart, rows = apart[pending], rows[pending]
        while len(pending):
            among = (first[pending, :, np.newaxis] == rows[:, np.newaxis]).any(axis=2).all(axis=1)
            every = apart[:, -1] > reach[pending]
            those, shown = [targets[place] for place in pending[among]], first[pending[among]]
            tied, told = tied_among(those, self.candidates, rows[among], shown, every[among])
            for place, alike in zip(pending[among][told], tied[told], strict=True):
                its = near[place]
                ranked = Ranked(targets[place], first[place], its, its, BY_DELTA_E)
                found[int(place)] = NearAndTied(ranked, alike)
            among[among] = told
            pending, many = pending[~among], many * _GROWTH
            if many >= min(most, _MOST + 1) or not len(pending):
                break
            apart, rows = self.there.nearest(theirs.lab[pending], many + 1)
            apart, rows = _without(own[pending], apart, rows)
        return found


def _without(own: Integers, apart: Floats, rows: Integers) -> tuple[Floats, Integers]:
    """The nearest (m, k) but the target's own row, or else but the last: (m, k - 1)."""
    mine = rows == own[:, np.newaxis]
    mine[~mine.any(axis=1), -1] = True
    return apart[~mine].reshape(len(own), -1), rows[~mine].reshape(len(own), -1)
