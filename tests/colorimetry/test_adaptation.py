import numpy as np
import pytest
from coloraide.everything import ColorAll

from stopgap.colorimetry import (
    D50,
    D65,
    OBSERVER_UNCERTAINTY,
    adapt,
    colour_science,
    lab_to_d50,
    lab_to_xyz,
    reflectance_to_lab,
    white_point,
    xyz_to_d50_lab,
)
from stopgap.errors import InputError


@pytest.mark.parametrize("method", ["Bradford", "CAT16"])
@pytest.mark.parametrize("source", ["D65", "A", "C", "F11", "E"])
def test_agrees_with_coloraide(source, method):
    rng = np.random.default_rng(16)
    xyz = rng.uniform(0, 100, (200, 3))
    white = white_point(source)
    x, y = (white / white.sum())[:2]
    expected = [
        ColorAll.chromatic_adaptation(
            (x, y), (0.3457, 0.3585), (row / 100).tolist(), method=method.lower()
        )
        for row in xyz
    ]
    np.testing.assert_allclose(
        adapt(xyz, white, D50, method), 100 * np.array(expected), rtol=0, atol=1e-9
    )


def test_bradford_matrix_as_printed():
    # CSS Color Module Level 4, section 18, sample code D65_to_D50: linear Bradford of ICC.1:2022,
    # annex E, from the same chromaticities; printed there, from memory.
    printed = [
        [1.0479297925449969, 0.022946870601609652, -0.05019226628920524],
        [0.02962780877005599, 0.9904344267538799, -0.017073799063418826],
        [-0.009243040646204504, 0.015055191490298152, 0.7518742814281371],
    ]
    np.testing.assert_allclose(adapt(np.eye(3), D65, D50).T, printed, atol=1e-12)


@pytest.mark.parametrize("method", ["Bradford", "CAT16"])
def test_white_becomes_white_and_the_way_back_exists(method):
    white = white_point("A", 10)
    np.testing.assert_allclose(adapt(white, white, D50, method), D50, atol=1e-10)
    there = adapt([20.0, 30.0, 10.0], white, D50, method)
    np.testing.assert_allclose(adapt(there, D50, white, method), [20, 30, 10], atol=1e-10)


def test_d50_is_left_as_it_is():
    xyz = np.array([20.0, 30.0, 10.0])
    np.testing.assert_array_equal(adapt(xyz, D50, D50), xyz)


def test_lab_and_xyz_agree():
    lab = np.random.default_rng(2).uniform([0, -60, -60], [100, 60, 60], (2, 5, 3))
    np.testing.assert_allclose(
        lab_to_d50(lab, "D65"), xyz_to_d50_lab(lab_to_xyz(lab, D65), "D65"), atol=1e-12
    )
    assert lab_to_d50([50, 0, 0], "A") == pytest.approx([50, 0, 0], abs=1e-10)


def test_ten_degree_colours_are_refused_unless_accepted():
    with pytest.raises(InputError, match=r"depends on the spectrum.*3\.1 ΔE00"):
        lab_to_d50([50, 10, 10], "D65", 10)
    with pytest.raises(InputError, match="depends on the spectrum"):
        xyz_to_d50_lab([20, 20, 20], "D50", 10)
    accepted = lab_to_d50([50, 0, 0], "D65", 10, accept_observer=True)
    assert accepted == pytest.approx([50, 0, 0], abs=1e-10)


def test_observer_uncertainty_is_as_measured():
    # 99 colour evaluation samples of CIE 224:2017, from colour-science 0.4.7; ΔE00 by
    # colour.difference.delta_E_CIE2000 of the same.
    colour = colour_science()
    from colour.quality.cfi2017 import load_TCS_CIE2017

    samples = load_TCS_CIE2017(colour.SpectralShape(380, 780, 1))
    nm, factors = samples.wavelengths, samples.values.T
    assert factors.shape == (99, 401)

    def cost(illuminant, observer):
        lab = reflectance_to_lab(nm, factors, illuminant, observer)
        adapted = lab_to_d50(lab, illuminant, observer, accept_observer=True)
        delta_E = colour.difference.delta_E_CIE2000(reflectance_to_lab(nm, factors), adapted)
        return float(np.sqrt(np.mean(delta_E**2)))

    assert cost("D65", 10) == pytest.approx(3.13, abs=0.005)
    assert cost("D50", 10) == pytest.approx(2.35, abs=0.005)
    assert cost("D65", 2) == pytest.approx(0.88, abs=0.005)
    assert round(max(cost("D65", 10), cost("D50", 10)), 1) == OBSERVER_UNCERTAINTY


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (([1, 2, 3], D65, D50, "bradfrod"), "not one of Bradford, CAT16"),
        (([1, 2, 3], [95, 0, 108], D50), "white_from: expected three positive"),
        (([1, 2, 3], D65, [[95, 100, 108]]), "white_to: expected three positive"),
        (([1, 2], D65, D50), "xyz: expected X, Y, Z"),
        (([1, 2, np.inf], D65, D50), "finite"),
    ],
)
def test_bad_input_is_refused(arguments, sentence):
    with pytest.raises(InputError, match=sentence):
        adapt(*arguments)
