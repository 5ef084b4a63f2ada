"""(p + q)^-n, light that two layers let through on paper of tooth n, as a sum of products.

On nodes of p and of 1 + q whose logarithms rise by a step h it is a symmetric matrix of low rank.
Its functions are found on few nodes, and from these on many (E. J. Nystrom 1930, Acta Mathematica
54, 185-204). Between these they are parabolas in the logarithm through three nodes, and of those
finer nodes are told, between which they are straight. By the logarithm the jth derivative is
(p + q)^-n times a polynomial of w = p/(p + q), at most n^j in size for j up to 3 (at w = 1), since
(p + q)^-n <= w^n, or in 1/2^j where n is less. So a parabola is off by at most (n h)³/(9 sqrt(3)),
a straight line by (n h')²/8, and what is off at the nodes counts up to 5/4 times each way. What is
thicker than the last node lets next to nothing through, and is taken for that. On level paper, of
infinite tooth, it is e^-A' e^-fA'', one product.

Of two other numbers, m and R, `separation` takes polynomials; their nodes are chosen here.
"""

from collections.abc import Iterator
from functools import lru_cache
from math import factorial, log
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt
from numpy.polynomial import Polynomial

from stopgap.arrays import Floats

_NODES = 601  # of p and of q
_EVERY = 6  # of these, functions are found on
_THICKEST = 1e-6  # transmittance at the last of them
_MISSED = 3e-6  # of a transmittance, by the sum of products at the nodes
_PARABOLA = 1.25  # times as far off at most as the nodes it goes through
_FINER = 8  # nodes for one of these
_MOST_NODES = 12  # of m and of R


class Kernel(NamedTuple):
    """Functions (nodes, r) of log p whose products with those of log(1 + q) sum to (p + q)^-n, and
    what they miss at most. Logarithms of nodes rise by `step` from 0; on level paper there are
    none.
    """

    tooth: float
    step: float
    functions: npt.NDArray[np.float32]
    missed: float

    def of(self, depth: Floats) -> npt.NDArray[np.float32]:
        """The functions (..., r) of optical depths A' or f A'' (...), straight between nodes."""
        if np.isinf(self.tooth):
            return np.exp(-depth[..., np.newaxis]).astype(np.float32)
        place = np.clip(np.log1p(depth / self.tooth) / self.step, 0.0, len(self.functions) - 1.0)
        low = np.minimum(place.astype(np.intp), len(self.functions) - 2)
        part = (place - low).astype(np.float32)[..., np.newaxis]
        found = self.functions.take(low, axis=0)
        found += part * (self.functions.take(low + 1, axis=0) - found)
        return found


@lru_cache(maxsize=16)
def kernel_of(tooth: float) -> Kernel:
    """That of a paper of tooth n."""
    if np.isinf(tooth):
        return Kernel(tooth, 0.0, np.zeros((0, 1), dtype=np.float32), 0.0)
    step = -np.log(_THICKEST) / tooth / (_NODES - 1)
    nodes = np.exp(step * np.arange(_NODES))
    table = (nodes[:, np.newaxis] + nodes - 1.0) ** -tooth
    few = table[:, ::_EVERY]
    sizes, functions = np.linalg.eigh(few[::_EVERY])
    for rank in range(1, len(sizes)):
        some = few @ (functions[:, -rank:] / np.sqrt(sizes[-rank:]))
        if np.abs(some[::_EVERY] @ some.T - few.T).max() <= _MISSED:
            break
    off = float(np.abs(some @ some.T - table).max())
    steepest = max(tooth, 0.5) * step
    bent, straight = steepest**3 / (9.0 * np.sqrt(3.0)), (steepest / _FINER) ** 2 / 8.0
    missed = _PARABOLA**2 * off + (1.0 + _PARABOLA) * bent + 2.0 * straight + _THICKEST
    return Kernel(tooth, step / _FINER, _finer(some).astype(np.float32), missed)


def _finer(values: Floats) -> Floats:
    """Values (n, r) at even nodes, and between them by parabolas through the three nearest."""
    place = np.arange((len(values) - 1) * _FINER + 1) / _FINER
    middle = np.clip(np.rint(place).astype(np.intp), 1, len(values) - 2)
    off = (place - middle)[:, np.newaxis]
    before, here, after = (values[middle + one] for one in (-1, 0, 1))
    return np.asarray(
        here + off / 2.0 * (after - before) + off**2 / 2.0 * (after - 2.0 * here + before)
    )


def trapped_nodes(trapping: float, missed: float) -> Floats:
    """The fewest nodes of m between which no more light is missed, if enough are few."""
    for many in range(1, _MOST_NODES):
        if trapping_missed(trapping, many) <= missed:
            break
    return _chebyshev(many)


def grown(many: int) -> float:
    """How many times as far off a polynomial is at most as its values at so many of Chebyshev's
    nodes (T. J. Rivlin 1974, The Chebyshev Polynomials).
    """
    return 1.0 + 2.0 / np.pi * log(many)


def trapping_missed(trapping: float, many: int) -> float:
    """The most that light is missed by between so many nodes of m."""
    touchard = Polynomial([1.0])
    for _ in range(many):
        touchard = Polynomial([0.0, 1.0]) * (touchard + touchard.deriv())
    y = np.linspace(0.0, 10.0 * many, 2001)
    steepest = 1.01 * float(np.abs(touchard(-y) * np.exp(-y)).max())
    return 2.0 * steepest * (trapping / 4.0) ** many / factorial(many)


def reflected_nodes(most: float, brightest: float, missed: float) -> Floats:
    """The fewest nodes of R up to `most` between which no more is missed, if enough are few."""
    for many in range(2, _MOST_NODES):
        nodes = max(most, 1e-9) * _chebyshev(many)
        if reflected_missed(nodes, brightest) <= missed:
            break
    return nodes


def reflected_missed(nodes: Floats, brightest: float) -> float:
    """The most that (1 - R)² x/(1 - R x) is missed by, R between nodes, x up to `brightest`."""
    most = nodes[0] + nodes[-1]
    if most * brightest >= 1.0:
        return np.inf
    R = most * np.linspace(0.0, 1.0, 2001)
    off = (1.0 - R) ** 2 * brightest / (1.0 - R * brightest)
    for node in nodes.tolist():
        off *= (R - node) * brightest / (1.0 - node * brightest)
    return 1.01 * float(np.abs(off).max())


def _chebyshev(many: int) -> Floats:
    """Chebyshev's nodes from 0 to 1."""
    return np.asarray((1.0 - np.cos(np.pi / (2 * many) * np.arange(1, 2 * many, 2))) / 2.0)


def newton(nodes: Floats, values: Floats) -> Iterator[Floats]:
    """What divided differences at the first of the nodes, at the first two, and so on count for at
    `values`, by Newton's form of the polynomial through them all.
    """
    counts = np.ones_like(values)
    for node in nodes.tolist():
        yield counts
        counts = counts * (values - node)


def divided(nodes: Floats, values: list[Any]) -> list[Any]:
    """Divided differences of values at the first of the nodes, at the first two, and so on."""
    for apart in range(1, len(nodes)):
        wide = (nodes[apart:] - nodes[:-apart]).tolist()
        after = [(b - a) / one for a, b, one in zip(values[apart - 1 :], values[apart:], wide)]
        values = values[:apart] + after
    return values
