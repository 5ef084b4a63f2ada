"""What the hand does: pencils laid one over another on paper with a tooth.

Each layer covers a part of the paper only, the more the harder the pencil is pressed. Layers fall
independently, so the areas are Demichel's, and the colours of the areas are averaged as in
Neugebauer's equations; within an area films lie one on another by Kubelka-Munk.

References: E. Demichel (1924), Procédé 26, 17-21; H. E. J. Neugebauer (1937), Zeitschrift für
wissenschaftliche Photographie 36, 73-89. Both from memory.
"""

from collections.abc import Mapping, Sequence
from itertools import product
from math import exp, prod
from typing import NamedTuple

from pigments import (
    PAPER,
    PIGMENTS,
    Floats,
    Recipe,
    absorption_and_scatter,
    film_over,
    level,
    through_surface,
    under_surface,
)


class Pressure(NamedTuple):
    """Load of the film relative to a swatch laid heavily, and the share of paper it covers."""

    load: float
    coverage: float


PRESSURES: Mapping[str, Pressure] = {
    "light": Pressure(0.42, 0.86),
    "medium": Pressure(0.68, 0.94),
    "heavy": Pressure(1.00, 0.98),
}

_LOAD, _BARE = 0.85, 0.68  # powers of what is laid in all by which the load, and the logarithm of
# what is left bare, go from one of PRESSURES to the next

Layer = tuple[Recipe, str | Pressure]


def harder(name: str, by: float) -> Pressure:
    """A pressure of another hand, which lays e^by as much: thicker, and over more of the paper.

    >>> harder("light", 0.0) == PRESSURES["light"]
    True
    """
    load, coverage = PRESSURES[name]
    return Pressure(load * exp(_LOAD * by), 1.0 - (1.0 - coverage) ** exp(_BARE * by))


def laid(layers: Sequence[Layer], paper: Floats = PAPER) -> Floats:
    """Reflectance factor of pencils laid in order, the first layer first; none gives the paper."""
    seen = level(0.0)
    for present in product((False, True), repeat=len(layers)):
        shares = [_pressure(layer).coverage for layer in layers]
        area = prod(c if here else 1.0 - c for c, here in zip(shares, present, strict=True))
        films = [layer for layer, here in zip(layers, present, strict=True) if here]
        seen = seen + area * (_stack(films, paper) + _glow(films))
    return seen


def _stack(films: Sequence[Layer], paper: Floats) -> Floats:
    if not films:
        return paper
    internal = under_surface(paper)
    for layer in films:
        internal = film_over(internal, *absorption_and_scatter(layer[0]), _pressure(layer).load)
    return through_surface(internal)


def _glow(films: Sequence[Layer]) -> Floats:
    """Light of the uppermost film's fluorescent pigments; what lies beneath does not reach it."""
    if not films:
        return level(0.0)
    recipe, load = films[-1][0], _pressure(films[-1]).load
    return sum((load * n * PIGMENTS[name].glow for name, n in recipe.items()), level(0.0))


def _pressure(layer: Layer) -> Pressure:
    return PRESSURES[layer[1]] if isinstance(layer[1], str) else layer[1]
