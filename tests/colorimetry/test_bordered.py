"""Tridiagonal systems with a border, against numpy's general solver."""

import numpy as np
import pytest

from stopgap.colorimetry.recovery.bordered import bordered_solution


def systems(n, b, *, m=40, seed=4):
    """Random parts of systems, and the whole matrices."""
    random = np.random.default_rng(seed)
    parts = [random.normal(size=size) for size in ((m, n), (m, n - 1), (m, b, n), (m, n), (m, b))]
    diagonal, beside, border, right, below = parts
    matrix = np.zeros((m, n + b, n + b))
    i = np.arange(n)
    matrix[:, i, i] = diagonal
    matrix[:, i[1:], i[:-1]] = matrix[:, i[:-1], i[1:]] = beside
    matrix[:, n:, :n] = border
    matrix[:, :n, n:] = border.swapaxes(1, 2)
    return parts, matrix, np.hstack([right, below])[:, :, None]


@pytest.mark.parametrize(("n", "b"), [(36, 3), (35, 3), (34, 2), (33, 1), (6, 3), (5, 1)])
def test_the_general_solver_says_the_same(n, b):
    parts, matrix, right = systems(n, b)
    found = bordered_solution(*parts)
    expected = np.linalg.solve(matrix, right)[:, :, 0]
    scale = np.abs(expected).max(axis=1, keepdims=True)
    np.testing.assert_allclose(found / scale, expected / scale, atol=1e-8)


def test_a_tridiagonal_part_may_be_singular():
    """The second difference of 36 free samples, whose level only the border holds."""
    parts, matrix, right = systems(36, 3)
    parts[0][:], parts[1][:] = 2.0, -1.0
    parts[0][:, [0, -1]] = 1.0
    i = np.arange(36)
    matrix[:, i, i] = parts[0]
    matrix[:, i[1:], i[:-1]] = matrix[:, i[:-1], i[1:]] = -1.0
    expected = np.linalg.solve(matrix, right)[:, :, 0]
    np.testing.assert_allclose(bordered_solution(*parts), expected, rtol=1e-7, atol=1e-9)


def test_a_singular_system_spoils_no_other():
    parts, matrix, right = systems(36, 3)
    parts[2][7] = 0.0  # no border at all
    found = bordered_solution(*parts)
    assert not np.isfinite(found[7]).all()
    others = np.arange(len(found)) != 7
    expected = np.linalg.solve(matrix[others], right[others])[:, :, 0]
    np.testing.assert_allclose(found[others], expected, rtol=1e-6, atol=1e-6)
