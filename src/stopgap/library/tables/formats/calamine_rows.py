"""Rows of a workbook as calamine sees them, every cell as text.

The module asks for nothing of stopgap, so that a process with limits can run it by itself: it reads
a workbook on standard input and answers in JSON. That is how XLS is read, whose parts no gate of
ours looks into.
"""

import io
import sys
from datetime import date, datetime
from typing import Any, NamedTuple

MOST_MEMORY = 400 * 2**20
"""Bytes that the process of its own may ask for."""
MOST_SECONDS = 10
"""Seconds of work that it may take."""


class Unreadable(Exception):
    """That calamine makes nothing of it."""


class SheetRows(NamedTuple):
    """A sheet's name, its rows from the first on, and the cells that hold dates, from 0 on.

    `others` is how many more sheets hold something, where a place was not asked for.
    """

    sheet: str
    rows: list[list[str]]
    dates: list[tuple[int, int]]
    others: int = 0


def sheet_rows(data: bytes, place: int | None, most_cells: int) -> SheetRows:
    """The sheet at a place, or the first that may be a table, else that holds something.

    Raises
    ------
    Unreadable
        If calamine cannot read it, or it has more than `most_cells` cells.
    """
    from python_calamine import CalamineWorkbook

    try:
        book = CalamineWorkbook.from_filelike(io.BytesIO(data))
        del data
        places = [place] if place is not None else range(len(book.sheet_names))
        sheets = map(book.get_sheet_by_index, places)
        held = [(sheet, sheet.end) for sheet in sheets if sheet.end is not None]
        if not held:
            return SheetRows(book.sheet_names[0] if book.sheet_names else "", [], [])
        sheet, (row, column) = next((each for each in held if min(each[1]) > 0), held[0])
        if (row + 1) * (column + 1) > most_cells:
            raise Unreadable("too many cells")
        cells: list[Any] = sheet.to_python(skip_empty_area=False)
        others = len(held) - 1
    except BaseException as error:
        # a panic of calamine's is none of Python's usual exceptions
        if isinstance(error, KeyboardInterrupt | SystemExit | Unreadable):
            raise
        raise Unreadable(str(error)) from error
    name = sheet.name
    del book, sheet, held, sheets
    dates = []
    for row, record in enumerate(cells):
        dates += [(row, column) for column, cell in enumerate(record) if isinstance(cell, date)]
        cells[row] = [*map(_text, record)]  # in its place, since a large sheet fills the memory
    return SheetRows(name, cells, dates, others)


def _text(cell: Any) -> str:
    """A cell as text: numbers as the shortest text that is this very number, 7 and not 7.0."""
    if type(cell) is str:
        return cell.strip()
    if type(cell) is float:
        text = repr(cell)
        return text[:-2] if text.endswith(".0") and text != "-0.0" else text
    if isinstance(cell, datetime) and not (cell.hour or cell.minute or cell.second):
        cell = cell.date()
    return str(cell)


def _limit() -> None:
    """Set the limits, where the system knows of any."""
    try:
        import resource
    except ImportError:
        return
    for what, most in ((resource.RLIMIT_AS, MOST_MEMORY), (resource.RLIMIT_CPU, MOST_SECONDS)):
        _, hard = resource.getrlimit(what)
        allowed = most if hard == resource.RLIM_INFINITY else min(most, hard)
        resource.setrlimit(what, (allowed, hard))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def main() -> int:
    """Answer for the workbook on standard input; 3 where it cannot be read."""
    import json

    sys.path[:] = json.loads(sys.argv[1])
    _limit()
    try:
        found = sheet_rows(sys.stdin.buffer.read(), None, int(sys.argv[2]))
    except Unreadable:
        return 3
    json.dump(found, sys.stdout)
    return 0


if __name__ == "__main__":
    sys.exit(main())
