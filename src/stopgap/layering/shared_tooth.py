"""Layers that share the paper's tooth.

A pencil lays its colour thick on the peaks of the paper and thin in the hollows, and the next one
meets the same peaks and hollows. Let the thickness over the paper be g times its mean, g spread
as a gamma distribution of shape n and mean 1. A layer of optical depth A (twice Kubelka's K) then
lets through on average

    T = E[e^(-A g)] = (1 + A/n)^(-n),        A = n (T^(-1/n) - 1),

(the Laplace transform of the gamma distribution), and layers over each other, all with the same
g, add their A. `tooth` n: infinite is a level paper and Bouguer's law, small is a rough one.

A layer takes less on ground that is covered already, which printers call trapping. With c = 1 - T
in its darkest band, and b = 1 - (1 - c')(1 - c'')... of all layers beneath, its A is
e^(-κ (b c)²) of what it is on bare paper; κ is a knob of the paper beside n. That layers take less
so is the trade's knowledge; the formula is this project's, from characterised presses
(bench_layering_accuracy.py). The square spares layers that leave room for each other.

A layer that also scatters (S) is Kubelka and Munk's over the colour beneath, at every g. The mean
over g is taken by Gauss and Laguerre's rule, of the difference from the same stack without
scattering, whose mean is known exactly: S = 0 is the rule above, and S near 0 is near it. Of
trapping this difference knows nothing: how well a pencil covers does not hang on it.
"""

from collections.abc import Iterator, Sequence
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers, alike_rows, blocks, distinct_rows
from stopgap.layering.kubelka_munk import film, over

_LEAST = 1e-6  # transmittance taken as the darkest there is
NODES, FEW_NODES = 12, 6
"""Thicknesses that the mean is taken over: of colours; and of how sure they are, which need not be
known to more than two figures (JCGM 100:2008, 7.2.6) and comes out within 2 % so."""

_STEPS = 16
_NEAR_ENOUGH = 1e-11  # of the logarithm of a reflectance
_DEEPEST = 1e7
_VALUES = 2**16  # at once: what is in between stays in the processor's cache
_ALIKE = 8  # times as many are looked through for layers that are alike


def optical_depth(transmittance: Floats, tooth: float) -> Floats:
    """A of T (from 0 to 1); what lets through more than everything counts as everything."""
    density = -np.log(np.clip(transmittance, _LEAST, 1.0))
    return density if np.isinf(tooth) else tooth * np.expm1(density / tooth)


def transmittance(depth: Floats, tooth: float) -> Floats:
    """T of A: (1 + A/n)^(-n)."""
    return np.exp(-depth) if np.isinf(tooth) else (1.0 + depth / tooth) ** -tooth


def taken(
    covers: Sequence[Floats], *, trapping: float, below: float | Floats = 0.0
) -> Iterator[Floats]:
    """How much of each layer is taken, of what bare paper takes, the undermost first.

    `covers` are the c (...) of the layers as on bare paper, `below` that of what lies there.
    """
    bare = 1.0 - below
    for c in covers:
        yield np.exp(-trapping * np.square((1.0 - bare) * c))
        bare = bare * (1.0 - c)


def covering_share(depth: Floats, tooth: float) -> Floats:
    """How much (...) of the paper is covered by layers of optical depth (..., k): c above."""
    return np.asarray(1.0 - transmittance(depth.max(axis=-1, initial=0.0), tooth))


def absorption(
    layers: Floats, paper: Floats, opacity: Floats, *, tooth: float, nodes: int = NODES
) -> Floats:
    """Optical depths (..., k) of layers (..., k) as they look alone, heavy, on `paper` (..., k).

    `opacity` (...) is S. A layer that scatters and yet is as dark absorbs more. Where it is
    lighter than S and the paper make it without any absorption, it absorbs nothing.
    """
    layers, paper = np.broadcast_arrays(layers, paper)
    depth = optical_depth(layers / paper, tooth)
    scattering = np.broadcast_to(opacity, depth.shape[:-1])
    rows: Booleans = scattering > 0.0
    if rows.any():
        # the same few pencils come in many stacks: each is worked out once
        seen = np.column_stack([layers[rows], paper[rows], scattering[rows]])
        first, place = alike_rows(seen)
        layer, ground, S = np.split(seen[first], [layers.shape[-1], -1], axis=1)
        S = np.broadcast_to(S, layer.shape)
        found = _depth_seen(layer.ravel(), ground.ravel(), S.ravel(), tooth, nodes)
        depth[rows] = found.reshape(layer.shape)[place]
    return depth


