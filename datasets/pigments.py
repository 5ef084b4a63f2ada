"""Invented pigments as absorption bands, and the colour that a film of them makes on paper.

A pencil line is taken for a Kubelka-Munk film: absorption K and scattering S of the pigments add
by amount, the film lies on the paper, and Saunderson's correction leads the light through the
surface of wax. A little paper always shows between the strokes.

References: P. Kubelka (1948), J. Opt. Soc. Am. 38(5), 448-457 (film over a substrate);
J. L. Saunderson (1942), J. Opt. Soc. Am. 32(12), 727-736 (internal reflection). Both from memory.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

WAVELENGTHS: Floats = np.arange(400.0, 701.0, 10.0)  # nanometres
SURFACE = 0.04  # Fresnel reflection of a surface of index 1.5 for light coming from air
INTERNAL = 0.45  # of diffuse light coming from inside; below the 0.6 of a smooth film
SHEEN = 0.006  # what a rough waxy surface sends into the 45:0 instrument
VEHICLE_SCATTER = 0.02  # of wax and filler, for a film laid heavily


def edge(centre: float, width: float, strength: float) -> Floats:
    """Absorption below `centre` [nm] that falls off as a logistic: yellows, reds, earths."""
    return strength / (1.0 + np.exp((WAVELENGTHS - centre) / width))


def band(centre: float, width: float, strength: float) -> Floats:
    """Gaussian absorption around `centre`, `width` one sigma [nm]: roses, blues, greens."""
    return strength * np.exp(-0.5 * ((WAVELENGTHS - centre) / width) ** 2)


def level(strength: float) -> Floats:
    """The same absorption at every wavelength."""
    return np.full_like(WAVELENGTHS, strength)


@dataclass(frozen=True)
class Pigment:
    """Absorption and scattering per unit amount; `fastness` to light from 0 to 1.

    `glow` is what a fluorescent pigment adds to the reflectance factor by its own light.
    """

    absorption: Floats
    scatter: float
    fastness: float
    glow: Floats = field(default_factory=lambda: level(0.0))


PIGMENTS: Mapping[str, Pigment] = {
    "white": Pigment(edge(405, 6, 0.10) + level(0.003), 0.300, 1.00),
    "lemon": Pigment(edge(482, 9, 1.9) + level(0.006), 0.050, 0.80),
    "golden": Pigment(edge(508, 10, 2.1) + level(0.008), 0.070, 0.75),
    "amber": Pigment(edge(536, 11, 2.1) + level(0.012), 0.070, 0.65),
    "orange": Pigment(edge(561, 11, 2.2) + level(0.015), 0.070, 0.70),
    "scarlet": Pigment(edge(587, 10, 2.3) + level(0.020), 0.060, 0.72),
    "crimson": Pigment(band(535, 48, 2.5) + band(425, 50, 1.1) + level(0.03), 0.030, 0.50),
    "rose": Pigment(band(530, 38, 2.1) + band(400, 30, 0.35) + level(0.02), 0.025, 0.35),
    "magenta": Pigment(band(552, 40, 2.2) + band(410, 25, 0.20) + level(0.02), 0.025, 0.40),
    "violet": Pigment(band(578, 48, 2.3) + band(660, 35, 0.35) + level(0.03), 0.025, 0.45),
    "deep blue": Pigment(band(595, 55, 2.6) + band(680, 45, 0.90) + level(0.04), 0.025, 0.82),
    "blue": Pigment(band(618, 62, 2.3) + band(690, 40, 1.20) + level(0.03), 0.030, 0.85),
    "cyan": Pigment(band(632, 50, 1.7) + band(695, 45, 1.50) + level(0.02), 0.030, 0.88),
    "turquoise": Pigment(band(655, 62, 2.0) + band(400, 35, 0.45) + level(0.02), 0.035, 0.86),
    "sea green": Pigment(band(660, 60, 2.2) + band(425, 42, 1.20) + level(0.03), 0.040, 0.84),
    "leaf": Pigment(band(668, 58, 2.1) + edge(478, 13, 1.7) + level(0.03), 0.050, 0.70),
    "yellow earth": Pigment(edge(532, 24, 1.3) + band(660, 60, 0.03) + level(0.06), 0.140, 0.98),
    "red earth": Pigment(edge(578, 20, 1.7) + level(0.14), 0.128, 0.98),
    "brown earth": Pigment(edge(592, 38, 1.5) + level(0.40), 0.100, 0.95),
    "dark earth": Pigment(edge(600, 70, 1.3) + level(0.90), 0.080, 0.95),
    "carbon": Pigment(edge(560, 120, 0.25) + level(2.60), 0.025, 1.00),
    "mica": Pigment(level(0.16), 0.360, 0.90),
    "glow yellow": Pigment(edge(488, 8, 2.2), 0.050, 0.05, band(522, 18, 0.16)),
    "glow orange": Pigment(edge(562, 9, 2.2), 0.050, 0.05, band(604, 18, 0.22)),
    "glow pink": Pigment(band(538, 34, 2.2), 0.050, 0.05, band(610, 24, 0.45)),
}

Recipe = Mapping[str, float]

PAPER: Floats = 0.915 - edge(452, 20, 0.085) - band(545, 38, 0.014)
"""Reflectance factor of the drawing paper: a warm white without optical brightener."""


def parse_recipe(text: str) -> dict[str, float]:
    """The amounts in a line such as `0.42 rose + 1.3 white`."""
    amounts = (part.strip().split(" ", 1) for part in text.split("+"))
    return {name: float(amount) for amount, name in amounts}


def absorption_and_scatter(recipe: Recipe) -> tuple[Floats, Floats]:
    """K and S of the mixture at full load; both add by amount (Duncan's rule)."""
    absorption = sum((n * PIGMENTS[name].absorption for name, n in recipe.items()), level(0.0))
    scatter = sum((n * PIGMENTS[name].scatter for name, n in recipe.items()), VEHICLE_SCATTER)
    return absorption + 0.003, level(scatter)


def film_over(substrate: Floats, absorption: Floats, scatter: Floats, load: float) -> Floats:
    """Kubelka-Munk film of thickness `load` over a substrate; internal reflectances."""
    a = 1.0 + absorption / scatter
    b = np.sqrt(a * a - 1.0)
    coth = 1.0 / np.tanh(b * scatter * load)
    return (1.0 - substrate * (a - b * coth)) / (a - substrate + b * coth)


def through_surface(internal: Floats) -> Floats:
    """Reflectance factor that an instrument sees, from the internal one (Saunderson)."""
    return SHEEN + (1.0 - SURFACE) * (1.0 - INTERNAL) * internal / (1.0 - INTERNAL * internal)


def under_surface(seen: Floats) -> Floats:
    """The inverse of `through_surface`."""
    above = (seen - SHEEN) / ((1.0 - SURFACE) * (1.0 - INTERNAL))
    return above / (1.0 + INTERNAL * above)
