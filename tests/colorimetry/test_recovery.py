"""Reflectances recovered from colours."""

import warnings

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize

from stopgap.colorimetry.cielab import lab_of
from stopgap.colorimetry.recovery.plainest import EDGE, recover
from stopgap.colorimetry.recovery.weights import WAVELENGTHS, tristimulus_weights
from stopgap.difference import delta_E
from stopgap.errors import InputError
from stopgap.layering.shared_tooth import shared_tooth

pytestmark = pytest.mark.slow

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    import colour

quick = settings(derandomize=True, deadline=None, max_examples=40)
heights = st.lists(st.floats(-3.0, 3.0), min_size=4, max_size=4)


def lab_from(reflectance):
    return lab_of(np.asarray(reflectance) @ tristimulus_weights())


@quick
@given(heights, st.sampled_from([EDGE, np.inf]))
def test_recovered_spectrum_has_the_colour(z, edge):
    """Colours of spectra, so that there is a spectrum to find."""
    bends = np.interp(WAVELENGTHS, np.linspace(380, 730, 4), z)
    lab = lab_from((1.0 + np.tanh(bends)) / 2.0)
    found = recover(lab, edge=edge)
    assert found.reached
    assert ((found.reflectance > 0.0) & (found.reflectance < 1.0)).all()
    np.testing.assert_allclose(lab_from(found.reflectance), lab, atol=1e-6)


@pytest.mark.parametrize("edge", [EDGE, np.inf])
@pytest.mark.parametrize("lab", [(60, 30, 40), (40, -30, -20), (85, -5, 80), (30, 20, -50)])
def test_no_cheaper_spectrum_has_the_colour(lab, edge):
    """Against scipy's sequential quadratic programming on the cost as written (Burns 2020)."""
    wanted = np.array(lab, dtype=float)
    found = recover(wanted, edge=edge).reflectance

    def cost(z):
        squares = np.diff(z) ** 2
        if np.isinf(edge):
            return 100.0 * squares.sum() / 2.0
        return 100.0 * (edge**2 * (np.sqrt(1.0 + squares / edge**2) - 1.0)).sum()

    z = np.arctanh(2.0 * found - 1.0)
    target = found @ tristimulus_weights()
    other = minimize(
        cost,
        z + 0.1 * np.sin(np.arange(36.0)),
        constraints={
            "type": "eq",
            "fun": lambda y: 100.0 * ((1 + np.tanh(y)) / 2 @ tristimulus_weights() - target),
        },
        method="SLSQP",
        options={"maxiter": 2000, "ftol": 1e-12},
    )
    assert other.success
    assert cost(z) <= cost(other.x) * (1.0 + 1e-6)
    np.testing.assert_allclose(found, (1.0 + np.tanh(other.x)) / 2.0, atol=2e-3)


def test_edge_is_the_slope_of_painted_samples():
    """ColorChecker (BabelColor average), CIE test-colour samples and NIST CQS 9.0 samples, as
    colour-science 0.4.7 ships them; R held within 0.01 to 0.97.
    """
    from colour.quality.datasets.tcs import SDS_TCS
    from colour.quality.datasets.vs import SDS_VS

    samples = [
        *colour.SDS_COLOURCHECKERS["BabelColor Average"].values(),
        *SDS_TCS["CIE 1995"].values(),
        *SDS_VS["NIST CQS 9.0"].values(),
    ]
    R = np.array([np.interp(WAVELENGTHS, s.wavelengths, s.values) for s in samples])
    slope = np.diff(np.arctanh(2.0 * np.clip(R, 0.01, 0.97) - 1.0), axis=1)
    assert np.sqrt(np.mean(slope**2)) == pytest.approx(EDGE, abs=0.005)
    kurtosis = np.mean(slope**4) / np.mean(slope**2) ** 2
    assert kurtosis > 5.0  # 3 for slopes that squares would describe: spectra have edges


def test_measured_shape_is_kept_and_its_own_colour_changes_nothing():
    patches = list(colour.SDS_COLOURCHECKERS["BabelColor Average"].values())[:18]
    measured = np.array([np.interp(WAVELENGTHS, s.wavelengths, s.values) for s in patches])
    same = recover(lab_from(measured), near=measured)
    assert same.reached.all()
    np.testing.assert_allclose(same.reflectance, measured, atol=1e-9)
    darker = recover(lab_from(measured) - [2.0, 0.0, 0.0], near=measured)
    np.testing.assert_allclose(
        lab_from(darker.reflectance), lab_from(measured) - [2.0, 0.0, 0.0], atol=1e-6
    )
    plain = recover(lab_from(measured)).reflectance
    assert np.abs(darker.reflectance - measured).mean() < np.abs(plain - measured).mean()


