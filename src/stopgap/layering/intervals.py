"""How far a predicted layer may be from what the hand gets.

Five parts are added in quadrature: what the swatches' own uncertainty does to the result, what
another tooth would, what more or less trapping would, what other loads of the pressures below the
heaviest would, and how far other reconstructions of the spectra disagree with the one used.
Calibration narrows tooth, trapping and loads, and makes all but the swatches' part larger or
smaller, as the layers it learnt from are farther off or nearer than expected.
Where a pencil lies over another, and wherever the paper is not that of its swatch, it matters how
well it covers. That is no bell curve: its S is taken from one end of what is held of it to the
other, in even steps, each pencil's by itself, and one that is laid twice covers alike. What a share
falls within is then the quantile of both, each S with each part of the curve.

On characterised presses that nothing was fitted to nine in ten overprints of two and of three inks
fell within the 90 % interval (bench_layering_accuracy.py).
"""

from typing import NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats, FloatsLike, as_floats
from stopgap.difference import COVERAGE_FACTOR, delta_E
from stopgap.layering.alternatives import (
    Alternatives,
    Depths,
    alternatives,
    other_bands,
    other_teeth,
)
from stopgap.layering.covering import covered
from stopgap.layering.estimates import DEFAULT_TOOTH, PRESSURES, SPREADS, TRAPPING, Opacities
from stopgap.layering.models import DEFAULT_MODEL, Model, ModelFunction
from stopgap.layering.prediction import LayersAsked, question
from stopgap.layering.shared_tooth import FEW_NODES
from stopgap.swatches import Pressure, Spreads

_SLACK = 1e-9  # above what rounding makes of an uncertainty
_TYPICAL = 0.833  # median length of a normal error in two directions, of root mean square 1

_LENGTHS = np.array(
    [
        *(0.0784124127331122, 0.2372021093287877, 0.40225006532172525, 0.579132162255556),
        *(0.7764217611479276, 1.009990169249582, 1.3180108973035367, 1.862731867421651),
    ]
)
"""Lengths of a standard normal error that as many are shorter than as `covering.SHARES` says."""

_HALF, _NINETY = 0.6744897501960817, 1.6448536269514715
"""The same that half and nine in ten are shorter than (all from `statistics.NormalDist`, which
takes 2 ms to import; a test computes them anew)."""


class Uncertainty(NamedTuple):
    """Of a predicted colour, in ΔE00; every array is of shape (...).

    `swatches`, `tooth`, `trapping`, `loads`, `reconstruction` are root mean squares of the parts;
    `covering` (..., STEPS) are equally likely differences where a layer may cover, 0 elsewhere, and
    `covered` (..., STEPS, 3) the colours that make them.
    """

    swatches: Floats
    tooth: Floats
    trapping: Floats
    loads: Floats
    reconstruction: Floats
    covering: Floats
    covered: Floats

    def of(self, rows: Booleans) -> "Uncertainty":
        """Those of some."""
        return Uncertainty(*(part[rows] for part in self))

    def among(self, rows: Booleans) -> "Uncertainty":
        """Of these (m,) and others, infinite, as `rows` (n,) says."""
        parts = [np.zeros((len(rows), *part.shape[1:])) for part in self]
        for whole, part in zip(parts, self, strict=True):
            whole[rows] = part
        parts[0][~rows] = np.inf
        return Uncertainty(*parts)

    @property
    def total(self) -> Floats:
        """Root of the sum of squares of the parts."""
        return np.hypot(self.laying, _root_mean_square(np.moveaxis(self.covering, -1, 0)))

    @property
    def laying(self) -> Floats:
        """Standard uncertainty of all parts but how well layers cover."""
        paper = self.tooth**2 + self.trapping**2
        return np.asarray(
            np.sqrt(self.swatches**2 + paper + self.loads**2 + self.reconstruction**2)
        )

    @property
    def covers(self) -> Floats:
        """What has to be added to that for a bell curve with the same nine in ten."""
        return np.sqrt(np.maximum((self.ninety / COVERAGE_FACTOR) ** 2 - self.laying**2, 0.0))

    @property
    def typical(self) -> Floats:
        """Half of the layers are expected to fall within this ΔE00 of the prediction."""
        return self._within(0.5, _TYPICAL, _HALF)

    @property
    def ninety(self) -> Floats:
        """Nine in ten layers are expected to fall within this ΔE00 of the prediction."""
        # in one direction: the widest there is of root mean square 1
        return self._within(0.9, COVERAGE_FACTOR, _NINETY)

    def _within(self, share: float, normal: float, of_error: float) -> Floats:
        """What a share falls within; `normal` is that of a bell curve over its spread, `of_error`
        that of a normal error.
        """
        bell = np.asarray(self.laying * normal)
        rows = self.covering.any(axis=-1)
        if not rows.any():
            return bell
        # every S with every part of the bell curve; np.quantile would import numpy.ma
        lengths = normal / of_error * _LENGTHS
        parts = np.multiply.outer(self.laying[rows], lengths)
        both = np.hypot(self.covering[rows][..., np.newaxis], parts[..., np.newaxis, :])
        both = np.sort(both.reshape(len(both), -1), axis=-1)
        row, rest = divmod(share * both.shape[-1] - 0.5, 1.0)
        lower, upper = both[:, int(row)], both[:, int(row) + 1]
        bell[rows] = lower + rest * (upper - lower)
        return bell


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
        Of tooth, trapping and loads, smaller after a calibration, and the misfit that it found.

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
    asked: LayersAsked,
    of: Alternatives,
    sigma: FloatsLike,
    *,
    spreads: Spreads,
    most: Floats | None = None,
) -> Uncertainty:
    """The same where the alternatives (..., n) to the layers are known.

    With `most` (m,) of layers (m, n), those are infinitely unsure, and hardly worked out, whose
    total is surely above it: what other pressures do, often the largest part, tells it of many, and
    how well they cover of some.
    """
    asked = asked._replace(nodes=FEW_NODES)
    of = of._replace(depths=_depths(asked, of, spreads))
    own = np.broadcast_to(as_floats(sigma, "sigma"), asked.loads.shape)
    layers = of.optics.layers
    pressed = ((layers, loads, of.depth) for loads in _each_load(asked.loads, spreads))
    expected, *others = asked.each_colour(of.optics, pressed)
    by_load = spreads.misfit * _root_mean_square(delta_E(np.stack(others), expected))
    if most is None or (rows := by_load * (1.0 - _SLACK) <= most).all():
        return _covering(asked, of, own, spreads, expected, by_load, most)
    some = asked.rows(rows), of.rows(rows), own[rows]
    return _covering(*some, spreads, expected[rows], by_load[rows], most[rows]).among(rows)


