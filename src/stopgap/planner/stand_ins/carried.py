"""Stand-ins as a page carries them for every pencil: what is shown of each, and no more.

Most of the cost of describing stand-ins is how probably each is the nearest. A page tells only
which of the few that it shows cannot be told apart, which is often sure after few of the draws.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers
from stopgap.difference import grade, words_of_differences
from stopgap.planner.doubt import (
    boxes_of,
    draw_nearest,
    grade_chances,
    rivals_in,
    tied_group,
)
from stopgap.planner.draws import Draws, Laid
from stopgap.planner.materials import labs_of
from stopgap.planner.normal_numbers import DRAWS
from stopgap.planner.stand_ins.answer import cautions_beside
from stopgap.planner.stand_ins.ranking import Ranked, equally_many
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
    asked: Sequence[Ranked], candidates: Sequence[Swatch], limit: int, *, many: bool = False
) -> list[tuple[CarriedStandIn, ...]]:
    """For each target its first `limit` stand-ins; `many` as in `tied_among`."""
    if not asked:
        return []
    tied = _tied(asked, candidates, limit, many=many)
    pairs = [(one, at) for one in asked for at in range(len(one.near[:limit]))]
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
    return [tuple(next(made) for _ in one.near[:limit]) for one in asked]


def _tied(
    asked: Sequence[Ranked], candidates: Sequence[Swatch], limit: int, *, many: bool
) -> list[Booleans]:
    """Which of the first of each target are tied."""
    tied = [np.zeros(0, dtype=np.bool_)] * len(asked)
    for places in equally_many(asked):
        near = np.array([asked[place].near for place in places])
        competing = np.sort(near, axis=1)  # so that the order asked for decides nothing
        shown = np.array(
            [np.searchsorted(row, its[:limit]) for row, its in zip(competing, near, strict=True)]
        )
        targets = [asked[place].target for place in places]
        found = tied_among(targets, candidates, competing, shown, many=many)
        for place, its in zip(places, found, strict=True):
            tied[place] = its
    return tied


def tied_among(
    targets: Sequence[Target],
    colours: Sequence[Laid],
    columns: Integers,
    shown: Integers,
    *,
    many: bool = False,
) -> Booleans:
    """Which of those `shown` (m, s), by their places among the `columns` (m, k) of each target, are
    in the `tied_group` of `nearest_probabilities`, without the draws that cannot change it.

    `many` says that so many are asked, one call after the other, that loading the compiled search
    pays; answers are the same.
    """
    tied = np.zeros(shown.shape, dtype=np.bool_)
    for rows, box in boxes_of(targets, colours, columns):
        order, rivals = rivals_in(box)
        probabilities = np.zeros(box.columns.shape)
        decided = surely = np.zeros(len(rivals), dtype=np.bool_)
        if many:
            probabilities, decided, surely = _drawn_compiled(box, order, rivals, shown[rows])
        draw_nearest(box, order, rivals, np.flatnonzero(~decided), probabilities)
        group = np.take_along_axis(tied_group(probabilities), shown[rows], axis=1)
        tied[rows] = group | (surely & decided)[:, np.newaxis]
    return tied


def _drawn_compiled(
    box: Draws, order: Integers, rivals: Integers, shown: Integers
) -> tuple[Floats, Booleans, Booleans]:
    """The same (m, k), of which targets (m,) it is known, of none without numba, and of which all
    of those shown are sure to be tied, whose probabilities are not told to the end.
    """
    try:
        from stopgap.planner.compiled_draws import wins_compiled

        wins, decided, surely = wins_compiled(box, order, rivals, shown)
    except (ImportError, RuntimeError, OSError):  # not there, or without a folder for its cache
        none = np.zeros(len(rivals), dtype=np.bool_)
        return np.zeros(order.shape), none, none
    return wins / DRAWS, decided, surely
