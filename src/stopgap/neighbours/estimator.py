"""The exact index behind the interface of scikit-learn.

With it colour differences go where that library's estimators go: into pipelines, and before
clusterings that take a graph of what is near (`metric="precomputed"`).
"""

from typing import TYPE_CHECKING, Any, Literal, Self, cast

import numpy as np
from scipy.sparse import csr_array
from sklearn.base import BaseEstimator, TransformerMixin
from sklearn.utils.validation import check_is_fitted, validate_data

from stopgap.arrays import Floats, FloatsLike, Integers
from stopgap.defaults import METRIC, STAND_INS, TOLERANCE
from stopgap.difference import DifferenceFunction
from stopgap.neighbours.batches import nearest_in_batches
from stopgap.neighbours.index import SwatchIndex

if TYPE_CHECKING:
    import numpy.typing as npt

    Rows = npt.NDArray[np.object_]

_FIRST = 16  # neighbours asked for before it is known how many lie within a radius
Mode = Literal["connectivity", "distance"]


class LabNeighbors(TransformerMixin, BaseEstimator):  # type: ignore[misc] # neither is typed
    """The nearest colours under a colour difference, exactly, as scikit-learn asks for them.

    `fit` takes CIE L*a*b* under D50, 2 degree observer, shape (n, 3); what is said of rows is said
    of these. Equal differences are in the order of rows. Without `X` each colour of the fit is
    asked for its nearest others. `transform` gives `radius_neighbors_graph`, which a clustering
    with `metric="precomputed"` takes.

    Parameters
    ----------
    n_neighbors
        How many are told where nobody says.
    radius
        How far off they may be where nobody says [ΔE].
    metric
        A name of METRICS, or a function of the same form.

    Raises
    ------
    ValueError
        As scikit-learn does, for what has another number of columns than three, is no number or
        not finite, or for more neighbours than there are.

    Examples
    --------
    >>> from sklearn.cluster import DBSCAN
    >>> from sklearn.pipeline import make_pipeline
    >>> lab = [[50, 0, 0], [51, 0, 0], [80, 20, 60], [81, 20, 60]]
    >>> LabNeighbors(n_neighbors=1).fit(lab).kneighbors([[79, 20, 60]], return_distance=False)
    array([[2]])
    >>> near = make_pipeline(LabNeighbors(radius=2), DBSCAN(2, min_samples=1, metric="precomputed"))
    >>> near.fit_predict(lab).tolist()
    [0, 0, 1, 1]
    """

    def __init__(
        self,
        n_neighbors: int = STAND_INS,
        radius: float = TOLERANCE,
        metric: str | DifferenceFunction = METRIC,
    ) -> None:
        self.n_neighbors = n_neighbors
        self.radius = radius
        self.metric = metric

    def fit(self, X: FloatsLike, y: object = None) -> Self:
        """Take colours (n, 3); `y` is not looked at."""
        del y
        lab = self._checked(X, reset=True)
        self.n_samples_fit_ = len(lab)
        self.index_ = SwatchIndex(lab, self.metric)
        return self

    def kneighbors(
        self,
        X: FloatsLike | None = None,
        n_neighbors: int | None = None,
        return_distance: bool = True,
    ) -> "tuple[Floats, Integers] | Integers":
        """The differences (m, k) of the k nearest, nearest first, and their rows (m, k)."""
        count = self.n_neighbors if n_neighbors is None else n_neighbors
        delta_E, rows = self._nearest(X, count)
        return (delta_E, rows) if return_distance else rows

    def radius_neighbors(
        self,
        X: FloatsLike | None = None,
        radius: float | None = None,
        return_distance: bool = True,
    ) -> "tuple[Rows, Rows] | Rows":
        """The differences of all within a radius and their rows: an array each, nearest first."""
        delta_E, rows = self._within(X, self.radius if radius is None else radius)
        return (_ragged(delta_E), _ragged(rows)) if return_distance else _ragged(rows)

    def kneighbors_graph(
        self,
        X: FloatsLike | None = None,
        n_neighbors: int | None = None,
        mode: Mode = "connectivity",
    ) -> csr_array:
        """The k nearest as a sparse matrix (m, n): ones, or differences by `mode` "distance"."""
        count = self.n_neighbors if n_neighbors is None else n_neighbors
        delta_E, rows = self._nearest(X, count)
        return self._graph(list(delta_E), list(rows), mode)

    def radius_neighbors_graph(
        self, X: FloatsLike | None = None, radius: float | None = None, mode: Mode = "connectivity"
    ) -> csr_array:
        """All within a radius as a sparse matrix (m, n): ones, or differences."""
        return self._graph(*self._within(X, self.radius if radius is None else radius), mode)

    def transform(self, X: FloatsLike) -> csr_array:
        """The differences to all within the radius as a sparse matrix (m, n)."""
        return self.radius_neighbors_graph(X, mode="distance")

    def _checked(self, X: FloatsLike, *, reset: bool) -> Floats:
        lab = cast(Floats, validate_data(self, X, reset=reset, dtype=np.float64))
        if lab.shape[1] != 3:
            told = f"a colour has 3 columns, L*, a*, b*; found n_features = {lab.shape[1]}."
            raise ValueError(told)
        return lab

    def _asked(self, X: FloatsLike | None) -> Floats:
        check_is_fitted(self)
        return self.index_.lab if X is None else self._checked(X, reset=False)

    def _nearest(self, X: FloatsLike | None, count: int) -> tuple[Floats, Integers]:
        """The nearest of the fit; of each colour of it the nearest others where X is None."""
        asked = self._asked(X)
        most = self.n_samples_fit_ - (X is None)
        if not 1 <= count <= most:
            raise ValueError(f"expected 1 to {most} neighbours, found {count}.")
        delta_E, rows = nearest_in_batches(self.index_, asked, count + (X is None))
        if X is not None:
            return delta_E, rows
        own = rows == np.arange(len(rows))[:, np.newaxis]
        own[~own.any(axis=1), -1] = True  # behind others of the same colour
        shape = (len(rows), count)
        return delta_E[~own].reshape(shape), rows[~own].reshape(shape)

    def _within(self, X: FloatsLike | None, radius: float) -> tuple[list[Floats], list[Integers]]:
        """All within a radius: twice as many are asked for until one lies beyond it."""
        asked = self._asked(X)
        most = self.n_samples_fit_
        found: dict[int, tuple[Floats, Integers]] = {}
        open_, count = np.arange(len(asked)), min(_FIRST, most)
        while len(open_):
            delta_E, rows = nearest_in_batches(self.index_, asked[open_], count)
            inside = delta_E <= radius
            ready = ~inside[:, -1] | (count == most)
            for place in np.flatnonzero(ready).tolist():
                keep = inside[place]
                if X is None:
                    keep = keep & (rows[place] != open_[place])
                found[int(open_[place])] = (delta_E[place, keep], rows[place, keep])
            open_, count = open_[~ready], min(2 * count, most)
        ordered = [found[place] for place in range(len(asked))]
        return [near for near, _ in ordered], [rows for _, rows in ordered]

    def _graph(self, delta_E: list[Floats], rows: list[Integers], mode: Mode) -> csr_array:
        if mode not in ("connectivity", "distance"):
            raise ValueError(f"expected connectivity or distance, found {mode!r}.")
        columns = np.concatenate(rows) if rows else np.empty(0, dtype=np.intp)
        values = np.concatenate(delta_E) if mode == "distance" else np.ones(len(columns))
        ends = np.cumsum([0, *map(len, rows)])
        return csr_array((values, columns, ends), shape=(len(rows), self.n_samples_fit_))


def _ragged(arrays: list[Any]) -> "Rows":
    """Arrays of any lengths in one of objects, as scikit-learn has them."""
    whole = np.empty(len(arrays), dtype=object)
    whole[:] = arrays
    return whole
