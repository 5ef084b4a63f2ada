"""XLSX, ODS and XLS: one sheet of a workbook, through calamine behind the gate."""

import sys

from stopgap.errors import InputError
from stopgap.library.tables.cells import COMMA_NUMBER, TextRow, TextTable
from stopgap.library.tables.formats import calamine_rows
from stopgap.library.tables.formats.gate import (
    MOST_CELLS,
    Extent,
    Passed,
    damaged,
    parts_of,
    told,
)
from stopgap.library.tables.formats.ods import CONTENT, select_ods
from stopgap.library.tables.formats.xlsx import select_xlsx

_ENCRYPTED = "EncryptedPackage".encode("utf-16-le")  # [MS-OFFCRYPTO] 2.3.4.4
_PATIENCE = 4 * calamine_rows.MOST_SECONDS  # seconds, where the machine is busy
_MOST_SHOWN = 5


def read_xlsx(data: bytes, name: str) -> TextTable:
    """The first sheet that may be a table, else that holds something.

    Raises
    ------
    InputError
        If the workbook is damaged, protected, empty or asks for too much.
    """
    return _table(told(select_xlsx, data, name, "XLSX"), name, "XLSX")


def read_ods(data: bytes, name: str) -> TextTable:
    """The sheet as `read_xlsx` takes it; errors as `read_xlsx`."""
    parts = parts_of(data)
    if parts and CONTENT not in parts:
        raise InputError(
            f"{name}: the file is an archive, but neither an XLSX nor an ODS workbook. Save the "
            "table as XLSX, or export it as CSV."
        )
    return _table(told(select_ods, data, name, "ODS"), name, "ODS")


def read_xls(data: bytes, name: str) -> TextTable:
    """The sheet as `read_xlsx` takes it, read in a process with limits; errors as `read_xlsx`.

    XLS is no XML, so that nothing of it can be counted beforehand.
    """
    import json
    import subprocess

    if _ENCRYPTED in data:
        raise damaged(name)
    command = [sys.executable, "-I", calamine_rows.__file__, json.dumps(sys.path), str(MOST_CELLS)]
    try:
        done = subprocess.run(command, input=data, capture_output=True, timeout=_PATIENCE)  # noqa: S603 (our own module)
        if done.returncode:
            raise damaged(name)
        sheet, rows, dates, others = json.loads(done.stdout)
    except (OSError, ValueError, subprocess.TimeoutExpired) as error:
        raise damaged(name) from error
    places = [(row, column) for row, column in dates]
    found = calamine_rows.SheetRows(sheet, rows, places, others)
    return _text_table(found, name, "XLS")


def _table(passed: Passed, name: str, called: str) -> TextTable:
    try:
        found = calamine_rows.sheet_rows(passed.package, passed.sheet, MOST_CELLS)
    except calamine_rows.Unreadable as error:
        raise damaged(name) from error
    return _text_table(found._replace(others=passed.others), name, called, passed.extent)


def _text_table(
    found: calamine_rows.SheetRows, name: str, called: str, extent: Extent | None = None
) -> TextTable:
    rows = [TextRow(number, tuple(cells)) for number, cells in enumerate(found.rows, start=1)]
    rows = [row for row in rows if any(row.cells)]
    if not rows:
        raise InputError(f"{name}: the sheet {found.sheet} of the workbook is empty.")
    details = {"format": called, "sheet": found.sheet}
    # numbers come with a point whatever the program shows; only text can have a comma
    decimal_comma = any(COMMA_NUMBER.fullmatch(cell) for row in rows[1:] for cell in row.cells)
    return TextTable(
        rows[0],
        tuple(rows[1:]),
        details,
        decimal_comma,
        notes=_missing(extent) if extent else (),
        sheet=found.sheet,
        others=found.others,
        dates=frozenset((row + 1, column) for row, column in found.dates),
    )


def _missing(extent: Extent) -> tuple[str, ...]:
    """What cells do not say though something stands in them."""
    notes = []
    for cells, what in (
        (extent.unsaved, "with a formula whose result the file does not have, taken as empty"),
        (extent.failed, "whose formula ends in an error"),
    ):
        if cells:
            shown = ", ".join(cells[:_MOST_SHOWN]) + (" …" if len(cells) > _MOST_SHOWN else "")
            notes.append(
                f"{len(cells)} {'cell' if len(cells) == 1 else 'cells'} {what}: "
                f"{shown}. Open the file in its program and save it again."
            )
    return tuple(notes)