def _depth_seen(
    layer: Floats, paper: Floats, scattering: Floats, tooth: float, nodes: int
) -> Floats:
    """Optical depth A of scattering layers (m,), by false position in log(1 + A/n).

    In it a layer that does not scatter lies on a straight line, and the others near one. The end
    that stays is weighed down as in N. Anderson, A. Bjorck (1973), "A new high order method of
    regula falsi type for computing a root of an equation", BIT 13, 253-264. Each layer ends by
    what it alone has reached, so that it comes out alike in whatever company.
    """
    n = 1.0 if np.isinf(tooth) else tooth

    def darker(x: Floats, rows: Integers) -> Floats:
        depth = n * np.expm1(x)
        seen = stacked(
            depth[:, None, None],
            scattering[rows, None],
            paper[rows, None],
            tooth=tooth,
            trapping=0.0,
            nodes=nodes,
        )
        return np.log(layer[rows] / np.maximum(seen[:, 0], _LEAST))

    rows = np.arange(layer.size)
    deepest = np.log1p(_DEEPEST / n)
    kept, last = np.zeros_like(layer), np.full_like(layer, deepest)
    off_kept, off_last = darker(kept, rows), darker(last, rows)
    reached = np.zeros_like(layer)
    rows = rows[off_kept < 0.0]  # the others absorb nothing
    kept, last, off_kept, off_last = kept[rows], last[rows], off_kept[rows], off_last[rows]
    for _ in range(_STEPS):
        apart = off_last - off_kept
        step = np.divide(last - kept, apart, out=np.zeros_like(apart), where=apart != 0.0)
        tried = np.clip(last - off_last * step, 0.0, deepest)
        off = darker(tried, rows)
        crossed = (off > 0.0) != (off_last > 0.0)
        weight = 1.0 - np.divide(off, off_last, out=np.ones_like(off), where=off_last != 0.0)
        off_kept = np.where(crossed, off_last, off_kept * np.where(weight > 0.0, weight, 0.5))
        kept, last, off_last = np.where(crossed, last, kept), tried, off
        reached[rows] = last
        open_ = np.abs(off) > _NEAR_ENOUGH
        rows, kept, last = rows[open_], kept[open_], last[open_]
        off_kept, off_last = off_kept[open_], off_last[open_]
        if not rows.size:
            break
    return np.asarray(n * np.expm1(reached))


def stacked(
    depth: Floats,
    opacity: Floats,
    ground: Floats,
    *,
    tooth: float,
    trapping: float,
    nodes: int = NODES,
) -> Floats:
    """Reflectance (..., k) of layers of optical depth (..., n, k), the first undermost.

    `depth` is that on bare paper, `opacity` (..., n) is S of each layer, `ground` (..., k) the
    paper's reflectance.
    """
    clear = np.asarray(ground * transmittance(laid_depth(depth, tooth, trapping), tooth))
    if not opacity.any():
        return clear
    k, n = clear.shape[-1], depth.shape[-2]
    layers = np.broadcast_to(depth, (*clear.shape[:-1], n, k)).reshape(-1, n, k)
    S = np.broadcast_to(opacity, (*clear.shape[:-1], n)).reshape(-1, n)
    papers = ground.reshape(-1, k)
    of_paper = np.arange(len(papers)).reshape(ground.shape[:-1])
    on = np.broadcast_to(of_paper, clear.shape[:-1]).ravel()
    parts = [
        _added_by_scattering(layers[some], S[some], papers, on[some], thicknesses(tooth, nodes))
        for some in blocks(len(on), _ALIKE * _at_once(k))
    ]
    added = np.concatenate(parts)
    added[~S.any(axis=1)] = 0.0  # what does not scatter is clear in whatever company, to the bit
    return np.asarray(np.maximum(clear + added.reshape(clear.shape), 0.0))


