"""What is held of hand, paper and pencils before they are calibrated, in words or in numbers.

Pressures and tooth are estimates of this project. Of a pencil's scattering power S a word on the
pencil counts most. Without one S may be anything from 0 to that of a film of S = 1, and pale
pencils are expected in the middle of 0 to 1, since they owe their lightness to white pigment and
filler; those with a water-soluble core hold less of it (common practice, no source; the figures are
estimates of this project). Other pencils are taken as clear: most of what they do to the layers
beneath is to absorb, and where they lie over something darker the interval says what is not known.
"""

import math
from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats, FloatsLike, Integers, as_floats
from stopgap.errors import InputError
from stopgap.swatches import Core, Opacity, Pressure, Scattering, Spreads, Swatch, Tooth

PRESSURES: Mapping[str, float] = MappingProxyType(
    {Pressure.LIGHT: 0.35, Pressure.MEDIUM: 0.65, Pressure.HEAVY: 1.0}
)
"""How much colour a pressure lays, against the swatch, which is laid heavily.

Estimates of this project until they are calibrated; common practice, no source.
"""

TOOTH: Mapping[str, float] = MappingProxyType(
    {Tooth.SMOOTH: 3.0, Tooth.DRAWING: 2.0, Tooth.ROUGH: 1.4}
)
"""Shape n of the thickness on papers of little, usual and much tooth.

Estimates until they are calibrated. The middle one and TRAPPING are those that characterised
presses agree best with together (FOGRA and CGATS characterisation data of four presses, each left
out in turn by bench_layering_accuracy); alone they want 3 to 5 on coated and 1.2 to 1.5 on uncoated
paper.
"""

DEFAULT_TOOTH = Tooth.DRAWING

TRAPPING = 0.28
"""κ before calibration: how much less a layer takes where others lie."""

TRAPPING_OF_PAPERS, TRAPPING_OF_PAIRS = 0.12, 0.15
"""Standard deviations of κ: of papers from TRAPPING, and of two pencils from their paper's κ. No
calibration narrows the second."""

SPREADS = Spreads(tooth=0.45, trapping=math.hypot(TRAPPING_OF_PAPERS, TRAPPING_OF_PAIRS), load=0.3)
"""Standard uncertainties before calibration: n within 1.6 times either way, two in three, from the
presses that TOOTH names, as is κ; loads other than the swatch's own as `calibrate` starts from, 0.2
for medium and 0.4 for light (an estimate of this project)."""


OPACITIES: Mapping[Opacity | None, tuple[float, float]] = MappingProxyType(
    {
        Opacity.TRANSPARENT: (0.0, 0.2),
        Opacity.SEMI: (0.05, 0.45),
        Opacity.COVERS: (0.25, 0.85),
        None: (0.0, 1.0),
    }
)
"""Between which S a pencil lies that is called so, None where nobody said; S from 0 to 1 is over
black an L* of 0 to 76, before it absorbs. Estimates of this project."""

NOTHING_LEARNT: Mapping[str, Scattering] = MappingProxyType({})
"""Where every pencil is taken as is expected of it."""

TO_COVER = 8.0
"""L* by which a layer is lighter than what it lies on before it would have to cover."""

_HEAVY_LAYERS = 2.0  # what a drawing paper holds
_SURFACE = (2.25, 0.0162)  # S of a film of S = 1 at L* 0, and how much less at each L*
_SOLUBLE = 0.7  # how much S a water-soluble pale pencil is expected to have, of another's
_PALE = (85.0, 95.0)  # L* from which a pencil counts as pale, and from which wholly so


def tooth_value(tooth: str | float) -> float:
    """The n of a name of TOOTH, or of a number above 0 (infinity for no tooth at all).

    Raises
    ------
    InputError
        For an unknown name, or a number that is not above 0.
    """
    if isinstance(tooth, str):
        if tooth not in TOOTH:
            raise InputError(f"tooth: {tooth!r} is not one of {', '.join(TOOTH)}, nor a number.")
        return TOOTH[tooth]
    if not tooth > 0.0:
        raise InputError(f"tooth: expected a number above 0, found {tooth}.")
    return float(tooth)


def trapping_value(trapping: float) -> float:
    """κ of a paper; raises InputError where it is not a number from 0."""
    if not 0.0 <= trapping < math.inf:
        raise InputError(f"trapping: expected a number from 0, found {trapping}.")
    return float(trapping)


def loads_of(pressures: object, table: Mapping[str, float] = PRESSURES) -> Floats:
    """Loads of pressures: names of `table`, or numbers from 0, in any nesting of sequences.

    Raises
    ------
    InputError
        For an unknown name, or a load that is negative or not a number.
    """
    asked = np.asarray(pressures, dtype=object)
    values = [_load(value, table) for value in asked.ravel()]
    return as_floats(values, "pressures").reshape(asked.shape)


def tooth_holds(tooth: float) -> float:
    """How many heavy layers a paper of that n holds before they slide.

    Two on drawing paper, and less on less tooth, by the root of n (common practice, no source; the
    root is this project's).
    """
    return _HEAVY_LAYERS * math.sqrt(TOOTH[DEFAULT_TOOTH] / tooth)


def passes_held(tooth: float, load: float) -> int:
    """How many passes of that load the paper takes.

    >>> [passes_held(TOOTH[Tooth.DRAWING], load) for load in PRESSURES.values()]
    [5, 3, 2]
    """
    return max(1, int(tooth_holds(tooth) / load + 1e-9))


def heaviest(loads: Mapping[str, float]) -> str:
    """The pressure that lays most."""
    return max(loads, key=loads.__getitem__)


def never_beneath(loads: Mapping[str, float], *, heavy_first: bool) -> int | None:
    """Which pressure, by its place, the lower of two layers is not laid with; None for any."""
    if heavy_first or len(loads) < 2:
        return None
    return list(loads).index(heaviest(loads))


def swatch_loads(swatches: Sequence[Swatch], table: Mapping[str, float] = PRESSURES) -> Floats:
    """How much (n,) the swatches were laid with, in loads of `table`: their pressure, as often as
    they were gone over. Every pass lays as much (common practice, no source).
    """
    return np.array(
        [table.get(one.pressure, PRESSURES[one.pressure]) * one.passes for one in swatches],
        dtype=np.float64,
    )


def _load(pressure: object, table: Mapping[str, float]) -> float:
    if isinstance(pressure, str):
        if pressure not in table:
            known = ", ".join(table)
            raise InputError(f"pressures: {pressure!r} is not one of {known}, nor a number.")
        return table[pressure]
    if not isinstance(pressure, (int, float)) or not pressure >= 0.0:
        raise InputError(f"pressures: expected a name or a load from 0, found {pressure!r:.60}.")
    return float(pressure)


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

    >>> expected_scattering(90.0, Core.WAX)
    Scattering(middle=0.5, low=0.0, high=0.711)
    """
    low, high = OPACITIES[word]
    middle = (low + high) / 2.0
    if low == 0.0:
        start, whole = _PALE
        middle *= min(max((lightness - start) / (whole - start), 0.0), 1.0)
        if core is Core.WATER_SOLUBLE:
            middle *= _SOLUBLE
    if word is None:
        high *= _beneath_a_surface(lightness)
    return Scattering(middle, low, high)


def _beneath_a_surface(lightness: float) -> float:
    """Which S here a film of S = 1 has, by its L*: films have a surface, which throws light back
    inside, and layers here have none. Fitted to the films of bench_papers.py.
    """
    at_black, a_step = _SURFACE
    return at_black - a_step * lightness


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
