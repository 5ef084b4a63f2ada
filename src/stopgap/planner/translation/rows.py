"""The rows of a translated list: nearest and second, what ranks far out, what is told apart."""

from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats
from stopgap.difference import DEFAULT_METRIC, DifferenceFunction
from stopgap.neighbours import SwatchIndex
from stopgap.planner.doubt import nearest_probabilities, tied_group
from stopgap.planner.materials import labs_of
from stopgap.planner.nearness import FAR, hue_keeping_difference
from stopgap.planner.translation.answer import Asked, TranslatedRow, Translation
from stopgap.swatches import LaidStack, Swatch, Target

_RIVALS = 32  # pencils asked which may be the nearest: where more may, the first two are tied


def far_out(
    labs: Floats,
    offered: Floats,
    table: Floats,
    metric: str | DifferenceFunction,
    barred: Booleans,
) -> tuple[Booleans, Floats]:
    """Whether each of `labs` (m, 3) is so far off that hue comes first, and what ranks (m, n)."""
    far = np.zeros(len(labs), dtype=np.bool_)
    if metric != DEFAULT_METRIC or not len(offered):
        return far, table
    far, cost = np.where(barred, np.inf, table).min(axis=1) > FAR, table.copy()
    for row in np.flatnonzero(far):
        cost[row] = hue_keeping_difference(labs[row], offered)
    return far, cost


def row_of(
    entry: Asked,
    offered: Sequence[LaidStack],
    delta_E: Floats,
    cost: Floats,
    chosen: int,
    barred: Booleans,
    *,
    by_hue: bool,
) -> TranslatedRow:
    """The entry with what was `chosen` of the offered, -1 for none, in the order of `cost` (n,)."""
    order = np.argsort(cost, kind="stable")
    order = order[~barred[order]]
    if not len(order):
        return TranslatedRow(entry)
    taken = offered[chosen].addresses if chosen >= 0 else None
    second = next((int(one) for one in order if offered[one].addresses != taken), None)
    return TranslatedRow(
        entry,
        given=offered[chosen] if chosen >= 0 else None,
        delta_E=float(delta_E[chosen]) if chosen >= 0 else None,
        nearest=offered[order[0]],
        nearest_delta_E=float(delta_E[order[0]]),
        second=None if second is None else offered[second],
        second_delta_E=None if second is None else float(delta_E[second]),
        by_hue=bool(by_hue),
    )


def translation_of(
    rows: Sequence[TranslatedRow],
    offered: Sequence[LaidStack],
    cannot_be_had: float,
    *,
    proved: bool = True,
) -> Translation:
    """The rows, those marked whose two stacks cannot be told apart, and which cannot be had."""
    marked = list(rows)
    for place in _tied_rows(rows, offered):
        marked[place] = replace(rows[place], tied=True)
    beyond = [
        row for row in marked if row.nearest_delta_E is None or row.nearest_delta_E > cannot_be_had
    ]
    return Translation(tuple(marked), tuple(beyond), proved)


class _Pair(NamedTuple):
    """A row whose two stacks are asked about, and their places among what is offered, first."""

    place: int
    target: Target
    columns: list[int]


def _pairs(rows: Sequence[TranslatedRow], offered: Sequence[LaidStack]) -> list[_Pair]:
    """Those of rows that hold two stacks; a pencil given for itself has no rival."""
    place_of = {id(stack): place for place, stack in enumerate(offered)}
    pairs = []
    for place, row in enumerate(rows):
        target, given, second = row.asked.target, row.given, row.second
        if target is None or given is None or second is None or row.by_hue:
            continue
        if not (isinstance(target, Swatch) and given.label == target.address):
            pairs.append(_Pair(place, target, [place_of[id(given)], place_of[id(second)]]))
    return pairs


def _tied_rows(rows: Sequence[TranslatedRow], offered: Sequence[LaidStack]) -> list[int]:
    """The rows whose two stacks are both among those that hold the nearest: of them, and of the
    pencils alone as they are asked of a single colour, so that the answer is the same.
    """
    pairs = _pairs(rows, offered)
    if not pairs:
        return []
    alone = [stack for stack in offered if not stack.recipe]  # they stand first
    _, nearest = SwatchIndex(labs_of(alone)).nearest([one.target.lab for one in pairs], _RIVALS)
    for one, near in zip(pairs, nearest.tolist()):
        instead = rows[one.place].asked.instead
        rivals = [
            row for row in near if row not in one.columns and instead not in offered[row].addresses
        ]
        one.columns.extend(rivals[: _RIVALS - 2])
    by_count: dict[int, list[_Pair]] = {}
    for one in pairs:
        by_count.setdefault(len(one.columns), []).append(one)
    return [one.place for some in by_count.values() for one in _tied_pairs(some, offered)]


def _tied_pairs(pairs: Sequence[_Pair], offered: Sequence[LaidStack]) -> list[_Pair]:
    """Those of pairs, asked among as many each, that are both in the group that is tied."""
    columns = np.array([one.columns for one in pairs])
    found = nearest_probabilities([one.target for one in pairs], offered, columns)
    tied = tied_group(found).tolist()
    return [one for one, (first, second, *_) in zip(pairs, tied) if first and second]
