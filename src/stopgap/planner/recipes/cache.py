"""Arrays kept in a file from one run to the next; it may be deleted at any time.

A file is named after a checksum of the version and of all numbers that its contents depend on, and
holds these numbers too: what is read was made from the very same ones, whatever the checksums.
What is read must have the length and the CRC-32 that its first line says. A file appears whole, by
renaming, so that two who write at once do not disturb each other. Whatever is wrong with it, or
with the place, nothing is read or written, and nobody is troubled.
"""

import json
import math
import os
from collections.abc import Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from functools import reduce
from pathlib import Path
from typing import IO, Any
from zlib import crc32

import numpy as np

from stopgap import __version__
from stopgap.arrays import Floats

FORMAT = 7
"""To be raised when the arrays in a file, or what they mean, or the colours a model predicts,
change (tests/planner/test_recipe_cache.py notices colours)."""

Arrays = Mapping[str, "np.typing.NDArray[Any]"]

_FILES = 4  # the newest that are kept; each is of other pencils or another paper
_SUFFIX = ".recipes"
_LONGEST_LINE = 10_000  # bytes
_MADE_FROM = "made from"
_UNREADABLE = (OSError, ValueError, TypeError, MemoryError, RecursionError)


@dataclass(frozen=True, slots=True)
class RecipeCache:
    """A folder for files of recipes. It is made when there is something to keep."""

    folder: Path

    @classmethod
    def beside(cls, library: Path) -> "RecipeCache":
        """The folder that belongs to a library: beside it, named after it."""
        return cls(library.with_name(f"{library.name}.recipes"))

    def read(self, made_from: Floats) -> "Arrays | None":
        """The arrays that `write` was given with the same numbers (m,), where they are there."""
        try:
            with self._file(made_from).open("rb") as stream:
                arrays = _unpacked(stream)
        except _UNREADABLE:
            return None
        kept = arrays.pop(_MADE_FROM, None)
        same = kept is not None and kept.tobytes() == made_from.tobytes()
        return arrays if same else None

    def write(self, made_from: Floats, arrays: Arrays) -> None:
        """Keep arrays made from some numbers (m,), where there is a place for them."""
        parts = _packed({_MADE_FROM: made_from, **arrays})
        with suppress(OSError):
            self.folder.mkdir(exist_ok=True)
            _write_whole(self._file(made_from), parts)
            self._forget_oldest()

    def _file(self, made_from: Floats) -> Path:
        return self.folder / f"{crc32(made_from.tobytes(), crc32(_HEAD)):08x}{_SUFFIX}"

    def _forget_oldest(self) -> None:
        files = sorted(self.folder.glob(f"*{_SUFFIX}"), key=lambda file: -file.stat().st_mtime)
        for file in files[_FILES:]:
            file.unlink(missing_ok=True)


_HEAD = f"stopgap {__version__}, recipes {FORMAT}".encode()


def _packed(arrays: Arrays) -> list[bytes]:
    """Two lines, of which the second says in JSON what each array is, then their bytes."""
    table = [[name, array.dtype.str, array.shape] for name, array in arrays.items()]
    body = [json.dumps(table).encode() + b"\n", *(array.tobytes() for array in arrays.values())]
    checksum = reduce(lambda before, part: crc32(part, before), body, 0)
    return [_first_line(sum(map(len, body)), checksum), *body]


def _unpacked(stream: IO[bytes]) -> "dict[str, np.typing.NDArray[Any]]":
    """What `_packed` packed; raises ValueError, KeyError or TypeError for anything else."""
    first, second = stream.readline(_LONGEST_LINE), stream.readline(_LONGEST_LINE)
    length = os.fstat(stream.fileno()).st_size - len(first)
    named = [(name, np.dtype(of), shape) for name, of, shape in json.loads(second)]
    sizes = [dtype.itemsize * math.prod(shape) for _, dtype, shape in named]
    # nothing is taken in before it is known to be there
    if len(second) + sum(sizes) != length or min(sizes) < 0:
        raise ValueError(length)
    arrays = {}
    checksum = crc32(second)
    for (name, dtype, shape), size in zip(named, sizes, strict=True):
        if dtype.kind not in "bif":
            raise ValueError(dtype)
        array = np.fromfile(stream, dtype, size // dtype.itemsize).reshape(shape)
        arrays[str(name)] = array
        checksum = crc32(array.data, checksum)
    if first != _first_line(length, checksum):
        raise ValueError(first)
    return arrays


def _first_line(length: int, checksum: int) -> bytes:
    return b"%s, %d bytes, CRC-32 %08x\n" % (_HEAD, length, checksum)


def _write_whole(file: Path, parts: Iterable[bytes]) -> None:
    import tempfile

    handle, name = tempfile.mkstemp(dir=file.parent, prefix=file.stem, suffix=".part")
    part = Path(name)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.writelines(parts)
        part.replace(file)
    finally:
        part.unlink(missing_ok=True)
