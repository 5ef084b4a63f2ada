"""Arrays kept in a file from one run to the next; it may be deleted at any time.

A file is named after a checksum of the version and of all numbers that its contents depend on, and
holds these numbers too: what is read was made from the very same ones, whatever the checksums.
What is read must have the length and the check sum that its first line says; the sum begins with a
number that was drawn in this place, so that a file from elsewhere is not believed. A file appears
whole, by renaming, so that two who write at once do not disturb each other. Whatever is wrong with
it, or with the place, nothing is read or written, and nobody is troubled.
"""

import json
import math
import os
import sys
import time
from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from functools import reduce
from pathlib import Path
from threading import RLock
from typing import IO, TYPE_CHECKING, Any, NamedTuple
from zlib import crc32

import numpy as np

from stopgap import __version__
from stopgap.arrays import Floats

FORMAT = 13
"""To be raised when the arrays in a file, or what they mean, or the colours a model predicts,
change (tests/planner/test_recipe_cache.py notices colours)."""

if TYPE_CHECKING:
    from stopgap.planner.recipes.beside import RecipesBeside
    from stopgap.planner.recipes.held import Held
    from stopgap.planner.recipes.pruned import PrunedRecipes
    from stopgap.swatches import LayingConditions, Swatch

Arrays = Mapping[str, "np.typing.NDArray[Any]"]

_BUDGET = 256 * 2**20  # bytes of all files; those used last are kept
_MOST_BOXES, _LARGEST = 3, 96 * 2**20  # boxes that are remembered, and bytes of one at most
_KEY_LENGTH = 16
_SUFFIX, _PART = ".recipes", ".part"
_ABANDONED = 3600.0  # seconds after which nobody writes a part any more
_LONGEST_LINE = 10_000  # bytes
_MADE_FROM = "made from"
_UNREADABLE = (OSError, ValueError, TypeError, MemoryError, RecursionError, SyntaxError)


class Lately:
    """What was asked lately, the latest first: numbers of conditions and of each swatch, these
    swatches, and what is held of their recipes; and what was made ready last to be searched,
    `pruned`, or of what has changed since, `beside` that. Who asks waits for who is `making` some.
    """

    def __init__(self) -> None:
        self.boxes: list[tuple[list[list[float]], Sequence[Swatch], Held]] = []
        self.making = RLock()
        self.pruned: PrunedRecipes | None = None
        self.beside: tuple[LayingConditions, Sequence[Swatch], RecipesBeside] | None = None
        self.grown: Floats | None = None  # the numbers of what was grown and written last

    def remember(
        self, numbers: list[list[float]], swatches: "Sequence[Swatch]", held: "Held"
    ) -> None:
        """Have it at hand for who asks next."""
        self.beside = None
        if _is_small(held.colours.nbytes):
            others = [
                (its, were, one._replace(shelf=None))
                for its, were, one in self.boxes
                if its != numbers
            ]
            self.boxes = [(numbers, swatches, held), *others[: _MOST_BOXES - 1]]

    def remember_pruned(self, pruned: "PrunedRecipes") -> None:
        """Have at hand what was made ready to be searched, in the place of what was before."""
        self.pruned = pruned if _is_small(pruned.nbytes) else None

    def make_ready(self, conditions: "LayingConditions") -> None:
        """Make ready what was asked last, under these conditions, for the pencils that may come."""
        with self.making:
            for numbers, swatches, held in self.boxes[:1]:
                self.remember(numbers, swatches, held.with_shelf(conditions, swatches))


def _is_small(size: int) -> bool:
    """Whether so many bytes are kept in memory from one question to the next."""
    return size <= _LARGEST


