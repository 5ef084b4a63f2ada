"""Many tridiagonal systems at once, each bordered by a few full rows and columns.

Every other unknown is eliminated, twice (the first steps of cyclic reduction: R. W. Hockney
(1965), "A fast direct solution of Poisson's equation using Fourier analysis", Journal of the ACM
12(1), 95-113). What is left, a quarter of the unknowns and the border, is dense and solved with
pivoting. The pivots of the elimination are taken as they come: a small one costs accuracy.
"""

from typing import NamedTuple

import numpy as np

from stopgap.arrays import Floats

_REDUCTIONS = 2


class _System(NamedTuple):
    """[[T, B], [B', C]] x = right, T tridiagonal and symmetric.

    `diagonal` (m, n) and `beside` (m, n - 1) are those of T; `columns` (m, b + 1, n) and `corner`
    (m, b + 1, b) are B and C transposed, with the right-hand side as the last row.
    """

    diagonal: Floats
    beside: Floats
    columns: Floats
    corner: Floats


def bordered_solution(
    diagonal: Floats, beside: Floats, border: Floats, right: Floats, below: Floats
) -> Floats:
    """Solve [[T, B], [B', 0]] x = [right, below] for x (m, n + b), T tridiagonal and symmetric.

    `diagonal` (m, n) and `beside` (m, n - 1) are those of T, `border` (m, b, n) is B', `right` is
    (m, n) and `below` (m, b). The answer of a singular system is not finite.
    """
    m, b, n = border.shape
    columns = np.empty((m, b + 1, n))
    columns[:, :b], columns[:, b] = border, right
    corner = np.zeros((m, b + 1, b))
    corner[:, b] = below
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        return _reduced(_System(diagonal, beside, columns, corner), _REDUCTIONS)


def _reduced(system: _System, times: int) -> Floats:
    """The solution by way of a system without the second, fourth, … unknown."""
    if times == 0:
        return _dense(system)
    diagonal, beside, columns, corner = system
    n, b = diagonal.shape[1], corner.shape[2]
    pivot, gone = diagonal[:, 1::2], columns[:, :, 1::2]
    before, after = beside[:, ::2], beside[:, 1::2]  # the last of an even n has none after it
    j, k = before.shape[1], after.shape[1]
    upward, downward = before / pivot, after / pivot[:, :k]
    kept, left = diagonal[:, ::2].copy(), columns[:, :, ::2].copy()
    kept[:, :j] -= before * upward
    kept[:, 1 : k + 1] -= after * downward
    left[:, :, :j] -= gone * upward[:, None]
    left[:, :, 1 : k + 1] -= gone[:, :, :k] * downward[:, None]
    share = gone / pivot[:, None]
    corner = corner - share @ gone[:, :b].swapaxes(1, 2)
    solution = _reduced(_System(kept, -before[:, :k] * downward, left, corner), times - 1)
    whole = np.empty((len(solution), n + b))
    whole[:, :n:2], whole[:, n:] = solution[:, : n - j], solution[:, n - j :]
    again = share[:, b] - (solution[:, None, n - j :] @ share[:, :b])[:, 0]
    again -= upward * solution[:, :j]
    again[:, :k] -= downward * solution[:, 1 : k + 1]
    whole[:, 1:n:2] = again
    return whole


def _dense(system: _System) -> Floats:
    """The solution by elimination with pivoting."""
    diagonal, beside, columns, corner = system
    (m, n), b = diagonal.shape, corner.shape[2]
    matrix = np.zeros((m, n + b, n + b))
    flat = matrix.reshape(m, -1)
    flat[:, : n * (n + b) : n + b + 1] = diagonal
    flat[:, 1 : (n - 1) * (n + b) : n + b + 1] = beside
    flat[:, n + b : n * (n + b) : n + b + 1] = beside
    matrix[:, n:, :n] = columns[:, :b]
    matrix[:, :n, n:] = columns[:, :b].swapaxes(1, 2)
    matrix[:, n:, n:] = corner[:, :b]
    right = np.concatenate([columns[:, b], corner[:, b]], axis=1)[:, :, None]
    try:
        return np.linalg.solve(matrix, right)[:, :, 0]
    except np.linalg.LinAlgError:  # raised for all where one is singular
        regular = np.linalg.slogdet(matrix).sign != 0.0
        solution = np.full(right.shape, np.nan)
        solution[regular] = np.linalg.solve(matrix[regular], right[regular])
        return solution[:, :, 0]
