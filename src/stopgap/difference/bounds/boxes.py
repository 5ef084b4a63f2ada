"""Regions of Lab that enclose many colours, and how far a colour is from them in each coordinate.

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
"""

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
