"""Measured spectra of swatches, as the rest of this package wants them."""

from collections.abc import Iterable

import numpy as np

from stopgap.arrays import Floats
from stopgap.layering.weights import WAVELENGTHS
from stopgap.swatches import Swatch


def measured_spectra(swatches: Iterable[Swatch]) -> Floats:
    """Reflectances (m, 36) at WAVELENGTHS, straight between the samples and level beyond them.

    A swatch that was not measured spectrally has a row of NaN.
    """
    return np.array([_resampled(swatch) for swatch in swatches]).reshape(-1, WAVELENGTHS.size)


def _resampled(swatch: Swatch) -> Floats:
    measured = swatch.reflectance
    if measured is None:
        return np.full(WAVELENGTHS.size, np.nan)
    return np.interp(WAVELENGTHS, measured.wavelengths, measured.values)
