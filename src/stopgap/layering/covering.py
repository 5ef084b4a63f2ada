"""What it makes of a stack that how well its pencils cover is not known.

S is taken from one end of what is held of it to the other, in even steps, each pencil's by itself.
"""

from typing import NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers
from stopgap.difference import delta_E
from stopgap.layering.estimates import Opacities
from stopgap.layering.optics import Optics
from stopgap.layering.prediction import LayersAsked

STEPS = 8
"""How many S are tried, each in the middle of an equal share."""

_STACKS = 1024  # at once: what is in between takes about 30 MB

SHARES = (np.arange(STEPS) + 0.5) / STEPS

_ORDERS = np.array(
    [
        [0, 1, 2, 3, 4, 5, 6, 7],
        [0, 5, 7, 2, 6, 3, 1, 4],
        [4, 1, 5, 7, 3, 0, 2, 6],
        [5, 0, 7, 1, 4, 3, 6, 2],
    ]
)
"""In which order the S of different pencils are tried: no two of these rows are correlated, so that
each pencil covers well or badly by itself (an orthogonal Latin hypercube, found by trial)."""

_ON_PAPER = (0.785, 0.23)
"""How far S counts on a paper other than the swatch's, the more the lighter it is, since light goes
to and fro beneath the surface of a film. All of these were fitted to films (bench_papers.py)."""

_ON_LAYERS, _ON_LIGHTER = 0.86, 0.5
"""The same there over other layers, and on the swatch's own paper over lighter ones; over darker
ones S counts in full."""

MOST_ON_LAYERS = 0.57
"""S here of a film of S = 1 over another on a paper of L* 100, at most; on darker paper the more,
as the square of L*."""

_BARE = (0.85, 0.15)
"""Power of the load by which S counts less elsewhere, since a light layer leaves paper bare: of
layers darker than what they lie on, and for each 100 L* of those that are lighter."""


class Covered(NamedTuple):
    """Colours (..., STEPS, 3) of layers, equally likely, one an S, and their ΔE00 (..., STEPS) from
    what is expected, 0 where S does not show. Of one layer S rises.
    """

    colours: Floats
    differences: Floats


