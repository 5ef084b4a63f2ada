"""How near to a target a colour may come that has about some X, Y and Z: looked up in a table.

A region of far colours is bent like a shell, and planes around it leave much within that is further
than is asked. So what lies between them is cut into voxels, and of each the least difference is
known that any colour in it, or so near to it as colours are predicted, can have.
"""

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from stopgap.arrays import Floats
from stopgap.colorimetry.cielab import lab_of
from stopgap.difference.bounds.boxes import LowerBound
from stopgap.difference.bounds.covers import least_of
from stopgap.layering.pruning.regions import Slabs

_ACROSS = 40  # voxels each way
_HAIR = 1e-9


class Voxels(NamedTuple):
    """The `least` differences (v + 2, v + 2, v + 2), infinite all around, over square roots of X, Y
    and Z from `low` (3,) on in steps (3,).
    """

    low: Floats
    step: Floats
    least: npt.NDArray[np.float32]

    def at(self, tristimulus: Floats) -> npt.NDArray[np.float32]:
        """No difference that X, Y and Z (m, 3) may have is below this: (m,)."""
        place = (np.sqrt(np.maximum(tristimulus, 0.0)) - self.low) / self.step
        np.clip(place, -1.0, _ACROSS, out=place)
        x, y, z = (np.floor(place).astype(np.intp) + 1).T
        return np.asarray(self.least[x, y, z])


def voxels_of(region: Slabs, target: Floats, bound: LowerBound, off: Floats) -> Voxels:
    """Those of a region, where X, Y and Z are known but for as much as they are `off` (3,)."""
    ends = np.sqrt(np.maximum([region.low[-3:] - off, region.high[-3:] + off], 0.0))
    low, step = ends[0], np.maximum(np.ptp(ends, axis=0), _HAIR) / _ACROSS
    # a hair wider, for the rounding of a place
    edges = np.square(low + (np.arange(_ACROSS + 1) * step[:, np.newaxis]).T)
    lower, upper = edges[:-1] - off - _HAIR, edges[1:] + off + _HAIR
    middle, half = (lower + upper) / 2.0, (upper - lower) / 2.0
    kept = np.ones((_ACROSS,) * 3, dtype=np.bool_)
    for normal, least, most in zip(region.normals, region.low, region.high):
        x, y, z = (middle * normal).T
        reach = [*(half * np.abs(normal)).T]
        at = x[:, np.newaxis, np.newaxis] + y[:, np.newaxis] + z
        wide = reach[0][:, np.newaxis, np.newaxis] + reach[1][:, np.newaxis] + reach[2]
        kept &= (at - wide <= most) & (at + wide >= least)
    places = np.nonzero(kept)
    corners = np.stack(
        [
            np.stack([ends[place, axis] for axis, place in enumerate(places)], axis=-1)
            for ends in (lower, upper)
        ]
    )
    table = np.full((_ACROSS + 2,) * 3, np.inf, dtype=np.float32)
    inner = table[1:-1, 1:-1, 1:-1]
    inner[places] = least_of(_boxes(*corners), target, bound) * (1.0 - 1e-6)
    return Voxels(low, step, table)


def _boxes(lower: Floats, upper: Floats) -> Floats:
    """Boxes (m, 3, 2) of L*, a* and b* around all colours of X, Y and Z between those (m, 3)."""
    X, Y, Z = np.eye(3)
    ends = []
    for one, other in ((lower, upper), (upper, lower)):
        L = lab_of(one)[:, 0]
        a = lab_of(one * X + other * Y)[:, 1]
        b = lab_of(one * Y + other * Z)[:, 2]
        ends.append(np.stack([L, a, b], axis=-1))
    return np.stack(ends, axis=-1)
