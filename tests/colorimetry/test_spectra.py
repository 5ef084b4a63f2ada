import warnings

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stopgap.colorimetry import colour_science, reflectance_to_lab, reflectance_to_xyz, xyz_to_lab
from stopgap.colorimetry.spectra import STEPS_KEPT, _weights, integration_table
from stopgap.colorimetry.whites import OBSERVERS, WHITES, science_name
from stopgap.errors import InputError

WORKING = (360, 780, 1)


def twin(nm, factors, illuminant="D50", observer=2, **options):
    """X, Y, Z of one reflectance by colour-science, on its own."""
    colour = colour_science()
    shape = colour.SpectralShape(*WORKING)
    with warnings.catch_warnings():  # it says that it aligns and trims, as is wanted
        warnings.simplefilter("ignore", colour.utilities.ColourRuntimeWarning)
        return colour.sd_to_XYZ(
            colour.SpectralDistribution(factors, nm),
            colour.MSDS_CMFS[OBSERVERS[observer]].copy().align(shape),
            colour.SDS_ILLUMINANTS[science_name(illuminant)].copy().align(shape),
            method="ASTM E308",
            **options,
        )


def wandering(count, points, seed=308):
    rng = np.random.default_rng(seed)
    steps = rng.normal(0, 1, (count, points)) / np.sqrt(points)
    return np.clip(0.5 + np.cumsum(steps, axis=1), 0, 1)


@pytest.mark.parametrize("light", [("D50", 2), ("D65", 10), ("A", 2), ("F11", 10), ("LED-B3", 2)])
@pytest.mark.parametrize(
    "grid",
    [
        *[(360, 780, step) for step in (1, 5, 10, 20)],
        *[(400, 700, step) for step in (1, 5, 10, 20)],
        (380, 730, 10),
        (380, 780, 20),
        (380, 780, 5),
    ],
)
def test_agrees_with_colour_science(grid, light):
    # colour-science 0.4.7, sd_to_XYZ(method="ASTM E308"), one swatch at a time; at 20 nm with the
    # table of weights (E308, 7.3.2), not with its other, interpolating method.
    nm = np.arange(grid[0], grid[1] + 1, grid[2])
    factors = wandering(3, nm.size)
    expected = [twin(nm, row, *light, mi_20nm_interpolation_method=False) for row in factors]
    np.testing.assert_allclose(reflectance_to_xyz(nm, factors, *light), expected, atol=1e-9)


@pytest.mark.parametrize("grid", [(380, 730, 2), (385, 735, 10), (380, 780, 2.5), (398, 702, 4)])
def test_other_intervals_are_interpolated(grid):
    # colour-science 0.4.7: the reflectance by Sprague's method to 1 nm with constant ends, then
    # ASTM E308 at 1 nm.
    colour = colour_science()
    nm = np.arange(grid[0], grid[1] + 1e-9, grid[2])
    factors = wandering(1, nm.size)[0]
    fine = colour.SpectralDistribution(factors, nm, interpolator=colour.SpragueInterpolator)
    fine = fine.align(colour.SpectralShape(*WORKING))
    expected = twin(fine.wavelengths, fine.values)
    np.testing.assert_allclose(reflectance_to_xyz(nm, factors), expected, atol=1e-9)


@pytest.mark.parametrize("count", [91, 93, 106, 301])
def test_steps_that_no_binary_number_holds(count):
    nm = np.linspace(400, 700, count).round(2)
    factors = 0.4 + 0.3 * np.sin(nm / 60)
    every_nm = np.arange(400, 701)
    np.testing.assert_allclose(
        reflectance_to_lab(nm, factors),
        reflectance_to_lab(every_nm, 0.4 + 0.3 * np.sin(every_nm / 60)),
        atol=1e-3,
    )


@pytest.mark.parametrize("step", [5, 10, 20, 2.5])
def test_wider_intervals_agree_with_1_nm_on_smooth_spectra(step):
    nm = np.arange(360, 780.1, 1)
    rise = 1 / (1 + np.exp(-(nm[None, :] - np.array([[480], [540], [600]])) / 20))
    smooth = 0.05 + 0.8 * np.vstack([rise, 1 - rise])
    exact = reflectance_to_lab(nm, smooth)
    at = np.arange(360, 780.1, step)
    sampled = reflectance_to_lab(at, [np.interp(at, nm, row) for row in smooth])
    assert np.linalg.norm(sampled - exact, axis=1).max() < (0.6 if step == 20 else 0.1)


@pytest.mark.parametrize("observer", [2, 10])
@pytest.mark.parametrize("illuminant", ["D50", "A", "F2"])
@pytest.mark.parametrize("grid", [(360, 780, 1), (400, 700, 10), (380, 730, 3.5), (400, 700, 20)])
def test_the_perfect_diffuser_is_white(grid, illuminant, observer):
    nm = np.arange(grid[0], grid[1] + 1e-9, grid[2])
    lab = reflectance_to_lab(nm, [np.ones(nm.size), np.zeros(nm.size)], illuminant, observer)
    np.testing.assert_allclose(lab, [[100, 0, 0], [0, 0, 0]], atol=1e-9)


