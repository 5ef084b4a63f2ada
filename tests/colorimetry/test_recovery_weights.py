"""Checked against colour-science: the weights are recomputed, and spectra integrated by it."""

import warnings

import numpy as np
import pytest

from stopgap.colorimetry.cielab import lab_of, relative_tristimulus
from stopgap.colorimetry.recovery.bands import rec2020_weights
from stopgap.colorimetry.recovery.weights import WAVELENGTHS, tristimulus_weights

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    import colour


@pytest.fixture(scope="module")
def recomputed():
    wavelengths = np.arange(360, 781)
    cmfs = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
    source = colour.SDS_ILLUMINANTS["D50"]
    hats = [np.interp(wavelengths, WAVELENGTHS, one) for one in np.eye(WAVELENGTHS.size)]
    power = np.interp(wavelengths, source.wavelengths, source.values)
    return np.array(hats) @ (cmfs[wavelengths.astype(float)] * power[:, None])


def test_package_data_are_what_colour_science_gives(recomputed):
    expected = recomputed / recomputed.sum(axis=0)
    np.testing.assert_allclose(tristimulus_weights(), expected, rtol=1e-12, atol=1e-18)


def test_white_is_that_of_d50(recomputed):
    """Chromaticity of D50, CIE 15:2018 table T.3: x 0.34567, y 0.35850 (printed, from memory)."""
    white = recomputed.sum(axis=0)
    assert white[0] / white.sum() == pytest.approx(0.34567, abs=5e-5)
    assert white[1] / white.sum() == pytest.approx(0.35850, abs=5e-5)


def test_weights_are_nowhere_negative_and_read_only():
    weights = tristimulus_weights()
    assert weights.shape == (36, 3)
    assert (weights >= 0.0).all()
    with pytest.raises(ValueError, match="read-only"):
        weights[0, 0] = 1.0


@pytest.mark.parametrize("name", list(colour.SDS_COLOURCHECKERS["BabelColor Average"])[:24])
def test_integration_agrees_with_colour_science(name):
    """`colour.sd_to_XYZ(…, method="Integration")` of the spectrum at 1 nm; ColorChecker patches."""
    patch = colour.SDS_COLOURCHECKERS["BabelColor Average"][name]
    reflectance = np.interp(WAVELENGTHS, patch.wavelengths, patch.values)
    nanometres = np.arange(360.0, 781.0)
    fine = colour.SpectralDistribution(np.interp(nanometres, WAVELENGTHS, reflectance), nanometres)
    source = colour.SDS_ILLUMINANTS["D50"]
    power = np.interp(nanometres, source.wavelengths, source.values)
    shape = colour.SpectralShape(360, 780, 1)
    arguments = {
        "cmfs": colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"].copy().trim(shape),
        "illuminant": colour.SpectralDistribution(power, nanometres),
        "method": "Integration",
    }
    white = colour.sd_to_XYZ(colour.SpectralDistribution(np.ones(421), nanometres), **arguments)
    expected = colour.sd_to_XYZ(fine, **arguments) / white
    np.testing.assert_allclose(reflectance @ tristimulus_weights(), expected, rtol=1e-10)


def test_lab_agrees_with_colour_science_and_returns():
    relative = np.random.default_rng(1).uniform(0.0, 1.0, (200, 3)) ** 3
    white = np.array([0.3457, 0.3585])
    XYZ_n = colour.xy_to_XYZ(white)
    np.testing.assert_allclose(
        lab_of(relative), colour.XYZ_to_Lab(relative * XYZ_n, white), atol=1e-10
    )
    np.testing.assert_allclose(relative_tristimulus(lab_of(relative)), relative, atol=1e-14)


def test_rec_2020_channels_agree_with_colour_science():
    """RGB_to_XYZ of ITU-R BT.2020, adapted to D50 by Bradford's matrix."""
    rgb = np.random.default_rng(2).uniform(0.0, 1.0, (50, 3))
    d50 = colour.xy_to_XYZ([0.3457, 0.3585])
    expected = colour.RGB_to_XYZ(
        rgb,
        colour.RGB_COLOURSPACES["ITU-R BT.2020"],
        illuminant=colour.XYZ_to_xy(d50),
        chromatic_adaptation_transform="Bradford",
    )
    np.testing.assert_allclose(rgb @ rec2020_weights(), expected / d50, atol=2e-4)
