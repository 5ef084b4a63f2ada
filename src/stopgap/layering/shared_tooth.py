"""Layers that share the paper's tooth.

A pencil lays its colour thick on the peaks of the paper and thin in the hollows, and the next one
meets the same peaks and hollows. Let the thickness over the paper be g times its mean, g spread
as a gamma distribution of shape n and mean 1. A layer of optical depth A (twice Kubelka's K) then
lets through on average

    T = E[e^(-A g)] = (1 + A/n)^(-n),        A = n (T^(-1/n) - 1),

(the Laplace transform of the gamma distribution), and layers over each other, all with the same
g, add their A. `tooth` n: infinite is a level paper and Bouguer's law, small is a rough one.

A layer that also scatters (S) is Kubelka and Munk's over the colour beneath, at every g. The mean
over g is taken by Gauss and Laguerre's rule, of the difference from the same stack without
scattering, whose mean is known exactly: S = 0 is the rule above, and S near 0 is near it.

`PreparedLayers` is the fast twin of `stacked`, for a search: what a layer lets through and throws
back at every g is worked out once a layer, on the ground that all are laid on, and pairs are put
together from that.
"""

from collections.abc import Iterator
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers
from stopgap.layering.kubelka_munk import film, over

_LEAST = 1e-6  # transmittance taken as the darkest there is
_NODES = 12
_STEPS = 16
_DEEPEST = 1.0 - 1e-7  # of A / (1 + A)


def optical_depth(transmittance: Floats, tooth: float) -> Floats:
    """A of T (from 0 to 1); what lets through more than everything counts as everything."""
    density = -np.log(np.clip(transmittance, _LEAST, 1.0))
    return density if np.isinf(tooth) else tooth * np.expm1(density / tooth)


def transmittance(depth: Floats, tooth: float) -> Floats:
    """T of A: (1 + A/n)^(-n)."""
    return np.exp(-depth) if np.isinf(tooth) else (1.0 + depth / tooth) ** -tooth


def absorption(layers: Floats, paper: Floats, opacity: Floats, *, tooth: float) -> Floats:
    """Optical depths (..., k) of layers (..., k) as they look alone, heavy, on `paper` (..., k).

    `opacity` (...) is S. A layer that scatters and yet is as dark absorbs more. Where it is
    lighter than S and the paper make it without any absorption, it absorbs nothing.
    """
    layers, paper = np.broadcast_arrays(layers, paper)
    depth = optical_depth(layers / paper, tooth)
    scattering = np.broadcast_to(opacity[..., None], depth.shape)
    rows: Booleans = scattering > 0.0
    if rows.any():
        # the same few pencils come in many stacks: each is worked out once
        alike, place = _distinct(layers[rows], paper[rows], scattering[rows])
        depth[rows] = _depth_seen(alike[0], alike[1], alike[2], tooth)[place]
    return depth


def _distinct(*columns: Floats) -> tuple[Floats, Integers]:
    """The distinct rows of columns (m,), as columns, and where among them each row is (m,)."""
    table = np.stack(columns)
    order = np.lexsort(table)
    table = table[:, order]
    fresh = np.append(True, (np.diff(table) != 0.0).any(axis=0))
    place = np.empty_like(order)
    place[order] = np.cumsum(fresh) - 1
    return table[:, fresh], place


def _depth_seen(layer: Floats, paper: Floats, scattering: Floats, tooth: float) -> Floats:
    """Optical depth A of scattering layers (m,), by false position in A / (1 + A).

    The end that stays is weighed down as in N. Anderson, A. Bjorck (1973), "A new high order method
    of regula falsi type for computing a root of an equation", BIT 13, 253-264. As many steps for
    all, so that a layer comes out alike in whatever company.
    """

    def darker(middle: Floats) -> Floats:
        depth = middle / (1.0 - middle)
        seen = stacked(depth[:, None, None], scattering[:, None], paper[:, None], tooth=tooth)
        return np.log(layer / np.maximum(seen[:, 0], _LEAST))

    kept, last = np.zeros_like(layer), np.full_like(layer, _DEEPEST)
    off_kept, off_last = darker(kept), darker(last)
    absorbs = off_kept < 0.0
    for _ in range(_STEPS):
        apart = off_last - off_kept
        step = np.divide(last - kept, apart, out=np.zeros_like(apart), where=apart != 0.0)
        tried = np.clip(last - off_last * step, 0.0, _DEEPEST)
        off = darker(tried)
        crossed = (off > 0.0) != (off_last > 0.0)
        weight = 1.0 - np.divide(off, off_last, out=np.ones_like(off), where=off_last != 0.0)
        off_kept = np.where(crossed, off_last, off_kept * np.where(weight > 0.0, weight, 0.5))
        kept, last, off_last = np.where(crossed, last, kept), tried, off
    return np.where(absorbs, last / (1.0 - last), 0.0)


