"""The task of packing: what may serve each colour, and what a choice of pencils costs."""

from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Floats, Integers


class Options(NamedTuple):
    """What may serve each of n colours, nearest first.

    `cost` (n, K) is inf where there are fewer; `pencils` (n, K, 2) are the columns of the pencils
    it takes, twice the same where it is one; all that is not among them costs at least `beyond`
    (n,), inf where there is nothing else. Every single pencil is among them.
    """

    cost: Floats
    pencils: Integers
    beyond: Floats

    def nearest(self, written: Integers) -> "Options":
        """All the same, but only `written` (n,) of each colour are not beyond."""
        count = self.cost.shape[1]
        most = min(int(written.max(initial=0)), count - 1)
        rising = np.sort(np.partition(self.cost, most, axis=1)[:, : most + 1], axis=1)
        last = np.minimum(written, count - 1)
        nearer = np.where(written < count, rising[np.arange(len(last)), last], np.inf)
        return self._replace(beyond=np.minimum(self.beyond, nearer))


class Packing(NamedTuple):
    """The task: `size` of `pencils` for colours of `weights` (n,), those of `keep` among them.

    `options` gives at least so many recipes of each colour, `served` what a choice of columns
    really costs each. Costs are above what serves a colour if nothing is left out.
    """

    pencils: int
    size: int
    weights: Floats
    keep: Sequence[int]
    options: Callable[[int], Options]
    served: Callable[[Integers], Floats]

    def mean(self, columns: Integers) -> float:
        """The weighted mean of what a choice costs."""
        return float(self.weights @ self.served(columns))
