"""The bands of wavelength in which layers are reckoned: 36 of a spectrum, or 3 broad ones."""

from collections.abc import Callable
from functools import cache
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Floats, FloatsLike, as_lab, read_only, row_by_row
from stopgap.colorimetry.cielab import lab_of, relative_tristimulus
from stopgap.colorimetry.recovery.weights import Recovered, tristimulus_weights
from stopgap.colorimetry.srgb import D65_TO_D50
from stopgap.colorimetry.whites import D65


class Bands(NamedTuple):
    """`reflectances` turns colours (..., 3) into (..., k), what has none into duller ones or, which
    may be quicker, not; `weights` () is (k, 3).

    `measured` says whether a measured spectrum (`near`) is of use to `reflectances`.
    """

    reflectances: Callable[[FloatsLike, Floats | None, bool], Recovered]
    weights: Callable[[], Floats]
    measured: bool

    def lab(self, reflectance: Floats) -> Floats:
        """CIE L*a*b* (..., 3) of reflectances (..., k)."""
        return lab_of(row_by_row(reflectance, self.weights()))


def _plainest(lab: FloatsLike, near: Floats | None = None, duller: bool = True) -> Recovered:
    # much to import where all is known already
    from stopgap.colorimetry.recovery.plainest import recover

    return recover(lab, near=near, duller=duller)


def _smoothest(lab: FloatsLike, near: Floats | None = None, duller: bool = True) -> Recovered:
    from stopgap.colorimetry.recovery.plainest import recover

    return recover(lab, near=near, edge=np.inf, duller=duller)


_PRIMARIES = ((0.708, 0.292), (0.170, 0.797), (0.131, 0.046))  # ITU-R BT.2020-2, table 3


@cache
def rec2020_weights() -> Floats:
    """Weights (3, 3): linear Rec. 2020 channels, adapted from D65 to D50, to X/Xn, Y/Yn, Z/Zn."""
    primaries = np.array([(x / y, 1.0, (1.0 - x - y) / y) for x, y in _PRIMARIES]).T
    scaled = primaries * np.linalg.solve(primaries, D65)  # the white of the same table
    adapted = D65_TO_D50 @ scaled
    return read_only((adapted / adapted.sum(axis=1, keepdims=True)).T)


def _channels(lab: FloatsLike, near: Floats | None = None, duller: bool = True) -> Recovered:
    del near, duller  # three channels follow from the colour alone
    wanted = relative_tristimulus(as_lab(lab))
    channels = row_by_row(wanted, np.asarray(np.linalg.inv(rec2020_weights()), dtype=np.float64))
    grey = np.clip(wanted[..., 1:2], 0.0, 1.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        room = np.where(channels > 1.0, (1.0 - grey) / (channels - grey), 1.0)
        room = np.where(channels < 0.0, grey / (grey - channels), room)
    share = room.min(axis=-1, keepdims=True)
    inside = (share[..., 0] > 1.0 - 1e-9) & (wanted[..., 1] == grey[..., 0])
    return Recovered(np.clip(grey + share * (channels - grey), 0.0, 1.0), inside)


SPECTRUM = Bands(_plainest, tristimulus_weights, measured=True)
SMOOTHEST = Bands(_smoothest, tristimulus_weights, measured=True)
REC_2020 = Bands(_channels, rec2020_weights, measured=False)
