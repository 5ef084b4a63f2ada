"""What else layers might be: swatches a little off, or spectra recovered in another way.

What the uncertainty of a recipe needs to be recovered belongs to each pencil by itself, so it is
recovered once for a box, however many recipes are asked about, and so are optical depths.
"""

from collections.abc import Callable, Iterator, Mapping
from functools import partial
from typing import Any, NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats, FloatsLike, Integers
from stopgap.colorimetry.cielab import lab_of, relative_tristimulus
from stopgap.colorimetry.recovery.bands import REC_2020, SMOOTHEST, SPECTRUM, Bands
from stopgap.difference import delta_E
from stopgap.errors import InputError
from stopgap.layering.optics import Optics, attainable, check_attained, nearest_optics, optics
from stopgap.layering.shared_tooth import FEW_NODES

_STEP = 0.25  # L*, a*, b*

Arrays = Mapping[str, "np.typing.NDArray[Any]"]


class Depths(NamedTuple):
    """Optical depths on bare paper of what Alternatives hold of layers (...): of those `moved`
    (..., 4, k), of the layers themselves on papers that are `rougher` and finer (..., 2, k), and of
    those `rebuilt`.
    """

    moved: Floats
    rougher: Floats
    rebuilt: tuple[Floats, ...]

    @classmethod
    def of(
        cls,
        absorption: Callable[..., Floats],
        layers: "Alternatives",
        opacity: Floats,
        *,
        tooth: float,
        spread: float,
    ) -> "Depths":
        """Those of layers whose S (...) is the `opacity`, on a paper of that tooth and `spread` of
        its logarithm; `absorption` is that of a model.
        """
        paper = layers.seen_on[..., np.newaxis, :]
        base = layers.moved[..., 0, :]
        few = partial(absorption, nodes=FEW_NODES)
        moved = few(layers.moved, paper[..., np.newaxis, :], opacity[..., np.newaxis], tooth=tooth)
        rougher = [few(base, paper, opacity, tooth=n) for n in other_teeth(tooth, spread)]
        rebuilt = tuple(
            few(each.layers, each.seen_on[..., np.newaxis, :], opacity, tooth=tooth)
            for each in layers.rebuilt
        )
        return cls(moved, np.stack(rougher, axis=-2), rebuilt)

    def rows(self, chosen: Integers | Booleans) -> "Depths":
        """Those of some of the layers (n,), in the shape of `chosen`, or of stacks (n, …)."""
        rebuilt = tuple(each[chosen] for each in self.rebuilt)
        return Depths(self.moved[chosen], self.rougher[chosen], rebuilt)


