"""Published reflectances of test colour samples, and the correction for the bandpass."""

import warnings

import numpy as np
import pytest

from stopgap.colorimetry import colour_science, reflectance_to_lab, white_point, xyz_to_lab
from stopgap.difference import delta_E

# Approximate Munsell notations of the 14 test colour samples, CIE 13.3-1995, table 1, from memory.
CIE_1995 = (
    *("7.5R 6/4", "5Y 6/4", "5GY 6/8", "2.5G 6/6", "10BG 6/4", "5PB 6/8", "2.5P 6/8", "10P 6/8"),
    *("4.5R 4/13", "5Y 8/10", "4.5G 5/8", "3PB 3/11", "5YR 8/4", "5GY 4/4"),
)


def test_samples_of_1995_have_the_munsell_colours_they_are_known_by():
    # Reflectances and the Munsell renotation as in colour-science 0.4.7 (SDS_TCS,
    # munsell_colour_to_xyY), under C. The notations are rounded; measured: mean 1.4, largest 2.5.
    colour = colour_science()
    from colour.quality.datasets import SDS_TCS

    differences = []
    for notation, sd in zip(CIE_1995, SDS_TCS["CIE 1995"].values(), strict=True):
        lab = reflectance_to_lab(sd.wavelengths, np.clip(sd.values, 0, 1), "C")
        # the renotation's Y has magnesium oxide as 100 (ASTM D1535: 0.975 of the diffuser)
        xyz = 97.5 * colour.xyY_to_XYZ(colour.munsell_colour_to_xyY(notation))
        differences.append(delta_E(xyz_to_lab(xyz, white_point("C")), lab))
    assert np.mean(differences) < 1.6
    assert max(differences) < 2.6


@pytest.mark.parametrize("light", ["A", "D50", "D65", "LED-B3"])
def test_samples_of_2017_under_the_lights_of_the_cie(light):
    # The 99 reflectances of CIE 224:2017 at 5 nm; tristimulus values by colour-science 0.4.7,
    # sd_to_XYZ(method="ASTM E308"), ΔE*ab.
    colour = colour_science()
    shape = colour.SpectralShape(360, 780, 1)
    samples = colour.quality.cfi2017.load_TCS_CIE2017(colour.SpectralShape(380, 780, 5))
    matching = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"].copy().align(shape)
    lamp = colour.SDS_ILLUMINANTS[light].copy().align(shape)
    lab = reflectance_to_lab(samples.wavelengths, samples.values.T.clip(0, 1), light)
    with warnings.catch_warnings():  # it says that it trims, as is wanted
        warnings.simplefilter("ignore", colour.utilities.ColourRuntimeWarning)

        def xyz(values):
            sd = colour.SpectralDistribution(values, samples.wavelengths)
            return colour.sd_to_XYZ(sd, matching, lamp, method="ASTM E308")

        white = xyz(np.ones(len(samples.wavelengths)))
        expected = [xyz_to_lab(xyz(values), white) for values in samples.values.T[::9].clip(0, 1)]
    np.testing.assert_allclose(lab[::9], expected, atol=1e-6)


def test_correction_for_the_bandpass_undoes_a_blur():
    # A triangular bandpass as wide as the interval of the readings, made by summing 1 nm steps.
    nm = np.arange(350, 791)
    sharp = 0.05 + 0.85 / (1 + np.exp(-(nm - 580) / 6.0))
    triangle = 1 - np.abs(np.arange(-10, 11)) / 10
    blurred = np.convolve(sharp, triangle / triangle.sum(), mode="same")
    at = np.arange(360, 781, 10)
    factors = blurred[at - nm[0]]
    truth = reflectance_to_lab(nm[10:-10], sharp[10:-10])
    plain = delta_E(truth, reflectance_to_lab(at, factors))
    corrected = delta_E(truth, reflectance_to_lab(at, factors, correct_bandpass=True))
    assert plain > 0.1
    assert corrected < 0.4 * plain


def test_correction_for_the_bandpass_is_colour_sciences():
    colour = colour_science()
    at = np.arange(400, 701, 10)
    factors = 0.3 + 0.2 * np.sin(at / 30)
    sd = colour.bandpass_correction(colour.SpectralDistribution(factors, at), method="Stearns 1988")
    np.testing.assert_allclose(
        reflectance_to_lab(at, factors, correct_bandpass=True),
        reflectance_to_lab(at, sd.values),
        atol=1e-9,
    )
    np.testing.assert_allclose(
        reflectance_to_lab(at, np.ones(31), correct_bandpass=True), [100, 0, 0], atol=1e-9
    )
