"""How far layers may be from their prediction because nobody knows how well a pencil covers.

Scattering shows where a layer is lighter than what it lies on. There its S is taken from one end of
what is held of it to the other, in even steps; layers of which that is so together, since a pencil
laid twice is one pencil. Tooth and loads are drawn along with it, since how hard a layer is laid
matters the more, the better it covers: points of a lattice of rank 1 (I. H. Sloan, S. Joe (1994),
Lattice Methods for Multiple Integration, chapter 4; the generator is this project's).
"""

from statistics import NormalDist

import numpy as np

from stopgap.arrays import Booleans, Floats
from stopgap.difference import delta_E
from stopgap.layering.optics import Optics
from stopgap.layering.prediction import LayersAsked

STEPS = 16
"""How many S are tried, each in the middle of an equal share."""

_SHARES = (np.arange(STEPS) + 0.5) / STEPS
_NORMAL = np.array([NormalDist().inv_cdf(share) for share in _SHARES])
_LOADS, _TOOTH = (np.arange(STEPS) * generator % STEPS for generator in (5, 11))


def covering_differences(
    asked: LayersAsked, of: Optics, expected: Floats, *, unsure: Floats, tooth_spread: float
) -> Floats:
    """ΔE00 (..., STEPS) of layers from `expected` (..., 3), one an S; 0 where it does not show.

    `unsure` (..., n) and `tooth_spread` are standard uncertainties of ln load and of ln n.
    """
    differences = np.zeros((*asked.loads.shape[:-1], STEPS))
    between = asked.opacity
    if not between.doubtful:
        return differences
    shows = _lighter(asked, of) & (between.high > between.low)
    rows = np.asarray(shows.any(axis=-1))
    if not rows.any():
        return differences
    shows, S, some = shows[rows], between.rows(rows), _rows(asked, of, rows)
    loads, unsure = asked.loads[rows], unsure[rows]
    for step, share in enumerate(_SHARES):
        power = np.where(shows, S.low + share * (S.high - S.low), S.middle)
        laid = loads * np.exp(unsure * _NORMAL[_LOADS[step]])
        tooth = asked.tooth * float(np.exp(tooth_spread * _NORMAL[_TOOTH[step]]))
        differences[rows, step] = delta_E(_colour(asked, some, laid, power, tooth), expected[rows])
    return differences


def _lighter(asked: LayersAsked, of: Optics) -> Booleans:
    """Which layers (..., n) are lighter than what lies beneath them, laid heavily and alone."""
    count = asked.loads.shape[-1]
    lighter = np.zeros(asked.loads.shape, dtype=bool)
    ground = np.broadcast_to(asked.paper, (*lighter.shape[:-1], 3))
    for i in range(count):
        lighter[..., i] = (asked.layers[..., i, 0] > ground[..., 0]) & (asked.loads[..., i] > 0.0)
        if i + 1 < count:
            loads = asked.loads.copy()
            loads[..., i + 1 :] = 0.0
            ground = _colour(asked, of, loads, asked.opacity.middle, asked.tooth)
    return lighter


def _rows(asked: LayersAsked, of: Optics, rows: Booleans) -> Optics:
    """Optics of some stacks, those of the papers with them."""
    bands = of.layers.shape[-1]
    layers = np.broadcast_to(of.layers, (*asked.loads.shape, bands))
    papers = (np.broadcast_to(part, (*rows.shape, bands)) for part in (of.seen_on, of.ground))
    seen_on, ground = (part[rows] for part in papers)
    return Optics(layers[rows], np.ones(layers[rows].shape[:-1], np.bool_), seen_on, ground)


def _colour(asked: LayersAsked, of: Optics, loads: Floats, opacity: Floats, tooth: float) -> Floats:
    model = asked.model
    reflectance = model.function(
        of.layers, of.seen_on, loads, tooth=tooth, opacity=opacity, ground=of.ground
    )
    return model.bands.lab(reflectance)
