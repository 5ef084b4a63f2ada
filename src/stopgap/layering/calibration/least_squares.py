"""Least squares within bounds, by a trust region that is reflected where it meets one.

The answers are those of `scipy.optimize.least_squares` by its method `trf`, but for rounding; that
package takes longer to load than a calibration takes to fit.

References
----------
M. A. Branch, T. F. Coleman, Y. Li (1999), "A subspace, interior, and conjugate gradient method for
large-scale bound-constrained minimization problems", SIAM Journal on Scientific Computing 21(1),
1-23. J. J. More (1978), "The Levenberg-Marquardt algorithm: implementation and theory", Lecture
Notes in Mathematics 630, Springer, 105-116.
"""

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Floats

_ENOUGH = 1e-8  # of the cost, of the way, and of the slope
_FROM_BOUND = 1e-10  # how far from one the search begins
_TRIES = 100  # residuals for each knob at most
_STAY_OFF = 0.995  # of the way to a bound that a step takes at most
_POOR, _GOOD, _FULL = 0.25, 0.75, 0.95  # of what was expected; of the radius
_NEAR_RADIUS, _DAMPINGS = 0.01, 10  # how near to it a step is to end, and tries to


class Fitted(NamedTuple):
    """Knobs (k,), and the slopes (m, k) of the residuals there."""

    knobs: Floats
    slopes: Floats


def least_squares(
    residuals: Callable[[Floats], Floats],
    slopes: Callable[[Floats], Floats],
    start: Floats,
    lowest: Floats,
    highest: Floats,
) -> Fitted:
    """Knobs (k,) from `lowest` to `highest`, both finite, whose residuals (m,) have a least sum of
    squares; `slopes` (m, k) are those of the residuals, m being at least k.
    """
    bounds = lowest, highest
    x = _inside(start, *bounds, _FROM_BOUND)
    f, J = residuals(x), slopes(x)
    g, left = J.T @ f, _TRIES * len(x) - 1
    room, turns = _room(x, g, *bounds)
    trust = _Trust(float(np.linalg.norm(x / np.sqrt(room))) or 1.0)
    while left > 0 and not trust.ended:
        steepest = float(np.abs(g * room).max())
        if steepest < _ENOUGH:
            break
        model = _Model(J, g, np.sqrt(room), g * turns)
        solved, off = model.solved(f), max(_STAY_OFF, 1.0 - steepest)
        gained = -1.0
        while gained <= 0.0 and left > 0 and not trust.ended:
            scaled, damping = _damped(*solved, trust.radius, trust.damping)
            step, scaled, expected = model.step(x, scaled, trust.radius, *bounds, off)
            moved = _inside(x + step, *bounds, 0.0)
            there, left = residuals(moved), left - 1
            cost = 0.5 * float(f @ f)
            gained = cost - 0.5 * float(there @ there)
            lengths = [float(np.linalg.norm(each)) for each in (scaled, step, x)]
            trust = trust.after(damping, gained, expected, cost, *lengths)
        if gained > 0.0:
            x, f, J = moved, there, slopes(moved)
            g = J.T @ f
        room, turns = _room(x, g, *bounds)
    return Fitted(x, J)


class _Trust(NamedTuple):
    """How long a scaled step may be, how steps were damped last, and whether it has ended."""

    radius: float
    damping: float = 0.0
    ended: bool = False

    def after(
        self,
        damping: float,
        gained: float,
        expected: float,
        cost: float,
        scaled: float,
        step: float,
        from_zero: float,
    ) -> "_Trust":
        """What is trusted after a step of such lengths that was to gain what is `expected`."""
        ratio = gained / expected if expected > 0.0 else float(expected == gained == 0.0)
        short = step < _ENOUGH * (_ENOUGH + from_zero)
        ended = short or (gained < _ENOUGH * cost and ratio > _POOR)
        radius = self.radius
        if ratio < _POOR:
            radius = _POOR * scaled
        elif ratio > _GOOD and scaled > _FULL * radius:
            radius *= 2.0
        return _Trust(radius, damping * self.radius / radius, ended)


