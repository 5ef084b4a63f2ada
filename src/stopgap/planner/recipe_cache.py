"""Recipes of a box kept in a file from one run to the next; it may be deleted at any time.

A file is named after a digest of all that predicted colours depend on, so a changed swatch, paper,
calibration or version makes another one. What is read is checked: against the checksum that is in
the file (CRC-32 of the ZIP format, of which numpy's .npz is one), for shapes, and by working out
some of the colours again. Whatever is wrong with it, or with the place, the recipes are worked out
anew. A file appears whole, by renaming, so that two who write at once do not disturb each other.
"""

import os
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from stopgap import __version__
from stopgap.arrays import Floats
from stopgap.difference import DEFAULT_METRIC, DifferenceFunction
from stopgap.errors import InputError
from stopgap.layering import MODELS, Catalogue, Pencils
from stopgap.neighbours import SwatchIndex

FORMAT = 1
"""To be raised when the arrays in the file, or what they mean, change."""

WORTH_KEEPING = 20_000
"""Recipes from which reading a file is clearly faster than working them out: 67 clear pencils."""

_FILES = 4  # the newest that are kept; each is of other pencils or another paper
_TRIED = 1000  # pairs whose colours are worked out again
_TOLERANCE = 1e-9  # Lab
_UNREADABLE = (OSError, EOFError, ValueError, KeyError, MemoryError, InputError)


@dataclass(frozen=True, slots=True)
class RecipeCache:
    """A folder for files of recipes. It is made when there is something to keep."""

    folder: Path

    @classmethod
    def beside(cls, library: Path) -> "RecipeCache":
        """The folder that belongs to a library: beside it, named after it."""
        return cls(library.with_name(f"{library.name}.recipes"))

    def read(
        self, box: Pencils, recipes: Catalogue, metric: str | DifferenceFunction = DEFAULT_METRIC
    ) -> SwatchIndex | None:
        """The colours of all recipes of `box`, where they are there and right."""
        digest = digest_of(box) if len(recipes) >= WORTH_KEEPING else None
        if digest is None:
            return None
        from zipfile import BadZipFile

        try:
            with (
                self._file(digest).open("rb") as stream,
                np.load(stream, allow_pickle=False) as stored,
            ):
                if str(stored["digest"]) != digest:
                    return None
                index = SwatchIndex.from_arrays({name: stored[name] for name in stored}, metric)
        except (*_UNREADABLE, BadZipFile):
            return None
        return index if _agrees(index.lab, box, recipes) else None

    def write(self, box: Pencils, index: SwatchIndex) -> None:
        """Keep the colours of all recipes of `box`, where that is worth it and possible."""
        digest = digest_of(box) if len(index) >= WORTH_KEEPING else None
        if digest is None:
            return
        with suppress(InputError, OSError):  # not to be kept, or nowhere to keep it
            arrays = index.to_arrays()
            self.folder.mkdir(exist_ok=True)
            _write_whole(self._file(digest), {"digest": np.array(digest), **arrays})
            self._forget_oldest()

    def _file(self, digest: str) -> Path:
        return self.folder / f"{digest[:32]}.npz"

    def _forget_oldest(self) -> None:
        files = sorted(self.folder.glob("*.npz"), key=lambda file: -file.stat().st_mtime)
        for file in files[_FILES:]:
            file.unlink(missing_ok=True)


def digest_of(box: Pencils) -> str | None:
    """A digest of all that the predicted colours of `box` depend on; None for a model of one's own.

    Names and uncertainties of swatches are not in it: they are looked up when somebody asks.
    """
    model = next((name for name, row in MODELS.items() if row is box.model), None)
    if model is None:
        return None
    import hashlib

    digest = hashlib.sha256(f"stopgap {__version__}, recipes {FORMAT}, {model}".encode())
    for values in (
        box.lab,
        box.spectra,
        box.opacity,
        box.loads[: len(box.pressures)],
        np.array(box.tooth),
        box.paper_lab,
        box.swatch_paper_lab,
    ):
        digest.update(str(values.shape).encode())
        digest.update(np.ascontiguousarray(values, dtype="<f8").tobytes())
    return digest.hexdigest()


def _agrees(lab: Floats, box: Pencils, recipes: Catalogue) -> bool:
    """Whether there are colours for all recipes, and some, worked out again, are as they were."""
    if len(lab) != len(recipes):
        return False
    tints = np.arange(recipes.tints)
    pairs = np.unique(np.linspace(recipes.tints, len(recipes) - 1, _TRIED).astype(np.intp))
    again = np.concatenate(
        [box.colours(tints), box.colours(*recipes.layings(pairs).T)],
    )
    apart = np.abs(again - lab[np.concatenate([tints, pairs])])
    return bool((apart < _TOLERANCE).all())


def _write_whole(file: Path, arrays: Mapping[str, "np.typing.NDArray[np.generic]"]) -> None:
    import tempfile

    handle, name = tempfile.mkstemp(dir=file.parent, prefix=file.stem, suffix=".part")
    part = Path(name)
    try:
        with os.fdopen(handle, "wb") as stream:
            np.savez(stream, **arrays)  # type: ignore[arg-type]
        part.replace(file)
    finally:
        part.unlink(missing_ok=True)
