"""Optima of the cost of `plainest`, many colours side by side, by Newton's method.

Unknown are z at 36 wavelengths and 3 Lagrange multipliers, by the equations of Karush, Kuhn and
Tucker (S. A. Burns (2020), Color Research & Application 45(1), 8-21). Colours stand along the last
axis of all arrays, each at its own width; one leaves when it is done, and others come in its place.
What becomes of a colour does not hang on which stand beside it, to the last bit.
"""

from typing import NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers
from stopgap.colorimetry.recovery.bordered import bordered_solution, row_sums
from stopgap.colorimetry.recovery.weights import tristimulus_weights

_COLOUR_TOLERANCE = 1e-11  # of X/Xn, Y/Yn, Z/Zn
_GRADIENT_TOLERANCE = 1e-8
_LONGEST_STEP = 2.0  # in z
_ITERATIONS = 60  # at one width
_HALVINGS = 12
_AT_ONCE, _FEW = 768, 384  # colours side by side at most, and so few that others come beside them


class _Problem(NamedTuple):
    """`wanted` (3, m) tristimulus values; slopes of z less `own` (35, m) cost, by `edge` (m,)."""

    wanted: Floats
    own: Floats
    edge: Floats

    def some(self, chosen: Integers) -> "_Problem":
        return _Problem(*(part.take(chosen, axis=-1) for part in self))

    def at(self, unknowns: Floats) -> "_Point":
        z, multipliers = unknowns[:-3], unknowns[-3:]
        weights = tristimulus_weights().T[:, :, np.newaxis]
        slope = z[1:] - z[:-1] - self.own
        root = np.sqrt(1.0 + (slope / self.edge) ** 2)
        push = slope / root
        tanh = np.tanh(z)
        steepness = (1.0 - tanh * tanh) / 2.0
        pull = weights[0] * multipliers[0]
        pull += weights[1] * multipliers[1]
        pull += weights[2] * multipliers[2]
        gradient = steepness * pull
        gradient[1:] += push
        gradient[:-1] -= push
        reflectance = (1.0 + tanh) / 2.0
        found = [row_sums(reflectance * each) for each in weights]
        return _Point(
            unknowns,
            gradient,
            np.stack(found) - self.wanted,
            tanh,
            steepness,
            pull,
            1.0 / (root * root * root),
        )


class _Point(NamedTuple):
    """The equations at `unknowns` (39, m), and what their derivative is made of.

    `gradient` (36, m) of the Lagrangian and what the colours are `lacking` (3, m) are 0 at the
    optimum.
    """

    unknowns: Floats
    gradient: Floats
    lacking: Floats
    tanh: Floats
    steepness: Floats  # dR/dz
    pull: Floats  # of the multipliers on R
    stiffness: Floats  # d(push)/d(slope)

    def some(self, chosen: Integers) -> "_Point":
        return _Point(*(part.take(chosen, axis=-1) for part in self))

    def put(self, chosen: Integers, others: "_Point") -> None:
        """Put others, in place, where those that are chosen stand."""
        for mine, its in zip(self, others, strict=True):
            mine[..., chosen] = its

    def size(self) -> Floats:
        return np.sqrt(row_sums(self.gradient**2) + row_sums(self.lacking**2))

    def within(self, slack: Floats) -> Booleans:
        """Which are at their optimum, the tolerances being widened by `slack` (m,)."""
        lacking = np.abs(self.lacking).max(axis=0, initial=0.0) / _COLOUR_TOLERANCE
        gradient = np.abs(self.gradient).max(axis=0, initial=0.0) / _GRADIENT_TOLERANCE
        return np.asarray(np.maximum(lacking, gradient) < slack)

    def newton_step(self) -> Floats:
        """Change of the unknowns (39, m), of z at most _LONGEST_STEP; NaN where singular."""
        diagonal = -2.0 * self.tanh * self.steepness * self.pull
        diagonal[1:] += self.stiffness
        diagonal[:-1] += self.stiffness
        border = self.steepness * tristimulus_weights().T[:, :, np.newaxis]
        step = bordered_solution(diagonal, -self.stiffness, border, -self.gradient, -self.lacking)
        longest = np.abs(step[:-3]).max(axis=0)
        return np.asarray(step / np.maximum(1.0, longest / _LONGEST_STEP))


def led(wanted: Floats, own: Floats, unknowns: Floats, widths: Floats, slack: float) -> Integers:
    """Change `unknowns` (39, m) into the optimum of the last of `widths`, or the last that is
    found, for `wanted` (3, m) and `own` (35, m) slopes.

    `slack` widens the tolerances of all but the last. Returns how many (m,) were found.
    """
    count = unknowns.shape[1]
    came, iterations = np.zeros((2, count), dtype=np.intp)
    slacks = np.full(len(widths), slack)
    slacks[-1] = 1.0
    whole = _Problem(wanted, own, np.full(count, widths[0]))
    active, begun = np.arange(0), 0
    problem = whole.some(active)
    point = problem.at(unknowns[:, :0])
    while active.size or begun < count:
        if active.size <= _FEW and begun < count:
            fresh = np.arange(begun, min(begun + _AT_ONCE - active.size, count))
            its, begun = whole.some(fresh), begun + fresh.size
            point = _Point(*_beside(point, its.at(unknowns.take(fresh, axis=1))))
            problem, active = _Problem(*_beside(problem, its)), np.append(active, fresh)
        done = np.flatnonzero(point.within(slacks[came[active]]))
        if done.size:
            arrived = active[done]
            unknowns[:, arrived] = point.unknowns[:, done]
            came[arrived] += 1
            iterations[arrived] = 0
            problem.edge[done] = widths[np.minimum(came[arrived], len(widths) - 1)]
            point.put(done, problem.some(done).at(point.unknowns.take(done, axis=1)))
            kept = came[active] < len(widths)
        else:
            point, kept = _damped(problem, point)
            iterations[active] += 1
            kept &= iterations[active] < _ITERATIONS
        if not kept.all():
            on = np.flatnonzero(kept)
            active, problem, point = active[on], problem.some(on), point.some(on)
    return came


def _beside(some: tuple[Floats, ...], others: tuple[Floats, ...]) -> list[Floats]:
    return [np.concatenate(parts, axis=-1) for parts in zip(some, others, strict=True)]


def _damped(problem: _Problem, point: _Point) -> tuple[_Point, Booleans]:
    """The `point` after the longest of step, step/2, step/4 … that brings it nearer, if any."""
    step, size = point.newton_step(), point.size()
    trial = problem.at(point.unknowns + step)
    moved = trial.size() < size
    for halving in range(1, _HALVINGS):
        waiting = np.flatnonzero(~moved)
        if not waiting.size:
            break
        nearer = point.unknowns.take(waiting, axis=1) + step.take(waiting, axis=1) * 0.5**halving
        tried = problem.some(waiting).at(nearer)
        smaller = np.flatnonzero(tried.size() < size[waiting])
        trial.put(waiting[smaller], tried.some(smaller))
        moved[waiting[smaller]] = True
    return trial, moved