class Alternatives(NamedTuple):
    """Of layers (...) that were seen on one paper and are laid on another.

    `moved` (..., 4, k) are reflectances of each layer, and of its swatch moved in L*, a* and b*;
    `steps` (..., 3) how far these moves are in ΔE00, NaN where it could not be moved; `rebuilt` the
    layers in other bands, as near as these come; `beyond` (..., r) how far (ΔE00) each layer, or
    its paper, is from what each of these bands can represent, 0 where they can. `depths` are there
    where they are known, on papers as rough as is usually held of a paper.
    """

    moved: Floats
    steps: Floats
    seen_on: Floats
    ground: Floats
    rebuilt: tuple[Optics, ...]
    beyond: Floats
    depths: Depths | None = None

    @property
    def optics(self) -> Optics:
        """The layers as they are."""
        layers = self.moved[..., 0, :]
        return Optics(layers, np.ones(layers.shape[:-1], np.bool_), self.seen_on, self.ground)

    @property
    def depth(self) -> Floats | None:
        """Optical depths (..., k) of the layers as they are, where they are known."""
        return None if self.depths is None else self.depths.moved[..., 0, :]

    def with_each_moved(self) -> Iterator[tuple[Floats, Floats | None]]:
        """Reflectances (..., n, k) of the layers, and optical depths where they are known, with the
        swatch of each, one after the other, moved along each axis.
        """
        for layer in range(self.steps.shape[-2]):
            for axis in range(3):
                depth = None if self.depths is None else _with(self.depths.moved, layer, axis)
                yield _with(self.moved, layer, axis), depth

    def with_lost(self, rebuilt: Floats, loads: Floats) -> Floats:
        """Differences (r, ...) by r other reconstructions, those replaced that a layer is `beyond`.

        Such a one is lost. In its place stands the largest of the others, and how far the layer is
        beyond it, in quadrature: the interval is wider than without it.
        """
        laid = np.where(loads[..., np.newaxis] > 0.0, self.beyond, 0.0)
        short = np.moveaxis(laid.max(axis=-2, initial=0.0), -1, 0)
        lost = short > 0.0
        if not lost.any():
            return rebuilt
        largest = np.where(lost, 0.0, rebuilt).max(axis=0)
        return np.asarray(np.where(lost, np.hypot(largest, short), rebuilt))

    def rows(self, chosen: Integers | Booleans) -> "Alternatives":
        """Those of some of the layers (n,), in the shape of `chosen`, or of stacks (n, …)."""
        rebuilt = (
            each._replace(layers=each.layers[chosen], reached=each.reached[chosen])
            for each in self.rebuilt
        )
        return self._replace(
            moved=self.moved[chosen],
            steps=self.steps[chosen],
            rebuilt=tuple(rebuilt),
            beyond=self.beyond[chosen],
            depths=None if self.depths is None else self.depths.rows(chosen),
        )

    def to_arrays(self) -> Arrays:
        """As arrays to be kept, for `from_arrays`; the papers are of one colour each."""
        arrays = {"moved": self.moved, "steps": self.steps, "papers": _papers(self.optics)}
        arrays["beyond"] = self.beyond
        for place, each in enumerate(self.rebuilt):
            arrays |= {f"rebuilt {place}": each.layers, f"papers {place}": _papers(each)}
        if self.depths is not None:
            arrays |= {"depth": self.depths.moved, "depth rougher": self.depths.rougher}
            arrays |= {f"depth {place}": each for place, each in enumerate(self.depths.rebuilt)}
        return arrays

    @classmethod
    def from_arrays(cls, arrays: Arrays, count: int) -> "Alternatives":
        """What `to_arrays` gave of `count` layers in the bands of a whole spectrum.

        Raises
        ------
        InputError
            Where the arrays do not go together.
        """
        try:
            base = _kept(arrays["moved"], arrays["papers"], (count, 4))
            rebuilt = tuple(
                _kept(arrays[f"rebuilt {place}"], arrays[f"papers {place}"], (count,))
                for place in range(len(other_bands(SPECTRUM)))
            )
            steps, beyond = arrays["steps"], arrays["beyond"]
            depths = Depths(
                arrays["depth"],
                arrays["depth rougher"],
                tuple(arrays[f"depth {place}"] for place in range(len(rebuilt))),
            )
        except KeyError as error:
            raise InputError(f"arrays: there is no array {error}.") from error
        for name, array, shape in (
            ("steps", steps, (count, 3)),
            ("beyond", beyond, (count, len(rebuilt))),
            ("depth", depths.moved, base.layers.shape),
            ("depth rougher", depths.rougher, (count, 2, base.layers.shape[-1])),
            *(
                (f"depth {place}", depth, each.layers.shape)
                for place, (depth, each) in enumerate(zip(depths.rebuilt, rebuilt, strict=True))
            ),
        ):
            if array.shape != shape:
                raise InputError(f"arrays: {name} is of shape {array.shape}, not {shape}.")
        return cls(base.layers, steps, base.seen_on, base.ground, rebuilt, beyond, depths)


def alternatives(
    bands: Bands, layers: Floats, seen_on: Floats, paper: Floats, spectra: FloatsLike | None = None
) -> Alternatives:
    """Alternatives to layers of colours (..., 3), their spectra (..., 36) NaN where not measured.

    Raises
    ------
    InputError
        Naming the first colour that no surface has.
    """
    moved = np.stack([layers, *(_moved(layers, axis) for axis in range(3))], axis=-2)
    near = None if spectra is None else np.asarray(spectra, dtype=np.float64)[..., np.newaxis, :]
    found = optics(bands, moved, seen_on, paper, near)
    check_attained(layers, found.reached[..., 0], "layers_lab")
    if not found.reached.all():
        _move_elsewhere(bands, moved, found, near)
    steps = delta_E(moved[..., 1:, :], layers[..., np.newaxis, :])
    steps = np.where(found.reached[..., 1:], steps, np.nan)
    others = [_nearest(each, layers, seen_on, paper, spectra) for each in other_bands(bands)]
    rebuilt = tuple(each for each, _ in others)
    beyond = np.stack([far for _, far in others], axis=-1)
    return Alternatives(found.layers, steps, found.seen_on, found.ground, rebuilt, beyond)


