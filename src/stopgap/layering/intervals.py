"""How far a predicted layer may be from what the hand gets.

Five parts are added in quadrature: what the swatches' own uncertainty does to the result, what
another tooth would, what more or less trapping would, what other loads of the pressures below the
heaviest would, and how far other reconstructions of the spectra disagree with the one used.
Calibration narrows tooth, trapping and loads.
Where a pencil is lighter than what it lies on, how well it covers takes the place of these three,
and is no bell curve: its S is taken from one end of what is held of it to the other, in even
steps; layers of which that is so together, since a pencil laid twice is one pencil. Tooth and loads
are drawn along with it, since how hard a layer is laid matters the more, the better it covers:
points of a lattice of rank 1 (I. H. Sloan, S. Joe (1994), Lattice Methods for Multiple Integration,
chapter 4; the generator is this project's).

On characterised presses nine in ten overprints fell within the 90 % interval, of the heaviest ones
fewer on uncoated paper (six to eight in ten): there the second layer takes less than the first.
"""

from statistics import NormalDist
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats, FloatsLike, as_floats
from stopgap.difference import COVERAGE_FACTOR, delta_E
from stopgap.layering.alternatives import Alternatives, alternatives, other_bands
from stopgap.layering.estimates import (
    DEFAULT_TOOTH,
    PRESSURES,
    SPREADS,
    TRAPPING,
    Opacities,
)
from stopgap.layering.models import DEFAULT_MODEL, Model, ModelFunction
from stopgap.layering.optics import Optics
from stopgap.layering.prediction import LayersAsked, question
from stopgap.swatches import Pressure, Spreads

_TYPICAL = 0.833  # median length of a normal error in two directions, of root mean square 1

STEPS = 16
"""How many S are tried, each in the middle of an equal share."""

_SHARES = (np.arange(STEPS) + 0.5) / STEPS
_NORMAL = np.array([NormalDist().inv_cdf(share) for share in _SHARES])
_LOADS, _TOOTH, _TRAPPING = (np.arange(STEPS) * generator % STEPS for generator in (5, 11, 3))


class Uncertainty(NamedTuple):
    """Of a predicted colour, in ΔE00; every array is of shape (...).

    `swatches`, `tooth`, `trapping`, `loads`, `reconstruction` are root mean squares of the parts;
    `covering` (..., STEPS) are equally likely differences where a layer may cover, 0 elsewhere.
    """

    swatches: Floats
    tooth: Floats
    trapping: Floats
    loads: Floats
    reconstruction: Floats
    covering: Floats

    @property
    def total(self) -> Floats:
        """Root of the sum of squares of the parts."""
        return np.hypot(self._normal, _root_mean_square(np.moveaxis(self.covering, -1, 0)))

    @property
    def typical(self) -> Floats:
        """Half of the layers are expected to fall within this ΔE00 of the prediction."""
        return self._within(0.5, _TYPICAL)

    @property
    def ninety(self) -> Floats:
        """Nine in ten layers are expected to fall within this ΔE00 of the prediction."""
        # in one direction: the widest there is of root mean square 1
        return self._within(0.9, COVERAGE_FACTOR)

    @property
    def _normal(self) -> Floats:
        """Root of the sum of squares of all parts but `covering`, and those that it stands for."""
        laying = self.tooth**2 + self.trapping**2 + self.loads**2
        if self.covering.any():
            laying = np.where(self.covering.any(axis=-1), 0.0, laying)
        return np.asarray(np.sqrt(self.swatches**2 + laying + self.reconstruction**2))

    def _within(self, share: float, normal: float) -> Floats:
        """What a share falls within; `normal` is that of a bell curve over its spread."""
        if not self.covering.any():
            return self._normal * normal
        # the quantile of each S in the middle of its share; np.quantile would import numpy.ma
        between = np.sort(self.covering, axis=-1)
        place = max(share * between.shape[-1] - 0.5, 0.0)
        row, rest = divmod(place, 1.0)
        lower, upper = (between[..., int(row) + step] for step in (0, 1))
        covered = lower + rest * (upper - lower)
        return np.asarray(np.hypot(self._normal * normal, covered))


def uncertainty(
    paper_lab: FloatsLike,
    layers_lab: FloatsLike,
    pressures: object = None,
    *,
    sigma: FloatsLike,
    model: str | Model | ModelFunction = DEFAULT_MODEL,
    tooth: str | float = DEFAULT_TOOTH,
    trapping: float = TRAPPING,
    opacity: FloatsLike | Opacities = 0.0,
    swatch_paper_lab: FloatsLike | None = None,
    spectra: FloatsLike | None = None,
    spreads: Spreads = SPREADS,
) -> Uncertainty:
    """Uncertainty of what `predict` says of the same arguments.

    Parameters
    ----------
    sigma
        Standard uncertainty of every layer's swatch in ΔE00, broadcast to (..., n).
    opacity
        As in `predict` where it is known, else Opacities of the same shapes.
    spreads
        Of tooth, trapping and loads; a calibration knows smaller ones.

    Raises
    ------
    InputError
        As `predict` does.
    """
    asked = question(
        paper_lab,
        layers_lab,
        pressures,
        model=model,
        tooth=tooth,
        trapping=trapping,
        opacity=opacity,
        swatch_paper_lab=swatch_paper_lab,
        spectra=spectra,
    )
    of = alternatives(asked.model.bands, asked.layers, asked.seen_on, asked.paper, spectra)
    return spread(asked, of, sigma, spreads=spreads)