def covered(
    asked: LayersAsked, of: Optics, expected: Floats, *, depth: Floats | None = None
) -> Covered:
    """What layers whose colours (..., 3) are expected look like, by how well they cover.

    `depth` (..., n, k) is that of the layers as asked, where it is known.
    """
    differences = np.zeros((*asked.loads.shape[:-1], STEPS))
    unmoved = np.broadcast_to(expected[..., np.newaxis, :], (*differences.shape, 3))
    between = asked.opacity
    if not between.doubtful:
        return Covered(unmoved, differences)
    shape = (*asked.loads.shape[:-1], 1)
    elsewhere = np.broadcast_to((asked.paper != asked.seen_on).any(axis=-1, keepdims=True), shape)
    counts, there = _counting(asked, _beneath(asked, of, depth), elsewhere)
    unsure = (asked.loads > 0.0) & (between.high > between.low)
    rows = np.asarray((unsure & (there > 0.0)).any(axis=-1))
    if not rows.any():
        return Covered(unmoved, differences)
    colours = unmoved.copy()
    S, some, loads = between.rows(rows), _rows(asked, of, rows), asked.loads[rows]
    counts, there = ((unsure * each)[rows] for each in (counts, there))
    over = np.arange(loads.shape[-1]) > 0
    high = np.minimum(S.high, np.where(over, _most_on_layers(asked)[rows], np.inf))
    order = _ORDERS[_pencils(asked.layers[rows], S) % len(_ORDERS)]
    # one layer laid as in its swatch looks on the swatch's paper as that does, whatever its S
    moved = ((there != counts) & (over | (loads != 1.0))).any(axis=-1)
    own = Optics(some.layers[moved], some.reached[moved], *[some.seen_on[moved]] * 2)
    bands = asked.model.bands
    at_once = max(1, _STACKS // len(loads))
    for begin in range(0, STEPS, at_once):
        tried = SHARES[np.moveaxis(order[..., begin : begin + at_once], -1, 0)]
        off = S.low + tried * (high - S.low) - S.middle
        laid = asked.colour(bands, _alike(some, len(tried)), loads, S.middle + there * off)
        if moved.any():
            shown = _alike(own, len(tried))
            seen, less = (
                asked.colour(bands, shown, loads[moved], (S.middle + each * off)[:, moved])
                for each in (there, counts)
            )
            laid[:, moved] += less - seen
        differences[rows, begin : begin + at_once] = delta_E(laid, expected[rows]).T
        colours[rows, begin : begin + at_once] = np.moveaxis(laid, 0, 1)
    return Covered(colours, differences)


def _alike(of: Optics, many: int) -> Optics:
    """The same layers so many times over."""
    return of._replace(layers=np.broadcast_to(of.layers, (many, *of.layers.shape)))


def _counting(asked: LayersAsked, beneath: Floats, elsewhere: Booleans) -> tuple[Floats, Floats]:
    """How far the S of each layer (..., n) counts where its pencil was swatched, and where it lies.

    Alone on the swatch's own paper a layer has been seen at one load, and what S makes of other
    loads was not found in the films; what another ground makes of it is the difference between the
    two.
    """
    over = np.arange(asked.loads.shape[-1]) > 0
    lighter_by = asked.layers[..., 0] - beneath
    lighter = lighter_by > 0.0
    here = np.where(lighter, 1.0, over * _ON_LIGHTER)
    on_paper = _ON_PAPER[0] + _ON_PAPER[1] * (beneath[..., :1] / 100.0) ** 3
    bare = np.where(lighter, _BARE[1] * lighter_by / 100.0, _BARE[0])
    there = np.where(over, _ON_LAYERS, on_paper) * asked.loads**bare
    there = np.where(elsewhere, there, here)
    return np.where(elsewhere & ~lighter, over, there), there


def _most_on_layers(asked: LayersAsked) -> Floats:
    """The most S (..., 1) that a film over another has on the papers asked about."""
    lightness = np.broadcast_to(asked.paper[..., :1], (*asked.loads.shape[:-1], 1))
    return MOST_ON_LAYERS * (100.0 / np.maximum(lightness, 1.0)) ** 2


def _pencils(layers: Floats, of: Opacities) -> Integers:
    """Which of the layers (..., n, 3) first was of that pencil: laid twice, it covers alike."""
    known = np.stack([*np.moveaxis(layers, -1, 0), *of])
    alike = (known[..., :, np.newaxis] == known[..., np.newaxis, :]).all(axis=0)
    return np.asarray(alike.argmax(axis=-1))


def _beneath(asked: LayersAsked, of: Optics, depth: Floats | None) -> Floats:
    """L* (..., n) of what lies beneath each layer."""
    beneath = np.empty(asked.loads.shape)
    beneath[..., 0] = asked.paper[..., 0]
    for i in range(1, asked.loads.shape[-1]):
        loads = asked.loads.copy()
        loads[..., i:] = 0.0
        beneath[..., i] = asked.colour(asked.model.bands, of, loads, depth=depth)[..., 0]
    return beneath


def _rows(asked: LayersAsked, of: Optics, rows: Booleans) -> Optics:
    """Optics of some stacks, those of the papers with them."""
    bands = of.layers.shape[-1]
    layers = np.broadcast_to(of.layers, (*asked.loads.shape, bands))
    papers = (np.broadcast_to(part, (*rows.shape, bands)) for part in (of.seen_on, of.ground))
    seen_on, ground = (part[rows] for part in papers)
    return Optics(layers[rows], np.ones(layers[rows].shape[:-1], np.bool_), seen_on, ground)
