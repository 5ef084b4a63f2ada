"""What takes the difference between two measurements of the same pencils out of one of them.

Another geometry or surface adds the same light to every colour and scales the rest: XYZ' = β·W +
(1 + α)·XYZ, the flare and the gain (surface reflection as in J. L. Saunderson (1942), JOSA 32(12),
727, to first order). Being linear it holds at each wavelength as well, W being a perfect diffuser.
What is left may be taken out by an affine map in L*, a*, b*.
"""

from collections.abc import Mapping, Sequence
from math import hypot
from typing import Any, NamedTuple

import numpy as np

from stopgap.arrays import Floats, FloatsLike, as_lab
from stopgap.colorimetry import D50, lab_to_xyz, xyz_to_lab
from stopgap.swatches.measurement import Lab

_DARKEST = 1e-6  # of the white: less light than none cannot be


class RangeCorrection(NamedTuple):
    """Flare and gain, then an affine map in Lab, then an offset in Lab.

    `own` and `shared` are standard uncertainties in ΔE00 of what it makes: of each colour, and of
    all of them together.
    """

    flare: float = 0.0
    gain: float = 0.0
    affine: tuple[tuple[float, float, float, float], ...] = ()
    """Three rows, each by how much L*, a* or b* grows with L*, a*, b* and one; or none."""
    offset: Lab = (0.0, 0.0, 0.0)
    own: float = 0.0
    shared: float = 0.0

    def lab(self, labs: FloatsLike) -> Floats:
        """The corrected L*, a*, b*, (..., 3) -> (..., 3)."""
        colours = as_lab(labs)
        if self.flare or self.gain:
            xyz = self.flare * np.asarray(D50) + (1.0 + self.gain) * lab_to_xyz(colours)
            colours = xyz_to_lab(np.maximum(xyz, _DARKEST))
        if self.affine:
            rows = np.array(self.affine)
            colours = colours + colours @ rows[:, :3].T + rows[:, 3]
        return np.asarray(colours + np.array(self.offset))

    def reflectance(self, factors: Sequence[float]) -> tuple[float, ...]:
        """Reflectance factors with flare and gain; the rest is of Lab only."""
        scale = 1.0 + self.gain
        return tuple(max(0.0, self.flare + scale * factor) for factor in factors)

    @property
    def reversed(self) -> "RangeCorrection":
        """What takes flare and gain back, where there is nothing else."""
        scale = 1.0 / (1.0 + self.gain)
        return self._replace(flare=-self.flare * scale, gain=scale - 1.0)

    @classmethod
    def from_json(cls, value: dict[str, Any]) -> "RangeCorrection":
        """What `_asdict` wrote as JSON."""
        L, a, b = value["offset"]
        affine = tuple((w, x, y, z) for w, x, y, z in value["affine"])
        return cls(**{**value, "affine": affine, "offset": (L, a, b)})


def corrected(
    stated: Mapping[str, Any], steps: Sequence[RangeCorrection], *, doubt: bool = True
) -> dict[str, Any]:
    """A swatch's fields after corrections: colour, reflectance and, where asked for, doubt."""
    lab, spectrum = stated["lab"], stated["reflectance"]
    own, shared = stated["uncertainty"], stated["shared_uncertainty"]
    for step in steps:
        lab = tuple(step.lab(lab).tolist())
        if spectrum is not None:
            # an offset in Lab alone does not say what it would be at each wavelength
            known = bool(step.flare or step.gain)
            values = step.reflectance(spectrum.values) if known else ()
            spectrum = spectrum._replace(values=values) if known else None
        own, shared = max(own, step.own), hypot(shared, step.shared)
    found: dict[str, Any] = {"lab": lab, "reflectance": spectrum}
    if doubt and own > stated["uncertainty"]:
        found |= {"covariance": None}
    return found | ({"uncertainty": own, "shared_uncertainty": shared} if doubt else {})
