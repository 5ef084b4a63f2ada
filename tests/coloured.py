"""A chart of ten pencils in a library, and its page as if it had been coloured in.

What scans really do is simulated in `tests/scanning/simulate`.
"""

from stopgap.library import open_library
from stopgap.reports.drawing import coloured

NUMBER = "271828"


def coloured_page(path, leave=(), **more):
    """A PNG of page 1 of edition 271828, which the library at `path` then has.

    It holds ten pencils of the range Quillet, all coloured in but those of the codes in `leave`.
    """
    with open_library(path) as library:
        some = [each for each in library.swatches() if each.range == "Quillet"][2:12]
        return coloured.coloured_page(library, some, leave=leave, number=NUMBER, **more)
