"""The colour of two layers as an inner product: some numbers of the first, some of the second.

What shows of one layer over another is, band by band, a smooth function of few numbers of each, and
such a function is nearly a sum of products. X, Y and Z of a pair are then nearly <a, b> + c, a row
`a` of the layer beneath and a row `b` of the one above, and how near is stated, so that whole
groups of pairs can be ruled out by their rows alone. In each band with ground P:

1.  *Light let through* is P (p + q)^-n with p = 1 + A'/n of the layer beneath and what lies there,
    q = f A''/n of that above (`shared_tooth`), a sum of products by `pruning.kernel`.

2.  *Trapping.* f = e^(-λ m) with λ = κ c''² and m = b² from 0 to 1. Between three m it is
    taken as a parabola. With y = g q, light is a mean over g of e^-y, whose third derivative by m
    is λ³ (y³ - 3y² + y) e^-y, at most 0.43 λ³, and the product of the distances from Chebyshev's
    three nodes is at most 1/32.

3.  *Scattering.* At each thickness g a layer shows R + D x/(1 - R x) over x. By R this is a
    Cauchy kernel, of which interpolation at nodes R_i misses exactly x/(1 - R x) times the product
    of (R - R_i) x/(1 - R_i x), which grows with x; D is at most (1 - R)².

4.  *Fewer numbers.* Rows are projected on what most of a sample of both has in common. What is lost
    is at most the product of the lengths of what is left of `a` and of `b` (Cauchy, Schwarz).
"""

from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from stopgap.arrays import Floats, Integers
from stopgap.layering.prepared_layers import Films, PreparedLayers, films_of
from stopgap.layering.pruning.kernel import Kernel, kernel_of
from stopgap.layering.shared_tooth import taken, thicknesses

Rows = npt.NDArray[np.float32]

_RANK = 56  # numbers of a row: more cost more, fewer miss more
_TRAPPED = (1.0 - np.cos(np.pi / 6.0 * np.arange(1, 6, 2))) / 2.0  # nodes
_TRAPPING_MISSED = 0.43 / 32.0 / 6.0
_REFLECTED = (1.0 - np.cos(np.pi / 8.0 * np.arange(1, 8, 2))) / 2.0  # of the most that is reflected
_LEFT_OUT = 1e-4  # share of thicknesses
_LEAST = 1e-7  # that a factor counts
_SINGLE = 1e-6  # of a squared length, which single precision misses
_SPARE, _POWERS = 8, 1  # of a sketch
_AT_ONCE = 512  # rows: 5 MB an array


class Products(NamedTuple):
    """How X, Y and Z of some pairs on one ground are put together from factors of each layer.

    `kernel` is of the light let through. Where layers scatter, or the ground does, `thick` (t,) are
    the thicknesses that count, and `most` (t,) what the layers above reflect there at most; these
    scatter themselves or, not `covering`, they do not.
    """

    kernel: Kernel
    thick: Integers
    most: Floats
    covering: bool

    def beneath(self, of: PreparedLayers, rows: Integers) -> Rows:
        """Factors (r, k, f) of layers that lie on the ground."""
        ground, covers = of.ground, of.covers[rows]
        (share,) = taken([covers], trapping=ground.trapping, below=ground.below)
        depth = ground.depth + of.depth[rows] * share[:, np.newaxis]
        light = self.kernel.of(depth)
        covered = np.square(1.0 - (1.0 - ground.below) * (1.0 - covers))
        trapped = _lagrange(_TRAPPED, covered).astype(np.float32)
        parts: list[npt.NDArray[Any]] = [
            trapped[:, np.newaxis, :, np.newaxis] * light[:, :, np.newaxis]
        ]
        if len(self.thick):
            films = self._films(of, rows)
            clear, alone = ground.clear[self.thick] * films.clear, films.alone
            seen: list[npt.NDArray[Any]] = [alone - clear]
            if self.covering:
                reflected = _REFLECTED[:, np.newaxis] * self.most
                first, *more = (alone / (1.0 - R[:, np.newaxis] * alone) for R in reflected)
                seen = [first - clear, clear, *more]
            parts.append(np.stack(seen, axis=-1).swapaxes(1, 2))
        return _joined(parts)

    def above(self, of: PreparedLayers, rows: Integers) -> tuple[Rows, Floats]:
        """Factors (r, k, f) of layers that lie over these, and what they add alone (r, k)."""
        ground = of.ground
        kept = np.exp(-ground.trapping * np.square(of.covers[rows])[:, np.newaxis] * _TRAPPED)
        light = self.kernel.of(kept[:, np.newaxis] * of.depth[rows][:, :, np.newaxis])
        parts: list[npt.NDArray[Any]] = [
            light * ground.paper[:, np.newaxis, np.newaxis].astype(np.float32)
        ]
        added = np.zeros((len(rows), len(ground.paper)))
        if len(self.thick):
            films = self._films(of, rows)
            share = thicknesses(ground.tooth)[1][self.thick][:, np.newaxis]
            doubled = films.doubled * share
            seen = [doubled]
            if self.covering:
                added = (films.reflected * share).sum(axis=1)
                counts = _lagrange(
                    _REFLECTED, films.reflected / np.maximum(self.most, 1e-9)[:, np.newaxis]
                )
                first = counts[..., 0] * doubled
                rest = (counts[..., i] * doubled for i in range(1, len(_REFLECTED)))
                seen = [first, first - films.clear * share, *rest]
            parts.append(np.stack(seen, axis=-1).swapaxes(1, 2))
        return _joined(parts), added

    def _films(self, of: PreparedLayers, rows: Integers) -> Films:
        """Layers at the thicknesses that count."""
        if of.films is None:
            every = films_of(of.depth[rows], np.zeros(len(rows)), of.ground)
            return Films(*(part[:, self.thick] for part in every))
        return Films(*(part[rows[:, np.newaxis], self.thick] for part in of.films))

    def missed(self, ground_paper: Floats, tooth: float, trapping: float) -> Floats:
        """How far off a reflectance (k,) is at most."""
        light = self.kernel.missed + _TRAPPING_MISSED * trapping**3
        brightest = max(1.0, float(ground_paper.max()))
        shares = thicknesses(tooth)[1]
        scattered = 0.0
        if len(self.thick):
            scattered += 2.0 * brightest * (1.0 - shares[self.thick].sum())
        if self.covering:
            for most, share in zip(self.most.tolist(), shares[self.thick].tolist()):
                scattered += share * _interpolation_missed(most, brightest)
        return light * ground_paper + scattered


