"""Least squares within bounds are scipy's, on problems that end on a bound and inside."""

import numpy as np
from scipy import optimize

from stopgap.layering.calibration.least_squares import least_squares


def test_answers_are_those_of_scipy_but_for_rounding():
    rng = np.random.default_rng(12)
    on_bounds = inside = 0
    for _ in range(60):
        k = int(rng.integers(1, 6))
        m = k + int(rng.integers(1, 12))
        straight, bent, aim = rng.normal(size=(m, k)), rng.normal(size=(m, k)), rng.normal(size=m)

        def residuals(x, straight=straight, bent=bent, aim=aim):
            return np.append(straight @ x + np.sin(0.5 * bent @ x) * 2 - 3 * aim, 0.3 * x)

        def slopes(x, straight=straight, bent=bent, k=k):
            moved = straight + np.cos(0.5 * bent @ x)[:, None] * bent
            return np.concatenate([moved, 0.3 * np.eye(k)])

        lowest, highest = -rng.uniform(0.01, 3, k), rng.uniform(0.01, 3, k)
        start = np.clip(lowest + 1.0, lowest, highest)  # at times on a bound
        found = least_squares(residuals, slopes, start, lowest, highest)
        expected = optimize.least_squares(residuals, start, slopes, bounds=(lowest, highest))
        np.testing.assert_allclose(found.knobs, expected.x, rtol=0, atol=1e-9)
        np.testing.assert_allclose(found.slopes, expected.jac, rtol=0, atol=1e-8)
        assert ((lowest <= found.knobs) & (found.knobs <= highest)).all()
        on_bounds += bool(expected.active_mask.any())
        inside += not expected.active_mask.any()
    assert min(on_bounds, inside) > 10
