"""CAM16-UCS against colour-science."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stopgap.colorimetry import D50, lab_to_xyz
from stopgap.colorimetry.cam16 import (
    ADAPTING_LUMINANCE,
    cam16_ucs_to_lab,
    lab_to_cam16_ucs,
)

COLOURS = np.random.default_rng(7).uniform([5, -60, -60], [100, 60, 60], (200, 3))


def test_cam16_ucs_equals_colour_science() -> None:
    """Computed by colour-science 0.4.7: XYZ_to_CAM16, then JMh_CAM16_to_CAM16UCS."""
    import colour

    XYZ = lab_to_xyz(COLOURS)
    real = (XYZ > 0).all(axis=-1)
    seen = colour.XYZ_to_CAM16(
        XYZ[real],
        D50,
        ADAPTING_LUMINANCE,
        20.0,
        surround=colour.VIEWING_CONDITIONS_CAM16["Average"],
    )
    expected = colour.JMh_CAM16_to_CAM16UCS(np.stack([seen.J, seen.M, seen.h], axis=-1))
    assert real.sum() > 150
    np.testing.assert_allclose(lab_to_cam16_ucs(COLOURS[real]), expected, atol=1e-9)


def test_white_and_black() -> None:
    np.testing.assert_allclose(lab_to_cam16_ucs([100, 0, 0])[0], 100.0)
    np.testing.assert_allclose(lab_to_cam16_ucs([0, 0, 0]), 0.0, atol=1e-6)


real_colours = st.tuples(st.floats(2, 100), st.floats(0, 0.9), st.floats(0, 2 * np.pi)).map(
    lambda v: (v[0], v[1] * v[0] * np.cos(v[2]), v[1] * v[0] * np.sin(v[2]) * 0.8)
)


@settings(derandomize=True, deadline=None)
@given(real_colours)
def test_round_trip(lab: tuple[float, float, float]) -> None:
    np.testing.assert_allclose(cam16_ucs_to_lab(lab_to_cam16_ucs(lab)), lab, atol=1e-6)


@pytest.mark.parametrize("shape", [(3,), (0, 3), (2, 5, 3)])
def test_shapes(shape: tuple[int, ...]) -> None:
    lab = np.full(shape, 40.0)
    assert lab_to_cam16_ucs(lab).shape == cam16_ucs_to_lab(lab).shape == shape
