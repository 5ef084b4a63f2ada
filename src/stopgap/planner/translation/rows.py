"""The rows of a translated list: nearest and second, what ranks far out, what is told apart."""

from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers
from stopgap.difference import DEFAULT_METRIC, DifferenceFunction, words_of_differences
from stopgap.neighbours import SwatchIndex
from stopgap.planner.doubt import grade_probabilities, nearest_probabilities
from stopgap.planner.materials import labs_of
from stopgap.planner.nearness import (
    FAR,
    core_first,
    hue_keeping_difference,
    of_core,
    promises_of,
)
from stopgap.planner.translation.answer import (
    Asked,
    PassedOver,
    Trade,
    TranslatedRow,
    Translation,
)
from stopgap.planner.winning import tied_group
from stopgap.swatches import LaidStack, Swatch, Target

_TOLD, _LOOKED_AT = 3, 24  # of what was passed over; the nearest for each reason is told
_UNSEEN = 0.05  # ΔE that an answer with one decimal does not show
_RIVALS = 32  # pencils asked which may be the nearest: where more may, the first two are tied


def ranking(
    entries: Sequence[Asked],
    offered: Sequence[LaidStack],
    table: Floats,
    metric: str | DifferenceFunction,
    barred: Booleans,
) -> tuple[Booleans, Floats]:
    """Whether each of m entries is so far off that hue comes first, and what ranks (m, n)."""
    far, cost = np.zeros(len(entries), dtype=np.bool_), table.copy()
    if not offered:
        return far, cost
    if metric == DEFAULT_METRIC:
        far = np.where(barred, np.inf, table).min(axis=1) > FAR
    for row, entry in enumerate(entries):
        if far[row] and entry.lab is not None:
            cost[row] = hue_keeping_difference(entry.lab, labs_of(offered))
        elif entry.laid_badly is not None:
            alike = of_core(entry.laid_badly, [stack.swatches for stack in offered])
            cost[row] = core_first(table[row], alike)
    return far, cost


def in_stages(entries: Sequence[Asked], groups: Integers) -> Booleans:
    """[stage, group]: whether some entry of the group is laid in the stage."""
    names = [entry.stage.casefold() for entry in entries]
    stages = {name: number for number, name in enumerate(dict.fromkeys(names))}
    found = np.zeros((len(stages), int(groups.max(initial=-1)) + 1), dtype=np.bool_)
    found[np.array([stages[name] for name in names], dtype=np.intp), groups] = True
    return found


