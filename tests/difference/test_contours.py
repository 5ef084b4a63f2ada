"""The unit contour of ΔE00: round the greys by hand, elsewhere against other libraries."""

import colour
import numpy as np
import pytest

from stopgap.difference import Plane, unit_contour
from stopgap.errors import InputError


def test_grey_of_medium_lightness():
    """Sharma, Wu, Dalal (2005), equations (4), (5), (18) to (21), by hand at L* = 50, C* = 0.

    There G = 0.5, so that a* is stretched by 1.5; S_L = S_C = S_H = 1 and R_T = 0.
    """
    contour = unit_contour([50, 0, 0])
    assert np.ptp(contour, axis=0) == pytest.approx([4 / 3, 2.0], abs=5e-3)


def test_light_grey():
    """Equation (18) by hand at L* = 80: S_L = 1 + 0.015 * 900 / sqrt(920) = 1.4451."""
    _, lightness = unit_contour([80, 0, 0], Plane.LIGHTNESS).T
    assert np.ptp(lightness) / 2 == pytest.approx(1.4451, abs=1e-3)


@pytest.mark.parametrize("lab", [(52, 40, 30), (40, 20, -55), (88, -8, 75), (20, 2, 1)])
@pytest.mark.parametrize("plane", list(Plane))
def test_every_point_of_the_contour_is_that_far(lab, plane):
    """ΔE00 from the colour to each point, computed by colour-science (delta_E, CIE 2000)."""
    L, a, b = lab
    around = unit_contour(lab, plane, delta_E=0.2, points=24)
    if plane is Plane.AB:
        there = np.column_stack([np.full(24, L), around])
    else:
        direction = np.array([a, b]) / np.hypot(a, b)
        there = np.column_stack([around[:, 1], around[:, :1] * direction])
    found = colour.delta_E(np.array(lab, float), there, method="CIE 2000")
    np.testing.assert_allclose(found, 0.2, rtol=0.02)


@pytest.mark.parametrize(
    "arguments", [([[50, 0, 0]],), ([50, 0, 0], "sideways"), ([50, 0],)], ids=str
)
def test_bad_arguments(arguments):
    with pytest.raises(InputError):
        unit_contour(*arguments)
    with pytest.raises(InputError):
        unit_contour([50, 0, 0], delta_E=0.0)
