"""Many questions in blocks, on as many processes or machines as joblib is told to use.

Each target is answered by itself, so blocks and backends change neither the answers nor their
order. Blocks go to a thread a core, since the compiled descent releases the interpreter's lock.
With other `jobs` they go through joblib; the backend is the caller's choice:

    with joblib.parallel_config(backend="dask"):  # or "loky", "threading", …
        nearest_in_batches(index, targets, 5, jobs=None)

Each block takes the index along, about 75 bytes a colour; backends that know how (loky by mapping
files, Dask by `scatter`) send it once.
"""

import os
from typing import TYPE_CHECKING

import numpy as np

from stopgap.arrays import Booleans, Floats, FloatsLike, Integers, as_lab, blocks
from stopgap.defaults import JOBS
from stopgap.errors import InputError
from stopgap.neighbours.index import SwatchIndex

if TYPE_CHECKING:
    import numpy.typing as npt

BLOCK = 10_000
"""Targets in a block: half a second of work or less, some 0.5 MB of answers."""

_BEFORE_COMPILED = 20_000  # targets that pay for loading the compiled descent, in every process


def nearest_in_batches(
    index: SwatchIndex,
    targets: FloatsLike,
    k: int = 1,
    *,
    allowed: "npt.ArrayLike | None" = None,
    jobs: int | None = JOBS,
    block: int = BLOCK,
) -> tuple[Floats, Integers]:
    """What `index.nearest(targets, k)` says, in blocks of `block` targets.

    Parameters
    ----------
    targets, k, allowed
        As in `SwatchIndex.nearest`; `targets` of shape (m, 3).
    jobs
        How many at once: 1 one after the other, -1 threads on all cores, None for what
        `joblib.parallel_config` says, another number for so many of joblib's.

    Raises
    ------
    InputError
        As `SwatchIndex.nearest` does; for `jobs` of 0 or a `block` below 1.
    """
    wanted = as_lab(targets, "targets")
    if wanted.ndim != 2:
        raise InputError(f"targets: expected shape (m, 3), found {wanted.shape}.")
    if jobs == 0:
        raise InputError("expected another number than 0.", argument="jobs")
    if block < 1:
        raise InputError(f"expected 1 or more, found {block}.", argument="block")
    if len(wanted) > _BEFORE_COMPILED:
        index.prepare()
    parts = [wanted[some] for some in blocks(len(wanted), block)]
    mask = None if allowed is None else np.asarray(allowed)
    if jobs == 1 or len(parts) == 1:
        answers = [_answer(index, part, k, mask) for part in parts]
    elif jobs == -1:
        from concurrent.futures import ThreadPoolExecutor

        with ThreadPoolExecutor(_cores()) as pool:
            answers = list(pool.map(lambda part: _answer(index, part, k, mask), parts))
    else:
        from joblib import Parallel, delayed

        answers = Parallel(n_jobs=jobs)(delayed(_answer)(index, part, k, mask) for part in parts)
    delta_E, rows = zip(*answers, strict=True)
    return np.concatenate(delta_E), np.concatenate(rows)


def _cores() -> int:
    """How many this process may use."""
    allowed = getattr(os, "sched_getaffinity", None)
    return len(allowed(0)) if allowed else os.cpu_count() or 1


def _answer(
    index: SwatchIndex, targets: Floats, k: int, allowed: Booleans | None
) -> tuple[Floats, Integers]:
    """One block; a function of the module, so that every backend can send it."""
    return index.nearest(targets, k, allowed=allowed)
