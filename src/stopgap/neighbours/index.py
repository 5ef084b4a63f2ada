"""The exact nearest swatches under any metric, at any size.

Three ways lead to the same answer, rows and order; which is taken is a matter of time only:

-   looking at every colour (`colours`), for few of them and for the first few questions;
-   descending a tree of boxes (`tree`, `descent`), where the metric has a proved lower bound of its
    difference over a box. The bounds and their proofs are in `difference.bounds` and, for
    CIEDE2000, which is no metric and needs a longer one, in `difference.bounds.ciede2000`;
-   the same descent compiled (`compiled`), for CIEDE2000 after many questions where numba is
    installed, with `pip install stopgap[fast]`.

Whatever costs time before it saves some, building the tree or loading numba, is done once the
questions asked without it have taken about as long. So no question on a small library, and no
single one on a large library, pays for it.

The first two ways give the same differences to the last bit; compiled ones agree to about 1e-13.
"""

from collections.abc import Mapping
from threading import Lock
from typing import TYPE_CHECKING, Any

import numpy as np

from stopgap.arrays import Booleans, Floats, FloatsLike, Integers, as_lab
from stopgap.difference import (
    DEFAULT_METRIC,
    METRICS,
    DifferenceFunction,
    Metric,
    delta_E_ciede2000,
    difference_function,
)
from stopgap.errors import InputError
from stopgap.neighbours.colours import FEW, StoredColours
from stopgap.neighbours.tree import Tree, build_tree

if TYPE_CHECKING:
    import numpy.typing as npt

    from stopgap.neighbours.colours import Compiled

_BEFORE_TREE = 8
"""Questions that take as long, when every colour is looked at, as building the tree."""

_BEFORE_COMPILED = 20_000
"""Questions that take as long, descending in numpy, as loading the compiled descent."""


