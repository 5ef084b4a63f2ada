"""Normal numbers that draws are made of: each name has its own, always the same."""

from collections.abc import Hashable
from functools import lru_cache
from random import Random
from zlib import crc32

import numpy as np

from stopgap.arrays import Floats

DRAWS = 4096
"""The standard error of a probability is below 0.8 per cent."""

COVERED = 0.95
"""Probability with which the nearest is among those marked as tied."""

_MADE_AT_ONCE = 32  # so that those of 30 colours and of 31 are kept as one


def own_numbers(count: int) -> Floats:
    """Those of so many colours (count, 3, half the draws), the first ones first."""
    return _own_numbers(-(-count // _MADE_AT_ONCE) * _MADE_AT_ONCE)[:count]


@lru_cache(maxsize=4)
def _own_numbers(count: int) -> Floats:
    return np.array([normal_numbers(own_name(place)) for place in range(count)])


def own_name(place: int) -> str:
    """The name of those of a colour by its place."""
    return f"own {place}"


@lru_cache(maxsize=4)
def shared_numbers(names: tuple[Hashable, ...]) -> Floats:
    """Those that colours share by these names (n, 3, half the draws)."""
    return np.array([normal_numbers(f"shared {name}") for name in names])


@lru_cache(maxsize=1024)
def normal_numbers(name: str) -> Floats:
    """Standard normal numbers (3, half the draws) that belong to a name, always the same.

    By G. E. P. Box and M. E. Muller (1958), Annals of Mathematical Statistics 29(2), 610-611, from
    the standard library: numpy.random takes 10 ms to import.
    """
    generator = Random(crc32(name.encode()))  # noqa: S311 (no secret hangs on it)
    pairs = 3 * DRAWS // 4
    whole = np.frombuffer(generator.randbytes(16 * pairs), dtype="<u8") >> np.uint64(11)
    radius, angle = ((whole + 0.5) * 2.0**-53).reshape(2, pairs)  # above 0 and below 1
    radius, angle = np.sqrt(-2.0 * np.log(radius)), 2.0 * np.pi * angle
    both = np.concatenate([radius * np.cos(angle), radius * np.sin(angle)])
    return both.reshape(3, -1)