def _covering(
    asked: LayersAsked,
    of: Alternatives,
    own: Floats,
    spreads: Spreads,
    expected: Floats,
    by_load: Floats,
    most: Floats | None,
) -> Uncertainty:
    """All parts, of layers of which the colours (..., 3) that are expected and the part of other
    pressures (...) are known.
    """
    covering = covered(asked, of.optics, expected, depth=of.depth)
    none = np.zeros_like(by_load)
    known = Uncertainty(none, none, none, by_load, none, covering.differences, covering.colours)
    if most is None or (rows := known.total * (1.0 - _SLACK) <= most).all():
        return _whole(known, asked, of, own, spreads, expected)
    some = asked.rows(rows), of.rows(rows), own[rows]
    return _whole(known.of(rows), *some, spreads, expected[rows]).among(rows)


def _whole(
    known: Uncertainty,
    asked: LayersAsked,
    of: Alternatives,
    own: Floats,
    spreads: Spreads,
    expected: Floats,
) -> Uncertainty:
    """The same with the parts that are not `known` yet."""
    bands, loads = asked.model.bands, asked.loads
    parts = _varied(asked, of, spreads)
    varied = delta_E(np.stack([colour for part in parts for colour in part]), expected)
    by_swatch, by_tooth, by_trapping, by_rebuilding = np.split(
        varied, np.cumsum([len(part) for part in parts[:-1]])
    )
    reconstruction = _root_mean_square(of.with_lost(by_rebuilding, loads))
    if asked.spectra is not None and bands.measured:  # nothing of such layers is reconstructed
        measured = ~np.isnan(np.asarray(asked.spectra, dtype=np.float64)).any(axis=(-2, -1))
        reconstruction = np.where(measured, 0.0, reconstruction)
    squares = np.zeros(expected.shape[:-1])
    for place, change in enumerate(by_swatch):
        i, axis = divmod(place, 3)
        step = of.steps[..., i, axis]
        moves = np.where(np.isnan(step), own[..., i], own[..., i] * change / step)
        squares = squares + moves**2 / 3.0  # what cannot be moved moves the layers as far as itself
    return known._replace(
        swatches=np.sqrt(squares),
        tooth=spreads.misfit * _root_mean_square(by_tooth),
        trapping=spreads.misfit * _root_mean_square(by_trapping),
        reconstruction=spreads.misfit * reconstruction,
    )


def _varied(asked: LayersAsked, of: Alternatives, spreads: Spreads) -> list[list[Floats]]:
    """Colours (..., 3) of layers whose swatches are moved, that lie on rougher and finer papers and
    on such that trap less and more, and that are reconstructed otherwise.
    """
    bands, loads = asked.model.bands, asked.loads
    base, depth, depths = of.optics, of.depth, of.depths
    each_moved = ((layers, loads, depth) for layers, depth in of.with_each_moved())
    moved = [*asked.each_colour(base, each_moved)]
    teeth, others = other_teeth(asked.tooth, spreads.tooth), other_bands(bands)
    none = [None] * max(len(teeth), len(others))
    of_teeth = none if depths is None else np.moveaxis(depths.rougher, -2, 0)
    of_rebuilt = none if depths is None else depths.rebuilt
    rougher = [
        asked._replace(tooth=n).colour(bands, base, loads, depth=its)
        for n, its in zip(teeth, of_teeth)
    ]
    trapping = [max(asked.trapping + s * spreads.trapping, 0.0) for s in (-1.0, 1.0)]
    trapped = [asked._replace(trapping=k).colour(bands, base, loads, depth=depth) for k in trapping]
    each_rebuilt = zip(others, of.rebuilt, of_rebuilt)
    rebuilt = [asked.colour(each, layers, loads, depth=its) for each, layers, its in each_rebuilt]
    return [moved, rougher, trapped, rebuilt]


def _depths(asked: LayersAsked, of: Alternatives, spreads: Spreads) -> Depths | None:
    """Those that are known, and else those of each layer worked out once; None where a model is not
    taken apart.
    """
    additive, S = asked.model.additive, asked.opacity.middle
    if additive is None:
        return None
    if of.depths is not None and spreads.tooth == SPREADS.tooth:
        return of.depths
    return Depths.of(additive.absorption, of, S, tooth=asked.tooth, spread=spreads.tooth)


def _each_load(loads: Floats, spreads: Spreads) -> list[Floats]:
    """Loads (..., n), and a standard deviation softer and harder; heavy is as much as there is."""
    unsure = np.where(loads == PRESSURES[Pressure.HEAVY], 0.0, spreads.load)
    return [loads, *(loads * np.exp(s * unsure) for s in (-1.0, 1.0))]


def _root_mean_square(differences: Floats) -> Floats:
    return np.asarray(np.sqrt(np.mean(np.square(differences), axis=0)))