def _at_once(bands: int) -> int:
    """Layers that are worked out together."""
    return max(1, _VALUES // (NODES * bands))


class _Films(NamedTuple):
    """Layers (m, g, k) at every thickness: what each reflects, lets through, and lets through did
    it not scatter.
    """

    reflected: Floats
    through: Floats
    clear: Floats

    @classmethod
    def of(cls, depth: Floats, opacity: Floats, thickness: Floats) -> "_Films":
        """Of optical depth (m, k) and S (m,)."""
        parts = []
        for some in blocks(len(depth), _at_once(depth.shape[-1])):
            A, S = thickness * depth[some, None], thickness * opacity[some, None, None]
            parts.append((*film(A / 2.0, S), np.exp(-A)))
        return cls(*map(np.concatenate, zip(*parts, strict=True)))

    def rows(self, rows: Integers) -> "_Films":
        """Some of them."""
        return _Films(*(part[rows] for part in self))

    def over(self, seen: Floats, clear: Floats) -> tuple[Floats, Floats]:
        """What they look like over what is `seen` beneath, and over what is were all `clear`."""
        return over(self.reflected, self.through, seen), self.clear * clear


def _added_by_scattering(
    depth: Floats, opacity: Floats, papers: Floats, on: Integers, mean: tuple[Floats, Floats]
) -> Floats:
    """What scattering adds (m, k) to stacks (m, n, k) as if these were clear, nothing trapped, each
    `on` (m,) one of some papers (p, k).

    The same few pencils lie in many stacks, which are alike where they differ in trapping only:
    each layer is worked out once, and what lies lowest, and each stack.
    """
    thickness, share = mean
    m, n, k = depth.shape
    if n == 1:
        films, paper = _Films.of(depth[:, 0], opacity[:, 0], thickness[:, None]), papers[on, None]
        seen, clear = films.over(paper, paper)
        return np.asarray(np.matmul(share, seen - clear))
    layers = np.column_stack([depth.reshape(-1, k), opacity.reshape(-1)])
    first, place = alike_rows(layers)
    films = _Films.of(layers[first, :k], layers[first, k], thickness[:, None])
    stacks, which = distinct_rows(np.column_stack([on, place.reshape(m, n)]))
    lowest, beneath = distinct_rows(stacks[:, :2])
    paper = papers[lowest[:, 0], None]
    under = films.rows(lowest[:, 1]).over(paper, paper)
    added = np.empty((len(stacks), k))
    for some in blocks(len(stacks), _at_once(k)):
        seen, clear = (part[beneath[some]] for part in under)
        for rows in stacks[some, 2:].T:
            seen, clear = films.rows(rows).over(seen, clear)
        seen -= clear
        added[some] = np.matmul(share, seen)
    return added[which]


def laid_depth(depth: Floats, tooth: float, trapping: float) -> Floats:
    """Optical depth (..., k) of all layers (..., n, k) as they are taken."""
    if trapping == 0.0 or depth.shape[-2] < 2:
        return np.asarray(depth.sum(axis=-2))
    covers = [*np.moveaxis(covering_share(depth, tooth), -1, 0)]
    shares = taken(covers, trapping=trapping)
    return np.asarray(sum(depth[..., i, :] * f[..., None] for i, f in enumerate(shares)))


@lru_cache(maxsize=16)
def thicknesses(tooth: float, nodes: int = NODES) -> tuple[Floats, Floats]:
    """Thicknesses over the mean, and their shares: Gauss and Laguerre's rule for shape n.

    G. H. Golub, J. H. Welsch (1969), "Calculation of Gauss quadrature rules", Mathematics of
    Computation 23(106), 221-230.
    """
    if np.isinf(tooth):
        return np.ones(1), np.ones(1)
    i = np.arange(nodes)
    beside = np.sqrt(i[1:] * (i[1:] + tooth - 1.0))
    thickness, vectors = np.linalg.eigh(
        np.diag(2.0 * i + tooth) + np.diag(beside, 1) + np.diag(beside, -1)
    )
    return thickness / tooth, vectors[0] ** 2


def shared_tooth(
    layers: Floats,
    paper: Floats,
    loads: Floats,
    *,
    tooth: float,
    trapping: float = 0.0,
    opacity: Floats,
    ground: Floats | None = None,
    depth: Floats | None = None,
    nodes: int = NODES,
) -> Floats:
    """Reflectance (..., k) of layers (..., n, k), each as it looks alone and heavy on `paper`.

    `paper` and `ground`, the paper that is drawn on (by default the same), are (..., k); `loads`
    and `opacity` (..., n) are how much is laid, heavy being 1, and S of a heavy layer. `depth` is
    what `absorption` says of these, where it is known already.
    """
    if depth is None:
        depth = absorption(layers, paper[..., None, :], opacity, tooth=tooth, nodes=nodes)
    ground = paper if ground is None else ground
    laid = depth * loads[..., None]
    return stacked(laid, opacity * loads, ground, tooth=tooth, trapping=trapping, nodes=nodes)
