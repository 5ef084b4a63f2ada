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

Newton's method solves it (`optima`). From afar it overshoots, and there may be more than one
optimum; each colour is therefore led there by the optima of wider edges.
"""

from functools import lru_cache

import numpy as np

from stopgap.arrays import Booleans, Floats, FloatsLike, as_floats, as_lab
from stopgap.colorimetry.cielab import relative_tristimulus
from stopgap.colorimetry.recovery.optima import led
from stopgap.colorimetry.recovery.weights import WAVELENGTHS, Recovered

EDGE = 0.09
"""Root mean square slope of z per 10 nm over the ColorChecker, the CIE test-colour samples and
the NIST CQS samples, as colour-science ships them (tests/colorimetry/test_recovery.py)."""

_BISECTIONS = 12
_LEAST = 1e-3  # a measured spectrum is kept this far from 0 and 1, where z is infinite
_EXTREME = 1e-12

_WIDENINGS = (np.inf, 0.4, 0.2, 0.12)
_ROUGHLY = 1e4  # times the tolerances, for an optimum that only starts the next
_DARKEST = 1e-4  # luminance of the grey that Newton's method starts from, and 1 less it


def recover(
    lab: FloatsLike,
    *,
    near: FloatsLike | None = None,
    edge: float = EDGE,
    duller: bool = True,
) -> Recovered:
    """Reflectances that have these colours, (..., 3) -> (..., 36).

    A colour that no reflectance between 0 and 1 has is drawn straight towards the grey of its
    luminance until one has it, and its `reached` is False. Unless `duller` ones are wanted, each of
    which takes as long as a thousand others, it is left at that grey.

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
    solved, reached = _solved(wanted.tobytes(), start.tobytes(), edge)
    reflectance, lost = solved.copy(), ~reached & _between_black_and_white(wanted)
    if duller and lost.any():
        reflectance[lost] = _dulled(wanted[lost].tobytes(), start[lost].tobytes(), edge)
    return Recovered(reflectance.reshape(shape), reached.reshape(shape[:-1]).copy())


@lru_cache(maxsize=8)
def _solved(colours: bytes, starts: bytes, edge: float) -> Recovered:
    """What `_nearest` finds of many; one box is asked again and again, and solved once."""
    return _nearest(*_given(colours, starts), edge)


def _given(colours: bytes, starts: bytes) -> tuple[Floats, Floats]:
    return np.frombuffer(colours).reshape(-1, 3), np.frombuffer(starts).reshape(
        -1, WAVELENGTHS.size
    )


def _nearest(wanted: Floats, start: Floats, edge: float) -> Recovered:
    """Reflectances of tristimulus values (m, 3), or where there are none greys."""
    luminance = np.clip(wanted[:, 1:2], 0.0, 1.0)
    reflectance = np.repeat(luminance, WAVELENGTHS.size, axis=1)
    reached = np.abs(wanted - luminance).max(axis=1) < _EXTREME
    rows = np.flatnonzero(_between_black_and_white(wanted))
    found, reached[rows] = plainest_spectra(wanted[rows], start[rows], edge)
    reflectance[rows[reached[rows]]] = found[reached[rows]]
    return Recovered(reflectance, reached)


def _between_black_and_white(wanted: Floats) -> Booleans:
    return np.asarray((wanted[:, 1] > _EXTREME) & (wanted[:, 1] < 1.0 - _EXTREME))


@lru_cache(maxsize=8)
def _dulled(colours: bytes, starts: bytes, edge: float) -> Floats:
    """The most vivid reflectances (m, 36) on the straight way from grey to each colour."""
    wanted, start = _given(colours, starts)
    grey = np.clip(wanted[:, 1:2], 0.0, 1.0)
    best = np.repeat(grey, WAVELENGTHS.size, axis=1)
    reach, missed = np.zeros(len(wanted)), np.ones(len(wanted))
    for _ in range(_BISECTIONS):
        middle = (reach + missed) / 2.0
        trial, found = plainest_spectra(grey + middle[:, None] * (wanted - grey), start, edge)
        best[found], reach[found] = trial[found], middle[found]
        missed[~found] = middle[~found]
    return best


def plainest_spectra(wanted: Floats, start: Floats, edge: float) -> tuple[Floats, Booleans]:
    """Reflectances (m, 36) of tristimulus values (m, 3), and whether each has them.

    `start` (m, 36) holds the z of measured spectra, or zeros; `edge` is the slope of z from one
    wavelength to the next beyond which the cost grows linearly.
    """
    grey = np.arctanh(2.0 * np.clip(wanted[:, 1:2], _DARKEST, 1.0 - _DARKEST) - 1.0)
    z = np.where(np.any(start, axis=1, keepdims=True), start, grey)
    unknowns = np.hstack([z, np.zeros((len(z), 3))]).T.copy()
    own = np.ascontiguousarray((start[:, 1:] - start[:, :-1]).T)
    colours = np.ascontiguousarray(wanted.T)
    widths = np.array([*(width for width in _WIDENINGS if width > edge), edge])
    came = led(colours, own, unknowns, widths, _ROUGHLY)
    reached = came == len(widths)
    rest = np.flatnonzero((came > 0) & ~reached)
    if rest.size:  # at the edge of all colours: any optimum on the way, met exactly, will do
        asked, its, nearby = (part.take(rest, axis=1) for part in (colours, own, unknowns))
        reached[rest] = led(asked, its, nearby, widths, 1.0) > 0
        unknowns[:, rest] = nearby
    return (1.0 + np.tanh(np.ascontiguousarray(unknowns[:-3].T))) / 2.0, reached
