"""What else layers might be: swatches a little off, or spectra recovered in another way.

What the uncertainty of a recipe needs to be recovered belongs to each pencil by itself, so it is
recovered once for a box, however many recipes are asked about.
"""

from collections.abc import Mapping
from typing import Any, NamedTuple

import numpy as np

from stopgap.arrays import Floats, FloatsLike, Integers
from stopgap.difference import delta_E
from stopgap.errors import InputError
from stopgap.layering.bands import REC_2020, SMOOTHEST, SPECTRUM, Bands
from stopgap.layering.optics import Optics, check_attained, optics

_STEP = 0.25  # L*, a*, b*

Arrays = Mapping[str, "np.typing.NDArray[Any]"]


class Alternatives(NamedTuple):
    """Of layers (...) that were seen on one paper and are laid on another.

    `moved` (..., 4, k) are reflectances of each layer, and of its swatch moved in L*, a* and b*;
    `steps` (..., 3) how far these moves are in ΔE00; `rebuilt` the layers in other bands.
    """

    moved: Floats
    steps: Floats
    seen_on: Floats
    ground: Floats
    rebuilt: tuple[Optics, ...]

    @property
    def optics(self) -> Optics:
        """The layers as they are."""
        layers = self.moved[..., 0, :]
        return Optics(layers, np.ones(layers.shape[:-1], np.bool_), self.seen_on, self.ground)

    def rows(self, chosen: Integers) -> "Alternatives":
        """Those of some of the layers (n,), in the shape of `chosen`."""
        rebuilt = (
            each._replace(layers=each.layers[chosen], reached=each.reached[chosen])
            for each in self.rebuilt
        )
        return self._replace(
            moved=self.moved[chosen], steps=self.steps[chosen], rebuilt=tuple(rebuilt)
        )

    def to_arrays(self) -> Arrays:
        """As arrays to be kept, for `from_arrays`; the papers are of one colour each."""
        arrays = {"moved": self.moved, "steps": self.steps, "papers": _papers(self.optics)}
        for place, each in enumerate(self.rebuilt):
            arrays |= {f"rebuilt {place}": each.layers, f"papers {place}": _papers(each)}
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
            steps = arrays["steps"]
        except KeyError as error:
            raise InputError(f"arrays: there is no array {error}.") from error
        if steps.shape != (count, 3):
            raise InputError(f"arrays: steps are of shape {steps.shape}, not {(count, 3)}.")
        return cls(base.layers, steps, base.seen_on, base.ground, rebuilt)


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
    check_attained(moved, found.reached, "layers_lab")
    rebuilt = tuple(optics(each, layers, seen_on, paper, spectra) for each in other_bands(bands))
    for each in rebuilt:
        check_attained(layers, each.reached, "layers_lab")
    steps = delta_E(moved[..., 1:, :], layers[..., np.newaxis, :])
    return Alternatives(found.layers, steps, found.seen_on, found.ground, rebuilt)


def other_bands(bands: Bands) -> list[Bands]:
    """In which a model of `bands` could be reckoned as well."""
    return [each for each in (SPECTRUM, SMOOTHEST, REC_2020) if each is not bands]


def _moved(layers: Floats, axis: int) -> Floats:
    """`layers`, each darker, or less chromatic: that way surfaces can always go."""
    moved = layers.copy()
    value = moved[..., axis]
    moved[..., axis] = np.where(value > 0.0, value - _STEP, value + _STEP)
    return moved


def _papers(of: Optics) -> Floats:
    return np.stack([of.seen_on, of.ground])


def _kept(layers: Floats, papers: Floats, shape: tuple[int, ...]) -> Optics:
    if layers.shape[:-1] != shape or papers.shape != (2, layers.shape[-1]):
        raise InputError(f"arrays: layers of {layers.shape} and papers of {papers.shape}.")
    return Optics(layers, np.ones(shape, np.bool_), papers[0], papers[1])