class Decided(NamedTuple):
    """A list as it was decided, to be asked for its rows: what was passed over, and why.

    `table` and `cost` are the ΔE and what ranks of each of the `entries` to all `offered`, `barred`
    what an entry must not get, `chosen` what it gets, -1 for nothing, `groups` who gets one answer.
    `result_of` numbers the results of the offered where each is used once, and [i, j] of `before`
    says that i has to come out lighter than j, where that is kept. [i, j] of `apart` says that i
    and j must not get one result, unless they are of one group.
    """

    entries: Sequence[Asked]
    offered: Sequence[LaidStack]
    table: Floats
    cost: Floats
    barred: Booleans
    chosen: Integers
    groups: Integers
    apart: Booleans
    result_of: Integers | None = None
    before: Booleans | None = None

    def row(self, row: int, *, by_hue: bool) -> TranslatedRow:
        """An entry with what it gets, and the best of others in the order of `cost`."""
        entry, cost, delta_E = self.entries[row], self.cost[row], self.table[row].tolist()
        order = np.argsort(cost, kind="stable")
        order = order[~self.barred[row, order]]
        if not len(order):
            return TranslatedRow(entry)
        nearest, given = int(order[0]), int(self.chosen[row])
        taken = self.offered[given].addresses if given >= 0 else None
        others = (int(one) for one in order if self.offered[one].addresses != taken)
        second = next(others, None)
        return TranslatedRow(
            entry,
            given=self.offered[given] if given >= 0 else None,
            delta_E=delta_E[given] if given >= 0 else None,
            nearest=self.offered[nearest],
            nearest_delta_E=delta_E[nearest],
            second=None if second is None else self.offered[second],
            second_delta_E=None if second is None else delta_E[second],
            by_hue=by_hue,
            passed_over=self._passed_over(row),
        )

    def _passed_over(self, row: int) -> tuple[PassedOver, ...]:
        """The nearest of what is nearer to an entry than what it gets, one for each reason."""
        given = int(self.chosen[row])
        if given < 0:
            return ()
        nearer = self.table[row, given] - self.table[row]
        places = np.flatnonzero(nearer > _UNSEEN)
        places = places[np.argsort(-nearer[places], kind="stable")]
        first = {self.offered[place].addresses: int(place) for place in places[::-1]}
        kept = sorted(first.values(), key=lambda place: (-nearer[place], place))[:_LOOKED_AT]
        passed = [self._passed(row, place, float(nearer[place])) for place in kept]
        reasons = {one.why: one for one in reversed(passed)}
        told = [one for one in passed if one is reasons[one.why]]
        told += [one for one in passed if one not in told][: max(_TOLD - len(told), 0)]
        return tuple(sorted(told, key=lambda one: -one.nearer))

    def _passed(self, row: int, stack: int, nearer: float) -> PassedOver:
        why, other = self._why(row, stack)
        told = PassedOver(self.offered[stack], float(self.table[row, stack]), nearer, why)
        if other is None:
            return told
        there = float(self.table[other, stack])
        without = self._without(row, other) if why is Trade.NEEDED else None
        return told._replace(other=self.entries[other], there=there, without=without)

    def _why(self, row: int, stack: int) -> tuple[Trade, int | None]:
        given = self.chosen[row]
        entry = self.entries[row]
        if self.barred[row, stack]:
            pencil = entry.instead in self.offered[stack].addresses
            return Trade.REPLACED if pencil else Trade.LAYDOWN, None
        if self.cost[row, stack] > self.cost[row, given]:
            far = self.table[row, ~self.barred[row]].min() > FAR
            return Trade.HUE if far else Trade.CORE, None
        others = (self.groups != self.groups[row]) & (self.chosen >= 0)
        if self.result_of is not None:
            taken = (
                others & self.apart[row] & (self.result_of[self.chosen] == self.result_of[stack])
            )
            if taken.any():
                return Trade.NEEDED, self._heaviest(taken)
        if self.before is not None:
            lightness = labs_of(self.offered)[:, 0]
            own, theirs = lightness[stack], lightness[self.chosen]
            broken = (self.before[row] & (theirs >= own)) | (self.before[:, row] & (theirs <= own))
            if (others & broken).any():
                return Trade.ORDER, self._heaviest(others & broken)
        worse = (
            self.cost[:, stack] - self.cost[:, given] + np.where(self.barred[:, stack], 1e3, 0.0)
        )
        worse[(self.groups != self.groups[row]) | (np.arange(len(worse)) == row)] = 0.0
        if worse.max() > 0.0:
            return Trade.TOGETHER, int(worse.argmax())
        return Trade.TIME, None

    def _heaviest(self, rows: Booleans) -> int:
        return max(np.flatnonzero(rows).tolist(), key=lambda row: self.entries[row].weight)

    def _without(self, row: int, other: int) -> float | None:
        """How near anything comes to another entry that is not given to others than these two."""
        if self.result_of is None:
            return None
        third = (self.groups != self.groups[other]) & (self.groups != self.groups[row])
        third &= self.apart[other]
        used = self.result_of[self.chosen[third & (self.chosen >= 0)]]
        gone = np.isin(self.result_of, [*used, self.result_of[self.chosen[other]]])
        free = self.table[other, ~(gone | self.barred[other])]
        return float(free.min()) if len(free) else None


def translation_of(
    rows: Sequence[TranslatedRow],
    offered: Sequence[LaidStack],
    cannot_be_had: float,
    *,
    gap: float = 0.0,
) -> Translation:
    """The rows and how near each is, those marked whose two stacks cannot be told apart, and which
    cannot be had.
    """
    chances = grade_probabilities([row.asked.target for row in rows], [row.given for row in rows])
    marked = [
        replace(row, grade_probability=chance) for row, chance in zip(rows, chances, strict=True)
    ]
    places, labs, given = [], [], []
    for place, row in enumerate(rows):
        if row.asked.lab is not None and row.given is not None:
            places.append(place)
            labs.append(row.asked.lab)
            given.append(row.given)
    words = words_of_differences(labs, labs_of(given)) if given else []
    for place, promise, text in zip(places, promises_of(labs, given), words, strict=True):
        marked[place] = replace(marked[place], promise=promise, words=text)
    for place in _tied_rows(rows, offered):
        marked[place] = replace(marked[place], tied=True)
    beyond = [
        row for row in marked if row.nearest_delta_E is None or row.nearest_delta_E > cannot_be_had
    ]
    return Translation(tuple(marked), tuple(beyond), gap)


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
