from importlib.resources import files
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from scipy.optimize import linprog
from scipy.spatial import ConvexHull

from stopgap.colorimetry import (
    colour_science,
    hex_to_lab,
    lab_to_d50,
    lab_to_xyz,
    reflectance_to_lab,
    reflectance_to_xyz,
    white_point,
    within_optimal_solid,
    xyz_to_d50_lab,
    xyz_to_lab,
)
from stopgap.colorimetry.solid import _weights
from stopgap.errors import InputError

NM = np.arange(360, 781)


def optimal_reflectances(every):
    """Step functions of 0 and 1 with two edges: MacAdam's optimal colours, (n, 421)."""
    edges = np.arange(420, 701, every)  # below, the spectrum locus is not quite convex
    pairs = [(low, high) for low in edges for high in edges if low < high]
    low, high = np.array(pairs).T[:, :, None]
    bands = ((low <= NM) & (high > NM)).astype(float)
    return np.vstack([bands, 1 - bands])


def test_weights_are_those_of_colour_science():
    # colour-science 0.4.7; the file has 12 digits.
    np.testing.assert_allclose(_weights(), reflectance_to_xyz(NM, np.eye(NM.size)), atol=1e-11)
    text = (files("stopgap.colorimetry") / "data" / "d50_2_degree.csv").read_text("utf-8")
    assert len(text.splitlines()) == 6 + 421


def test_optimal_colours_are_the_border():
    # MacAdam 1935: no reflectance has a purer colour of the same lightness than a step function
    # with two edges. A step inwards must be inside, a step outwards must not.
    xyz = reflectance_to_xyz(NM, optimal_reflectances(10))
    white = reflectance_to_xyz(NM, np.ones(NM.size))
    grey = xyz[:, 1:2] / 100 * white
    lab = xyz_to_lab(xyz, white)
    assert len(lab) > 700
    assert within_optimal_solid(lab, 1e-6).all()
    assert within_optimal_solid(xyz_to_lab(xyz + 0.001 * (grey - xyz), white), 0).all()
    further = xyz_to_lab(xyz - 0.01 * (grey - xyz), white)
    moved = np.linalg.norm(further - lab, axis=1)
    assert not within_optimal_solid(further[moved > 1e-3], 0).any()
    assert within_optimal_solid(further, 1.01 * moved.max()).all()
    further = xyz_to_lab(xyz - 0.1 * (grey - xyz), white)
    coloured = np.linalg.norm(further - lab, axis=1) > 1.01
    assert coloured.sum() > 300
    assert not within_optimal_solid(further[coloured]).any()


def furthest(target, grey):
    """How far from grey towards target, as a share, any reflectance reaches: a linear programme."""
    scale = 1 / np.maximum(grey, target)
    programme = linprog(
        np.append(np.zeros(NM.size), -1.0),
        A_eq=np.hstack([_weights().T, (grey - target)[:, None]]) * scale[:, None],
        b_eq=grey * scale,
        bounds=[(0, 1)] * NM.size + [(0, None)],
    )
    assert programme.status == 0
    return programme.x[-1]


def test_agrees_with_linear_programming():
    # The definition itself, solved by scipy's HiGHS: is there a reflectance of that colour?
    white = reflectance_to_xyz(NM, np.ones(NM.size))
    rng = np.random.default_rng(421)
    for lab in rng.uniform([0.05, -100, -100], [99.9, 100, 100], (40, 3)):
        target = np.maximum(lab_to_xyz(lab, white), 1e-3)
        grey = target[1] / 100 * white
        share = furthest(target, grey)
        for part, expected in ((0.9999, True), (1.0001, False)):
            there = grey + part * share * (target - grey)
            assert within_optimal_solid(xyz_to_lab(there, white), 0) == expected


def test_agrees_with_a_hull_of_colour_science():
    # The obvious twin: the hull of colour-science 0.4.7's outer surface (colour.volume), D50, at
    # 10 nm. It is coarser than 1 nm, so that points within 1.5 units of its faces are left out.
    colour = colour_science()
    from colour.volume import XYZ_outer_surface

    shape = colour.SpectralShape(360, 780, 10)
    surface = 100 * XYZ_outer_surface(
        colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"].copy().align(shape),
        colour.SDS_ILLUMINANTS["D50"].copy().align(shape),
    )
    hull = ConvexHull(surface)
    xyz = np.random.default_rng(1935).uniform([0, 0, 0], [100, 100, 85], (4000, 3))
    beyond = (xyz @ hull.equations[:, :3].T + hull.equations[:, 3]).max(axis=1)
    clear = np.abs(beyond) > 1.5
    found = within_optimal_solid(xyz_to_lab(xyz), 0)
    assert (beyond < -1.5).sum() > 500
    assert (beyond > 1.5).sum() > 500
    np.testing.assert_array_equal(found[clear], beyond[clear] < 0)


