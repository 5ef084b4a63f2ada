import numpy as np
import pytest
from coloraide import Color
from hypothesis import given, settings
from hypothesis import strategies as st

from stopgap.colorimetry import (
    adapt,
    colour_science,
    hex_to_lab,
    lab_to_hex,
    lab_to_hexes,
    lab_to_srgb,
    srgb,
    srgb_to_lab,
)
from stopgap.colorimetry.whites import BRADFORD, D50, D65
from stopgap.errors import InputError

byte = st.integers(0, 255)
# Below L* = 10 a tolerance invisible in 8 bits is a step of Oklab, whose cube root is steep there.
any_lab = st.tuples(st.floats(10, 100), st.floats(-150, 150), st.floats(-150, 150))


def oklch(rgb):
    return np.array(Color("srgb", list(rgb)).convert("oklch").coords(nans=False))


def test_hex_agrees_with_coloraide_on_a_grid_and_at_random():
    grid = [f"#{r:02x}{g:02x}{b:02x}" for r in range(0, 256, 51) for g in range(0, 256, 51)
            for b in range(0, 256, 51)]  # fmt: skip
    rng = np.random.default_rng(61966)
    random = ["#{:02x}{:02x}{:02x}".format(*row) for row in rng.integers(0, 256, (500, 3))]
    for text in [*grid, *random]:
        expected = Color(text).convert("lab").coords(nans=False)
        np.testing.assert_allclose(hex_to_lab(text), expected, rtol=0, atol=1e-9)


@pytest.mark.parametrize("level", [0.0, 0.02, 0.0395, 0.04, 0.0405, 0.5, 1.0])
def test_decoding_agrees_with_coloraide(level):
    # Levels around the knee of the transfer function, which no 8-bit level reaches.
    expected = Color("srgb", [level, level, 0.5]).convert("lab").coords(nans=False)
    np.testing.assert_allclose(srgb_to_lab([level, level, 0.5]), expected, rtol=0, atol=1e-9)


def test_matrices_agree_with_colour_science():
    # colour-science 0.4.7: primaries and white of IEC 61966-2-1, Bradford.
    colour = colour_science()
    space = colour.RGB_COLOURSPACES["sRGB"]
    primary = colour.normalised_primary_matrix(space.primaries, space.whitepoint)
    np.testing.assert_allclose(srgb._RGB_TO_XYZ, primary, atol=1e-12)
    np.testing.assert_allclose(BRADFORD, colour.adaptation.CAT_BRADFORD, atol=0)
    np.testing.assert_allclose(srgb.D65_TO_D50, adapt(np.eye(3), D65, D50).T, atol=1e-12)
    # IEC 61966-2-1:1999 prints the matrix to four digits.
    np.testing.assert_allclose(srgb._RGB_TO_XYZ, space.matrix_RGB_to_XYZ, atol=6e-5)


def test_oklab_agrees_with_colour_science():
    # colour-science 0.4.7 has the matrices of Ottosson 2020; those of CSS Color 4 are the same,
    # computed anew for a D65 of four digits, which moves them in the fourth digit.
    colour = colour_science()
    xyz = np.random.default_rng(2020).uniform(0, 1, (50, 3))
    oklab = np.cbrt(xyz @ srgb._CONE.T) @ srgb._OPPONENT.T
    np.testing.assert_allclose(oklab, colour.XYZ_to_Oklab(xyz), atol=1e-3)
    np.testing.assert_allclose(
        np.cbrt(D65 / 100 @ srgb._CONE.T) @ srgb._OPPONENT.T, [1, 0, 0], atol=1e-7
    )


@settings(derandomize=True, deadline=None)
@given(byte, byte, byte)
def test_every_hex_comes_back(red, green, blue):
    text = f"#{red:02x}{green:02x}{blue:02x}"
    lab = hex_to_lab(text)
    assert lab_to_hex(lab) == text
    assert lab_to_srgb(lab)[1]


def test_short_and_upper_case_hex():
    np.testing.assert_array_equal(hex_to_lab("#A3f"), hex_to_lab("#aa33ff"))
    assert lab_to_hex([100, 0, 0]) == "#ffffff"
    assert lab_to_hex([0, 0, 0]) == "#000000"


@pytest.mark.parametrize(
    "text", ["", "#", "a1b2c3", "#12", "#1234", "#12345g", "#１２３", "#12345678"]
)
def test_what_is_no_hex_is_refused(text):
    with pytest.raises(InputError, match="expected #rrggbb or #rgb"):
        hex_to_lab(text)


@settings(derandomize=True, deadline=None)
@given(any_lab)
def test_mapping_keeps_lightness_and_hue_and_never_adds_chroma(lab):
    rgb, inside = lab_to_srgb(lab)
    assert ((rgb >= 0) & (rgb <= 1)).all()
    lightness, chroma, hue = Color("lab", lab).convert("oklch").coords(nans=False)
    shown = oklch(rgb)
    assert shown[0] == pytest.approx(np.clip(lightness, 0, 1), abs=2e-3)
    assert shown[1] <= chroma + 2e-3
    turn = np.radians(shown[2] - hue)
    assert shown[1] * abs(np.sin(turn / 2)) < 3e-3
    if inside:
        np.testing.assert_allclose(srgb_to_lab(rgb), lab, atol=0.2)


def test_mapping_agrees_with_coloraide():
    # coloraide: fit(method="oklch-chroma", jnd=0), chroma reduced by bisection without clipping.
    rng = np.random.default_rng(4)
    labs = rng.uniform([5, -110, -110], [95, 110, 110], (150, 3))
    rgb, inside = lab_to_srgb(labs)
    assert 20 < inside.sum() < 130
    for lab, row in zip(labs, rgb):
        fitted = Color("lab", lab.tolist()).fit("srgb", method="oklch-chroma", jnd=0)
        expected = np.clip(fitted.convert("srgb").coords(), 0, 1)
        np.testing.assert_allclose(row, expected, atol=2e-3)


def test_mapping_reaches_the_edge_of_the_gamut():
    rgb, inside = lab_to_srgb([[60, 100, -100], [85, -100, 100], [50, -60, -60]])
    assert not inside.any()
    assert (np.isclose(rgb, 0, atol=2e-3) | np.isclose(rgb, 1, atol=2e-3)).any(axis=1).all()


def test_beyond_white_and_black():
    rgb, inside = lab_to_srgb([[130, 10, 10], [-20, 10, 0], [100, 0, 0], [0, 0, 0]])
    np.testing.assert_allclose(rgb, [[1, 1, 1], [0, 0, 0], [1, 1, 1], [0, 0, 0]], atol=1e-3)
    assert inside.tolist() == [False, False, True, True]


def test_many_at_once_equal_one_by_one():
    labs = np.random.default_rng(5).uniform([0, -120, -120], [100, 120, 120], (2, 20, 3))
    rgb, inside = lab_to_srgb(labs)
    assert rgb.shape == (2, 20, 3)
    assert inside.shape == (2, 20)
    assert lab_to_hexes(labs[0]) == [lab_to_hex(lab) for lab in labs[0]]
    assert lab_to_hexes(np.empty((0, 3))) == []


def test_bad_values_are_refused():
    with pytest.raises(InputError, match="from 0 to 1"):
        srgb_to_lab([0.5, 0.5, 1.1])
    with pytest.raises(InputError, match="rgb: expected R, G, B"):
        srgb_to_lab([0.5, 0.5])
    with pytest.raises(InputError, match="one colour"):
        lab_to_hex([[50, 0, 0]])
