"""The one door to HiGHS, which solves mixed-integer programmes.

References
----------
Q. Huangfu, J. A. J. Hall (2018), "Parallelizing the dual revised simplex method", Mathematical
Programming Computation 10(1), 119-142: HiGHS.
"""

import ctypes
import math
import os
import sys
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, NamedTuple, TypeVar

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers

if TYPE_CHECKING:
    from highspy import HighsBasis

_Array = TypeVar("_Array", Floats, Integers)


class Rows(NamedTuple):
    """The limits of the rows; where each column starts, the rows that it is in, and its values."""

    lower: Floats
    upper: Floats
    starts: Integers
    rows: Integers
    values: Floats


class SimplexBasis(NamedTuple):
    """Where simplex stood: the statuses of the first columns and rows, as HiGHS numbers them."""

    columns: Integers
    rows: Integers

    @classmethod
    def none(cls) -> "SimplexBasis":
        """Where nothing was solved yet."""
        return cls(*np.empty((2, 0), dtype=np.intp))

    @classmethod
    def of(cls, basis: "HighsBasis") -> "SimplexBasis":
        """As HiGHS tells it."""
        told = basis.col_status, basis.row_status
        return cls(*(np.array([*map(int, part)], dtype=np.intp) for part in told))

    def told(self) -> "HighsBasis":
        """As HiGHS is told it."""
        import highspy as hs

        basis, every = hs.HighsBasis(), [*map(hs.HighsBasisStatus, range(5))]
        told = ([every[status] for status in part.tolist()] for part in self)
        basis.col_status, basis.row_status = told
        return basis

    def grown(self, columns: int, rows: int) -> "SimplexBasis":
        """The same with so many of them, the new columns at 0 and the new rows slack."""
        return SimplexBasis(
            np.append(self.columns, np.full(columns - len(self.columns), _AT_LOWER)),
            np.append(self.rows, np.full(rows - len(self.rows), _BASIC)),
        )

    def among(self, open_: Booleans) -> "SimplexBasis":
        """The same of some of the columns alone."""
        return self._replace(columns=self.columns[open_])


_AT_LOWER, _BASIC = 0, 1  # HighsBasisStatus


@dataclass(frozen=True, slots=True)
class Solution:
    """`values` is None where nothing was found; `proved` says that nothing better exists.

    `duals` are the prices of the rows, where nothing is whole and HiGHS has any; `basis` is told
    where one was given to begin with.
    """

    values: Floats | None
    bound: float
    proved: bool
    infeasible: bool = False
    duals: Floats | None = None
    basis: SimplexBasis | None = None

    def spread(self, open_: Booleans) -> "Solution":
        """The same where its columns are the open ones of many, of which the others are at 0."""

        def of_all(some: _Array, other: float) -> _Array:
            every = np.full(len(open_), other, dtype=some.dtype)
            every[open_] = some
            return every

        values = None if self.values is None else of_all(self.values, 0.0)
        basis = self.basis
        if basis is not None and len(basis.columns):
            basis = basis._replace(columns=of_all(basis.columns, _AT_LOWER))
        return replace(self, values=values, basis=basis)


def least(
    cost: Floats,
    upper: Floats,
    whole: Booleans,
    rows: Rows,
    options: Mapping[str, str | float],
    begin: SimplexBasis | None = None,
) -> Solution:
    """The least cost of columns from 0 to `upper`, some of them `whole`, within the rows.

    `options` are HiGHS's own, beside those that this project always sets. Where nothing is whole
    simplex may `begin` where it stood before columns and rows were added.
    """
    import highspy as hs

    class Quiet(hs.Highs):
        """Without callbacks: highspy 1.16 greets on standard output where it makes them ready."""

        def enableCallbacks(self) -> None:
            """None are."""

    sizes = (len(cost), len(rows.lower), len(rows.values))
    layout = (int(hs.MatrixFormat.kColwise), int(hs.ObjSense.kMinimize), 0.0)
    limits = (0.0 * upper, upper, rows.lower, rows.upper)
    places = (rows.starts.astype(np.int32), rows.rows.astype(np.int32))
    # one thread: for programmes of this size others cost time and find nothing sooner
    always = {"output_flag": False, "threads": 1, "mip_rel_gap": 0.0}
    with _silent_standard_output():
        highs = Quiet()  # type: ignore[no-untyped-call]
        for name, value in {**always, **options}.items():
            highs.setOptionValue(name, value)
        highs.passModel(
            *sizes, *layout, cost, *limits, *places, rows.values, whole.astype(np.int32)
        )
        if begin is not None and len(begin.columns):
            highs.setBasis(begin.grown(len(cost), len(rows.lower)).told())
        if highs.run() == hs.HighsStatus.kError:  # another HiGHS began with more in this thread
            highs.setOptionValue("threads", 0)
            highs.run()
    status, info = highs.getModelStatus(), highs.getInfo()
    proved = status == hs.HighsModelStatus.kOptimal
    bound = info.mip_dual_bound if whole.any() else info.objective_function_value
    if not (info.valid and (proved or whole.any())):
        bound = -math.inf
    found = info.primal_solution_status == hs.SolutionStatus.kSolutionStatusFeasible
    solution = highs.getSolution()
    values = np.array(solution.col_value) if found else None
    duals = np.array(solution.row_dual) if solution.dual_valid else None
    stood = None if begin is None else SimplexBasis.of(highs.getBasis())
    return Solution(values, bound, proved, status == hs.HighsModelStatus.kInfeasible, duals, stood)


@contextmanager
def _silent_standard_output() -> Iterator[None]:
    """Send what compiled code prints nowhere, so that it never stands among rows for programs.

    HiGHS prints a line of its own now and then, whatever its options say (seen with 1.12).
    Only file descriptor 1 is turned away, and put back; Python's own `sys.stdout` is flushed
    before. Where the descriptor is closed or the system is not POSIX, nothing is done.
    """
    try:
        kept = os.dup(1) if os.name == "posix" else -1
    except OSError:
        kept = -1
    if kept < 0:
        yield
        return
    sys.stdout.flush()
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    try:
        yield
    finally:
        ctypes.CDLL(None).fflush(None)  # what C still holds back must go the same way
        os.dup2(kept, 1)
        os.close(kept)
        os.close(nowhere)
