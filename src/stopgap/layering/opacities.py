"""What is held of a pencil's scattering power S before a layer over black was ever measured.

A word on the pencil counts most. Without one S may be anything from 0 to 1, and pale pencils are
expected in the middle of it, since they owe their lightness to white pigment and filler; those
with a water-soluble core hold less of it (common practice, no source; the figures are estimates of
this project). Other pencils are taken as clear: most of what they do to the layers beneath is to
absorb, and where they lie over something darker the interval says what is not known.
"""

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats, FloatsLike, Integers, as_floats
from stopgap.errors import InputError
from stopgap.swatches import Core, Opacity, Scattering, Swatch

OPACITIES: Mapping[Opacity | None, tuple[float, float]] = MappingProxyType(
    {
        Opacity.TRANSPARENT: (0.0, 0.2),
        Opacity.SEMI: (0.1, 0.5),
        Opacity.COVERS: (0.3, 1.0),
        None: (0.0, 1.0),
    }
)
"""Between which S a pencil lies that is called so, None where nobody said; S from 0 to 1 is over
black an L* of 0 to 76, before it absorbs. Estimates of this project."""

NOTHING_LEARNT: Mapping[str, Scattering] = MappingProxyType({})
"""Where every pencil is taken as is expected of it."""

TO_COVER = 8.0
"""L* by which a layer is lighter than what it lies on before it would have to cover."""

_SOLUBLE = 0.7  # how much S a water-soluble pale pencil is expected to have, of another's
_PALE = (85.0, 95.0)  # L* from which a pencil counts as pale, and from which wholly so


class Opacities(NamedTuple):
    """S of many layers: as they are predicted with, and between which they lie evenly."""

    middle: Floats
    low: Floats
    high: Floats

    def rows(self, chosen: Integers | Booleans) -> "Opacities":
        """Those of some layers, in the shape of `chosen`."""
        return Opacities(*(part[chosen] for part in self))

    @property
    def doubtful(self) -> bool:
        """Whether any is not known."""
        return bool((self.high > self.low).any())


def expected_scattering(
    lightness: float, core: Core | None, word: Opacity | None = None
) -> Scattering:
    """What is held of a pencil of that L*, with that core, of which that word was said.

    >>> expected_scattering(95.0, Core.WAX)
    Scattering(middle=0.5, low=0.0, high=1.0)
    """
    low, high = OPACITIES[word]
    middle = (low + high) / 2.0
    if low == 0.0:
        start, whole = _PALE
        middle *= min(max((lightness - start) / (whole - start), 0.0), 1.0)
        if core is Core.WATER_SOLUBLE:
            middle *= _SOLUBLE
    return Scattering(middle, low, high)


def scattering_of(swatch: Swatch, learnt: Mapping[str, Scattering]) -> Scattering:
    """What was `learnt` of a pencil, by its address, else what is expected of it."""
    known = learnt.get(swatch.address)
    return known or expected_scattering(swatch.lab[0], swatch.core, swatch.opacity)


def opacities_of(
    swatches: Sequence[Swatch], opacity: float | Mapping[str, Scattering]
) -> Opacities:
    """S of every pencil (n,): what was learnt and is expected, or one S that is known of all.

    Raises
    ------
    InputError
        For an S below 0.
    """
    if isinstance(opacity, Mapping):
        found = [scattering_of(swatch, opacity) for swatch in swatches]
        return checked(Opacities(*np.array(found, dtype=np.float64).reshape(-1, 3).T))
    return checked(np.full(len(swatches), as_floats(opacity, "opacity")))


def checked(opacity: "FloatsLike | Opacities") -> Opacities:
    """Opacities that may be known (one array) or not; raises InputError for an S below 0."""
    if not isinstance(opacity, Opacities):
        power = as_floats(opacity, "opacity")
        opacity = Opacities(power, power, power)
    if (opacity.low < 0.0).any() or (opacity.middle < 0.0).any():
        raise InputError("opacity: a scattering power cannot be negative.")
    return opacity
