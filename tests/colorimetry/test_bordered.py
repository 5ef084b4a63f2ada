"""Tridiagonal systems with a border, against numpy's general solver."""

import numpy as np
import pytest

from stopgap.colorimetry.recovery.bordered import bordered_solution, row_sums


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


def solved(parts):
    """Solutions of systems that stand one after the other."""
    return bordered_solution(*(np.ascontiguousarray(np.moveaxis(one, 0, -1)) for one in parts)).T


@pytest.mark.parametrize(("n", "b"), [(36, 3), (35, 3), (34, 2), (33, 1), (6, 3), (5, 1)])
def test_the_general_solver_says_the_same(n, b):
    parts, matrix, right = systems(n, b)
    found = solved(parts)
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
    np.testing.assert_allclose(solved(parts), expected, rtol=1e-7, atol=1e-9)


def test_a_singular_system_spoils_no_other():
    parts, matrix, right = systems(36, 3)
    parts[2][7] = 0.0  # no border at all
    found = solved(parts)
    assert not np.isfinite(found[7]).all()
    others = np.arange(len(found)) != 7
    expected = np.linalg.solve(matrix[others], right[others])[:, :, 0]
    np.testing.assert_allclose(found[others], expected, rtol=1e-6, atol=1e-6)


def test_each_is_solved_as_if_by_itself():
    parts, *_ = systems(36, 3, m=9)
    found = solved(parts)
    for some in (slice(1), slice(1, 3), slice(4, 9)):
        assert solved([one[some] for one in parts]).tobytes() == found[some].tobytes()
    values = np.random.default_rng(1).normal(size=(36, 5))
    one_by_one = [row_sums(values[:, at : at + 1])[0] for at in range(5)]
    assert row_sums(values).tolist() == one_by_one
