"""Which colour is the nearest in each draw, compiled by numba (the extra `fast`).

Importing this module imports numba and, the first time on a machine, compiles for some seconds; the
result is kept on disk. It is imported only where that pays (see `doubt`).

The rivals of a target are gone through nearest first. A step s that is moved by m has at least the
length |s| - |s·m|/|s|, which is a sum of a few products; only where that undercuts what is nearest
so far is the length itself worked out. Lengths agree with those of `Draws.draw` but for rounding;
a target where rounding could decide which is nearest is reported as undecided, for numpy to decide.

Where only some colours are shown, a target is done as soon as all of these are sure to be tied:
however the draws that are left fall, the colours that win more often than one of them do not hold
the nearest with the probability COVERED.
"""

import math
from functools import lru_cache
from importlib import import_module

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers
from stopgap.planner.draws import Draws
from stopgap.planner.normal_numbers import COVERED, DRAWS, normal_numbers, own_name, shared_numbers

_njit = import_module("numba").njit  # numba has no types for a checker

_AT_ONCE = 256  # draws whose lengths stay in the first cache
_ROUNDING = 1e-11  # squared lengths nearer than this are for numpy to tell apart
_FARTHEST = 1e300
_FEW = DRAWS - math.floor(COVERED * DRAWS)  # draws that others may win where a group holds COVERED
_OWN_MADE = 512  # colours whose numbers are put in blocks together, so that they are kept


def _add(times: float, numbers: Floats, found: Floats) -> None:
    """Add so many times the numbers (draws,); most roots have six noughts."""
    if times != 0.0:
        for j in range(len(numbers)):
            found[j] += times * numbers[j]


_add = _njit(_add)


def _common(roots: Floats, target: Floats, shared: Floats, groups: Integers, found: Floats) -> None:
    """What a target (3 parts, 3, 3) errs by in some draws, (2, 3, draws): beside what shares its
    error of measuring, and beside all others.
    """
    for axis in range(3):
        found[0, axis] = 0.0
        for other in range(3):
            _add(roots[0, axis, other], target[other], found[0, axis])
            _add(roots[2, axis, other], shared[groups[1], other], found[0, axis])
        found[1, axis] = found[0, axis]
        for other in range(3):
            _add(roots[1, axis, other], shared[groups[0], other], found[1, axis])


_common = _njit(_common)


def _along(
    step: Floats,
    length: float,
    roots: Floats,
    own: Floats,
    measured: Floats,
    paper: Floats,
    common: Floats,
    found: Floats,
) -> None:
    """How far a step of that length is moved along its own direction, in some draws."""
    unit = 1.0 / max(length, 1e-300)
    x, y, z = unit * step[0], unit * step[1], unit * step[2]
    for j in range(_AT_ONCE):
        found[j] = -(x * common[0, j] + y * common[1, j] + z * common[2, j])
    for part in range(3):
        root = roots[part]
        a = x * root[0, 0] + y * root[1, 0] + z * root[2, 0]
        b = x * root[0, 1] + y * root[1, 1] + z * root[2, 1]
        c = x * root[0, 2] + y * root[1, 2] + z * root[2, 2]
        if a != 0.0 or b != 0.0 or c != 0.0:
            numbers = (own, measured, paper)[part]
            for j in range(_AT_ONCE):
                found[j] += a * numbers[0, j] + b * numbers[1, j] + c * numbers[2, j]


_along = _njit(_along)


def _able(along: Floats, reach: Floats, length: float, those: Integers) -> int:
    """In how many draws a step of that length may come within reach; `those` become which."""
    able = 0
    for j in range(_AT_ONCE):
        able += 1 if abs(along[j]) + reach[j] > length else 0
    if able > 0:
        able = 0
        for j in range(_AT_ONCE):
            those[able] = j
            able += 1 if abs(along[j]) + reach[j] > length else 0
    return able


_able = _njit(_able)


def _squared(
    step: Floats,
    roots: Floats,
    is_round: bool,
    own: Floats,
    measured: Floats,
    paper: Floats,
    common: Floats,
    j: int,
) -> tuple[float, float]:
    """The squared length of a moved step: the part of both ways, and what either adds."""
    even, odd = 0.0, 0.0
    for axis in range(3):
        moved = -common[axis, j]
        if is_round:
            moved += roots[0, 0, 0] * own[axis, j]
            moved += roots[1, 0, 0] * measured[axis, j] + roots[2, 0, 0] * paper[axis, j]
        else:
            for other in range(3):
                moved += roots[0, axis, other] * own[other, j]
                moved += roots[1, axis, other] * measured[other, j]
                moved += roots[2, axis, other] * paper[other, j]
        even += step[axis] * step[axis] + moved * moved
        odd += 2.0 * step[axis] * moved
    return even, odd


_squared = _njit(_squared)


def _take(found: float, row: int, j: int, best: Floats, winner: Integers) -> bool:
    """Take a row where it is the nearest so far; whether rounding has no say in that."""
    slack = _ROUNDING * (1.0 + best[j])
    if found < best[j] - slack:
        best[j], winner[j] = found, row
        return True
    return bool(found > best[j] + slack)


_take = _njit(_take)


def _surely_tied(wins: Integers, shown: Integers, left: int) -> bool:
    """Whether each colour shown is in the group of those tied, however the draws left are won."""
    drawn, most = 0, 0
    for each in wins:
        drawn += each
        most = max(most, each)
    if len(shown) == 0 or drawn - most <= _FEW:
        return False
    rising = np.sort(wins)
    for place in shown:
        if place < 0 or place >= len(wins):
            return False
        # at the least cost those that won most often overtake it, till few draws are not theirs
        own, behind, cost = wins[place], 0, 0
        for each in rising:
            behind += each if each <= own else 0
        for each in rising[::-1]:
            if each <= own and behind > _FEW:
                behind, cost = behind - each, cost + own - each
        if own <= _FEW and cost <= left:
            return False
    return True


