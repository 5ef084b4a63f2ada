"""The colour of two layers as an inner product: some numbers of the first, some of the second.

What shows of one layer over another is, band by band, a smooth function of few numbers of each, and
such a function is nearly a sum of products. X, Y and Z of a pair are then nearly <a, b> + c, a row
`a` of the layer beneath and a row `b` of the one above, and how near is stated, so that whole
groups of pairs can be ruled out by their rows alone. In each band with ground P:

1.  *Light let through* is P (p + q)^-n with p = 1 + A'/n of the layer beneath and what lies there,
    q = f A''/n of that above (`shared_tooth`), a sum of products by `pruning.kernel`.

2.  *Trapping.* f = e^(-λ m) with λ = κ c''² and m = b² from 0 to 1. Between j nodes m it is taken
    as a polynomial. With y = g q, light is a mean over g of e^-y, whose jth derivative by m is λ^j
    e^-y times Touchard's polynomial of -y, and the product of the distances from Chebyshev's nodes
    is at most 2/4^j.

3.  *Scattering.* At each thickness g a layer shows R + D x/(1 - R x) over x. By R this is a
    Cauchy kernel, of which interpolation at nodes R_i misses exactly x/(1 - R x) times the product
    of (R - R_i) x/(1 - R_i x), which grows with x; D is at most (1 - R)². Its divided difference at
    j nodes is x^j over the product of (1 - R_i x).

    Both polynomials are in Newton's form, whose numbers grow small one after the other.

4.  *Fewer numbers.* Rows are projected on what most of a sample of both has in common. What is lost
    is at most the product of the lengths of what is left of `a` and of `b` (Cauchy, Schwarz).
"""

from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from stopgap.arrays import Floats, Integers
from stopgap.layering.prepared_layers import Films, PreparedLayers, films_of
from stopgap.layering.pruning.kernel import (
    Kernel,
    divided,
    grown,
    kernel_of,
    newton,
    reflected_missed,
    reflected_nodes,
    trapped_nodes,
    trapping_missed,
)
from stopgap.layering.shared_tooth import taken, thicknesses

Rows = npt.NDArray[np.float32]

ROUNDED = 5e-6
"""Of X, Y and Z, which rows of single precision miss."""
_RANK = 56  # numbers of a row: more cost more, fewer miss more
_TRAPPING_MISSED, _SCATTERING_MISSED = 2e-5, 2e-6  # of a reflectance, and at one thickness
_LEFT_OUT = 1e-5  # share of thicknesses
_LEAST = 1e-7  # that a factor counts
_SINGLE = 1e-6  # of a squared length, which single precision misses
_SPARE, _POWERS = 8, 1  # of a sketch
_AT_ONCE = 512  # rows: 5 MB an array


