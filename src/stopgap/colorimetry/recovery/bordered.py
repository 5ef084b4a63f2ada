"""Many tridiagonal systems at once, each bordered by a few full rows and columns.

Every other unknown is eliminated, thrice (the first steps of cyclic reduction: R. W. Hockney
(1965), "A fast direct solution of Poisson's equation using Fourier analysis", Journal of the ACM
12(1), 95-113). What is left, an eighth of the unknowns and the border, is dense and solved with
pivoting. The pivots of the elimination are taken as they come: a small one costs accuracy.

Systems stand side by side along the last axis, which is the fast one, and each is solved as if by
itself, to the last bit.
"""

from typing import NamedTuple

import numpy as np

from stopgap.arrays import Floats

_REDUCTIONS = 3


class _System(NamedTuple):
    """[[T, B], [B', C]] x = right, T tridiagonal and symmetric.

    `diagonal` (n, m) and `beside` (n - 1, m) are those of T; `columns` (b + 1, n, m) and `corner`
    (b + 1, b, m) are B and C transposed, with the right-hand side as the last row.
    """

    diagonal: Floats
    beside: Floats
    columns: Floats
    corner: Floats


def bordered_solution(
    diagonal: Floats, beside: Floats, border: Floats, right: Floats, below: Floats
) -> Floats:
    """Solve [[T, B], [B', 0]] x = [right, below] for x (n + b, m), T tridiagonal and symmetric.

    `diagonal` (n, m) and `beside` (n - 1, m) are those of T, `border` (b, n, m) is B', `right` is
    (n, m) and `below` (b, m). The answer of a singular system is not finite.
    """
    b, n, m = border.shape
    columns = np.empty((b + 1, n, m))
    columns[:b], columns[b] = border, right
    corner = np.zeros((b + 1, b, m))
    corner[b] = below
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        return _reduced(_System(diagonal, beside, columns, corner), _REDUCTIONS)


def row_sums(values: Floats) -> Floats:
    """The sum of rows (n, m) one after the other, however many columns there are: (m,)."""
    if values.shape[1] == 1:  # summed by pairs otherwise
        return np.asarray(np.add.accumulate(values)[-1])
    return np.asarray(values.sum(axis=0))


def _reduced(system: _System, times: int) -> Floats:
    """The solution by way of a system without the second, fourth, … unknown."""
    if times == 0:
        return _dense(system)
    diagonal, beside, columns, corner = system
    n, b = len(diagonal), corner.shape[1]
    pivot, gone = diagonal[1::2], columns[:, 1::2]
    before, after = beside[::2], beside[1::2]  # the last of an even n has none after it
    j, k = len(before), len(after)
    upward, downward = before / pivot, after / pivot[:k]
    kept, left = diagonal[::2].copy(), columns[:, ::2].copy()
    kept[:j] -= before * upward
    kept[1 : k + 1] -= after * downward
    left[:, :j] -= gone * upward
    left[:, 1 : k + 1] -= gone[:, :k] * downward
    share = gone / pivot
    corner = corner.copy()
    for i in range(b + 1):
        for other in range(b):
            corner[i, other] -= row_sums(share[i] * gone[other])
    solution = _reduced(_System(kept, -before[:k] * downward, left, corner), times - 1)
    whole = np.empty((n + b, solution.shape[1]))
    whole[:n:2], whole[n:] = solution[: n - j], solution[n - j :]
    again = share[b]
    for i in range(b):
        again -= solution[n - j + i] * share[i]
    again -= upward * solution[:j]
    again[:k] -= downward * solution[1 : k + 1]
    whole[1:n:2] = again
    return whole


def _dense(system: _System) -> Floats:
    """The solution by elimination with pivoting."""
    diagonal, beside, columns, corner = system
    (n, m), b = diagonal.shape, corner.shape[1]
    matrix = np.zeros((n + b, n + b, m))
    flat = matrix.reshape(-1, m)
    flat[: n * (n + b) : n + b + 1] = diagonal
    flat[1 : (n - 1) * (n + b) : n + b + 1] = beside
    flat[n + b : n * (n + b) : n + b + 1] = beside
    matrix[n:, :n] = columns[:b]
    matrix[:n, n:] = columns[:b].swapaxes(0, 1)
    matrix[n:, n:] = corner[:b]
    right = np.concatenate([columns[b], corner[b]])
    return np.asarray(_solved(matrix.transpose(2, 0, 1), right.T[:, :, np.newaxis])[:, :, 0].T)


def _solved(matrix: Floats, right: Floats) -> Floats:
    try:
        return np.asarray(np.linalg.solve(matrix, right), dtype=np.float64)
    except np.linalg.LinAlgError:  # raised for all where one is singular
        regular = np.linalg.slogdet(matrix).sign != 0.0
        solution = np.full(right.shape, np.nan)
        solution[regular] = np.linalg.solve(matrix[regular], right[regular])
        return solution
