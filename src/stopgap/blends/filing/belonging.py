"""How far a colour is from a family, whatever the family is: by members alike in all but hue.

A family of one hue changes little among members of like lightness and chroma, however far it
reaches. The hue expected is the median of the nearest members', so that one that is wrong draws
nobody after it.
"""

import numpy as np

from stopgap.arrays import Floats, Integers
from stopgap.defaults import STEP
from stopgap.difference import delta_E

_ALIKE = 5  # members that the expected hue is the median of: this project's choice


def distances_to_families(
    lab: Floats, members: Floats, family: Integers, count: int, *, themselves: bool = False
) -> Floats:
    """How far each colour (n, 3) is from each of `count` families, (n, count).

    The ΔE00 to the hue expected at its lightness and chroma, and by how much the nearest member in
    these two lies beyond one melting step; infinite where a family has no other member.

    Parameters
    ----------
    lab
        CIE L*a*b*, D50, 2 degree observer.
    members
        The colours of all families (m, 3).
    family
        The number of the family of each member, from 0.
    themselves
        Whether `lab` are the members, of which none is compared with itself.
    """
    hue, own = _hue(lab), _hue(members)
    flat, flat_members = _flat(lab), _flat(members)
    far = np.full((len(lab), count), np.inf)
    for number in range(count):
        rows = np.flatnonzero(family == number)
        if not len(rows):
            continue
        apart = np.atleast_2d(delta_E(flat[:, None], flat_members[rows]))
        if themselves:
            apart[rows, np.arange(len(rows))] = np.inf
        nearest = np.argsort(apart, axis=1, kind="stable")[:, :_ALIKE]
        near = np.take_along_axis(apart, nearest, axis=1)
        some = np.isfinite(near[:, 0])
        turned = (own[rows[nearest]] - hue[:, None] + 180.0) % 360.0 - 180.0
        turned[~np.isfinite(near)] = np.nan
        expected = np.radians(hue[some] + np.nanmedian(turned[some], axis=1))
        chroma = flat[some, 1]
        there = [lab[some, 0], chroma * np.cos(expected), chroma * np.sin(expected)]
        by_hue = delta_E(lab[some], np.stack(there, axis=-1))
        far[some, number] = np.hypot(by_hue, np.maximum(near[some, 0] - STEP, 0.0))
    return far


def _hue(lab: Floats) -> Floats:
    angle: Floats = np.degrees(np.arctan2(lab[:, 2], lab[:, 1]))
    return angle


def _flat(lab: Floats) -> Floats:
    """The colours turned to one hue: only lightness and chroma are left to differ."""
    return np.stack([lab[:, 0], np.hypot(lab[:, 1], lab[:, 2]), np.zeros(len(lab))], axis=-1)
