"""Newton's method for the plainest spectrum: least cost of slope, given tristimulus values.

Unknown are z at 36 wavelengths, with R = (1 + tanh z)/2, and 3 Lagrange multipliers; the equations
are those of Karush, Kuhn and Tucker (S. A. Burns (2020), Color Research & Application 45(1),
8-21). Many colours are solved side by side, each leaving when it is done.
"""

from dataclasses import dataclass

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers
from stopgap.layering.weights import tristimulus_weights

_WIDENINGS = (np.inf, 0.4, 0.2, 0.12)  # each optimum starts the next: from afar Newton overshoots
_COLOUR_TOLERANCE = 1e-11  # of X/Xn, Y/Yn, Z/Zn
_GRADIENT_TOLERANCE = 1e-8
_LONGEST_STEP = 2.0  # in z
_ITERATIONS = 60
_HALVINGS = 12
_DARKEST = 1e-4  # luminance of the grey that Newton's method starts from, and 1 less it


@dataclass(frozen=True, slots=True)
class _Problem:
    """`wanted` tristimulus values (m, 3); the slope of z less `start` (m, 36) costs."""

    wanted: Floats
    start: Floats
    edge: float

    def rows(self, chosen: Integers) -> "_Problem":
        return _Problem(self.wanted[chosen], self.start[chosen], self.edge)

    def residual(self, unknowns: Floats) -> Floats:
        """Gradient of the Lagrangian (m, 36) and what the colours lack (m, 3), side by side."""
        z, multipliers = unknowns[:, :-3], unknowns[:, -3:]
        slope = np.diff(z - self.start, axis=1)
        push = slope / np.sqrt(1.0 + (slope / self.edge) ** 2)
        tanh = np.tanh(z)
        weights = tristimulus_weights()
        gradient = (1.0 - tanh**2) / 2.0 * (multipliers @ weights.T)
        gradient[:, 1:] += push
        gradient[:, :-1] -= push
        return np.hstack([gradient, (1.0 + tanh) / 2.0 @ weights - self.wanted])

    def matrix(self, unknowns: Floats) -> Floats:
        """Derivative of the residual, (m, 39, 39)."""
        z, multipliers = unknowns[:, :-3], unknowns[:, -3:]
        m, n = z.shape
        stiffness = (1.0 + (np.diff(z - self.start, axis=1) / self.edge) ** 2) ** -1.5
        tanh = np.tanh(z)
        steepness = (1.0 - tanh**2) / 2.0
        weights = tristimulus_weights()
        at = np.arange(n)
        matrix = np.zeros((m, n + 3, n + 3))
        matrix[:, at, at] = -2.0 * tanh * steepness * (multipliers @ weights.T)
        matrix[:, at[1:], at[1:]] += stiffness
        matrix[:, at[:-1], at[:-1]] += stiffness
        matrix[:, at[1:], at[:-1]] = matrix[:, at[:-1], at[1:]] = -stiffness
        matrix[:, :n, n:] = steepness[:, :, None] * weights
        matrix[:, n:, :n] = matrix[:, :n, n:].swapaxes(1, 2)
        return matrix


def plainest_spectra(wanted: Floats, start: Floats, edge: float) -> tuple[Floats, Booleans]:
    """Reflectances (m, 36) of tristimulus values (m, 3), and whether each has them.

    `start` (m, 36) holds the z of measured spectra, or zeros; `edge` is the slope of z from one
    wavelength to the next beyond which the cost grows linearly.
    """
    grey = np.arctanh(2.0 * np.clip(wanted[:, 1:2], _DARKEST, 1.0 - _DARKEST) - 1.0)
    z = np.where(np.any(start, axis=1, keepdims=True), start, grey)
    unknowns = np.hstack([z, np.zeros((len(z), 3))])
    solved = np.ones(len(z), dtype=bool)
    reached = np.zeros(len(z), dtype=bool)
    for width in (*(width for width in _WIDENINGS if width > edge), edge):
        trial = unknowns.copy()
        solved = _solve(_Problem(wanted, start, width), trial, solved)
        unknowns[solved] = trial[solved]
        reached |= solved
    return (1.0 + np.tanh(unknowns[:, :-3])) / 2.0, reached


def _solve(problem: _Problem, unknowns: Floats, wanted: Booleans) -> Booleans:
    """Change the `wanted` rows of `unknowns` into the solution; say which rows came there."""
    found = np.zeros(len(unknowns), dtype=bool)
    active = np.flatnonzero(wanted)
    for _ in range(_ITERATIONS):
        residual = problem.rows(active).residual(unknowns[active])
        done = (np.abs(residual[:, -3:]).max(axis=1, initial=0.0) < _COLOUR_TOLERANCE) & (
            np.abs(residual[:, :-3]).max(axis=1, initial=0.0) < _GRADIENT_TOLERANCE
        )
        found[active[done]] = True
        active, residual = active[~done], residual[~done]
        if not active.size:
            break
        part = problem.rows(active)
        matrix = part.matrix(unknowns[active])
        try:
            step = np.linalg.solve(matrix, -residual[..., None])[..., 0]
        except np.linalg.LinAlgError:  # a spectrum driven to 0 or 1 throughout: no such colour
            break
        step *= np.minimum(1.0, _LONGEST_STEP / np.abs(step[:, :-3]).max(axis=1, keepdims=True))
        unknowns[active], moved = _damped(part, unknowns[active], step, residual)
        active = active[moved]
    return found


def _damped(
    problem: _Problem, unknowns: Floats, step: Floats, residual: Floats
) -> tuple[Floats, Booleans]:
    """`unknowns` after the longest of step, step/2, step/4 … that lowers the residual."""
    size = np.linalg.norm(residual, axis=1)
    waiting = np.arange(len(unknowns))
    result = unknowns.copy()
    for halving in range(_HALVINGS):
        trial = unknowns[waiting] + step[waiting] * 0.5**halving
        smaller = np.linalg.norm(problem.rows(waiting).residual(trial), axis=1) < size[waiting]
        result[waiting[smaller]] = trial[smaller]
        waiting = waiting[~smaller]
        if not waiting.size:
            break
    moved = np.ones(len(unknowns), dtype=bool)
    moved[waiting] = False
    return result, moved
