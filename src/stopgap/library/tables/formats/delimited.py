"""CSV and its cousins: delimiter, decimal mark, encoding and byte order mark are found out."""

import codecs
import csv
import io
import re

from stopgap.errors import InputError, Problem, ProblemsInFile
from stopgap.library.tables.formats.table import COMMA_NUMBER, TextRow, TextTable
from stopgap.library.tables.formulas import guard

DELIMITERS = {",": "comma", ";": "semicolon", "\t": "tab"}
_POINT_NUMBER = re.compile(r"[-+−]?\d*\.\d+")
_PLAIN_NUMBER = re.compile(r"-?\d+(\.\d+)?(e[-+]?\d+)?")
_UTF16_MARKS = (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)


def read_delimited(data: bytes, name: str) -> TextTable:
    """The table in `data`; `name` is the file's, for messages.

    Raises
    ------
    InputError
        If the data is not text, has no header, or mixes delimiters or decimal marks.
    """
    text, encoding = decode(data, name)
    delimiter = _find_delimiter(text, name)
    try:
        records = list(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True))
    except csv.Error as error:
        raise InputError(
            f"{name}: the quotes of a cell do not close, or a cell is too long ({error})."
        ) from error
    rows = [
        TextRow(number, tuple(cell.strip() for cell in record))
        for number, record in enumerate(records, start=1)
        if any(cell.strip() for cell in record)
    ]
    header, body = rows[0], tuple(rows[1:])
    _check_widths(header, body, delimiter, name)
    decimal_comma = _uses_decimal_comma(body, name)
    details = {
        "format": "CSV",
        "encoding": encoding,
        "delimiter": DELIMITERS[delimiter],
        "decimal mark": "comma" if decimal_comma else "point",
    }
    return TextTable(header, body, details, decimal_comma)


def write_delimited(table: TextTable) -> bytes:
    """CSV in UTF-8; text that a spreadsheet could take for a formula is guarded."""
    stream = io.StringIO(newline="")
    writer = csv.writer(stream, lineterminator="\n")
    for row in (table.header, *table.rows):
        writer.writerow(
            [cell if _PLAIN_NUMBER.fullmatch(cell) else guard(cell) for cell in row.cells]
        )
    return stream.getvalue().encode("utf-8")


def decode(data: bytes, name: str) -> tuple[str, str]:
    """The text in `data` and the encoding it was in: UTF-8, UTF-16 with its mark, or cp1252."""
    if data.startswith(_UTF16_MARKS):
        candidates = [("utf-16", "UTF-16 with byte order mark")]
    elif data.startswith(codecs.BOM_UTF8):
        candidates = [("utf-8-sig", "UTF-8 with byte order mark")]
    else:
        candidates = [("utf-8", "UTF-8"), ("cp1252", "cp1252 (Western European)")]
    if b"\0" not in data or data.startswith(_UTF16_MARKS):
        for codec, called in candidates:
            try:
                return data.decode(codec), called
            except UnicodeDecodeError:
                continue
    raise InputError(
        f"{name}: this is not a text file. Expected CSV in UTF-8 or cp1252, or a workbook "
        "(.xlsx, .ods)."
    )


def _find_delimiter(text: str, name: str) -> str:
    first = next((line for line in text.splitlines() if line.strip(" ;,\t")), None)
    if first is None:
        raise InputError(
            f"{name}: the file is empty. Expected a first row that names the columns, such as "
            "'code' and a colour, then one row for each pencil."
        )
    counts = {delimiter: first.count(delimiter) for delimiter in DELIMITERS}
    return max(counts, key=lambda delimiter: counts[delimiter])


def _check_widths(header: TextRow, rows: tuple[TextRow, ...], delimiter: str, name: str) -> None:
    problems = []
    for row in rows:
        if len(row.cells) > len(header.cells) and any(row.cells[len(header.cells) :]):
            excess = len(row.cells)
        elif len(row.cells) == 1 < len(header.cells):
            excess = 1
        else:
            continue
        others = [
            called
            for other, called in DELIMITERS.items()
            if other != delimiter and any(other in cell for cell in row.cells)
        ]
        hint = f"; it may be separated by {others[0]}s instead" if excess == 1 and others else ""
        reason = (
            f"{excess} cells, but the header has {len(header.cells)}, separated by "
            f"{DELIMITERS[delimiter]}s{hint}."
        )
        problems.append(Problem(row.number, reason=reason))
    if problems:
        raise ProblemsInFile(
            f"{name}: nothing was imported; mend these rows and try again.", problems
        )


def _uses_decimal_comma(rows: tuple[TextRow, ...], name: str) -> bool:
    def first_with(pattern: re.Pattern[str]) -> TextRow | None:
        return next((row for row in rows if any(map(pattern.fullmatch, row.cells))), None)

    comma, point = first_with(COMMA_NUMBER), first_with(_POINT_NUMBER)
    if comma and point:
        raise InputError(
            f"{name}: numbers have a decimal comma in row {comma.number} and a decimal point in "
            f"row {point.number}. Use one of them throughout."
        )
    return comma is not None
