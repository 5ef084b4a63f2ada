"""Hue, value and chroma of the Munsell renotation, which the standard draws its categories in.

Value follows from luminance (ASTM D1535-14, equation 1), after adaptation to illuminant C by
Bradford, relative to the perfect diffuser. Hue and chroma are read off a table over value and the
angle and radius in CIELAB under illuminant C, between whose nodes is interpolated linearly. The
table was fitted to the renotation (S. M. Newhall, D. Nickerson, D. B. Judd (1943), JOSA 33(7), 385)
by tests/naming/make_names.py; its chroma is 0 at value 0, where the renotation says nothing.
"""

import json
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np

from stopgap.arrays import Floats, FloatsLike, Integers, as_lab, read_only
from stopgap.colorimetry.cielab import relative_tristimulus
from stopgap.colorimetry.whites import D50, C, von_kries

_TO_C = von_kries(D50, C) * (D50 / C[:, np.newaxis])  # both relative to their whites
ANGLES = 24


@cache
def model() -> dict[str, Any]:
    """What make_names.py wrote: the table, the tree and the modifiers."""
    file = Path(__file__).parent / "data" / "iscc_nbs_model.json"
    read: dict[str, Any] = json.loads(file.read_text(encoding="utf-8"))
    return read


class _Table(NamedTuple):
    values: Floats
    radii: Floats
    hue: Floats
    """By what the hue is more than the angle, both in hundredths of a circle; flat."""
    chroma: Floats
    """Chroma over radius."""


@cache
def _table() -> _Table:
    found = model()
    hue, chroma = found["hue"], found["chroma"]
    return _Table(
        read_only(found["values"]),
        read_only(found["radii"]),
        read_only([step / 10.0 for step in hue]),
        read_only([step / 1000.0 for step in chroma]),
    )


@cache
def _value_curve() -> tuple[Floats, Floats]:
    values = np.linspace(0.0, 10.5, 1051)
    return luminance(values), values


def luminance(value: FloatsLike) -> Floats:
    """Y from 0 to 1 of a Munsell value: ASTM D1535-14, equation 1."""
    V = np.asarray(value, dtype=np.float64)
    Y = V * (1.1914 + V * (-0.22533 + V * (0.23352 + V * (-0.020484 + V * 0.00081939))))
    return np.asarray(Y / 100.0)


def lab_to_munsell(lab: FloatsLike) -> Floats:
    """Hue from 0 (10RP) to 100, value and chroma, (..., 3) -> (..., 3).

    Within 0.09 of hue, 0.06 of chroma and 0.01 of value of the renotation's for half of all colours
    that it holds, 0.3, 0.2 and 0.01 for nine in ten.
    """
    value, angle, radius = _polar(as_lab(lab))
    nodes, weights = table_nodes(value, angle, radius, _table().values, _table().radii)
    hue = (angle / 3.6 + (_table().hue[nodes] * weights).sum(axis=-1)) % 100.0
    chroma = radius * (_table().chroma[nodes] * weights).sum(axis=-1)
    dark = np.clip(value / _table().values[0], 0.0, 1.0)
    return np.stack([hue, value, np.maximum(chroma, 0.0) * dark], axis=-1)


def _polar(lab: Floats) -> tuple[Floats, Floats, Floats]:
    """Munsell value, and angle in degrees and radius in CIELAB under illuminant C."""
    relative = np.maximum(relative_tristimulus(lab) @ _TO_C.T, 0.0)
    value = np.interp(relative[..., 1], *_value_curve())
    root = np.cbrt(relative)
    a, b = 500.0 * (root[..., 0] - root[..., 1]), 200.0 * (root[..., 1] - root[..., 2])
    return value, np.degrees(np.arctan2(b, a)) % 360.0, np.hypot(a, b)


def table_nodes(
    value: Floats, angle: Floats, radius: Floats, values: Floats, radii: Floats
) -> tuple[Integers, Floats]:
    """The eight nodes around each colour in the flat table, and their weights: (..., 8)."""
    around = np.asarray(angle) * (ANGLES / 360.0)
    first = np.floor(around).astype(np.intp)
    sides = (
        _between(values, value, ANGLES * len(radii)),
        ((first % ANGLES * len(radii), (first + 1) % ANGLES * len(radii)), around - first),
        _between(radii, radius, 1),
    )
    nodes, weights = [], []
    for corner in range(8):
        at = np.zeros(first.shape, dtype=np.intp)
        weight = np.ones(first.shape)
        for bit, (ends, share) in enumerate(sides):
            upper = corner >> bit & 1
            at = at + ends[upper]
            weight = weight * (share if upper else 1.0 - share)
        nodes.append(at)
        weights.append(weight)
    return np.stack(nodes, axis=-1), np.stack(weights, axis=-1)


def _between(knots: Floats, x: Floats, stride: int) -> tuple[tuple[Integers, Integers], Floats]:
    """Places of the knots on both sides of x, and how far x lies towards the second."""
    lower = np.clip(np.searchsorted(knots, x, side="right") - 1, 0, len(knots) - 2)
    share = np.clip((x - knots[lower]) / (knots[lower + 1] - knots[lower]), 0.0, 1.0)
    return (lower * stride, (lower + 1) * stride), share
