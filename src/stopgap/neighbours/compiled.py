"""The descent of the tree under CIEDE2000, compiled by numba (the extra `fast`).

Importing this module imports numba and, the first time on a machine, compiles for some seconds; the
result is kept on disk. It is imported only once there is enough to ask (see `index`).

The bound is compiled from the very source that numpy runs, `squared_bound_ciede2000`. The
difference is written again for one pair of colours: numpy's sines and arctangents are its own and
may differ from the C library's in the last figure. So a compiled difference agrees with the numpy
one to about 1e-13, and where that could change which rows are the answer, or their order, the
target is reported as undecided, for numpy to decide.
"""

import math
from collections.abc import Callable
from hashlib import sha256
from importlib import import_module
from pathlib import Path

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers
from stopgap.difference.bounds import ciede2000 as bounds_ciede2000
from stopgap.difference.formulas.ciede2000 import COS_6, COS_30, COS_63, SIN_6, SIN_30, SIN_63
from stopgap.neighbours.tree import Rows, Tree

_njit = import_module("numba").njit  # numba has no types for a checker

_SPARE = 8  # more colours than asked for are kept, to see whether the last place is decided
_ROUNDING = 1e-11  # differences nearer than this are for numpy to order
_POW_25_7 = 25.0**7
_TO_DEGREES = 180.0 / np.pi
_TO_RADIANS = np.pi / 180.0


def _pair_difference(
    L_1: float, a_1: float, b_1: float, C_1: float, L_2: float, a_2: float, b_2: float
) -> float:
    """`delta_E_ciede2000` of one pair; C_1 is the chroma C*ab of colour 1."""
    mean_C7 = (0.5 * (C_1 + np.hypot(a_2, b_2))) ** 7
    stretch = 1.5 - 0.5 * np.sqrt(mean_C7 / (mean_C7 + _POW_25_7))
    C_1, C_2 = np.hypot(stretch * a_1, b_1), np.hypot(stretch * a_2, b_2)
    h_1 = np.arctan2(b_1, stretch * a_1) * _TO_DEGREES
    h_2 = np.arctan2(b_2, stretch * a_2) * _TO_DEGREES
    if h_1 < 0.0:
        h_1 += 360.0
    if h_2 < 0.0:
        h_2 += 360.0
    apart, mean_h = h_2 - h_1, 0.5 * (h_1 + h_2)
    if abs(apart) > 180.0:
        cosine = a_1 * a_2 + b_1 * b_2
        opposite = abs(a_1 * b_2 - b_1 * a_2) <= -1e-14 * cosine and cosine < 0.0
        if not opposite:
            apart -= np.copysign(360.0, apart)
            mean_h += 180.0 if mean_h < 180.0 else -180.0
    delta_H = 2.0 * np.sqrt(C_1 * C_2) * np.sin(0.5 * _TO_RADIANS * apart)

    # cosines of the multiples of the mean hue by the addition theorems
    angle = mean_h * _TO_RADIANS
    c, s = np.cos(angle), np.sin(angle)
    c2, s2 = c * c - s * s, 2.0 * c * s
    c3, s3 = c2 * c - s2 * s, s2 * c + c2 * s
    c4, s4 = c2 * c2 - s2 * s2, 2.0 * c2 * s2
    T = 1.0 - 0.17 * (COS_30 * c + SIN_30 * s) + 0.24 * c2
    T = T + 0.32 * (COS_6 * c3 - SIN_6 * s3) - 0.20 * (COS_63 * c4 + SIN_63 * s4)
    mean_C = 0.5 * (C_1 + C_2)
    from_blue = (mean_h - 275.0) / 25.0
    R_T = 0.0
    if abs(from_blue) < 6.5:  # beyond, below 1e-18
        mean_C7 = mean_C**7
        R_C = 2.0 * np.sqrt(mean_C7 / (mean_C7 + _POW_25_7))
        R_T = -R_C * np.sin(60.0 * _TO_RADIANS * np.exp(-from_blue * from_blue))
    off_middle = 0.5 * (L_1 + L_2) - 50.0
    off_middle = off_middle * off_middle
    x = (C_2 - C_1) / (1.0 + 0.045 * mean_C)
    y = delta_H / (1.0 + 0.015 * mean_C * T)
    lightness = (L_2 - L_1) / (1.0 + 0.015 * off_middle / np.sqrt(20.0 + off_middle))
    return math.sqrt(max(lightness * lightness + x * x + y * y + R_T * x * y, 0.0))


_pair_difference = _njit(_pair_difference)
_bound = _njit(bounds_ciede2000.squared_bound_ciede2000)


Nearest = tuple[Floats, Integers, Integers]
"""Differences, rows and slots of the nearest so far, in order; the last may be empty."""


def _keep(value: float, row: int, slot: int, found: int, nearest: Nearest) -> int:
    """Put a colour into its place among the nearest; the number of them that are filled."""
    values, rows, slots = nearest
    keep = len(values)
    if found == keep:
        last = found - 1
        if value > values[last] or (value == values[last] and row > rows[last]):
            return found
    else:
        last = found
        found += 1
    while last > 0 and (
        value < values[last - 1] or (value == values[last - 1] and row < rows[last - 1])
    ):
        values[last], rows[last], slots[last] = values[last - 1], rows[last - 1], slots[last - 1]
        last -= 1
    values[last], rows[last], slots[last] = value, row, slot
    return found


_keep = _njit(_keep)


def _slack(value: float) -> float:
    return value * (1.0 + 1e-9) + 1e-9  # as descent.with_slack


_slack = _njit(_slack)


