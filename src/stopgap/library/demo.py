"""The demo's library: three invented ranges and a box of owned pencils."""

import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from stopgap.errors import InputError
from stopgap.library.lists import find_swatches, read_list
from stopgap.library.ranges.conversion import Convention
from stopgap.library.ranges.importing import import_range
from stopgap.library.ranges.reading import read_range
from stopgap.library.store.library import Library, Settle, open_library
from stopgap.swatches import Source

DEMO_RANGES = {
    "Fennmoor": "fennmoor.csv",
    "Brindlewick": "brindlewick.csv",
    "Quillet": "quillet.csv",
}

DEMO_LISTS = ("blends.csv", "layered.csv", "lesson.csv", "owned.csv", "paper.csv")


def datasets() -> Path:
    """The folder of the demo's files: inside the package, or at the top of a checkout."""
    installed, checkout = (Path(__file__).parents[up] / "datasets" for up in (1, 3))
    return installed if installed.is_dir() else checkout


def fill(library: Library) -> None:
    """Import the demo's ranges and mark its owned singles."""
    convention = Convention("D50", 2, Source.MEASURED)
    for name, file in DEMO_RANGES.items():
        import_range(library, read_range(datasets() / file, name, convention))
    owned = find_swatches(read_list(datasets() / "owned.csv"), library.swatches())
    library.decide(owned, {"owned": 1}, "the demo's owned pencils")


@contextmanager
def demo_library(settle: Settle | None = None) -> Iterator[Library]:
    """A library with the demo's ranges, for a `with` block that throws it away at its end.

    `settle` is as of `open_library`.

    Examples
    --------
    >>> with demo_library() as library:
    ...     len(library.swatches())
    240
    """
    with (
        tempfile.TemporaryDirectory(prefix="stopgap-demo-") as folder,
        open_library(Path(folder) / "library.sqlite", settle=settle) as library,
    ):
        fill(library)
        yield library


def keep_demo(folder: Path) -> Path:
    """Write the demo's library, ranges, lists and a picture into `folder`; the library's path.

    Every example of the manual and of the help texts runs there.

    Raises
    ------
    InputError
        If the folder holds something already, or cannot be made.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
        taken = any(folder.iterdir())
    except OSError as error:
        raise InputError(f"{folder}: the folder cannot be made: {error.strerror}.") from error
    if taken:
        raise InputError(f"{folder}: the folder is not empty. Name a new one.")
    for name in (*DEMO_RANGES.values(), *DEMO_LISTS):
        shutil.copy(datasets() / name, folder)
    shutil.copy(datasets() / "quillet.csv", folder / "my-pencils.csv")
    path = folder / "library.sqlite"
    with open_library(path) as library:
        fill(library)
        _sketch(library, folder / "photo.jpg")
    return path


def _sketch(library: Library, path: Path) -> None:
    """A picture of the lesson's pencils in bands, in the place of a photograph."""
    import numpy as np
    from PIL import Image

    from stopgap.colorimetry import lab_to_srgb
    from stopgap.library.targets import find_target
    from stopgap.swatches import Swatch

    swatches = library.swatches()
    targets = [find_target(row.colour, swatches) for row in read_list(datasets() / "lesson.csv")]
    labs = [target.lab for target in targets if isinstance(target, Swatch)]
    rgb, _ = lab_to_srgb(labs)
    bands = np.rint(255.0 * np.repeat(rgb, 16, axis=0)).astype(np.uint8)
    Image.fromarray(np.repeat(bands[:, None], 240, axis=1)).save(path, quality=95)