def products(of: PreparedLayers, most_scattering: float, *, covering: bool) -> Products:
    """Those of layers like these, none of which scatters more."""
    tooth = of.ground.tooth
    thickness, share = thicknesses(tooth)
    thick = np.arange(0)
    if of.films is not None:
        # the thick ones have the smallest shares
        thick = np.flatnonzero(np.cumsum(share[::-1])[::-1] > _LEFT_OUT)
    power = most_scattering * thickness[thick]
    return Products(kernel_of(tooth), thick, power / (1.0 + power), covering)


def _joined(parts: Sequence[npt.NDArray[Any]]) -> Rows:
    """Factors of every band side by side."""
    rows, bands = parts[0].shape[:2]
    return np.concatenate(
        [part.reshape(rows, bands, -1).astype(np.float32, copy=False) for part in parts], axis=-1
    )


def _interpolation_missed(most: float, brightest: float) -> float:
    """The most that (1 - R)² x/(1 - R x) is missed by, R up to `most`, x up to `brightest`."""
    if most * brightest >= 1.0:
        return np.inf
    R = most * np.linspace(0.0, 1.0, 2001)
    off = (1.0 - R) ** 2 * brightest / (1.0 - R * brightest)
    for node in most * _REFLECTED:
        off *= (R - node) * brightest / (1.0 - node * brightest)
    return 1.01 * float(np.abs(off).max())


def _lagrange(nodes: Floats, values: Floats) -> Floats:
    """What each of the nodes (q,) counts at `values` (...): (..., q)."""
    parts = []
    for i, node in enumerate(nodes):
        part = np.ones_like(values)
        for other in np.delete(nodes, i):
            part *= (values - other) / (node - other)
        parts.append(part)
    return np.stack(parts, axis=-1)


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
    """Products and the few directions (k f, r) that factors are projected on, divided by `scale`
    (k f,) those above and multiplied those beneath. `weights` (k, 3) turn bands into X, Y and Z,
    and `seen` (k f, 3 r) are the directions so weighed.
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
        bands = factors.shape[1]
        factors /= self.scale.reshape(bands, -1)
        flat = factors.reshape(len(rows), -1)
        projected = (flat @ self.seen).reshape(len(rows), 3, -1)
        lengths = np.einsum("rkf,rkf->rk", factors, factors).astype(np.float64)
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
    usual_above = (np.sqrt(np.square(above).mean(axis=0)) * bright[:, np.newaxis]).ravel()
    usual_below = np.sqrt(np.square(below).mean(axis=0))
    scale = np.sqrt(np.maximum(usual_above, _LEAST) / np.maximum(usual_below, _LEAST))
    scale = scale.astype(np.float32)
    weighed = above[:, np.newaxis] * weights.T[:, :, np.newaxis].astype(np.float32)
    both = np.concatenate([below * scale, weighed.reshape(-1, len(scale)) / scale])
    directions = _common(both.astype(np.float32))
    along = directions.reshape(*above.shape[1:], 1, -1) * weights[:, np.newaxis, :, np.newaxis]
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
