"""The special metamerism index on a pair that is metameric by construction."""

import warnings

import numpy as np
import pytest

from stopgap.colorimetry import colour_science, reflectance_to_lab, reflectance_to_xyz
from stopgap.difference import delta_E, special_metamerism_index
from stopgap.errors import InputError

NM = np.arange(400, 701, 10)


def metameric_pair():
    """Two reflectances of one colour under D50.

    J. B. Cohen and W. E. Kappauf (1982), "Metameric color stimuli, fundamental metamers, and
    Wyszecki's metameric blacks", American Journal of Psychology 95(4), 537-564: R = A (A'A)^-1 A'
    projects on the fundamental, and what is left of any curve is a metameric black.
    """
    weights = reflectance_to_xyz(NM, np.eye(NM.size))
    projector = weights @ np.linalg.inv(weights.T @ weights) @ weights.T
    first = 0.25 + 0.4 / (1 + np.exp(-(NM - 570) / 15))
    wavy = np.sin(NM / 23)
    black = wavy - projector @ wavy
    return first, first + 0.15 * black / np.abs(black).max()


def twin(factors, illuminant):
    """X, Y, Z by colour-science 0.4.7, sd_to_XYZ(method="ASTM E308")."""
    colour = colour_science()
    shape = colour.SpectralShape(360, 780, 1)
    with warnings.catch_warnings():  # it says that it trims, as is wanted
        warnings.simplefilter("ignore", colour.utilities.ColourRuntimeWarning)
        return colour.sd_to_XYZ(
            colour.SpectralDistribution(factors, NM),
            colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"].copy().align(shape),
            colour.SDS_ILLUMINANTS[illuminant].copy().align(shape),
            method="ASTM E308",
        )


def test_the_pair_matches_under_one_light_and_parts_under_another():
    pair = metameric_pair()
    assert min(map(np.min, pair)) > 0
    assert max(map(np.max, pair)) < 1
    assert delta_E(*(reflectance_to_lab(NM, one) for one in pair)) < 1e-9
    colour = colour_science()
    white = twin(np.ones(NM.size), "A")
    expected = colour.delta_E(
        *(colour.XYZ_to_Lab(twin(one, "A") / 100, colour.XYZ_to_xy(white)) for one in pair),
        method="CIE 2000",
    )
    assert expected > 1
    parted = delta_E(*(reflectance_to_lab(NM, one, "A") for one in pair))
    assert parted == pytest.approx(expected, abs=1e-6)
    under = [[reflectance_to_xyz(NM, one, light) for one in pair] for light in ("D50", "A")]
    # they match under the reference, so that the index is the difference itself
    assert special_metamerism_index(*under[0], *under[1], white) == pytest.approx(expected, 1e-5)


def test_a_difference_under_the_reference_is_taken_out():
    first, second = metameric_pair()
    paler = 0.9 * second
    under = [
        [reflectance_to_xyz(NM, one, light) for one in (first, paler)] for light in ("D50", "A")
    ]
    white = reflectance_to_xyz(NM, np.ones(NM.size), "A")
    index = special_metamerism_index(*under[0], *under[1], white)
    straight = delta_E(*(reflectance_to_lab(NM, one, "A") for one in (first, second)))
    assert index == pytest.approx(straight, abs=1e-6)  # a neutral factor leaves no trace


def test_equal_reflectances_never_part():
    first, _ = metameric_pair()
    xyz = [reflectance_to_xyz(NM, first, light) for light in ("D50", "F11")]
    white = reflectance_to_xyz(NM, np.ones(NM.size), "F11")
    assert special_metamerism_index(xyz[0], xyz[0], xyz[1], xyz[1], white) == 0


def test_black_has_no_ratio():
    with pytest.raises(InputError, match="above 0"):
        special_metamerism_index([1, 1, 1], [0, 0, 0], [1, 1, 1], [1, 1, 1], [100, 100, 100])