class Products(NamedTuple):
    """How X, Y and Z of some pairs on one ground are put together from factors of each layer.

    `kernel` is of the light let through, known at nodes `trapped` of m. Where layers scatter, or
    the ground does, the first `thick` thicknesses count; layers above scatter themselves, known at
    nodes `reflected` of R at each, or, not `covering`, they do not.
    """

    kernel: Kernel
    trapped: Floats
    thick: int
    reflected: list[Floats]
    covering: bool

    def beneath(self, of: PreparedLayers, rows: Integers) -> Rows:
        """Factors (r, f, k) of layers that lie on the ground."""
        ground, covers = of.ground, of.covers[rows]
        (share,) = taken([covers], trapping=ground.trapping, below=ground.below)
        depth = ground.depth + of.depth[rows] * share[:, np.newaxis]
        light = np.ascontiguousarray(self.kernel.of(depth).swapaxes(1, 2))
        covered = np.square(1.0 - (1.0 - ground.below) * (1.0 - covers))
        trapped = newton(self.trapped, covered[:, np.newaxis, np.newaxis])
        parts: list[npt.NDArray[Any]] = [one.astype(np.float32) * light for one in trapped]
        if not self.thick:
            return _joined(parts)
        films = self._films(of, rows)
        clear, alone = ground.clear[: self.thick] * films.clear, films.alone
        if not self.covering:
            return _joined([*parts, alone - clear])
        for g, nodes in enumerate(self.reflected):
            here = alone[:, g : g + 1]
            part = here / (1.0 - nodes[0] * here)
            parts += part - clear[:, g : g + 1], clear[:, g : g + 1]
            for R in nodes[1:].tolist():
                part = part * here / (1.0 - R * here)
                parts.append(part)
        return _joined(parts)

    def above(self, of: PreparedLayers, rows: Integers) -> tuple[Rows, Floats]:
        """Factors (r, f, k) of layers that lie over these, and what they add alone (r, k)."""
        ground = of.ground
        kept = np.exp(-ground.trapping * np.square(of.covers[rows])[:, np.newaxis] * self.trapped)
        light = self.kernel.of(kept[:, :, np.newaxis] * of.depth[rows][:, np.newaxis])
        light *= ground.paper[:, np.newaxis].astype(np.float32)
        parts: list[npt.NDArray[Any]] = divided(self.trapped, list(light.transpose(1, 0, 3, 2)))
        added = np.zeros((len(rows), len(ground.paper)))
        if not self.thick:
            return _joined(parts), added
        films = self._films(of, rows)
        share = thicknesses(ground.tooth)[1][: self.thick, np.newaxis]
        doubled = films.doubled * share
        if not self.covering:
            return _joined([*parts, doubled]), added
        clear = films.clear * share
        for g, nodes in enumerate(self.reflected):
            here = slice(g, g + 1)
            counts = newton(nodes, films.reflected[:, here])
            first, *more = (one * doubled[:, here] for one in counts)
            parts += first, first - clear[:, here], *more
        return _joined(parts), (films.reflected * share).sum(axis=1)

    def _films(self, of: PreparedLayers, rows: Integers) -> Films:
        """Layers at the thicknesses that count."""
        if of.films is None:
            every = films_of(of.depth[rows], np.zeros(len(rows)), of.ground)
            return Films(*(part[:, : self.thick] for part in every))
        return Films(*(part[rows, : self.thick] for part in of.films))

    def missed(self, ground_paper: Floats, tooth: float, trapping: float) -> Floats:
        """How far off a reflectance (k,) is at most."""
        many = len(self.trapped)
        light = grown(many) * self.kernel.missed + trapping_missed(trapping, many)
        brightest = max(1.0, float(ground_paper.max()))
        shares = thicknesses(tooth)[1][: self.thick]
        scattered = 2.0 * brightest * (1.0 - shares.sum()) if self.thick else 0.0
        for nodes, share in zip(self.reflected, shares.tolist()):
            scattered += share * reflected_missed(nodes, brightest)
        return light * ground_paper + scattered


def products(of: PreparedLayers, most_scattering: float, *, covering: bool) -> Products:
    """Those of layers like these, none of which scatters more."""
    ground = of.ground
    thickness, share = thicknesses(ground.tooth)
    thick, reflected = 0, []
    if of.films is not None:
        # the thick ones have the smallest shares
        thick = int((np.cumsum(share[::-1])[::-1] > _LEFT_OUT).sum())
    if covering:
        brightest = max(1.0, float(ground.paper.max()))
        power = most_scattering * thickness[:thick]
        for most, its in zip((power / (1.0 + power)).tolist(), share.tolist()):
            reflected.append(reflected_nodes(most, brightest, _SCATTERING_MISSED / its))
    trapped = trapped_nodes(ground.trapping, _TRAPPING_MISSED)
    return Products(kernel_of(ground.tooth), trapped, thick, reflected, covering)


def _joined(parts: Sequence[npt.NDArray[Any]]) -> Rows:
    """Factors (r, f, k) one after the other."""
    return np.concatenate(parts, axis=1, dtype=np.float32, casting="same_kind")


class Beneath(NamedTuple):
    """Rows (n, r) of layers that lie on the ground, and the length (n,) of what is left of them."""

    rows: Rows
    left: Rows


class Above(NamedTuple):
    """Rows (m, 3, r) of layers over others, for X, Y and Z, what is added (m, 3), and the products
    (m, 3, 3) of what is left of the rows.
    """

    rows: Rows
    added: Floats
    left: Floats