def test_chart_whose_lab_is_published():
    # Average reflectances of 30 charts of 24 colours, and the xyY (ICC D50) that their author
    # publishes with them, both as in colour-science 0.4.7 (SDS_COLOURCHECKERS, CCS_COLOURCHECKERS).
    # The xyY have four digits and were integrated with other tables: mean 0.057, largest 0.14.
    colour = colour_science()
    spectra = list(colour.SDS_COLOURCHECKERS["babel_average"].values())
    chart = colour.CCS_COLOURCHECKERS["babel_average"]
    x, y = chart.illuminant
    white = 100 * np.array([x / y, 1, (1 - x - y) / y])
    published = xyz_to_lab(100 * colour.xyY_to_XYZ(list(chart.data.values())), white)
    lab = reflectance_to_lab(spectra[0].wavelengths, [sd.values for sd in spectra])
    delta_E = np.linalg.norm(lab - published, axis=1)
    assert delta_E.shape == (24,)
    assert delta_E.mean() < 0.07
    assert delta_E.max() < 0.2


def test_shapes():
    nm = np.arange(400, 701, 10)
    factors = wandering(6, nm.size)
    lab = reflectance_to_lab(nm, factors.reshape(2, 3, -1))
    assert lab.shape == (2, 3, 3)
    np.testing.assert_allclose(lab[1, 2], reflectance_to_lab(nm, factors[5]), atol=1e-12)
    assert reflectance_to_lab(nm, np.empty((0, nm.size))).shape == (0, 3)


def test_readings_beyond_the_working_range_are_not_used():
    wide, narrow = np.arange(350, 801, 10), np.arange(360, 781, 10)
    factors = wandering(1, wide.size)[0]
    np.testing.assert_array_equal(
        reflectance_to_lab(wide, factors), reflectance_to_lab(narrow, factors[1:-2])
    )


@settings(derandomize=True, deadline=None)
@given(st.integers(0, 42), st.floats(0, 1))
def test_more_reflectance_is_never_darker(at, factor):
    nm = np.arange(360, 781, 5)
    less = np.full(nm.size, 0.4)
    more = less.copy()
    more[at] += 0.6 * factor
    assert reflectance_to_xyz(nm, more)[1] >= reflectance_to_xyz(nm, less)[1]


def test_fluorescent_factors_only_where_allowed():
    nm = np.arange(400, 701, 10)
    factors = np.where(nm == 600, 1.5, 0.4)
    with pytest.raises(InputError, match=r"from 0 to 1, found 0\.4 to 1\.5"):
        reflectance_to_lab(nm, factors)
    assert reflectance_to_lab(nm, factors, allow_fluorescent=True)[0] > 60
    with pytest.raises(InputError, match="from 0 to 2"):
        reflectance_to_lab(nm, 2 * factors, allow_fluorescent=True)


_NM = np.arange(400, 701, 10)


@pytest.mark.parametrize(
    ("nm", "sentence"),
    [
        (_NM[::-1], "rising"),
        (np.repeat(_NM, 2), "rising"),
        (np.delete(_NM, 5), "equal steps, found steps from 10 to 20"),
        (np.arange(400, 701, 25), "25 nm are too wide"),
        (np.arange(410, 701, 10), "at least 400 to 680 nm, found 410 to 700"),
        (np.arange(400, 671, 10), "at least 400 to 680 nm, found 400 to 670"),
        ([550], "a row of wavelengths"),
        ([_NM], "a row of wavelengths"),
        (["violet"] * 31, "expected numbers"),
    ],
)
def test_bad_wavelengths_are_refused(nm, sentence):
    with pytest.raises(InputError, match=f"wavelengths: .*{sentence}"):
        reflectance_to_lab(nm, np.full(np.size(nm), 0.5))


@pytest.mark.parametrize(
    ("factors", "sentence"),
    [
        (np.full(31, 45.0), "divide per cent by 100"),
        (np.full(31, -0.01), "from 0 to 1"),
        (np.full(30, 0.5), "expected 31 values"),
        (0.5, "expected 31 values"),
        (np.full(31, np.nan), "finite"),
    ],
)
def test_bad_factors_are_refused(factors, sentence):
    with pytest.raises(InputError, match=f"reflectance: .*{sentence}"):
        reflectance_to_lab(_NM, factors)


def test_unknown_light_is_refused():
    with pytest.raises(InputError, match="illuminant"):
        reflectance_to_lab(_NM, np.full(31, 0.5), "D51")
    with pytest.raises(InputError, match="observer"):
        reflectance_to_lab(_NM, np.full(31, 0.5), "D50", 4)


@pytest.mark.parametrize("observer", OBSERVERS)
@pytest.mark.parametrize("step", STEPS_KEPT)
def test_weights_that_are_kept_are_those_of_colour_science(step, observer):
    for name in WHITES:
        made = integration_table(name, observer, step)
        every = tuple(np.arange(360.0, 781.0, step).tolist())
        np.testing.assert_allclose(
            _weights(every, name, observer, correct_bandpass=False), made, atol=1e-9
        )