class SwatchIndex:
    """Colours that are asked for their nearest.

    Any number of threads may ask at once, also while one adds or removes: each question is answered
    from the colours of one moment. It can be pickled, with its tree. Memory: 24 bytes a colour, and
    about 50 more once it has a tree (`nbytes` tells); building it takes about 100 for a moment.

    Parameters
    ----------
    lab
        CIE L*a*b*, D50, 2 degree observer, shape (n, 3); n may be 0. A copy is kept.
    metric
        A name of METRICS or a function of the same form; any other function than those of METRICS
        has no proved bound, and every colour is looked at.

    >>> index = SwatchIndex([[50, 0, 0], [52, 0, 0], [50, 30, 0]], metric="CIE 1976")
    >>> delta_E, rows = index.nearest([[51.5, 0, 0]], k=2)
    >>> delta_E.tolist(), rows.tolist()
    ([[0.5, 1.5]], [[1, 0]])
    """

    def __init__(self, lab: FloatsLike, metric: str | DifferenceFunction = DEFAULT_METRIC) -> None:
        self._metric = _metric(difference_function(metric))
        self._colours = StoredColours(_table(lab, "lab").copy())
        self._start()

    def _start(self) -> None:
        self._compiled: Compiled | None = None
        self._loaded = False
        self._scanned = self._descended = 0  # targets; between threads one may be lost
        self._lock = Lock()

    def __getstate__(self) -> tuple[Metric, StoredColours, bool]:
        """What another process needs; the tree goes along, compiled code is loaded there."""
        return self._metric, self._colours, self._compiled is not None

    def __setstate__(self, state: tuple[Metric, StoredColours, bool]) -> None:
        """As it was, tree included."""
        self._metric, self._colours, compiled = state
        self._start()
        self._descended = _BEFORE_COMPILED if compiled else 0

    def to_arrays(self) -> dict[str, "npt.NDArray[Any]"]:
        """The index with its tree as arrays to be kept in a file, for `from_arrays`.

        Raises
        ------
        InputError
            Where colours were removed, or added since the tree was built, or there can be none.
        """
        self.prepare(compiled=False)
        colours = self._colours
        tree = colours.tree
        if tree is None or colours.present is not None or tree.count != len(colours.lab):
            raise InputError("to_arrays: only an index with a tree over all its colours is kept.")
        return tree.to_arrays()

    @classmethod
    def from_arrays(
        cls,
        arrays: "Mapping[str, npt.NDArray[Any]]",
        metric: str | DifferenceFunction = DEFAULT_METRIC,
    ) -> "SwatchIndex":
        """The index that `to_arrays` gave, ready at once. O(n); the boxes are taken as they are.

        Raises
        ------
        InputError
            Where the arrays do not go together.
        """
        tree, lab = Tree.from_arrays(arrays)
        index = cls.__new__(cls)
        index._metric = _metric(difference_function(metric))
        index._colours = StoredColours(lab, tree=tree, planted=tree.count)
        index._start()
        return index

    def __len__(self) -> int:
        """How many colours can be answers."""
        return self._colours.count

    @property
    def lab(self) -> Floats:
        """The colours (n, 3) there ever were, removed ones included; not to be written to."""
        view = self._colours.lab.view()
        view.flags.writeable = False
        return view

    @property
    def difference(self) -> DifferenceFunction:
        """The function that its answers are nearest under."""
        return self._metric.function

    @property
    def nbytes(self) -> int:
        """Memory of the colours and of the tree, if there is one [bytes]."""
        return self._colours.nbytes

    def nearest(
        self, targets: FloatsLike, k: int = 1, *, allowed: "npt.ArrayLike | None" = None
    ) -> tuple[Floats, Integers]:
        """The `k` nearest colours to each target, exactly; all of them where there are fewer.

        Parameters
        ----------
        targets
            Lab, shape (m, 3) or (3,) for one; the target is the standard of the metric.
        k
            How many, at least 1.
        allowed
            Which rows may be answers: one truth value for every row there ever was, removed ones
            included (what it says of those is immaterial). Taking it in costs O(n) a call; see
            `restricted` for many calls.

        Returns
        -------
        delta_E, rows
            Shapes (m, k): differences, nearest first, and rows in `lab`; equal differences are in
            the order of their rows.

        Raises
        ------
        InputError
            For targets or `allowed` of another shape or a `k` below 1.
        """
        wanted = np.atleast_2d(as_lab(targets, "targets"))
        if wanted.ndim != 2:
            raise InputError(f"targets: expected shape (m, 3), found {wanted.shape}.")
        if k < 1:
            raise InputError(f"k: expected 1 or more, found {k}.")
        self._make_ready(len(wanted))
        colours = self._colours
        mask = None if allowed is None else _mask(allowed, len(colours.lab))
        return colours.nearest(wanted, k, self._metric, mask, self._compiled)

    def prepare(self, *, compiled: bool = True) -> None:
        """Build the tree and load the compiled descent now, where there can be one, not later."""
        if self._metric.lower_bound is None:
            return
        with self._lock:
            if self._colours.tree is None:
                self._colours = self._colours.planted_anew()
            if compiled and not self._loaded:
                self._compiled, self._loaded = _compiled_descent(self._metric), True

    def restricted(self, allowed: "npt.ArrayLike") -> "SwatchIndex":
        """An index of the `allowed` rows alone, under the same row numbers. O(n) once.

        For many questions with one filter. Colours, and the tree where it stays, are shared; later
        changes are not.
        """
        colours = self._colours
        other = SwatchIndex.__new__(SwatchIndex)
        left_out = np.flatnonzero(~_mask(allowed, len(colours.lab)))
        other.__setstate__((self._metric, colours.without(left_out), self._compiled is not None))
        return other

    def rearranged(self, lab: Floats, before: Integers) -> "SwatchIndex":
        """An index of `lab` (n, 3), each the row `before` (n,) here, or a new one, -1. O(n)."""
        other = SwatchIndex.__new__(SwatchIndex)
        other.__setstate__((self._metric, self._colours.rearranged(lab, before), False))
        return other

    def add(self, lab: FloatsLike) -> Integers:
        """Add colours (m, 3), and return their rows: those that follow the last one. O(n)."""
        added = _table(lab, "lab")
        with self._lock:
            first = len(self._colours.lab)
            self._change(self._colours.with_added(added))
        return np.arange(first, first + len(added))

    def remove(self, rows: "npt.ArrayLike") -> None:
        """Take the colours of `rows` out; the rows of all others stay as they are. O(n).

        Raises
        ------
        InputError
            If there is no such row, or it was removed before.
        """
        gone = np.atleast_1d(np.asarray(rows))
        if gone.size > 0 and gone.dtype.kind not in "iu":
            raise InputError("rows: expected whole numbers.")
        gone = gone.astype(np.intp)
        with self._lock:
            present = self._colours.present
            outside = (gone < 0) | (gone >= len(self._colours.lab))
            if present is not None:
                outside[~outside] = ~present[gone[~outside]]
            if outside.any():
                raise InputError(f"rows: there is no row {gone[outside][0]}.")
            self._change(self._colours.without(gone))

    def _change(self, colours: StoredColours) -> None:
        self._colours = colours
        if colours.tree is None:
            self._scanned = 0

    def _make_ready(self, questions: int) -> None:
        """Prepare what pays for itself with so many more questions."""
        if len(self._colours.lab) <= FEW:
            return
        if self._colours.tree is None:
            self._scanned += questions
            if self._scanned > _BEFORE_TREE:
                self.prepare(compiled=False)
        if self._colours.tree is not None and not self._loaded:
            self._descended += questions
            if self._descended > _BEFORE_COMPILED:
                self.prepare()


def _table(lab: FloatsLike, name: str) -> Floats:
    table = as_lab(np.reshape(lab, (-1, 3)) if np.size(lab) == 0 else lab, name)
    if table.ndim != 2:
        raise InputError(f"{name}: expected shape (n, 3), found {table.shape}.")
    return table


def _mask(allowed: "npt.ArrayLike", count: int) -> Booleans:
    mask = np.asarray(allowed)
    if mask.dtype != np.bool_ or mask.shape != (count,):
        raise InputError(f"allowed: expected {count} truth values, one for each row.")
    return mask


def _metric(function: DifferenceFunction) -> Metric:
    """The row of METRICS, or one without a bound for a function of the user's own."""
    for metric in METRICS.values():
        if metric.function is function:
            return metric
    return Metric(function, symmetric=False, about="")


def _compiled_descent(metric: Metric) -> "Compiled | None":
    if metric.function is not delta_E_ciede2000:
        return None
    one = np.zeros((1, 3))
    try:
        from stopgap.neighbours.compiled import nearest_compiled

        nearest_compiled(build_tree(one, np.zeros(1, dtype=np.intp)), one, 1)  # compiled by this
    except (
        ImportError,
        RuntimeError,
        OSError,
    ):  # it is not there, or finds no folder for its cache
        return None
    return nearest_compiled
