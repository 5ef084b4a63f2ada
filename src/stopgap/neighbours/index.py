"""The exact nearest swatches under any metric."""

import numpy as np

from stopgap.arrays import Floats, FloatsLike, Integers, as_lab
from stopgap.difference import DEFAULT_METRIC, DifferenceFunction, difference_function
from stopgap.errors import InputError
from stopgap.neighbours.exhaustive import rank_exhaustively


class SwatchIndex:
    """Colours that are asked for their nearest.

    Parameters
    ----------
    lab
        CIE L*a*b*, D50, 2 degree observer, shape (n, 3); n may be 0. A copy is kept.
    metric
        A name of METRICS or a function of the same form.

    >>> index = SwatchIndex([[50, 0, 0], [52, 0, 0], [50, 30, 0]], metric="CIE 1976")
    >>> delta_E, rows = index.nearest([[51.5, 0, 0]], k=2)
    >>> delta_E.tolist(), rows.tolist()
    ([[0.5, 1.5]], [[1, 0]])
    """

    def __init__(self, lab: FloatsLike, metric: str | DifferenceFunction = DEFAULT_METRIC) -> None:
        self._lab = np.array(as_lab(np.reshape(lab, (-1, 3)) if np.size(lab) == 0 else lab))
        if self._lab.ndim != 2:
            raise InputError(f"lab: expected shape (n, 3), found {self._lab.shape}.")
        self._difference = difference_function(metric)

    def __len__(self) -> int:
        return len(self._lab)

    def nearest(self, targets: FloatsLike, k: int = 1) -> tuple[Floats, Integers]:
        """The `k` nearest colours to each target, exactly; all of them where there are fewer.

        Parameters
        ----------
        targets
            Lab, shape (m, 3) or (3,) for one; the target is the standard of the metric.
        k
            How many, at least 1.

        Returns
        -------
        delta_E, rows
            Shapes (m, k): differences, nearest first, and rows in `lab`; equal differences are in
            the order of their rows.

        Raises
        ------
        InputError
            For targets of another shape or a `k` below 1.
        """
        wanted = np.atleast_2d(as_lab(targets, "targets"))
        if wanted.ndim != 2:
            raise InputError(f"targets: expected shape (m, 3), found {wanted.shape}.")
        if k < 1:
            raise InputError(f"k: expected 1 or more, found {k}.")
        return rank_exhaustively(self._lab, wanted, min(k, len(self)), self._difference)
