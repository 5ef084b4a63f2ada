"""The mean over the paper's tooth, against integrals by scipy, and what a layer can and cannot."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.stats import gamma

from stopgap.layering.kubelka_munk import film, masstone, over
from stopgap.layering.shared_tooth import (
    absorption,
    optical_depth,
    shared_tooth,
    stacked,
    transmittance,
)

pytestmark = pytest.mark.slow

quick = settings(derandomize=True, deadline=None, max_examples=60)
depths = st.floats(0.0, 20.0)
teeth = st.floats(0.5, 6.0)
reflectances = st.floats(0.02, 0.95)


def one(value):
    return np.array([float(value)])


@pytest.mark.parametrize("tooth", [0.7, 1.3, 2.0, 5.0])
@pytest.mark.parametrize("depth", [0.1, 1.0, 6.0])
def test_transmittance_is_the_mean_of_bouguers_law_over_gamma_thickness(depth, tooth):
    mean, _ = quad(lambda g: np.exp(-depth * g) * gamma.pdf(g, tooth, scale=1 / tooth), 0, np.inf)
    assert transmittance(one(depth), tooth) == pytest.approx(mean, rel=1e-6)


@pytest.mark.parametrize("tooth", [0.9, 1.3, 2.0])
@pytest.mark.parametrize("K_S", [((0.5, 1.0), (0.2, 0.5)), ((2.0, 0.1), (0.1, 1.5))])
def test_scattering_layers_are_the_mean_of_kubelka_and_munk_over_gamma_thickness(K_S, tooth):
    (K_1, S_1), (K_2, S_2) = K_S
    ground = 0.85

    def column(g):
        beneath = over(*film(np.float64(g * K_1), np.float64(g * S_1)), np.float64(ground))
        whole = over(*film(np.float64(g * K_2), np.float64(g * S_2)), beneath)
        return whole * gamma.pdf(g, tooth, scale=1 / tooth)

    mean = quad(column, 0, 1, limit=200)[0] + quad(column, 1, np.inf, limit=200)[0]
    depth = 2.0 * np.array([[K_1], [K_2]])
    found = stacked(depth, np.array([S_1, S_2]), one(ground), tooth=tooth, trapping=0.0)
    assert found[0] == pytest.approx(mean, abs=2e-3)


@pytest.mark.parametrize("tooth", [1.3, np.inf])
def test_many_stacks_of_few_layers_look_like_each_by_itself(tooth):
    """Some alike, one all clear, on papers of their own, and more than are worked out at once."""
    rng = np.random.default_rng(20261127)
    pencils, S = rng.uniform(0.01, 4.0, (9, 36)), np.append(rng.uniform(0.0, 1.0, 8), 0.0)
    stacks, papers = rng.integers(0, 9, (1500, 3)), rng.uniform(0.6, 0.9, (1500, 36))
    stacks[7] = 8
    knobs = {"tooth": tooth, "trapping": 0.2}
    found = stacked(pencils[stacks], S[stacks], papers, **knobs)
    for place in (0, 7, 1199, 1499):
        alone = stacked(pencils[stacks[place]], S[stacks[place]], papers[place], **knobs)
        assert np.array_equal(found[place], alone)
    seen = rng.uniform(0.1, 0.6, (9, 36))
    depth = absorption(seen[stacks], papers[:1], S[stacks], tooth=tooth)
    assert np.array_equal(
        depth[3, 1], absorption(seen[stacks[3, 1]], papers[0], S[stacks[3, 1]], tooth=tooth)
    )


@quick
@given(depths, teeth)
def test_optical_depth_inverts_transmittance(depth, tooth):
    assert optical_depth(transmittance(one(depth), tooth), tooth) == pytest.approx(
        depth, rel=1e-6, abs=1e-9
    )


@pytest.mark.parametrize("depth", [0.05, 1.0, 5.0])
def test_paper_without_tooth_is_bouguers_law(depth):
    assert transmittance(one(depth), np.inf) == pytest.approx(np.exp(-depth))
    assert transmittance(one(depth), 1e7) == pytest.approx(np.exp(-depth), rel=1e-5)
    layers = np.array([[0.5], [0.4]])
    knobs = {"tooth": np.inf, "trapping": 0.0}
    both = shared_tooth(layers, one(0.8), np.ones(2), opacity=np.zeros(2), **knobs)
    assert both == pytest.approx(0.5 * 0.4 / 0.8)


@quick
@given(reflectances, reflectances, teeth, st.floats(0, 1), st.floats(0.0, 3.0), st.floats(0.0, 3.0))
def test_any_two_layers(lower, upper, tooth, trapping, S_1, S_2):
    paper, loads = one(0.96), np.ones(2)
    layers, opacity = np.array([[lower], [upper]]), np.array([S_1, S_2])

    def laid(**changed):
        return float(shared_tooth(**{**arguments, **changed})[0])

    arguments = {
        "layers": layers,
        "paper": paper,
        "loads": loads,
        "tooth": tooth,
        "trapping": trapping,
        "opacity": opacity,
    }
    clear = laid(opacity=np.zeros(2))
    assert 0.0 <= clear <= lower + 1e-12
    freely = laid(opacity=np.zeros(2), trapping=0.0)
    assert freely <= min(clear, upper) + 1e-12
    turned = laid(layers=layers[::-1], opacity=np.zeros(2), trapping=0.0)
    assert freely == pytest.approx(turned, rel=1e-12)
    assert laid(loads=np.zeros(2)) == pytest.approx(0.96, rel=1e-12)
    assert 0.0 <= laid() <= 1.0
    nearly = laid(opacity=np.full(2, 1e-9))
    assert nearly == pytest.approx(clear, abs=1e-6)
    for name, step in (
        ("tooth", tooth + 1e-7),
        ("trapping", trapping + 1e-7),
        ("loads", loads + 1e-7),
        ("opacity", opacity + 1e-9),
    ):
        assert laid(**{name: step}) == pytest.approx(laid(), abs=1e-5)


@quick
@given(reflectances, teeth, st.floats(0.0, 3.0))
def test_a_layer_alone_and_heavy_is_its_swatch_or_as_dark_as_its_opacity_lets_it(R, tooth, S):
    """Pure scattering is the lightest a layer can be; where the swatch is darker, it is met."""
    paper = one(0.96)
    depth = absorption(one(R), paper, np.array(S), tooth=tooth)
    seen = stacked(depth[None], one(S), paper, tooth=tooth, trapping=0.0)
    assert depth >= 0.0
    if depth > 1e-9:
        assert seen == pytest.approx(R, abs=1e-7)
    else:
        assert seen <= R + 1e-7


def test_an_endless_layer_shows_its_masstone():
    depth, S = one(1.2), one(0.4)
    found = stacked(1e5 * depth[None], 1e5 * S, one(0.9), tooth=1.3, trapping=0.3)
    assert found == pytest.approx(masstone(np.float64(0.6 / 0.4)), abs=1e-3)


def test_a_covering_layer_hides_the_dark_beneath_it_and_not_the_other_way_round():
    layers, paper, heavy = np.array([[0.05], [0.9]]), one(0.95), np.ones(2)
    knobs = {"tooth": 1.3, "trapping": 0.3}
    dark_first = shared_tooth(layers, paper, heavy, opacity=np.array([0.0, 2.0]), **knobs)
    light_first = shared_tooth(layers[::-1], paper, heavy, opacity=np.array([2.0, 0.0]), **knobs)
    assert dark_first > 0.4
    assert light_first < 0.06


def test_a_layer_takes_less_the_more_it_meets_and_brings():
    """By hand: c are 1 - T of the layers in their darkest band, here 0.5, 0.8 and 0.25."""
    through = np.array([[0.5, 0.9], [0.7, 0.2], [0.75, 0.8]])
    depth = optical_depth(through, 2.0)
    shares = [1.0, np.exp(-0.6 * (0.5 * 0.8) ** 2), np.exp(-0.6 * (0.9 * 0.25) ** 2)]
    whole = sum(share * each for share, each in zip(shares, depth, strict=True))
    found = stacked(depth, np.zeros(3), np.full(2, 0.9), tooth=2.0, trapping=0.6)
    np.testing.assert_allclose(found, 0.9 * transmittance(whole, 2.0), rtol=1e-12)
    bare = stacked(depth[:1], np.zeros(1), np.full(2, 0.9), tooth=2.0, trapping=0.6)
    np.testing.assert_allclose(bare, 0.9 * through[0], rtol=1e-12)
