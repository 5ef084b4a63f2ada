"""Identities of Kubelka and Munk's theory, from Kubelka (1948) and by integration."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from stopgap.layering.kubelka_munk import (
    contrast_ratio,
    film,
    k_over_s,
    masstone,
    over,
    saunderson,
    saunderson_inverse,
)

quick = settings(derandomize=True, deadline=None, max_examples=100)
powers = st.floats(0.0, 30.0)
reflectances = st.floats(0.01, 0.99)


def over_ground(K, S, ground):
    return over(*film(np.float64(K), np.float64(S)), np.float64(ground))


def test_k_over_s_and_masstone_by_hand():
    assert k_over_s(np.float64(0.5)) == pytest.approx(0.25)
    assert masstone(np.float64(1.0)) == pytest.approx(2.0 - np.sqrt(3.0))


@quick
@given(reflectances)
def test_masstone_inverts_k_over_s(R):
    assert masstone(k_over_s(np.float64(R))) == pytest.approx(R, rel=1e-9)


@pytest.mark.parametrize(
    ("K", "S", "ground"), [(0.3, 0.7, 0.8), (2.0, 0.5, 0.9), (0.01, 3.0, 0.05), (1.0, 0.0, 0.6)]
)
def test_reflectance_solves_the_differential_equation(K, S, ground):
    """dR/dx = S - 2 (K + S) R + S R^2, Kubelka (1948), equation 1, integrated by scipy."""
    path = solve_ivp(
        lambda _, R: S - 2.0 * (K + S) * R + S * R**2, (0, 1), [ground], rtol=1e-10, atol=1e-12
    )
    assert over_ground(K, S, ground) == pytest.approx(path.y[0, -1], rel=1e-8)


@quick
@given(powers, reflectances)
def test_without_scattering_it_is_bouguers_law(K, ground):
    assert over_ground(K, 0.0, ground) == pytest.approx(ground * np.exp(-2.0 * K), rel=1e-9)


@quick
@given(powers, powers, reflectances)
def test_bare_paper_thick_layer_and_bounds(K, S, ground):
    assert over_ground(0.0, 0.0, ground) == pytest.approx(ground)
    assert 0.0 <= over_ground(K, S, ground) <= 1.0
    if S > 0.1 and K > 0.1:
        thick = over_ground(1e3 * K, 1e3 * S, ground)
        assert thick == pytest.approx(masstone(np.float64(K / S)), rel=1e-6)


@quick
@given(st.floats(0.0, 5.0), st.floats(0.0, 5.0), st.floats(0.1, 0.9), reflectances)
def test_a_layer_may_be_cut_in_two(K, S, share, ground):
    below = over_ground(share * K, share * S, ground)
    whole = over_ground((1 - share) * K, (1 - share) * S, below)
    assert whole == pytest.approx(over_ground(K, S, ground), rel=1e-7)


def test_white_layer_over_black_reflects_s_over_one_plus_s():
    """Kubelka's limit for K = 0: R_0 = S X / (1 + S X)."""
    assert over_ground(0.0, 2.0, 0.0) == pytest.approx(2.0 / 3.0, rel=1e-7)


def test_contrast_ratio_as_defined():
    """ISO 6504-3 and ASTM D2805: reflectance over black by reflectance over white; 1 hides."""
    ratios = [
        contrast_ratio(over_ground(0.2, S, 0.0), over_ground(0.2, S, 0.8)) for S in (0.0, 1.0, 60.0)
    ]
    assert ratios[0] == 0.0
    assert 0.0 < ratios[1] < 0.98 < ratios[2] <= 1.0


def test_saunderson_correction():
    """With k_1 = 0.04, k_2 = 0.6 (Saunderson 1942): inside 1 is outside 1, inside 0 is 0.04."""
    inside = np.linspace(0.0, 1.0, 11)
    outside = saunderson(inside)
    assert outside[0] == pytest.approx(0.04)
    assert outside[-1] == pytest.approx(1.0)
    assert outside[5] == pytest.approx(0.04 + 0.96 * 0.4 * 0.5 / 0.7)
    np.testing.assert_allclose(saunderson_inverse(outside), inside, atol=1e-14)
