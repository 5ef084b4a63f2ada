"""Least squares within bounds against scipy's, on problems that end on a bound and inside."""

import numpy as np
from scipy import optimize

from stopgap.layering.calibration.least_squares import least_squares


def test_answers_are_those_of_scipy():
    rng = np.random.default_rng(12)
    on_bounds = inside = 0
    for _ in range(60):
        k = int(rng.integers(1, 6))
        m = k + int(rng.integers(1, 12))
        straight, aim = rng.normal(size=(m, k)), rng.normal(size=m)
        bent = 0.2 * rng.normal(size=(m, k))  # so little that there is one answer

        def residuals(x, straight=straight, bent=bent, aim=aim):
            return np.append(straight @ x + np.sin(0.5 * bent @ x) * 2 - 3 * aim, 0.3 * x)

        def slopes(x, straight=straight, bent=bent, k=k):
            moved = straight + np.cos(0.5 * bent @ x)[:, None] * bent
            return np.concatenate([moved, 0.3 * np.eye(k)])

        lowest, highest = -rng.uniform(0.01, 3, k), rng.uniform(0.01, 3, k)
        start = np.clip(lowest + 1.0, lowest, highest)  # at times on a bound
        found = least_squares(residuals, slopes, start, lowest, highest)
        expected = optimize.least_squares(
            residuals, start, slopes, bounds=(lowest, highest), xtol=1e-12, ftol=1e-12
        )
        squares = float(np.sum(residuals(found.knobs) ** 2))
        assert squares <= 2.0 * expected.cost * (1.0 + 1e-6)
        np.testing.assert_allclose(found.knobs, expected.x, rtol=0, atol=2e-3)
        np.testing.assert_array_equal(found.slopes, slopes(found.knobs))
        assert ((lowest <= found.knobs) & (found.knobs <= highest)).all()
        on_bounds += bool(expected.active_mask.any())
        inside += not expected.active_mask.any()
    assert min(on_bounds, inside) > 10