def spread(
    asked: LayersAsked, of: Alternatives, sigma: FloatsLike, *, spreads: Spreads
) -> Uncertainty:
    """The same where the alternatives (..., n) to the layers are known."""
    bands, loads = asked.model.bands, asked.loads
    layers = range(loads.shape[-1])
    base = of.optics
    moved = [_with(base.layers, of.moved, i, axis) for i in layers for axis in range(3)]
    # all that keeps model and tooth is laid at once: as asked, other pressures, other swatches
    unsure = np.where(loads == PRESSURES[Pressure.HEAVY], 0.0, spreads.load)
    harder = [loads * np.exp(s * unsure) for s in (-1.0, 1.0)]
    swatches = base._replace(layers=np.stack([base.layers] * 3 + moved))
    laid = np.stack([loads, *harder, *[loads] * len(moved)])
    expected, *varied = asked.colour(bands, swatches, laid)
    papers = [_on_paper(asked, spreads, *moved) for moved in ((-1, 0), (1, 0), (0, -1), (0, 1))]
    varied += [paper.colour(bands, base, loads) for paper in papers]
    others = zip(other_bands(bands), of.rebuilt, strict=True)
    varied += [asked.colour(each, rebuilt, loads) for each, rebuilt in others]
    differences = delta_E(np.stack(varied), expected)
    pressed, by_swatch, roughness, trapped, rebuilt = np.split(
        differences, np.cumsum([len(harder), len(moved), 2, 2])
    )
    reconstruction = _root_mean_square(_with_lost(rebuilt, of.beyond, loads))
    if asked.spectra is not None and bands.measured:  # nothing of such layers is reconstructed
        measured = ~np.isnan(np.asarray(asked.spectra, dtype=np.float64)).any(axis=(-2, -1))
        reconstruction = np.where(measured, 0.0, reconstruction)
    own = np.broadcast_to(as_floats(sigma, "sigma"), loads.shape)
    squares = np.zeros(expected.shape[:-1])
    for place, change in enumerate(by_swatch):
        i, axis = divmod(place, 3)
        step = of.steps[..., i, axis]
        moves = np.where(np.isnan(step), own[..., i], own[..., i] * change / step)
        squares = squares + moves**2 / 3.0  # what cannot be moved moves the layers as far as itself
    return Uncertainty(
        np.sqrt(squares),
        _root_mean_square(roughness),
        _root_mean_square(trapped),
        _root_mean_square(pressed),
        reconstruction,
        covering_differences(asked, base, expected, unsure=unsure, spreads=spreads),
    )


def _on_paper(asked: LayersAsked, spreads: Spreads, tooth: float, trapping: float) -> LayersAsked:
    """The same layers on a paper that lies so many standard deviations from the one asked."""
    return asked._replace(
        tooth=asked.tooth * float(np.exp(spreads.tooth * tooth)),
        trapping=max(asked.trapping + spreads.trapping * trapping, 0.0),
    )


def _with(layers: Floats, moved: Floats, i: int, axis: int) -> Floats:
    """`layers` (..., n, k) with layer `i` as if its swatch were moved along `axis`."""
    others = layers.copy()
    others[..., i, :] = moved[..., i, 1 + axis, :]
    return others


def _with_lost(rebuilt: Floats, beyond: Floats, loads: Floats) -> Floats:
    """Differences (r, ...) by r other reconstructions, those replaced that a layer is `beyond`.

    Such a one is lost. In its place stands the largest of the others, and how far the layer is
    beyond it, in quadrature: the interval is wider than without it.
    """
    laid = np.where(loads[..., np.newaxis] > 0.0, beyond, 0.0)
    short = np.moveaxis(laid.max(axis=-2, initial=0.0), -1, 0)
    lost = short > 0.0
    if not lost.any():
        return rebuilt
    largest = np.where(lost, 0.0, rebuilt).max(axis=0)
    return np.asarray(np.where(lost, np.hypot(largest, short), rebuilt))


def _root_mean_square(differences: Floats) -> Floats:
    return np.asarray(np.sqrt(np.mean(np.square(differences), axis=0)))


def covering_differences(
    asked: LayersAsked, of: Optics, expected: Floats, *, unsure: Floats, spreads: Spreads
) -> Floats:
    """ΔE00 (..., STEPS) of layers from `expected` (..., 3), one an S; 0 where it does not show.

    `unsure` (..., n) are standard uncertainties of ln load.
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
        paper = _on_paper(asked, spreads, _NORMAL[_TOOTH[step]], _NORMAL[_TRAPPING[step]])
        laid_colours = paper.colour(asked.model.bands, some, laid, power)
        differences[rows, step] = delta_E(laid_colours, expected[rows])
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
            ground = asked.colour(asked.model.bands, of, loads)
    return lighter


def _rows(asked: LayersAsked, of: Optics, rows: Booleans) -> Optics:
    """Optics of some stacks, those of the papers with them."""
    bands = of.layers.shape[-1]
    layers = np.broadcast_to(of.layers, (*asked.loads.shape, bands))
    papers = (np.broadcast_to(part, (*rows.shape, bands)) for part in (of.seen_on, of.ground))
    seen_on, ground = (part[rows] for part in papers)
    return Optics(layers[rows], np.ones(layers[rows].shape[:-1], np.bool_), seen_on, ground)
