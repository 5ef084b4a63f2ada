"""Array aliases and the checks at the door of every public numerical function."""

from typing import Any, TypeVar

import numpy as np
import numpy.typing as npt

from stopgap.errors import InputError

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.intp]
Booleans = npt.NDArray[np.bool_]
FloatsLike = npt.ArrayLike
_Numbers = TypeVar("_Numbers", Floats, Integers)
_ODD, _HALF = np.uint64(0x9E3779B97F4A7C15), np.uint64(32)


def as_floats(values: FloatsLike, name: str) -> Floats:
    """`values` as float64, finite throughout.

    Raises
    ------
    InputError
        Naming the argument, if a value is not a number or not finite.
    """
    try:
        array = np.asarray(values, dtype=np.float64)
    except (TypeError, ValueError) as error:
        raise InputError(f"{name}: expected numbers, found {values!r:.60}.") from error
    if not np.isfinite(array).all():
        raise InputError(f"{name}: every value must be a finite number.")
    return array


def as_lab(values: FloatsLike, name: str = "lab") -> Floats:
    """`values` as float64 of shape (..., 3), finite: CIE L*, a*, b*."""
    return as_triples(values, name, "L*, a*, b*")


def as_triples(values: FloatsLike, name: str, what: str) -> Floats:
    """`values` as float64 of shape (..., 3), finite; `what` says what the three are."""
    array = as_floats(values, name)
    if array.ndim == 0 or array.shape[-1] != 3:
        raise InputError(f"{name}: expected {what} on the last axis, shape is {array.shape}.")
    return array


def one_lab(values: FloatsLike, name: str = "lab") -> Floats:
    """`values` as float64 of shape (3,), finite: CIE L*, a*, b* of one colour."""
    array = as_lab(values, name)
    if array.ndim != 1:
        raise InputError(f"{name}: expected one colour, shape is {array.shape}.")
    return array


def read_only(values: Any) -> Floats:
    """A float64 copy of `values` that cannot be written to, for constants of a module."""
    array = np.array(values, dtype=np.float64)
    array.flags.writeable = False
    return array


def row_by_row(values: Floats, matrix: Floats) -> Floats:
    """`values` (..., k) times `matrix` (k, n), each row by itself: (..., n).

    A product of all rows at once differs in the last bit with how many there are; this one gives a
    row the same whatever stands beside it.
    """
    product: Floats = np.matmul(values[..., np.newaxis, :], matrix)[..., 0, :]
    return product


def blocks(count: int, at_once: int) -> list[slice]:
    """Which of so many are worked out together, one block after the other; of none an empty one."""
    return [slice(start, start + at_once) for start in range(0, max(count, 1), at_once)]


def median(values: Floats) -> Floats:
    """Along the last axis; np.median would import numpy.ma, which takes 6 ms."""
    ordered = np.sort(values, axis=-1)
    half = ordered.shape[-1] // 2
    middle: Floats = (ordered[..., half] + ordered[..., -1 - half]) / 2.0
    return middle


def distinct(values: _Numbers) -> _Numbers:
    """The distinct ones of `values` (...), rising: (m,); np.unique would import numpy.ma."""
    ordered = np.sort(values, axis=None)
    fresh = np.ones(len(ordered), dtype=np.bool_)
    fresh[1:] = ordered[1:] != ordered[:-1]
    return ordered[fresh]


def renumbered(numbers: Integers) -> tuple[Integers, Integers]:
    """The distinct ones of `numbers` (...) from 0, rising, and of each its place among them.

    Cost grows with the largest number.
    """
    there = np.flatnonzero(np.bincount(numbers.ravel()))
    place = np.zeros(there.max(initial=-1) + 1, dtype=np.intp)
    place[there] = np.arange(len(there))
    return there, place[numbers]


def distinct_rows(rows: Integers) -> tuple[Integers, Integers]:
    """The distinct ones of `rows` (m, k), rising, and of each row its place among them (m,)."""
    order = np.lexsort(rows.T[::-1])
    in_order = rows[order]
    fresh = np.ones(len(rows), dtype=np.bool_)
    fresh[1:] = (in_order[1:] != in_order[:-1]).any(axis=1)
    place = np.empty(len(rows), dtype=np.intp)
    place[order] = np.cumsum(fresh) - 1
    return in_order[fresh], place


def alike_rows(rows: Floats) -> tuple[Integers, Integers]:
    """Where each different one of `rows` (m, k) first stands, and which of these each is: (m,).

    Different in any bit, so that 0.0 and -0.0 are two; in the order in which they come. Those that
    are alike come together by a sum of their bits; two different ones with the same sum, which
    nobody will see, could part two that are alike, and are never taken for one.
    """
    bits = np.ascontiguousarray(rows).view(np.uint64)
    weights = np.cumprod(np.full(bits.shape[1], _ODD))
    order = np.argsort((bits ^ (bits >> _HALF)) @ weights, kind="stable")
    together = bits[order]
    fresh = np.ones(len(rows), dtype=np.bool_)
    fresh[1:] = (together[1:] != together[:-1]).any(axis=1)
    heads = order[fresh]
    first = np.sort(heads)
    place = np.empty(len(rows), dtype=np.intp)
    place[order] = np.searchsorted(first, heads)[np.cumsum(fresh) - 1]
    return first, place


def connected(count: int, ones: Integers, others: Integers) -> Integers:
    """The group (count,) of each of so many things once each of `ones` (m,) is tied to one of the
    `others` (m,): the first thing of it.
    """
    head = list(range(count))

    def head_of(one: int) -> int:
        while head[one] != one:
            head[one] = one = head[head[one]]
        return one

    for pair in zip(ones.tolist(), others.tolist(), strict=True):
        first, second = sorted(map(head_of, pair))
        head[second] = first
    return np.array([head_of(one) for one in range(count)], dtype=np.intp)