def stacked(depth: Floats, opacity: Floats, ground: Floats, *, tooth: float) -> Floats:
    """Reflectance (..., k) of layers of optical depth (..., n, k), the first undermost.

    `opacity` (..., n) is S of each layer, `ground` (..., k) the paper's reflectance.
    """
    whole = depth.sum(axis=-2)
    clear = np.asarray(ground * transmittance(whole, tooth))
    if not opacity.any():
        return clear
    thickness, share = thicknesses(tooth)
    thickness = thickness[:, None]
    paper = np.asarray(ground)[..., None, :]
    hiding = paper
    for i in range(depth.shape[-2]):
        K = thickness * depth[..., i, None, :] / 2.0
        hiding = over(*film(K, thickness * opacity[..., i, None, None]), hiding)
    apart = hiding - paper * np.exp(-thickness * whole[..., None, :])
    return np.asarray(np.maximum(clear + np.einsum("g,...gk->...k", share, apart), 0.0))


@lru_cache(maxsize=16)
def thicknesses(tooth: float) -> tuple[Floats, Floats]:
    """Thicknesses over the mean, and their shares: Gauss and Laguerre's rule for shape n.

    G. H. Golub, J. H. Welsch (1969), "Calculation of Gauss quadrature rules", Mathematics of
    Computation 23(106), 221-230.
    """
    if np.isinf(tooth):
        return np.ones(1), np.ones(1)
    i = np.arange(_NODES)
    beside = np.sqrt(i[1:] * (i[1:] + tooth - 1.0))
    nodes, vectors = np.linalg.eigh(
        np.diag(2.0 * i + tooth) + np.diag(beside, 1) + np.diag(beside, -1)
    )
    return nodes / tooth, vectors[0] ** 2


def shared_tooth(
    layers: Floats,
    paper: Floats,
    loads: Floats,
    *,
    tooth: float,
    opacity: Floats,
    ground: Floats | None = None,
) -> Floats:
    """Reflectance (..., k) of layers (..., n, k), each as it looks alone and heavy on `paper`.

    `paper` and `ground`, the paper that is drawn on (by default the same), are (..., k); `loads`
    and `opacity` (..., n) are how much is laid, heavy being 1, and S of a heavy layer.
    """
    depth = absorption(layers, paper[..., None, :], opacity, tooth=tooth)
    ground = paper if ground is None else ground
    return stacked(depth * loads[..., None], opacity * loads, ground, tooth=tooth)


class LaidGround(NamedTuple):
    """What is drawn on: a paper (k,), and the optical depth (k,) of what lies on it already.

    `seen` (g, k) is what shows at every thickness of the tooth, `clear` the same did nothing of it
    scatter; `scatters` says whether anything does.
    """

    paper: Floats
    depth: Floats
    tooth: float
    seen: Floats
    clear: Floats
    scatters: bool


def laid_ground(paper: Floats, depth: Floats, opacity: Floats, *, tooth: float) -> LaidGround:
    """Paper (k,) beneath layers of optical depth (n, k) and scattering power (n,), the first
    undermost; n is 0 for bare paper.
    """
    thickness = thicknesses(tooth)[0][:, None]
    seen = np.broadcast_to(paper, (len(thickness), len(paper)))
    for A, S in zip(depth, opacity):
        seen = over(*film(thickness * A / 2.0, thickness * S), seen)
    whole = np.asarray(depth.sum(axis=0))
    clear = paper * np.exp(-thickness * whole)
    return LaidGround(paper, whole, tooth, seen, clear, bool(opacity.any()))


