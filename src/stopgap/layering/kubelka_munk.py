"""Kubelka and Munk: a layer that absorbs (K) and scatters (S) over a ground.

References
----------
P. Kubelka (1948), "New contributions to the optics of intensely light-scattering materials,
Part I", Journal of the Optical Society of America 38(5), 448-457.
J. L. Saunderson (1942), "Calculation of the color of pigmented plastics", Journal of the Optical
Society of America 32(12), 727-736.

K and S are those of the whole layer (its thickness is in them) and without unit; reflectances are
from 0 to 1. Everything broadcasts.
"""

import numpy as np

from stopgap.arrays import Floats

_SMALL = 1e-4  # below it the series is exact to rounding


def k_over_s(reflectance: Floats) -> Floats:
    """K/S of a layer too thick to see through: (1 - R)^2 / 2R."""
    return (1.0 - reflectance) ** 2 / (2.0 * reflectance)


def masstone(ratio: Floats) -> Floats:
    """Reflectance of a layer too thick to see through, of its K/S.

    >>> float(masstone(np.float64(1.0)).round(6))  # 2 - sqrt 3
    0.267949
    """
    return 1.0 / (1.0 + ratio + np.sqrt(ratio * (ratio + 2.0)))


def film(K: Floats, S: Floats) -> tuple[Floats, Floats]:
    """Reflectance and transmittance of a layer by itself, Kubelka's hyperbolic solution.

    With q = sqrt(K (K + 2S)) his a S is K + S, his b S coth b S is q coth q and b S / sinh b S is
    q / sinh q; these stay finite where the layer does not scatter, and S = 0 lets e^(-K) through.
    """
    # in place: most of what recipes cost is spent here
    q = np.asarray(K * (K + 2.0 * S))
    np.sqrt(q, out=q)
    thin = q < _SMALL
    squared = np.square(q[thin])
    np.maximum(q, _SMALL, out=q)
    through = np.asarray(np.negative(q))
    np.exp(through, out=through)
    whole = np.asarray(np.square(through))
    q /= 1.0 - whole
    whole += 1.0
    whole *= q
    through *= q
    through *= 2.0
    whole[thin] = 1.0 + squared / 3.0
    through[thin] = 1.0 - squared / 6.0
    whole += K
    whole += S
    through /= whole
    return np.asarray(S / whole), through


def over(reflectance: Floats, transmittance: Floats, ground: Floats) -> Floats:
    """Reflectance of a layer over `ground`: light goes to and fro between the two."""
    kept = np.asarray(reflectance * ground)
    np.subtract(1.0, kept, out=kept)
    back = np.asarray(np.square(transmittance) * ground)
    back /= kept
    back += reflectance
    return back


def contrast_ratio(over_black: Floats, over_white: Floats) -> Floats:
    """How well a layer hides: its reflectance over black by that over white (ISO 6504-3)."""
    return over_black / over_white


def saunderson(inside: Floats, *, k_1: float = 0.04, k_2: float = 0.6) -> Floats:
    """Measured reflectance of that inside: k_1 is lost outside, k_2 turned back inside.

    The defaults are those of a smooth film of refractive index 1.5, light from outside square
    on, light from inside diffuse.
    """
    return k_1 + (1.0 - k_1) * (1.0 - k_2) * inside / (1.0 - k_2 * inside)


def saunderson_inverse(measured: Floats, *, k_1: float = 0.04, k_2: float = 0.6) -> Floats:
    """Reflectance inside the film of that measured; the inverse of `saunderson`."""
    entered = measured - k_1
    return entered / ((1.0 - k_1) * (1.0 - k_2) + k_2 * entered)