@settings(derandomize=True, deadline=None)
@given(arrays(np.float64, 43, elements=st.floats(0, 1)))
def test_every_reflectance_is_inside(knots):
    factors = np.interp(NM, np.arange(360, 781, 10), knots)
    assert within_optimal_solid(reflectance_to_lab(NM, factors), 1e-6)


def test_random_reflectances_at_10_nm_are_inside():
    nm = np.arange(400, 701, 10)
    factors = np.random.default_rng(10).beta(0.3, 0.3, (500, nm.size))
    assert within_optimal_solid(reflectance_to_lab(nm, factors)).all()


def munsell(name):
    """L*a*b* of a set of the Munsell renotation, published as xyY under illuminant C."""
    colour = colour_science()
    xyY = np.array([row[1] for row in colour.MUNSELL_COLOURS[name]])
    magnesium_oxide = [1, 1, 0.975]  # its Y; the renotation's white is not the perfect diffuser
    return xyz_to_d50_lab(100 * colour.xyY_to_XYZ(xyY * magnesium_oxide / [1, 1, 100]), "C")


def test_painted_munsell_colours_are_inside():
    # The colours of the Munsell Book of Color of 1929, Newhall, Nickerson, Judd (1943), "Final
    # report of the OSA subcommittee on the spacing of the Munsell colors", from colour-science
    # 0.4.7.
    lab = munsell("Munsell Colours 1929")
    assert len(lab) == 956
    assert within_optimal_solid(lab, 0).all()


def test_extrapolated_munsell_colours_are_nearly_all_inside():
    # The same report's colours up to the MacAdam limits under illuminant C, extrapolated by eye.
    # Bradford throws some of the dark purples and greens at the limit out of the solid of D50.
    lab = munsell("Munsell Colours Real")
    assert len(lab) == 2734
    assert within_optimal_solid(lab).mean() > 0.98
    assert within_optimal_solid(lab[lab[:, 0] > 65]).all()


def test_black_white_and_their_neighbours():
    lab = [[0, 0, 0], [100, 0, 0], [1, 0, 0], [99, 0, 0], [0.5, 0.3, -0.3], [99.5, -0.1, 0.4]]
    assert within_optimal_solid(lab).all()
    assert not within_optimal_solid([[-2, 0, 0], [102, 0, 0], [99, 8, 0], [99, 0, -8]]).any()


def test_colours_that_no_surface_has():
    unreal = [[95, 40, 0], [90, 0, -40], [97, -60, 60], [20, -150, 0], [50, -150, 0], [95, 0, 140]]
    assert not within_optimal_solid(unreal).any()
    assert not within_optimal_solid(hex_to_lab("#00ff00") * [1, 1.3, 1.3])


def test_tolerance_only_adds():
    lab = np.random.default_rng(6).uniform([0, -120, -120], [100, 120, 120], (500, 3))
    found = [within_optimal_solid(lab, tolerance) for tolerance in (0, 0.5, 1, 3, 10)]
    counts = [inside.sum() for inside in found]
    assert counts == sorted(counts)
    assert counts[0] < counts[-1]
    for less, more in pairwise(found):
        assert not (less & ~more).any()


def test_shapes_and_bad_input():
    assert within_optimal_solid(np.full((2, 3, 3), 40.0)).shape == (2, 3)
    assert within_optimal_solid([50, 0, 0]).shape == ()
    assert within_optimal_solid(np.empty((0, 3))).shape == (0,)
    with pytest.raises(InputError, match="tolerance"):
        within_optimal_solid([50, 0, 0], -1)
    with pytest.raises(InputError, match="L\\*, a\\*, b\\*"):
        within_optimal_solid([50, 0])
    assert lab_to_xyz([50, 0, 0], white_point("D50"))[1] == pytest.approx(18.4187, abs=1e-4)
    assert lab_to_d50([50, 0, 0], "D50").tolist() == [50, 0, 0]