def _scan(
    lab: Floats,
    row_of: Rows,
    first: int,
    last: int,
    mask: Booleans,
    target: Floats,
    C_1: float,
    k: int,
    found: int,
    nearest: Nearest,
) -> int:
    """Look at the colours `first` to `last`; the number of nearest that are filled."""
    values = nearest[0]
    limit = _slack(values[k - 1]) if found >= k else np.inf
    for slot in range(first, last):
        if row_of[slot] < 0 or (len(mask) > 0 and not mask[slot]):
            continue
        value = _pair_difference(
            target[0], target[1], target[2], C_1, lab[slot, 0], lab[slot, 1], lab[slot, 2]
        )
        if value <= limit:
            found = _keep(value, row_of[slot], slot, found, nearest)
            limit = _slack(values[k - 1]) if found >= k else np.inf
    return found


_scan = _njit(_scan)


def _descend(
    lab: Floats,
    row_of: Rows,
    boxes: Floats,
    size: int,
    mask: Booleans,
    nodes: Booleans,
    target: Floats,
    C_1: float,
    k: int,
    nearest: Nearest,
) -> int:
    """Depth first, the nearer half first; the number of nearest that are filled."""
    values = nearest[0]
    leaves = len(boxes) // 2
    stack = np.empty(64, dtype=np.intp)
    below = np.empty(64)
    stack[0], below[0] = 1, 0.0
    waiting, found, limit = 1, 0, np.inf  # the limit's square
    while waiting > 0:
        waiting -= 1
        node = stack[waiting]
        if below[waiting] > limit:
            continue
        if node >= leaves:
            first = (node - leaves) * size
            found = _scan(lab, row_of, first, first + size, mask, target, C_1, k, found, nearest)
            if found >= k:
                limit = _slack(values[k - 1]) ** 2
            continue
        left = 2 * node
        bound_1 = _bound(target[0], target[1], target[2], C_1, boxes[left])
        bound_2 = _bound(target[0], target[1], target[2], C_1, boxes[left + 1])
        nearer = left if bound_1 <= bound_2 else left + 1
        for half in (4 * node + 1 - nearer, nearer):  # the farther is taken up last
            bound = bound_1 if half == left else bound_2
            # a bound that is no number keeps its node
            if not bound > limit and (len(nodes) == 0 or nodes[half]):
                stack[waiting], below[waiting] = half, bound
                waiting += 1
    return found


_descend = _njit(_descend)


def _decided(k: int, found: int, values: Floats, slots: Integers, lab: Floats) -> bool:
    """Whether rounding cannot change which `k` are nearest nor their order.

    Two colours in a row may only be as near as rounding if they are the very same colour.
    """
    for place in range(1, found):
        if values[place] - values[place - 1] > _ROUNDING * (1.0 + values[place]):
            if place >= k:
                return True
            continue
        one, other = slots[place - 1], slots[place]
        for axis in range(3):
            if lab[one, axis] != lab[other, axis]:
                return False
    return found < len(values)


_decided = _njit(_decided)


def _search_of(stamp: str) -> Callable[..., tuple[Floats, Integers, Booleans]]:
    """The search to be compiled.

    What is kept on disk is that of the same `stamp`; numba by itself looks only at this file.
    """

    def search(
        lab: Floats,
        row_of: Rows,
        boxes: Floats,
        size: int,
        mask: Booleans,
        nodes: Booleans,
        targets: Floats,
        k: int,
        exhaustive: bool,
    ) -> tuple[Floats, Integers, Booleans]:
        """ΔE (m, k), rows (m, k), and which targets are decided (m,)."""
        _ = stamp
        many = len(targets)
        delta_E, found_rows = np.empty((many, k)), np.empty((many, k), dtype=np.intp)
        decided = np.empty(many, dtype=np.bool_)
        values = np.empty(k + _SPARE)
        rows, slots = np.empty(k + _SPARE, dtype=np.intp), np.empty(k + _SPARE, dtype=np.intp)
        nearest = (values, rows, slots)
        for at in range(many):
            target = targets[at]
            C_1 = np.hypot(target[1], target[2])
            if exhaustive:
                found = _scan(lab, row_of, 0, len(lab), mask, target, C_1, k, 0, nearest)
            else:
                found = _descend(lab, row_of, boxes, size, mask, nodes, target, C_1, k, nearest)
            delta_E[at], found_rows[at] = values[:k], rows[:k]
            decided[at] = _decided(k, found, values, slots, lab)
        return delta_E, found_rows, decided

    return search


_SOURCE = Path(bounds_ciede2000.__file__).read_bytes()
_search = _njit(_search_of(sha256(_SOURCE).hexdigest()), cache=True, nogil=True)

_NO_MASK = np.empty(0, dtype=np.bool_)


def nearest_compiled(
    tree: Tree,
    targets: Floats,
    k: int,
    mask: Booleans | None = None,
    nodes: Booleans | None = None,
    *,
    exhaustive: bool = False,
) -> tuple[Floats, Integers, Booleans]:
    """The `k` nearest under CIEDE2000: ΔE (m, k), rows (m, k) and, (m,), which rows are certain.

    `mask` and `nodes` are those of `descent.Allowed`; at least `k` colours must be allowed.
    `exhaustive` looks at every colour and gives bitwise the same.
    """
    answer: tuple[Floats, Integers, Booleans] = _search(
        tree.lab,
        tree.rows,
        tree.boxes,
        tree.size,
        _NO_MASK if mask is None else mask,
        _NO_MASK if nodes is None else nodes,
        np.require(targets, requirements=["C", "W"]),  # of another kind it would be compiled anew
        k,
        exhaustive,
    )
    return answer
