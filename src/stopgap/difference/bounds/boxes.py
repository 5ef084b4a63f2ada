"""Regions of Lab that enclose many colours, and proved lower bounds of the differences from them.

A box is one row of BOX_COLUMNS numbers, so that an array of boxes is (..., BOX_COLUMNS):

=========  =============================================================================
column     what
=========  =============================================================================
0, 1       smallest and largest L*
2, 3       smallest and largest a*
4, 5       smallest and largest b*
6, 7       smallest and largest chroma C*ab
8, 9       cosine and sine of the first hue h_ab, going counter-clockwise
10, 11     cosine and sine of the last hue; all four are 0 where hues span nearly half a turn
=========  =============================================================================

The region is what satisfies all of them at once. A neutral colour counts with hue 0.

A bound takes one target (..., 3), the standard where the metric has one, and boxes (...,
BOX_COLUMNS), and returns a number that no colour of the box falls below. Bounds are exact in real
numbers; in float64 allow a relative 1e-9. That of CIEDE2000 has its own module, `bounds.ciede2000`.

Three facts are used, with g the gap between a target's coordinate and the box's range of it, 0
inside:

1.  A sum of terms that grow with |ΔL|, |Δa|, |Δb| is least where each is g: CIE 1976 and HyAB.

2.  Where the weights depend on the target alone (CIE 1994, CMC), ΔL/S_L, ΔC/S_C and ΔH/S_H are
    bounded by the gaps in L*, chroma and hue. ΔH = 2 sqrt(C1 C2) sin(Δh/2) grows with C2 and with
    Δh up to 180 degrees, so that ΔH >= 2 sqrt(C1 C_low) sin(g_h/2).

3.  ΔC² + ΔH² = Δa² + Δb². Where S_H <= S_C, then (ΔC/S_C)² + (ΔH/S_H)² >= (Δa² + Δb²)/S_C². This
    serves boxes about the neutral axis, which hold every hue. The larger of 2. and 3. is taken.
    CIE 1994: K_2 <= K_1. CMC: S_H = S_C (F T + 1 - F) with 0 <= F < 1 and T <= 0.76.
"""

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Floats

BOX_COLUMNS = 12


def enclose(lab: Floats) -> Floats:
    """The boxes around groups of colours: (..., size, 3) -> (..., BOX_COLUMNS)."""
    chroma = np.hypot(lab[..., 1], lab[..., 2])
    hue = np.arctan2(lab[..., 2], lab[..., 1])
    middle = np.arctan2(lab[..., 2].mean(axis=-1), lab[..., 1].mean(axis=-1))
    offset = _wrapped(hue - middle[..., np.newaxis])
    ranges = [lab[..., 0], lab[..., 1], lab[..., 2], chroma]
    ends = [end for values in ranges for end in (values.min(axis=-1), values.max(axis=-1))]
    return _rows(ends, middle + offset.min(axis=-1), middle + offset.max(axis=-1))


def join(first: Floats, second: Floats) -> Floats:
    """The boxes around pairs of boxes: (..., BOX_COLUMNS) twice -> (..., BOX_COLUMNS)."""
    lowest = np.minimum(first, second)
    highest = np.maximum(first, second)
    ends = [(highest if column % 2 else lowest)[..., column] for column in range(8)]
    (start_1, width_1), (start_2, width_2) = _wedge(first), _wedge(second)
    turn = _wrapped(start_2 + width_2 / 2 - start_1 - width_1 / 2)  # from middle to middle
    before = np.minimum(-width_1 / 2, turn - width_2 / 2)
    after = np.maximum(width_1 / 2, turn + width_2 / 2)
    middle = start_1 + width_1 / 2
    return _rows(ends, middle + before, middle + after)


def _wedge(boxes: Floats) -> tuple[Floats, Floats]:
    """First hue and width [radians], 0 to 2 pi where the hues span nearly half a turn."""
    start = np.arctan2(boxes[..., 9], boxes[..., 8])
    width = (np.arctan2(boxes[..., 11], boxes[..., 10]) - start) % (2.0 * np.pi)
    whole = (boxes[..., 8] == 0.0) & (boxes[..., 9] == 0.0)
    return start, np.where(whole, 2.0 * np.pi, width)


def _rows(ends: list[Floats], first: Floats, last: Floats) -> Floats:
    # a hair wider than the colours, for the rounding of the angles
    first, last = first - 1e-12, last + 1e-12
    some = np.where(last - first < 0.999 * np.pi, 1.0, 0.0)
    hues = [some * np.cos(first), some * np.sin(first), some * np.cos(last), some * np.sin(last)]
    return np.stack([*ends, *hues], axis=-1)


def _wrapped(angle: Floats) -> Floats:
    """`angle` [radians] brought into [-pi, pi)."""
    return (angle + np.pi) % (2.0 * np.pi) - np.pi


