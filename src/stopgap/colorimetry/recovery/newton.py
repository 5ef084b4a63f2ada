"""Newton's method for the plainest spectrum: least cost of slope, given tristimulus values.

Unknown are z at 36 wavelengths, with R = (1 + tanh z)/2, and 3 Lagrange multipliers; the equations
are those of Karush, Kuhn and Tucker (S. A. Burns (2020), Color Research & Application 45(1),
8-21). From afar Newton's method overshoots, and there may be more than one optimum; each colour is
therefore led there by the optima of wider edges. Many are solved side by side, each at its own
width and leaving when it is done.
"""

from typing import NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers
from stopgap.colorimetry.recovery.bordered import bordered_solution
from stopgap.colorimetry.recovery.weights import tristimulus_weights

_WIDENINGS = (np.inf, 0.4, 0.2, 0.12)
_COLOUR_TOLERANCE = 1e-11  # of X/Xn, Y/Yn, Z/Zn
_GRADIENT_TOLERANCE = 1e-8
_ROUGHLY = 1e4  # times these tolerances, for an optimum that only starts the next
_LONGEST_STEP = 2.0  # in z
_ITERATIONS = 60  # at one width
_HALVINGS = 12
_DARKEST = 1e-4  # luminance of the grey that Newton's method starts from, and 1 less it


class _Problem(NamedTuple):
    """`wanted` (m, 3) tristimulus values; slopes of z less `own` (m, 35) cost, by `edge` (m, 1)."""

    wanted: Floats
    own: Floats
    edge: Floats

    def rows(self, chosen: Integers | Booleans) -> "_Problem":
        return _Problem(*(part[chosen] for part in self))

    def at(self, unknowns: Floats) -> "_Point":
        z, multipliers = unknowns[:, :-3], unknowns[:, -3:]
        weights = tristimulus_weights()
        slope = z[:, 1:] - z[:, :-1] - self.own
        root = np.sqrt(1.0 + (slope / self.edge) ** 2)
        push = slope / root
        tanh = np.tanh(z)
        steepness = (1.0 - tanh * tanh) / 2.0
        pull = multipliers @ weights.T
        gradient = steepness * pull
        gradient[:, 1:] += push
        gradient[:, :-1] -= push
        lacking = (1.0 + tanh) / 2.0 @ weights - self.wanted
        return _Point(
            unknowns, gradient, lacking, tanh, steepness, pull, 1.0 / (root * root * root)
        )


class _Point(NamedTuple):
    """The equations at `unknowns` (m, 39), and what their derivative is made of.

    `gradient` (m, 36) of the Lagrangian and what the colours are `lacking` (m, 3) are 0 at the
    optimum.
    """

    unknowns: Floats
    gradient: Floats
    lacking: Floats
    tanh: Floats
    steepness: Floats  # dR/dz
    pull: Floats  # of the multipliers on R
    stiffness: Floats  # d(push)/d(slope)

    def rows(self, chosen: Integers | Booleans) -> "_Point":
        return _Point(*(part[chosen] for part in self))

    def size(self) -> Floats:
        squares = (self.gradient**2).sum(axis=1) + (self.lacking**2).sum(axis=1)
        return np.asarray(np.sqrt(squares))

    def within(self, slack: Floats) -> Booleans:
        """Which rows are at their optimum, the tolerances being widened by `slack` (m,)."""
        lacking = np.abs(self.lacking).max(axis=1, initial=0.0) / _COLOUR_TOLERANCE
        gradient = np.abs(self.gradient).max(axis=1, initial=0.0) / _GRADIENT_TOLERANCE
        return np.asarray(np.maximum(lacking, gradient) < slack)

    def newton_step(self) -> Floats:
        """Change of the unknowns (m, 39), of z at most _LONGEST_STEP; NaN where singular."""
        diagonal = -2.0 * self.tanh * self.steepness * self.pull
        diagonal[:, 1:] += self.stiffness
        diagonal[:, :-1] += self.stiffness
        border = self.steepness[:, None] * tristimulus_weights().T
        step = bordered_solution(diagonal, -self.stiffness, border, -self.gradient, -self.lacking)
        longest = np.abs(step[:, :-3]).max(axis=1, keepdims=True)
        return np.asarray(step / np.maximum(1.0, longest / _LONGEST_STEP))


def plainest_spectra(wanted: Floats, start: Floats, edge: float) -> tuple[Floats, Booleans]:
    """Reflectances (m, 36) of tristimulus values (m, 3), and whether each has them.

    `start` (m, 36) holds the z of measured spectra, or zeros; `edge` is the slope of z from one
    wavelength to the next beyond which the cost grows linearly.
    """
    grey = np.arctanh(2.0 * np.clip(wanted[:, 1:2], _DARKEST, 1.0 - _DARKEST) - 1.0)
    z = np.where(np.any(start, axis=1, keepdims=True), start, grey)
    unknowns = np.hstack([z, np.zeros((len(z), 3))])
    own = start[:, 1:] - start[:, :-1]
    widths = np.array([*(width for width in _WIDENINGS if width > edge), edge])
    came = _led(wanted, own, unknowns, widths, _ROUGHLY)
    reached = came == len(widths)
    rest = np.flatnonzero((came > 0) & ~reached)
    if rest.size:  # at the edge of all colours: any optimum on the way, met exactly, will do
        nearby = unknowns[rest]
        reached[rest] = _led(wanted[rest], own[rest], nearby, widths, 1.0) > 0
        unknowns[rest] = nearby
    return (1.0 + np.tanh(unknowns[:, :-3])) / 2.0, reached


def _led(wanted: Floats, own: Floats, unknowns: Floats, widths: Floats, slack: float) -> Integers:
    """Change `unknowns` into the optimum of the last of `widths`, or the last that is found.

    `slack` widens the tolerances of all but the last. Returns how many were found.
    """
    came = np.zeros(len(unknowns), dtype=np.intp)
    iterations = came.copy()
    slacks = np.full(len(widths), slack)
    slacks[-1] = 1.0
    active = np.arange(len(unknowns))
    problem = _Problem(wanted, own, np.full((len(unknowns), 1), widths[0]))
    point = problem.at(unknowns)
    while active.size:
        done = point.within(slacks[came[active]])
        if done.any():
            arrived = active[done]
            unknowns[arrived] = point.unknowns[done]
            came[arrived] += 1
            iterations[arrived] = 0
            on = came[active] < len(widths)
            active, problem = active[on], problem.rows(on)
            problem = problem._replace(edge=widths[came[active], None])
            point = problem.at(point.unknowns[on])
            continue
        point, moved = _damped(problem, point)
        iterations[active] += 1
        moved &= iterations[active] < _ITERATIONS
        if not moved.all():
            active, problem, point = active[moved], problem.rows(moved), point.rows(moved)
    return came


def _damped(problem: _Problem, point: _Point) -> tuple[_Point, Booleans]:
    """The `point` after the longest of step, step/2, step/4 … that brings it nearer, if any."""
    step, size = point.newton_step(), point.size()
    trial = problem.at(point.unknowns + step)
    moved = trial.size() < size
    waiting = np.flatnonzero(~moved)
    if not waiting.size:
        return trial, moved
    unknowns = trial.unknowns
    for halving in range(1, _HALVINGS):
        nearer = point.unknowns[waiting] + step[waiting] * 0.5**halving
        smaller = problem.rows(waiting).at(nearer).size() < size[waiting]
        unknowns[waiting[smaller]] = nearer[smaller]
        moved[waiting[smaller]] = True
        waiting = waiting[~smaller]
        if not waiting.size:
            break
    return problem.at(unknowns), moved
