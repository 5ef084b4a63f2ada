"""The fast twin of `shared_tooth.stacked`, for a search.

What a layer lets through and throws back at every thickness of the tooth is worked out once a
layer, on the ground that all are laid on, and pairs are put together from that.
"""

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers
from stopgap.layering.kubelka_munk import film, over
from stopgap.layering.shared_tooth import (
    covering_share,
    laid_depth,
    taken,
    thicknesses,
    transmittance,
)

_FILMS = 512  # worked out at once: 2 MB an array of 36 bands and 12 thicknesses
_AT_ONCE = 128  # pairs of layers: what is in between stays in a cache
_ALIKE = 8  # pairs with the same layer, from which on these are put together by themselves


class LaidGround(NamedTuple):
    """What is drawn on: a paper (k,), and the optical depth (k,) of what lies on it already.

    `below` is how much of it is covered. `seen` (g, k) is what shows at every thickness of the
    tooth, `clear` the same did nothing of it scatter; `scatters` says whether anything does.
    """

    paper: Floats
    depth: Floats
    tooth: float
    trapping: float
    below: float
    seen: Floats
    clear: Floats
    scatters: bool


def laid_ground(
    paper: Floats, depth: Floats, opacity: Floats, *, tooth: float, trapping: float
) -> LaidGround:
    """Paper (k,) beneath layers of optical depth (n, k) and scattering power (n,), the first
    undermost; n is 0 for bare paper.
    """
    thickness = thicknesses(tooth)[0][:, None]
    clear = paper * np.exp(-thickness * depth.sum(axis=0))
    seen = clear
    if opacity.any():
        seen = np.broadcast_to(paper, clear.shape)
        for A, S in zip(depth, opacity):
            seen = over(*film(thickness * A / 2.0, thickness * S), seen)
    below = float(1.0 - np.prod(1.0 - covering_share(depth, tooth)))
    whole = laid_depth(depth, tooth, trapping)
    return LaidGround(paper, whole, tooth, trapping, below, seen, clear, bool(opacity.any()))


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

    `covers` (m,) are their c. `films` is None where nothing scatters, neither they nor the ground.
    """

    ground: LaidGround
    depth: Floats
    covers: Floats
    scatters: Booleans
    films: Films | None

    def reflectance(self, first: Integers, second: Integers | None = None) -> Floats:
        """Of layers (r,) on the ground, and of others laid over these: (r, k)."""
        layers = [first] if second is None else [first, second]
        covers = [self.covers[one] for one in layers]
        below, trapping = self.ground.below, self.ground.trapping
        depth = self.ground.depth
        for one, share in zip(layers, taken(covers, trapping=trapping, below=below)):
            depth = depth + self.depth[one] * share[:, None]
        clear = self.ground.paper * transmittance(depth, self.ground.tooth)
        if self.films is None:
            return np.asarray(clear)
        share = thicknesses(self.ground.tooth)[1][:, None]
        if second is None:
            added = self._added_by_one(self.films, share, first)
        else:
            added = self._added_by_two(self.films, share, first, second)
        return np.maximum(clear + added, 0.0)

    def beside(self, others: "PreparedLayers") -> "PreparedLayers":
        """These and then others over the same ground."""
        films = None
        if self.films is not others.films:
            each = (one.films or _clear_films(one.depth, self.ground) for one in (self, others))
            films = Films(*map(np.concatenate, zip(*each)))
        return PreparedLayers(
            self.ground,
            np.concatenate([self.depth, others.depth]),
            np.concatenate([self.covers, others.covers]),
            np.concatenate([self.scatters, others.scatters]),
            films,
        )

    def _added_by_one(self, films: Films, share: Floats, rows: Integers) -> Floats:
        """What scattering adds (r, k) to single layers as if they were clear."""
        added = np.zeros((len(rows), self.depth.shape[-1]))
        places = np.flatnonzero(self.scatters[rows] | self.ground.scatters)
        some = rows[places]
        hiding = np.einsum(
            "gk,rgk->rk", np.broadcast_to(share, films.alone[0].shape), films.alone[some]
        )
        added[places] = hiding - np.einsum(
            "gk,rgk->rk", share * self.ground.clear, films.clear[some]
        )
        return added

    def _added_by_two(
        self, films: Films, share: Floats, first: Integers, second: Integers
    ) -> Floats:
        """What scattering adds (r, k) to pairs as if they were clear, each layer taken once."""
        added = np.zeros((len(first), self.depth.shape[-1]))
        scatters = self.scatters[second]
        beneath = self.scatters[first] | self.ground.scatters
        for lower, rows in _parts(first, np.flatnonzero(beneath & ~scatters)):
            # a clear layer only weighs what lies beneath
            more = share * (films.alone[lower] - self.ground.clear * films.clear[lower])
            added[rows] = np.einsum("...gk,...gk->...k", more, films.clear[second[rows]])
        for upper, rows in _parts(second, np.flatnonzero(scatters)):
            added[rows] = _added_over(films, self.ground, share, first[rows], upper)
        return added


def prepared_layers(depth: Floats, opacity: Floats, ground: LaidGround) -> PreparedLayers:
    """Layers of optical depth (m, k) and scattering power (m,) made ready to be laid on it."""
    scatters, covers = opacity > 0.0, covering_share(depth, ground.tooth)
    if not scatters.any() and not ground.scatters:
        return PreparedLayers(ground, depth, covers, scatters, None)
    return PreparedLayers(ground, depth, covers, scatters, films_of(depth, opacity, ground))


def _clear_films(depth: Floats, ground: LaidGround) -> Films:
    """Of layers (m, k) that do not scatter, for who lies beside one that does."""
    return films_of(depth, np.zeros(len(depth)), ground)


def films_of(depth: Floats, opacity: Floats, ground: LaidGround) -> Films:
    """Layers of optical depth (m, k) and scattering power (m,) at every thickness."""
    thickness = thicknesses(ground.tooth)[0][:, None]
    clear = np.exp(-thickness * depth[:, None, :])
    films = Films(clear, np.zeros_like(clear), clear.copy(), clear * ground.seen)
    scattering = np.flatnonzero(opacity > 0.0)
    for some in np.array_split(scattering, len(scattering) // _FILMS + 1):
        K, S = thickness * depth[some, None, :] / 2.0, thickness * opacity[some, None, None]
        reflected, transmitted = film(K, S)
        films.reflected[some], films.doubled[some] = reflected, transmitted**2
        films.alone[some] = over(reflected, transmitted, ground.seen)
    return films


def _added_over(
    films: Films, ground: LaidGround, share: Floats, lower: Integers, upper: int | Integers
) -> Floats:
    """What it adds where a layer `upper`, or one each (r,), lies over the layers `lower` (r,)."""
    beneath = films.alone[lower]
    turned = beneath * -films.reflected[upper]
    turned += 1.0
    beneath /= turned
    seen = np.einsum("...gk,...gk->...k", share * films.doubled[upper], beneath)
    clear = share * ground.clear * films.clear[upper]
    seen -= np.einsum("...gk,...gk->...k", clear, films.clear[lower])
    return np.asarray(seen + (share * films.reflected[upper]).sum(axis=-2))


def _parts(values: Integers, rows: Integers) -> Iterator[tuple[int | Integers, Integers]]:
    """A value that `values` takes at many of the `rows`, with such rows, or values at some rows."""
    chosen = values[rows]
    order = np.argsort(chosen, kind="stable")
    chosen, rows = chosen[order], rows[order]
    starts = np.flatnonzero(np.diff(chosen, prepend=-1))
    counts = np.diff(starts, append=len(rows))
    for start, count in zip(starts[counts >= _ALIKE].tolist(), counts[counts >= _ALIKE].tolist()):
        for some in _blocks(rows[start : start + count]):
            yield int(chosen[start]), some
    for some in _blocks(rows[np.repeat(counts < _ALIKE, counts)]):
        yield values[some], some


def _blocks(rows: Integers) -> Iterator[Integers]:
    return (rows[start : start + _AT_ONCE] for start in range(0, len(rows), _AT_ONCE))
