"""(p + q)^-n, light that two layers let through on paper of tooth n, as a sum of products.

On nodes of p and of 1 + q whose steps grow by the same ratio 1 + h it is a symmetric matrix of low
rank. Its functions are found on few nodes, and from these on many (E. J. Nystrom 1930, Acta
Mathematica 54, 185-204); between them they are taken as straight. What is convex with second
derivative n (n + 1) x^(-n-2) is missed so by at most n (n + 1) h²/8 each way, since no step is
longer than h x. What is thicker than the last node lets next to nothing through, and is taken for
that. On level paper, of infinite tooth, it is e^-A' e^-fA'', one product.
"""

from functools import lru_cache
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from stopgap.arrays import Floats

_NODES = 1201  # of p and of q
_EVERY = 12  # of these, functions are found on
_THICKEST = 1e-5  # transmittance at the last of them
_MISSED = 5e-5  # of a transmittance, by the sum of products at the nodes


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
        part = np.expm1((place - low) * self.step) / np.expm1(self.step)
        found = self.functions[low]
        found += part.astype(np.float32)[..., np.newaxis] * (self.functions[low + 1] - found)
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
    straight = tooth * (tooth + 1.0) * np.expm1(step) ** 2 / 4.0
    return Kernel(tooth, step, some.astype(np.float32), off + straight + _THICKEST)