_surely_tied = _njit(_surely_tied)


def _search(
    steps: Floats,
    roots: Floats,
    is_round: Booleans,
    columns: Integers,
    groups: Integers,
    apart: Integers,
    first: Integers,
    theirs: tuple[Floats, Integers],
    numbers: tuple[Floats, Floats, Floats],
    shown: Integers,
) -> tuple[Integers, Booleans, Booleans]:
    """Draws (n,) that each rival wins, which targets (m,) are decided, and of which all those
    `shown` (m, s), by their places among the rivals, are sure to be tied, so that it was left off.

    Those of target t are the rows first[t] to first[t + 1], nearest first. `roots` (2, colours) are
    without what is shared in measuring and with it, as `apart` says, of the colours in `columns`;
    roots and `groups` of the targets are `theirs`; `numbers` are those of the colours, those of a
    target, and those that are shared.
    """
    their_roots, their_groups = theirs
    own, target, shared = numbers
    wins = np.zeros(len(steps), dtype=np.intp)
    decided = np.ones(len(their_roots), dtype=np.bool_)
    done = np.zeros(len(their_roots), dtype=np.bool_)
    alone = first[1:] - first[:-1] == 1
    wins[first[:-1][alone]] = DRAWS
    best, winner = np.empty((2, _AT_ONCE)), np.empty((2, _AT_ONCE), dtype=np.intp)
    reach, along, common = np.empty(_AT_ONCE), np.empty(_AT_ONCE), np.empty((2, 3, _AT_ONCE))
    those = np.empty(_AT_ONCE, dtype=np.intp)
    for block in range(len(target)):
        of_shared = shared[block]
        left = DRAWS - 2 * _AT_ONCE * (block + 1)
        for t in range(len(their_roots)):
            if done[t] or alone[t]:
                continue
            _common(their_roots[t], target[block], of_shared, their_groups[t], common)
            best[:], winner[:], reach[:] = _FARTHEST, -1, _FARTHEST
            for row in range(first[t], first[t + 1]):
                step, its_common = steps[row], common[apart[row]]
                its_roots = roots[apart[row], columns[row]]
                its_round = is_round[apart[row], columns[row]]
                of_own = own[block, row - first[t]]
                measured, paper = of_shared[groups[row, 0]], of_shared[groups[row, 1]]
                length = math.sqrt(step[0] * step[0] + step[1] * step[1] + step[2] * step[2])
                _along(step, length, its_roots, of_own, measured, paper, its_common, along)
                for at in range(_able(along, reach, length, those)):
                    j = those[at]
                    even, odd = _squared(
                        step, its_roots, its_round, of_own, measured, paper, its_common, j
                    )
                    sure = _take(even + odd, row, j, best[0], winner[0])
                    decided[t] &= _take(even - odd, row, j, best[1], winner[1]) and sure
                    if winner[0, j] == row or winner[1, j] == row:
                        reach[j] = math.sqrt(max(best[0, j], best[1, j], 0.0)) + 1e-5
            for sign in range(2):
                for j in range(_AT_ONCE):
                    wins[winner[sign, j]] += 1
            done[t] = _surely_tied(wins[first[t] : first[t + 1]], shown[t], left)
    return wins, decided, done


_search = _njit(_search, cache=True, nogil=True)


@lru_cache(maxsize=1)
def _own_blocks(count: int) -> Floats:
    """Own numbers of so many colours, kept in this one form."""
    each = normal_numbers.__wrapped__
    blocks = np.empty((DRAWS // 2 // _AT_ONCE, count, 3, _AT_ONCE))
    for place in range(count):
        blocks[:, place] = _in_blocks(each(own_name(place)))
    return blocks


def _in_blocks(numbers: Floats) -> Floats:
    """Those (..., 3, draws) of some draws each together, (blocks, ..., 3, draws of a block)."""
    parts = numbers.reshape(*numbers.shape[:-1], -1, _AT_ONCE)
    return np.ascontiguousarray(np.moveaxis(parts, -2, 0))


def wins_compiled(
    box: Draws, order: Integers, rivals: Integers, shown: Integers
) -> tuple[Floats, Booleans, Booleans]:
    """Draws (m, k) that each colour wins, which targets (m,) are decided, and of which all those
    `shown` (m, s) are sure to be tied: of these not all draws were looked at.

    Of target t the places order[t, : rivals[t]] among its colours take part, nearest first.
    """
    among = np.argsort(order, axis=1)
    first = np.concatenate([[0], np.cumsum(rivals)])
    rows = np.repeat(np.arange(len(rivals)), rivals)
    places = order[rows, np.arange(len(rows)) - first[rows]]
    columns, targets = box.columns[rows, places], box.targets[:, 0]
    roots = np.stack([box.ours.roots, box.ours.roots])
    roots[0, :, 1] = 0.0
    won, decided, surely = _search(
        box.steps[rows, places],
        roots,
        (roots == roots[..., :1, :1] * np.eye(3)).all(axis=(2, 3, 4)),
        columns,
        box.ours.groups[columns],
        box.apart[rows, places, 0].astype(np.intp),
        first,
        (box.theirs.roots[targets], box.theirs.groups[targets]),
        (
            _own_blocks(-(-int(rivals.max()) // _OWN_MADE) * _OWN_MADE),
            _in_blocks(normal_numbers("target")),
            _in_blocks(shared_numbers(tuple(box.theirs.names))),
        ),
        np.take_along_axis(among, shown, axis=1),
    )
    wins = np.zeros(order.shape)
    wins[rows, places] = won
    return wins, decided, surely
