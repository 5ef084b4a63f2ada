import numpy as np
import pytest
from coloraide import Color
from hypothesis import given, settings
from hypothesis import strategies as st

from stopgap.colorimetry import D50, lab_to_xyz, xyz_to_lab
from stopgap.errors import InputError

coordinate = st.floats(-200, 200)


@settings(derandomize=True, deadline=None)
@given(st.tuples(st.floats(-5, 120), coordinate, coordinate))
def test_there_and_back(lab):
    np.testing.assert_allclose(xyz_to_lab(lab_to_xyz(lab)), lab, atol=1e-9)


def test_agrees_with_coloraide():
    rng = np.random.default_rng(1976)
    for lab in rng.uniform([0, -120, -120], [100, 120, 120], (200, 3)):
        expected = 100 * np.array(Color("lab", lab.tolist()).convert("xyz-d50").coords())
        np.testing.assert_allclose(lab_to_xyz(lab), expected, atol=1e-9)
        np.testing.assert_allclose(xyz_to_lab(expected), lab, atol=1e-9)


def test_black_and_white():
    np.testing.assert_array_equal(xyz_to_lab([[0, 0, 0], D50]), [[0, 0, 0], [100, 0, 0]])


def test_refuses_what_is_not_xyz():
    with pytest.raises(InputError, match="xyz: expected X, Y, Z"):
        xyz_to_lab([1.0, 2.0])
    with pytest.raises(InputError, match="finite"):
        xyz_to_lab([1.0, 2.0, np.nan])