def _with(moved: Floats, layer: int, axis: int) -> Floats:
    """Of layers (..., n, 4, k) as they are, with one moved along an axis."""
    layers = moved[..., 0, :].copy()
    layers[..., layer, :] = moved[..., layer, 1 + axis, :]
    return layers


def other_teeth(tooth: float, spread: float) -> list[float]:
    """The tooth of a rougher and of a finer paper, by a standard deviation of its logarithm."""
    return [tooth * float(np.exp(s * spread)) for s in (-1.0, 1.0)]


def other_bands(bands: Bands) -> list[Bands]:
    """In which a model of `bands` could be reckoned as well."""
    return [each for each in (SPECTRUM, SMOOTHEST, REC_2020) if each is not bands]


def _moved(layers: Floats, axis: int) -> Floats:
    """`layers`, each darker, or less chromatic: that way nearly all surfaces can go."""
    moved = layers.copy()
    value = moved[..., axis]
    moved[..., axis] = np.where(value > 0.0, value - _STEP, value + _STEP)
    return moved


def _move_elsewhere(bands: Bands, moved: Floats, found: Optics, near: Floats | None) -> None:
    """Mend, in place, moves (..., 4, 3) to colours that no surface has: the other way along the
    axis, else towards the grey of the same luminance, which surfaces can always go but a grey.
    """
    if near is not None:
        near = np.broadcast_to(near, (*moved.shape[:-1], near.shape[-1]))
    for elsewhere in (_opposite, _greyer):
        rows = np.nonzero(~found.reached)
        tried = elsewhere(moved[*rows[:-1], 0], moved[rows])
        spectra = None if near is None else near[rows]
        brightest = float(found.seen_on.max())
        values, reached = attainable(bands, tried, spectra, brightest=brightest)
        reached &= np.abs(tried - moved[*rows[:-1], 0]).max(axis=-1, initial=0.0) > 0.0
        chosen = tuple(row[reached] for row in rows)
        moved[chosen], found.layers[chosen] = tried[reached], values[reached]
        found.reached[chosen] = True


def _opposite(layers: Floats, moved: Floats) -> Floats:
    return 2.0 * layers - moved


def _greyer(layers: Floats, moved: Floats) -> Floats:
    """`layers` (m, 3), each about a step nearer to the grey of its luminance."""
    del moved
    chroma = np.hypot(layers[:, 1], layers[:, 2])[:, np.newaxis]
    share = np.divide(_STEP, chroma, out=np.zeros_like(chroma), where=chroma > _STEP)
    relative = relative_tristimulus(layers)
    return lab_of(relative + share * (relative[:, 1:2] - relative))


def _nearest(
    bands: Bands, layers: Floats, seen_on: Floats, paper: Floats, spectra: FloatsLike | None
) -> tuple[Optics, Floats]:
    """Layers in other bands, and how far (...) each or its papers are from what these can have."""
    found, papers_reached = nearest_optics(bands, layers, seen_on, paper, spectra)
    beyond = _off(bands, found.layers, layers, found.reached)
    papers = ((found.seen_on, seen_on), (found.ground, paper))
    for (reflectance, lab), reached in zip(papers, papers_reached, strict=True):
        beyond = np.hypot(beyond, _off(bands, reflectance, lab, reached)[..., np.newaxis])
    return found, beyond


def _off(bands: Bands, reflectance: Floats, lab: Floats, reached: Booleans) -> Floats:
    """ΔE00 (...) of what colours (..., 3) became, 0 where they were reached."""
    return np.asarray(np.where(reached, 0.0, delta_E(lab, bands.lab(reflectance))))


def _papers(of: Optics) -> Floats:
    return np.stack([of.seen_on, of.ground])


def _kept(layers: Floats, papers: Floats, shape: tuple[int, ...]) -> Optics:
    if layers.shape[:-1] != shape or papers.shape != (2, layers.shape[-1]):
        raise InputError(f"arrays: layers of {layers.shape} and papers of {papers.shape}.")
    return Optics(layers, np.ones(shape, np.bool_), papers[0], papers[1])