class _Model(NamedTuple):
    """The sum of squares near a place as a parabola, in knobs that are `scale` (k,) long each:
    slopes (m, k) and gradient (k,) of the knobs themselves, `bend` (k,) what nearing a bound adds.
    """

    slopes: Floats
    gradient: Floats
    scale: Floats
    bend: Floats

    def solved(self, residuals: Floats) -> tuple[Floats, Floats, Floats]:
        """Singular values (k,), residuals and directions by them."""
        table = np.concatenate([self.slopes * self.scale, np.diag(np.sqrt(self.bend))])
        U, s, V = np.linalg.svd(table, full_matrices=False)
        return s, U[: len(residuals)].T @ residuals, V.T

    def value(self, step: Floats) -> float:
        """What the parabola changes by with a step (k,)."""
        along = self.slopes @ (self.scale * step)
        return float(
            0.5 * (along @ along + (step * self.bend) @ step) + step @ (self.scale * self.gradient)
        )

    def least_along(
        self, way: Floats, least: float, most: float, start: Floats
    ) -> tuple[float, float]:
        """Where from `least` to `most` on a way from a start it is lowest, and how low."""
        along, before = self.slopes @ (self.scale * way), self.slopes @ (self.scale * start)
        a = 0.5 * float(along @ along + (way * self.bend) @ way)
        b = float((self.scale * self.gradient) @ way + before @ along + (start * self.bend) @ way)
        ends = [least, most]
        if a != 0.0 and least < -0.5 * b / a < most:
            ends.append(-0.5 * b / a)
        found = min(ends, key=lambda t: t * (a * t + b))
        return found, found * (a * found + b) + self.value(start)

    def step(
        self, x: Floats, scaled: Floats, radius: float, lowest: Floats, highest: Floats, off: float
    ) -> tuple[Floats, Floats, float]:
        """A step (k,) within the bounds, the same in scaled knobs, and what it is to gain: that
        given, where it meets a bound, the best of it, of its reflection and of the steepest way.
        """
        step = self.scale * scaled
        if ((x + step >= lowest) & (x + step <= highest)).all():
            return step, scaled, -self.value(scaled)
        far, hits = _to_bound(x, step, lowest, highest)
        at_bound = far * scaled
        ways = [off * at_bound]
        reflected = np.where(hits, -scaled, scaled)
        to_radius = _to_radius(at_bound, reflected, radius)
        to_bound, _ = _to_bound(x + far * step, self.scale * reflected, lowest, highest)
        stride = min(to_bound, to_radius)
        if stride > 0.0:
            least = (1.0 - off) * far / stride
            most = off * to_bound if stride == to_bound else to_radius
            if least <= most:
                t, _ = self.least_along(reflected, least, most, at_bound)
                ways.append(at_bound + t * reflected)
        steepest = -self.scale * self.gradient
        to_radius = radius / float(np.linalg.norm(steepest))
        to_bound, _ = _to_bound(x, self.scale * steepest, lowest, highest)
        most = off * to_bound if to_bound < to_radius else to_radius
        t, _ = self.least_along(steepest, 0.0, most, np.zeros_like(x))
        ways.append(t * steepest)
        best = min(ways, key=self.value)
        return self.scale * best, best, -self.value(best)


def _room(x: Floats, g: Floats, lowest: Floats, highest: Floats) -> tuple[Floats, Floats]:
    """How far (k,) each knob is from the bound that it goes to, and its slope."""
    room = np.where(g < 0.0, highest - x, np.where(g > 0.0, x - lowest, 1.0))
    return room, np.sign(g)


def _damped(
    s: Floats, uf: Floats, V: Floats, radius: float, damping: float
) -> tuple[Floats, float]:
    """The step (k,) no longer than the radius that lessens the squares most, and its damping."""
    suf = s * uf
    whole = bool(s[-1] > np.finfo(float).eps * len(s) * s[0])
    if whole:
        step = -(V @ (uf / s))
        if float(np.linalg.norm(step)) <= radius:
            return step, 0.0

    def longer(damping: float) -> tuple[float, float]:
        """By how much the step so damped is longer than the radius, and the slope of that."""
        below = s**2 + damping
        length = float(np.linalg.norm(suf / below))
        return length - radius, -float(np.sum(suf**2 / below**3)) / length

    low, high = 0.0, float(np.linalg.norm(suf)) / radius
    if whole:
        by, slope = longer(0.0)
        low = -by / slope
    elif damping == 0.0:
        damping = -1.0
    for _ in range(_DAMPINGS):
        if not low <= damping <= high:
            damping = max(0.001 * high, float(np.sqrt(low * high)))
        by, slope = longer(damping)
        if by < 0.0:
            high = damping
        low = max(low, damping - by / slope)
        damping -= (by + radius) * by / slope / radius
        if abs(by) < _NEAR_RADIUS * radius:
            break
    step = -(V @ (suf / (s**2 + damping)))
    return step * (radius / float(np.linalg.norm(step))), damping


def _to_bound(
    x: Floats, way: Floats, lowest: Floats, highest: Floats
) -> tuple[float, "np.typing.NDArray[np.bool_]"]:
    """How many times the way leads to the first bound, and which knobs meet it there."""
    times = np.full_like(x, np.inf)
    goes = way != 0.0
    ends = [(end - x)[goes] / way[goes] for end in (lowest, highest)]
    times[goes] = np.maximum(*ends)
    return float(times.min()), (times == times.min()) & goes


def _to_radius(start: Floats, way: Floats, radius: float) -> float:
    """How many times the way leads from a start within the radius to it."""
    a, b = float(way @ way), float(start @ way)
    c = min(float(start @ start) - radius**2, 0.0)
    root = float(np.sqrt(b * b - a * c))
    return (root - b) / a if b <= 0.0 else -c / (b + root)


def _inside(x: Floats, lowest: Floats, highest: Floats, margin: float) -> Floats:
    """Knobs on a bound, or as near to it as the margin, moved off it."""
    if not margin:
        x = np.where(x <= lowest, np.nextafter(lowest, highest), x)
        return np.where(x >= highest, np.nextafter(highest, lowest), x)
    low, high = (margin * np.maximum(1.0, np.abs(end)) for end in (lowest, highest))
    x = np.where(x - lowest <= np.minimum(highest - x, low), lowest + low, x)
    return np.where(highest - x <= np.minimum(x - lowest, high), highest - high, x)
