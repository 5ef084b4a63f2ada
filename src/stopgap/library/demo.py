"""The demo's library: three invented ranges and a box of owned pencils."""

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from stopgap.library.lists import find_swatches, read_list
from stopgap.library.ranges.conversion import Convention
from stopgap.library.ranges.importing import import_range
from stopgap.library.ranges.reading import read_range
from stopgap.library.store.library import Library, open_library
from stopgap.swatches import Source

DEMO_RANGES = {
    "Fennmoor": "fennmoor.csv",
    "Brindlewick": "brindlewick.csv",
    "Quillet": "quillet.csv",
}


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
def demo_library() -> Iterator[Library]:
    """A library with the demo's ranges, for a `with` block that throws it away at its end.

    >>> with demo_library() as library:
    ...     len(library.swatches())
    240
    """
    with (
        tempfile.TemporaryDirectory(prefix="stopgap-demo-") as folder,
        open_library(Path(folder) / "library.sqlite") as library,
    ):
        fill(library)
        yield library