class Separation(NamedTuple):
    """Products and the few directions (f k, r) that factors are projected on, divided by `scale`
    (f k,) those above and multiplied those beneath. `weights` (k, 3) turn bands into X, Y and Z,
    and `seen` (f k, 3 r) are the directions so weighed.
    """

    products: Products
    scale: Rows
    directions: Rows
    weights: Floats
    seen: Rows

    def beneath(self, of: PreparedLayers, rows: Integers) -> Beneath:
        """Of layers to lie on the ground."""
        parts = [self._beneath(of, some) for some in _blocks(rows)]
        return Beneath(*map(np.concatenate, zip(*parts, strict=True)))

    def above(self, of: PreparedLayers, rows: Integers) -> Above:
        """Of layers to lie over those."""
        parts = [self._above(of, some) for some in _blocks(rows)]
        return Above(*map(np.concatenate, zip(*parts, strict=True)))

    def missed(self, paper: Floats, tooth: float, trapping: float) -> Floats:
        """How far off X, Y and Z (3,) are at most, but for what is left of the rows."""
        return self.products.missed(paper, tooth, trapping) @ np.abs(self.weights)

    def _beneath(self, of: PreparedLayers, rows: Integers) -> tuple[Rows, Rows]:
        factors = self.products.beneath(of, rows).reshape(len(rows), -1)
        factors *= self.scale
        projected = factors @ self.directions
        whole = np.einsum("rq,rq->r", factors, factors)
        left = whole - np.einsum("rq,rq->r", projected, projected)
        return projected, np.sqrt(np.maximum(left, 0.0) + _SINGLE * whole)

    def _above(self, of: PreparedLayers, rows: Integers) -> tuple[Rows, Floats, Floats]:
        factors, added = self.products.above(of, rows)
        bands = factors.shape[2]
        factors /= self.scale.reshape(-1, bands)
        flat = factors.reshape(len(rows), -1)
        projected = (flat @ self.seen).reshape(len(rows), 3, -1)
        lengths = np.einsum("rfk,rfk->rk", factors, factors).astype(np.float64)
        both = self.weights[:, :, np.newaxis] * self.weights[:, np.newaxis]
        whole = (lengths @ both.reshape(bands, 9)).reshape(-1, 3, 3)
        wide = projected.astype(np.float64)
        left = whole - np.einsum("rcq,rdq->rcd", wide, wide)
        left += _SINGLE * np.einsum("rcc->r", whole)[:, np.newaxis, np.newaxis] * np.eye(3)
        return projected, added @ self.weights, left


def separation(
    products: Products, sample: PreparedLayers, lower: Integers, upper: Integers, weights: Floats
) -> Separation:
    """Directions by a sample of layers beneath and above; any sample will do, a like one best."""
    above, _ = products.above(sample, upper)
    below = products.beneath(sample, lower).reshape(len(lower), -1)
    bright = np.sqrt(np.square(weights).sum(axis=1))
    usual_above = (np.sqrt(np.square(above).mean(axis=0)) * bright).ravel()
    usual_below = np.sqrt(np.square(below).mean(axis=0))
    scale = np.sqrt(np.maximum(usual_above, _LEAST) / np.maximum(usual_below, _LEAST))
    scale = scale.astype(np.float32)
    weighed = above[:, np.newaxis] * weights.T[:, np.newaxis].astype(np.float32)
    both = np.concatenate([below * scale, weighed.reshape(-1, len(scale)) / scale])
    directions = _common(both.astype(np.float32))
    along = directions.reshape(*above.shape[1:], 1, -1) * weights[:, :, np.newaxis]
    seen = along.reshape(len(scale), -1).astype(np.float32)
    return Separation(products, scale, directions, weights, seen)


def _common(rows: Rows) -> Rows:
    """Few directions (r, d) in which most of rows (n, r) lies, the largest first: by powers of a
    random sketch (N. Halko, P. G. Martinsson, J. A. Tropp 2011, SIAM Review 53(2), 217-288).
    """
    sketch = np.random.default_rng(0).normal(size=(len(rows), min(_RANK + _SPARE, *rows.shape)))
    basis = rows.T @ sketch.astype(np.float32)
    for _ in range(_POWERS):
        basis = rows.T @ (rows @ np.linalg.qr(basis)[0])
    basis = np.linalg.qr(basis.astype(np.float64))[0]
    turned = np.linalg.svd(rows @ basis, full_matrices=False)[2]
    return np.asarray(basis @ turned[:_RANK].T, dtype=np.float32)


def _blocks(rows: Integers) -> Sequence[Integers]:
    return np.array_split(rows, max(1, -(-len(rows) // _AT_ONCE)))
