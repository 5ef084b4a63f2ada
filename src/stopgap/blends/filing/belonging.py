"""How far a colour is from a family, whatever the family is: by members alike in all but hue.

A family of one hue changes little among members of like lightness and chroma, however far it
reaches. The hue expected is the median of the nearest members', so that one that is wrong draws
nobody after it.
"""

import numpy as np

from stopgap.arrays import Floats, Integers, median
from stopgap.defaults import STEP
from stopgap.difference import delta_E
from stopgap.neighbours import SwatchIndex

_ALIKE = 5  # members that the expected hue is the median of: this project's choice


def distances_to_family(lab: Floats, members: Floats) -> Floats:
    """How far each colour (n, 3) is from a family of other members (m, 3), (n,).

    The ΔE00 to the hue expected at its lightness and chroma, and by how much the nearest member in
    these two lies beyond one melting step; infinite where there is no member.

    Parameters
    ----------
    lab, members
        CIE L*a*b*, D50, 2 degree observer.
    """
    if not (len(lab) and len(members)):
        return np.full(len(lab), np.inf)
    return _distances(lab, members, *SwatchIndex(_flat(members)).nearest(_flat(lab), _ALIKE))


def distances_within_family(members: Floats) -> Floats:
    """How far each member (m, 3) is from all the others of its family, as `distances_to_family`."""
    if len(members) < 2:
        return np.full(len(members), np.inf)
    flat, places = _flat(members), np.arange(len(members))[:, np.newaxis]
    apart, nearest = SwatchIndex(flat).nearest(flat, _ALIKE + 1)
    # where more than these are alike a member need not be among its own nearest: the last goes then
    itself = nearest == places
    itself[~itself.any(axis=1), -1] = True
    others = (len(members), apart.shape[1] - 1)
    return _distances(
        members, members, apart[~itself].reshape(others), nearest[~itself].reshape(others)
    )


def _distances(lab: Floats, members: Floats, apart: Floats, nearest: Integers) -> Floats:
    """The same by the `nearest` members of each (n, k), and how far they are apart but for hue."""
    hue = _hue(lab)
    turned = (_hue(members)[nearest] - hue[:, np.newaxis] + 180.0) % 360.0 - 180.0
    expected, chroma = np.radians(hue + median(turned)), np.hypot(lab[:, 1], lab[:, 2])
    there = [lab[:, 0], chroma * np.cos(expected), chroma * np.sin(expected)]
    by_hue = delta_E(lab, np.stack(there, axis=-1))
    distances: Floats = np.hypot(by_hue, np.maximum(apart[:, 0] - STEP, 0.0))
    return distances


def _hue(lab: Floats) -> Floats:
    angle: Floats = np.degrees(np.arctan2(lab[:, 2], lab[:, 1]))
    return angle


def _flat(lab: Floats) -> Floats:
    """The colours turned to one hue: only lightness and chroma are left to differ."""
    return np.stack([lab[:, 0], np.hypot(lab[:, 1], lab[:, 2]), np.zeros(len(lab))], axis=-1)