class Films(NamedTuple):
    """Layers (m, g, k) at every thickness: what each lets through twice did it not scatter, what it
    reflects and lets through twice as it is, and what it looks like on the ground.
    """

    clear: Floats
    reflected: Floats
    doubled: Floats
    alone: Floats


class PreparedLayers(NamedTuple):
    """Layers (m,) over one ground: their optical depths (m, k), and which of them scatter (m,).

    `films` is None where nothing scatters, neither they nor the ground.
    """

    ground: LaidGround
    depth: Floats
    scatters: Booleans
    films: Films | None

    def reflectance(self, first: Integers, second: Integers | None = None) -> Floats:
        """Of layers (r,) on the ground, and of others laid over these: (r, k)."""
        depth = self.ground.depth + self.depth[first]
        if second is not None:
            depth += self.depth[second]
        clear = self.ground.paper * transmittance(depth, self.ground.tooth)
        if self.films is None:
            return np.asarray(clear)
        share = thicknesses(self.ground.tooth)[1][:, None]
        if second is None:
            added = _added_by_one(self.films, self.ground, share, first)
        else:
            added = self._added_by_two(self.films, share, first, second)
        return np.maximum(clear + added, 0.0)

    def _added_by_two(
        self, films: Films, share: Floats, first: Integers, second: Integers
    ) -> Floats:
        """What scattering adds (r, k) to pairs as if they were clear, each layer taken once."""
        added = np.empty((len(first), self.depth.shape[-1]))
        scatters = self.scatters[second]
        for lower, rows in _groups(first, np.flatnonzero(~scatters)):
            # a clear layer only weighs what lies beneath
            more = share * (films.alone[lower] - self.ground.clear * films.clear[lower])
            added[rows] = np.einsum("gk,rgk->rk", more, films.clear[second[rows]])
        for upper, rows in _groups(second, np.flatnonzero(scatters)):
            added[rows] = _added_over(films, self.ground, share, first[rows], upper)
        return added


def prepared_layers(depth: Floats, opacity: Floats, ground: LaidGround) -> PreparedLayers:
    """Layers of optical depth (m, k) and scattering power (m,) made ready to be laid on it."""
    scatters = opacity > 0.0
    if not scatters.any() and not ground.scatters:
        return PreparedLayers(ground, depth, scatters, None)
    thickness = thicknesses(ground.tooth)[0][:, None]
    reflected, transmitted = film(
        thickness * depth[:, None, :] / 2.0, thickness * opacity[:, None, None]
    )
    clear = np.exp(-thickness * depth[:, None, :])
    alone = over(reflected, transmitted, ground.seen)
    films = Films(clear, reflected, transmitted**2, alone)
    return PreparedLayers(ground, depth, scatters, films)


def _added_by_one(films: Films, ground: LaidGround, share: Floats, rows: Integers) -> Floats:
    """What scattering adds to single layers."""
    hiding = np.einsum("gk,rgk->rk", np.broadcast_to(share, ground.clear.shape), films.alone[rows])
    return np.asarray(hiding - np.einsum("gk,rgk->rk", share * ground.clear, films.clear[rows]))


def _added_over(
    films: Films, ground: LaidGround, share: Floats, lower: Integers, upper: int
) -> Floats:
    """What it adds where the layer `upper` lies over the layers `lower` (r,)."""
    beneath = films.alone[lower]
    turned = beneath * -films.reflected[upper]
    turned += 1.0
    beneath /= turned
    seen = np.einsum("gk,rgk->rk", share * films.doubled[upper], beneath)
    clear = share * ground.clear * films.clear[upper]
    seen -= np.einsum("gk,rgk->rk", clear, films.clear[lower])
    return np.asarray(seen + (share * films.reflected[upper]).sum(axis=0))


def _groups(values: Integers, rows: Integers) -> Iterator[tuple[int, Integers]]:
    """Each value that `values` takes at `rows`, with those rows."""
    chosen = values[rows]
    order = np.argsort(chosen, kind="stable")
    starts = np.flatnonzero(np.diff(chosen[order], prepend=-1))
    for start, end in zip(starts, [*starts[1:].tolist(), len(order)]):
        yield int(chosen[order[start]]), rows[order[start:end]]
