"""The reflectance that lies behind a colour, as plain a one as there can be.

With R = (1 + tanh z)/2 no z leaves 0 to 1. Among all z that give the colour, the one whose slope
costs least is taken (S. A. Burns (2020), "Numerical methods for smoothest reflectance
reconstruction", Color Research & Application 45(1), 8-21: least hyperbolic tangent slope squared).

Burns squares the slope, which spreads every change over the whole spectrum. Colorants behave
otherwise: a spectrum is level over most of its length and changes within narrow edges. The cost
here is therefore quadratic in small slopes and linear in large ones, e^2 (sqrt(1 + (s/e)^2) - 1)
(pseudo-Huber: P. Charbonnier et al. (1997), "Deterministic edge-preserving regularization in
computed imaging", IEEE Transactions on Image Processing 6(2), 298-311), and e, where one passes
into the other, is the root mean square slope of z in published spectra of painted samples (EDGE).
An infinite e is Burns's own method. Layers of the ISO 17321-1 chart's patches, computed from
their colours alone, are on average 0.86 ΔE00 from those of the measured spectra with it, and 0.75
with EDGE (tests/colorimetry/test_recovery.py). Where a spectrum was measured, it is the slope of
what must be added to its z that costs, so that the measured shape stays and the colour is met.
"""

import numpy as np

from stopgap.arrays import Floats, FloatsLike, as_floats, as_lab
from stopgap.colorimetry.cielab import relative_tristimulus
from stopgap.colorimetry.recovery.newton import plainest_spectra
from stopgap.colorimetry.recovery.weights import WAVELENGTHS, Recovered

EDGE = 0.09
"""Root mean square slope of z per 10 nm over the ColorChecker, the CIE test-colour samples and
the NIST CQS samples, as colour-science ships them (tests/colorimetry/test_recovery.py)."""

_BLOCK = 1024  # colours at a time, 39 x 39 unknowns each: 12 MB
_BISECTIONS = 12
_LEAST = 1e-3  # a measured spectrum is kept this far from 0 and 1, where z is infinite
_EXTREME = 1e-12


def recover(lab: FloatsLike, *, near: FloatsLike | None = None, edge: float = EDGE) -> Recovered:
    """Reflectances that have these colours, (..., 3) -> (..., 36).

    A colour that no reflectance between 0 and 1 has is drawn straight towards the grey of its
    luminance until one has it, and its `reached` is False.

    Parameters
    ----------
    lab
        CIE L*a*b*, D50, 2 degree observer.
    near
        Measured reflectances (..., 36) at WAVELENGTHS, whose shape is to be kept; rows of NaN
        where there is none.
    edge
        Slope of z per 10 nm beyond which the cost grows linearly; infinity for Burns's method.

    Raises
    ------
    InputError
        For values that are not finite, or a last axis that is not 3.

    >>> found = recover([[50, 0, 0], [50, 200, 0]])
    >>> found.reached.tolist(), float(found.reflectance[0, 0].round(4))
    ([True, False], 0.1842)
    """
    colours = as_lab(lab)
    shape = (*colours.shape[:-1], WAVELENGTHS.size)
    wanted = relative_tristimulus(colours).reshape(-1, 3)
    start = np.zeros((len(wanted), WAVELENGTHS.size))
    if near is not None:
        measured = np.broadcast_to(np.asarray(near, dtype=np.float64), shape).reshape(start.shape)
        known = ~np.isnan(measured).all(axis=1)
        inside = np.clip(as_floats(measured[known], "near"), _LEAST, 1.0 - _LEAST)
        start[known] = np.arctanh(2.0 * inside - 1.0)
    reflectance, reached = np.empty_like(start), np.empty(len(wanted), dtype=bool)
    for first in range(0, len(wanted), _BLOCK):
        part = slice(first, first + _BLOCK)
        reflectance[part], reached[part] = _nearest(wanted[part], start[part], edge)
    return Recovered(reflectance.reshape(shape), reached.reshape(shape[:-1]))


def _nearest(wanted: Floats, start: Floats, edge: float) -> Recovered:
    """Reflectances of tristimulus values (m, 3), or of duller ones where there are none."""
    luminance = np.clip(wanted[:, 1:2], 0.0, 1.0)
    reflectance = np.repeat(luminance, WAVELENGTHS.size, axis=1)
    reached = np.abs(wanted - luminance).max(axis=1) < _EXTREME
    inside = (luminance > _EXTREME) & (luminance < 1.0 - _EXTREME)
    rows = np.flatnonzero(inside[:, 0])
    reflectance[rows], reached[rows] = plainest_spectra(wanted[rows], start[rows], edge)
    rows = rows[~reached[rows]]
    if rows.size:
        grey = np.repeat(luminance[rows], 3, axis=1)
        reflectance[rows] = _dulled(wanted[rows], grey, start[rows], edge)
    return Recovered(reflectance, reached)


def _dulled(wanted: Floats, grey: Floats, start: Floats, edge: float) -> Floats:
    """The most vivid reflectances on the straight way from `grey` to `wanted`."""
    best = np.repeat(grey[:, :1], WAVELENGTHS.size, axis=1)
    reach, missed = np.zeros(len(wanted)), np.ones(len(wanted))
    for _ in range(_BISECTIONS):
        middle = (reach + missed) / 2.0
        trial, found = plainest_spectra(grey + middle[:, None] * (wanted - grey), start, edge)
        best[found], reach[found] = trial[found], middle[found]
        missed[~found] = middle[~found]
    return best
