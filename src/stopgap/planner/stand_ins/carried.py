"""Stand-ins as a page carries them for every pencil: what is shown of each, and no more.

Most of the cost of describing stand-ins is how probably each is the nearest. A page tells only
which of the few that it shows cannot be told apart, which is often sure after few of the draws.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Integers
from stopgap.difference import grade, words_of_differences
from stopgap.planner.doubt import boxes_of, grade_chances, rivals_in
from stopgap.planner.draws import Laid
from stopgap.planner.materials import labs_of
from stopgap.planner.stand_ins.answer import cautions_beside
from stopgap.planner.stand_ins.ranking import Ranked, equally_many
from stopgap.planner.winning import who_is_tied
from stopgap.swatches import Swatch, Target


class CarriedStandIn(NamedTuple):
    """One candidate; all as in StandIn."""

    swatch: Swatch
    delta_E: float
    grade: str
    words: str
    tied: bool
    cautions: tuple[str, ...]
    grade_probability: float


def carried(
    asked: Sequence[Ranked], candidates: Sequence[Swatch], limit: int
) -> list[tuple[CarriedStandIn, ...]]:
    """For each target its first `limit` stand-ins, of all that may be the nearest."""
    tied = all_tied(asked, candidates, limit)
    return shown_as([one.first(limit) for one in asked], tied, candidates)


def all_tied(asked: Sequence[Ranked], candidates: Sequence[Swatch], limit: int) -> list[Booleans]:
    """Which of the first `limit` of each target are tied, where all that may be are near."""
    tied = [np.zeros(0, dtype=np.bool_)] * len(asked)
    for places in equally_many(asked):
        near = np.array([asked[place].near for place in places])
        targets = [asked[place].target for place in places]
        every = np.ones(len(places), dtype=np.bool_)
        found, _ = tied_among(targets, candidates, near, near[:, :limit], every)
        for place, its in zip(places, found, strict=True):
            tied[place] = its
    return tied


def shown_as(
    asked: Sequence[Ranked], tied: Sequence[Booleans], candidates: Sequence[Swatch]
) -> list[tuple[CarriedStandIn, ...]]:
    """For each target all that are near, which are `tied` or not."""
    if not asked:
        return []
    pairs = [(one, at) for one in asked for at in range(len(one.near))]
    targets = [one.target for one, _ in pairs]
    swatches = [candidates[one.near[at]] for one, at in pairs]
    chances = grade_chances(targets, swatches).tolist()
    words = words_of_differences(labs_of(targets), labs_of(swatches))
    alike = [one for its in tied for one in its.tolist()]
    told = zip(pairs, targets, swatches, words, chances, alike, strict=True)
    made = (
        CarriedStandIn(
            swatch,
            float(one.delta_E[at]),
            grade(float(one.delta_E00[at])),
            word,
            is_tied,
            cautions_beside(target, swatch),
            chance,
        )
        for (one, at), target, swatch, word, chance, is_tied in told
    )
    return [tuple(next(made) for _ in one.near) for one in asked]


def tied_among(
    targets: Sequence[Target],
    colours: Sequence[Laid],
    columns: Integers,
    shown: Integers,
    every: Booleans,
) -> tuple[Booleans, Booleans]:
    """Which of those `shown` (m, s), which are among the `columns` (m, k) of each target, are in
    the `tied_group` of `nearest_probabilities`, and of which of the targets (m,) that is told.

    It is told of all of those that `every` (m,) says of that their columns are all that may be the
    nearest, and else where others change nothing.
    """
    tied, told = np.zeros(shown.shape, dtype=np.bool_), every.copy()
    columns = np.sort(columns, axis=1)  # so that the order asked for decides nothing
    places = np.array([np.searchsorted(*each) for each in zip(columns, shown, strict=True)])
    for rows, box in boxes_of(targets, colours, columns):
        tied[rows], told[rows] = who_is_tied(box, *rivals_in(box), places[rows], every[rows])
    return tied, told