LowerBound = Callable[[Floats, Floats], Floats]


class Bounded(NamedTuple):
    """A `difference` of colours (m, 3) from a target (3,), infinite where it tells of none, and its
    `bound`.
    """

    difference: Callable[[Floats, Floats], Floats]
    bound: LowerBound


def bound_cie_1976(target: Floats, boxes: Floats) -> Floats:
    """Distance in L*a*b* from the target to the box."""
    L, a, b = (_gap(target[..., axis], boxes, axis) for axis in range(3))
    distance: Floats = np.sqrt(L**2 + a**2 + b**2)
    return distance


def bound_hyab(target: Floats, boxes: Floats) -> Floats:
    """|ΔL*| + hypot(Δa*, Δb*) from the target to the box."""
    L, a, b = (_gap(target[..., axis], boxes, axis) for axis in range(3))
    distance: Floats = L + np.hypot(a, b)
    return distance


def bound_cie_1994_graphic_arts(target: Floats, boxes: Floats) -> Floats:
    """ΔE*94 with k_L = 1, K1 = 0.045, K2 = 0.015."""
    return _bound_cie_1994(target, boxes, k_L=1.0, K_1=0.045, K_2=0.015)


def bound_cie_1994_textiles(target: Floats, boxes: Floats) -> Floats:
    """ΔE*94 with k_L = 2, K1 = 0.048, K2 = 0.014."""
    return _bound_cie_1994(target, boxes, k_L=2.0, K_1=0.048, K_2=0.014)


def bound_cmc(target: Floats, boxes: Floats) -> Floats:
    """ΔE CMC(2:1), with the weights of `cmc`."""
    L = target[..., 0]
    C = np.hypot(target[..., 1], target[..., 2])
    h = np.degrees(np.arctan2(target[..., 2], target[..., 1])) % 360.0
    S_L = np.where(L < 16.0, 0.511, 0.040975 * L / (1.0 + 0.01765 * L))
    S_C = 0.0638 * C / (1.0 + 0.0131 * C) + 0.638
    F = np.sqrt(C**4 / (C**4 + 1900.0))
    T = np.where(
        (h >= 164.0) & (h <= 345.0),
        0.56 + np.abs(0.2 * np.cos(np.radians(h + 168.0))),
        0.36 + np.abs(0.4 * np.cos(np.radians(h + 35.0))),
    )
    return _bound_of_weights(target, boxes, 2.0 * S_L, S_C, S_C * (F * T + 1.0 - F))


def _bound_cie_1994(target: Floats, boxes: Floats, *, k_L: float, K_1: float, K_2: float) -> Floats:
    C = np.hypot(target[..., 1], target[..., 2])
    return _bound_of_weights(target, boxes, np.full_like(C, k_L), 1.0 + K_1 * C, 1.0 + K_2 * C)


def _bound_of_weights(
    target: Floats, boxes: Floats, S_L: Floats, S_C: Floats, S_H: Floats
) -> Floats:
    """Facts 2 and 3 above, for weights (...) that belong to the target, S_H <= S_C."""
    L, a, b = (_gap(target[..., axis], boxes, axis) for axis in range(3))
    chroma = np.hypot(target[..., 1], target[..., 2])
    C = _gap(chroma, boxes, 3)
    H = 2.0 * np.sqrt(chroma * boxes[..., 6]) * np.sin(_hue_gap(target, boxes) / 2.0)
    plane = np.maximum((C / S_C) ** 2 + (H / S_H) ** 2, (a**2 + b**2) / S_C**2)
    distance: Floats = np.sqrt((L / S_L) ** 2 + plane)
    return distance


def _gap(value: Floats, boxes: Floats, pair: int) -> Floats:
    """How far `value` lies outside the range in the columns 2 `pair` and 2 `pair` + 1."""
    below, above = boxes[..., 2 * pair] - value, value - boxes[..., 2 * pair + 1]
    return np.maximum(np.maximum(below, above), 0.0)


def _hue_gap(target: Floats, boxes: Floats) -> Floats:
    """The angle [radians], 0 to pi, from the target's hue to the nearest hue of the box."""
    hue = np.arctan2(target[..., 2], target[..., 1])
    first = np.arctan2(boxes[..., 9], boxes[..., 8])
    last = np.arctan2(boxes[..., 11], boxes[..., 10])
    whole = (boxes[..., 8] == 0.0) & (boxes[..., 9] == 0.0)
    turn = 2.0 * np.pi
    half_width = np.where(whole, np.pi, ((last - first) % turn) / 2.0)
    from_middle = np.abs((hue - first - half_width + np.pi) % turn - np.pi)
    outside: Floats = np.maximum(from_middle - half_width, 0.0)
    return outside