def test_layers_of_measured_spectra_are_predicted_better_with_edges_than_without():
    """On the 24 spectra of the ISO 17321-1 chart, which EDGE was not taken from (colour-science).

    Every two are layered by the shared-tooth rule, from the measured spectra and from those
    recovered from their colours. (Of the spectra themselves the smooth ones are a little nearer.)
    """
    patches = colour.SDS_COLOURCHECKERS["ISO 17321-1"].values()
    measured = np.array([np.interp(WAVELENGTHS, s.wavelengths, s.values) for s in patches])
    paper = np.full(36, 0.95)
    i, j = np.triu_indices(24, 1)

    def layered(spectra):
        layers = np.stack([spectra[i], spectra[j]], axis=1)
        ones = np.ones((len(i), 2))
        return lab_from(shared_tooth(layers, paper, ones, tooth=1.3, opacity=0.0 * ones))

    error = {
        edge: delta_E(layered(recover(lab_from(measured), edge=edge)[0]), layered(measured)).mean()
        for edge in (EDGE, np.inf)
    }
    assert error[EDGE] < 0.9 * error[np.inf]
    assert error[EDGE] < 0.8


@pytest.mark.parametrize(
    "lab", [(50, 200, 0), (95, 60, 60), (20, 0, 90), (120, 0, 0), (-3, 0, 0), (50, 60, -150)]
)
def test_colours_of_no_surface_are_flagged_and_drawn_to_grey(lab):
    found = recover(np.array(lab, dtype=float))
    assert not found.reached
    assert ((found.reflectance >= 0.0) & (found.reflectance <= 1.0)).all()
    seen = lab_from(found.reflectance)
    assert np.hypot(*seen[1:]) <= np.hypot(*lab[1:]) + 1e-9
    assert seen[0] == pytest.approx(np.clip(lab[0], 0.0, 100.0), abs=1e-4)


def test_white_black_and_grey_are_level_spectra():
    found = recover([[100, 0, 0], [0, 0, 0], [50, 0, 0]])
    assert found.reached.all()
    np.testing.assert_allclose(found.reflectance[:, 0], [1.0, 0.0, 0.18418651851244416], atol=1e-12)
    assert np.ptp(found.reflectance, axis=1).max() < 1e-9


def test_every_colour_of_a_wide_solid_comes_to_its_optimum():
    """Vivid ones too: recovered again from nearby, the spectrum moves as little as the colour."""
    random = np.random.default_rng(5)
    L, C = random.uniform(5, 98, 600), random.uniform(0, 110, 600)
    h = random.uniform(0, 2 * np.pi, 600)
    lab = np.stack([L, C * np.cos(h), C * np.sin(h)], axis=1)
    found = recover(lab)
    rows = np.flatnonzero(found.reached)
    assert rows.size > 350
    near = recover(lab[rows] * (1.0 - 1e-6))
    assert np.abs(near.reflectance - found.reflectance[rows]).max() < 1e-3


def test_shapes_and_refusals():
    assert recover(np.zeros((0, 3))).reflectance.shape == (0, 36)
    assert recover(np.full((2, 5, 3), 40.0)).reached.shape == (2, 5)
    with pytest.raises(InputError, match="last axis"):
        recover([1.0, 2.0])
    with pytest.raises(InputError, match="finite"):
        recover([50.0, np.nan, 0.0])


def test_many_colours_are_found_as_one_by_one():
    lab = np.random.default_rng(3).uniform([25, -25, -25], [85, 25, 25], (1100, 3))
    lab[1024] = (50.0, 90.0, 90.0)
    together = recover(lab).reflectance
    for i in (0, 767, 768, 1024, 1099):
        assert together[i].tobytes() == recover(lab[i]).reflectance.tobytes()


def test_what_no_surface_has_may_be_left_grey():
    lab = [[50, 10, 20], [50, 90, 90], [97, 60, 60], [120, 10, 0], [0, 20, 0]]
    duller, not_duller = recover(lab), recover(lab, duller=False)
    assert not_duller.reached.tolist() == duller.reached.tolist() == [True, *[False] * 4]
    assert not_duller.reflectance[0].tolist() == duller.reflectance[0].tolist()
    assert (np.ptp(not_duller.reflectance, axis=1) == 0.0).tolist() == [False, *[True] * 4]
    assert (np.ptp(duller.reflectance, axis=1) > 0.0).tolist() == [True, True, True, False, False]
