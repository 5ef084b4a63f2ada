"""A chart of ten pencils in a library, and its page as if it had been coloured in.

What scans really do is simulated in `tests/scanning/simulate`.
"""

from dataclasses import replace

from stopgap.blends import file_swatches
from stopgap.library import keep_edition, open_library
from stopgap.reports.drawing import coloured
from stopgap.scanning import SHEETS, code_sections, new_edition

NUMBER = "271828"


def coloured_page(path, leave=(), **more):
    """A PNG of page 1 of edition 271828, which the library at `path` then has.

    It holds ten pencils of the range Quillet, all coloured in but those of the codes in `leave`.
    """
    with open_library(path) as library:
        swatches = [each for each in library.swatches() if each.range == "Quillet"][2:12]
        fresh = new_edition(code_sections(swatches), swatches, SHEETS["A4"], **more)
        edition = keep_edition(library, replace(fresh, number=NUMBER))
        filed = {each.swatch.address: each for each in file_swatches(library.swatches())}
    return coloured.coloured_page(edition, edition.pages[0], filed, title="Quillet", leave=leave)
