"""Workbooks of 200,000 cells, in CPU time: the gate against expat alone, and reading against both.

The gate must not cost much beside the parsing that it rests on.
"""

import io
import sys
import time
import zipfile
from pathlib import Path
from xml.parsers import expat

import numpy as np
from timing import interleaved, machine, short, table

from stopgap.library.tables.formats import FORMATS
from stopgap.library.tables.formats.ods import exact_extents, sheet_extents
from stopgap.library.tables.formats.xlsx import exact_extent, sheet_extent

sys.path.insert(0, str(Path(__file__).parents[1] / "library"))
from workbook_parts import number, ods, ods_number, ods_row, sheet_part, xlsx

ROWS, COLUMNS = 20_000, "ABCDEFGHIJ"


def parsed(content: bytes) -> None:
    """What expat alone does."""
    expat.ParserCreate().Parse(content, True)  # noqa: FBT003 (takes no keyword)


def spreadsheet(book: bytes) -> bytes:
    """The part of an ODS that holds its sheets."""
    with zipfile.ZipFile(io.BytesIO(book)) as archive:
        return archive.read("content.xml")


def as_shown() -> bytes:
    """ODS whose cells have a style and are written out, with empty ones behind, as programs do."""
    head = '<table:table-column table:default-cell-style-name="D"/>'
    behind = '<table:table-cell table:number-columns-repeated="16374"/>'
    cell = (
        '<table:table-cell table:style-name="c" office:value-type="float" office:value="{0}" '
        'office:kind="float"><text:p>{0:.2f}</text:p></table:table-cell>'
    )
    rows = (ods_row(*[cell.format(0.1 * row)] * len(COLUMNS), behind) for row in range(ROWS))
    return ods(head + "".join(rows) + ods_row(behind, repeated="1028576"))


def main() -> None:
    """Print both formats."""
    rows = "".join(
        f'<row r="{row}">{"".join(number(f"{each}{row}", 0.1 * row) for each in COLUMNS)}</row>'
        for row in range(1, ROWS + 1)
    )
    sheet, book = sheet_part(rows).encode(), xlsx(rows)
    cells = "".join(ods_row(*[ods_number(0.1 * row)] * len(COLUMNS)) for row in range(ROWS))
    other = ods(cells)
    content, shown = (spreadsheet(book) for book in (other, as_shown()))
    ways = {
        "XLSX: expat": lambda _: parsed(sheet),
        "XLSX: gate": lambda _: sheet_extent(sheet),
        "XLSX: gate, exact": lambda _: exact_extent(sheet),
        "XLSX: whole": lambda _: FORMATS["XLSX"].read(book, "book"),
        "ODS: expat": lambda _: parsed(content),
        "ODS: gate": lambda _: sheet_extents(content),
        "ODS: gate, exact": lambda _: exact_extents(content),
        "ODS: whole": lambda _: FORMATS["ODS"].read(other, "book"),
        "ODS as shown: expat": lambda _: parsed(shown),
        "ODS as shown: gate": lambda _: sheet_extents(shown),
        "ODS as shown: gate, exact": lambda _: exact_extents(shown),
    }
    seconds = interleaved(ways, dict.fromkeys(ways, 9), time.process_time)
    least = {name: float(np.min(each)) for name, each in seconds.items()}
    print(f"{ROWS * len(COLUMNS):,} cells; {machine()}")
    lines = [
        (name, short(best), f"{best / least[name.split(':')[0] + ': expat']:.1f}")
        for name, best in least.items()
    ]
    print(table(("way", "best", "of expat"), lines))


if __name__ == "__main__":
    main()