class RecipeCache(NamedTuple):
    """A folder for files of recipes. It is made when there is something to keep.

    A program that goes on has what was asked `lately` in mind as well.
    """

    folder: Path
    lately: "Lately | None" = None

    @classmethod
    def of_user(cls, lately: Lately | None = None) -> "RecipeCache":
        """The folder STOPGAP_CACHE, else one in the user's cache folder, for every library."""
        stated = os.environ.get("STOPGAP_CACHE")
        if stated:
            return cls(Path(stated) / "recipes", lately)
        if os.name == "posix" and sys.platform != "darwin":
            # XDG Base Directory Specification 0.8, without the imports
            home = os.environ.get("XDG_CACHE_HOME") or os.path.expanduser("~/.cache")
            return cls(Path(home, "stopgap", "recipes"), lately)
        from platformdirs import user_cache_path

        return cls(user_cache_path("stopgap", appauthor=False) / "recipes", lately)

    def read(self, made_from: Floats) -> "Arrays | None":
        """The arrays that `write` was given with the same numbers (m,), where they are there."""
        try:
            file = self._file(made_from)
            with file.open("rb") as stream:
                arrays = _unpacked(stream, self._start())
        except _UNREADABLE:
            return None
        with suppress(OSError):
            file.touch()  # it was used
        kept = arrays.pop(_MADE_FROM, None)
        same = kept is not None and kept.tobytes() == made_from.tobytes()
        return arrays if same else None

    def write(self, made_from: Floats, arrays: Arrays) -> None:
        """Keep arrays made from some numbers (m,), where there is a place for them.

        What is larger than all files together may be is not kept, lest all others go for it.
        """
        if sum(array.nbytes for array in arrays.values()) > _BUDGET:
            return
        with suppress(OSError):
            self.folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            parts = _packed({_MADE_FROM: made_from, **arrays}, self._start())
            _write_whole(self._file(made_from), parts)
            self._forget_oldest()

    def holds(self, made_from: Floats) -> bool:
        """Whether something made from these numbers is kept, as far as its name tells."""
        return os.access(self._file(made_from), os.R_OK)

    def forget(self, made_from: Floats) -> None:
        """Keep what was made from these numbers no longer."""
        with suppress(OSError):
            self._file(made_from).unlink(missing_ok=True)

    def _file(self, made_from: Floats) -> Path:
        return self.folder / f"{crc32(made_from.tobytes(), crc32(_HEAD)):08x}{_SUFFIX}"

    def _start(self) -> int:
        """What the check sums of this place begin with, drawn when it is first used."""
        place = self.folder.with_name(f"{self.folder.name}.key")
        with suppress(FileExistsError):
            handle = os.open(place, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600)
            with os.fdopen(handle, "wb") as stream:
                stream.write(os.urandom(_KEY_LENGTH))
        key = place.read_bytes()
        if len(key) != _KEY_LENGTH:  # another process draws it just now
            raise OSError(place)
        return crc32(key)

    def _forget_oldest(self) -> None:
        for part in self.folder.glob(f"*{_PART}"):  # of a program that was ended while it wrote
            if time.time() - part.stat().st_mtime > _ABANDONED:
                part.unlink(missing_ok=True)
        files = [(file, file.stat()) for file in self.folder.glob(f"*{_SUFFIX}")]
        left = _BUDGET
        for file, about in sorted(files, key=lambda one: -one[1].st_mtime_ns):
            left -= about.st_size
            if left < 0:
                file.unlink(missing_ok=True)


def keep_lately(cache: RecipeCache) -> None:
    """Write what was asked last where recipes are kept, if it was grown since and is not there: as
    what is made anew, in the place of what was grown and written before.
    """
    lately = cache.lately
    if lately is None:
        return
    for numbers, swatches, held in lately.boxes[:1]:
        made_from = np.concatenate(numbers)
        if cache.holds(made_from):
            continue
        whole = held.planted_anew()
        cache.write(made_from, whole.to_arrays())
        before, lately.grown = lately.grown, made_from
        if before is not None:
            cache.forget(before)
        with lately.making:
            if lately.boxes[0][2] is held:
                lately.remember(numbers, swatches, whole)


_HEAD = f"stopgap {__version__}, recipes {FORMAT}".encode()


def _packed(arrays: Arrays, start: int) -> list[bytes]:
    """Two lines, of which the second says in JSON what each array is, then their bytes."""
    table = [[name, array.dtype.str, array.shape] for name, array in arrays.items()]
    body = [json.dumps(table).encode() + b"\n", *(array.tobytes() for array in arrays.values())]
    checksum = reduce(lambda before, part: crc32(part, before), body, start)
    return [_first_line(sum(map(len, body)), checksum), *body]


def _unpacked(stream: IO[bytes], start: int) -> "dict[str, np.typing.NDArray[Any]]":
    """What `_packed` packed; raises ValueError, KeyError or TypeError for anything else."""
    first, second = stream.readline(_LONGEST_LINE), stream.readline(_LONGEST_LINE)
    length = os.fstat(stream.fileno()).st_size - len(first)
    named = [(name, np.dtype(of), shape) for name, of, shape in json.loads(second)]
    sizes = [dtype.itemsize * math.prod(shape) for _, dtype, shape in named]
    # nothing is taken in before it is known to be there
    if len(second) + sum(sizes) != length or min(sizes) < 0:
        raise ValueError(length)
    arrays = {}
    checksum = crc32(second, start)
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

    handle, name = tempfile.mkstemp(dir=file.parent, prefix=file.stem, suffix=_PART)
    part = Path(name)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.writelines(parts)
        part.replace(file)
    finally:
        part.unlink(missing_ok=True)
