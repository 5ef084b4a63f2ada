"""Normal numbers that draws are made of: each name has its own, always the same."""

from collections.abc import Hashable
from functools import lru_cache
from random import Random
from zlib import crc32

import numpy as np

from stopgap.arrays import Floats, Integers

DRAWS = 4096
"""The standard error of a probability is below 0.8 per cent."""

COVERED = 0.95
"""Probability with which the nearest is among those marked as tied."""

_MADE_AT_ONCE, _KEPT = 2, 512  # colours whose numbers are made together; so often 0.1 MB are kept


def own_numbers(first: int, last: int, begin: int, end: int) -> Floats:
    """Those of the colours from `first` to `last` (last - first, 3, end - begin) in some draws."""
    blocks = range(first // _MADE_AT_ONCE, -(-last // _MADE_AT_ONCE))
    found = [_own_block(block)[..., begin:end] for block in blocks]
    whole = found[0] if len(found) == 1 else np.concatenate(found)
    skipped = blocks.start * _MADE_AT_ONCE
    return whole[first - skipped : last - skipped]


@lru_cache(maxsize=_KEPT)
def _own_block(block: int) -> Floats:
    places = range(block * _MADE_AT_ONCE, (block + 1) * _MADE_AT_ONCE)
    return np.array([_made(f"own {place}") for place in places])


def shared_numbers(names: tuple[Hashable, ...], groups: Integers, draws: slice) -> Floats:
    """Those that colours share (..., 3, draws), their `groups` (...) being numbers of the names."""
    return np.asarray(_of_names(names)[groups, :, draws])


@lru_cache(maxsize=4)
def _of_names(names: tuple[Hashable, ...]) -> Floats:
    return np.array([normal_numbers(f"shared {name}") for name in names])


@lru_cache(maxsize=1024)
def normal_numbers(name: str) -> Floats:
    """Standard normal numbers (3, half the draws) that belong to a name, always the same."""
    return _made(name)


def _made(name: str) -> Floats:
    """Those of a name.

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
