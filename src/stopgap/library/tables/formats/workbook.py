"""XLSX and ODS, the first sheet of a workbook, through pandas."""

import io
import warnings
import zipfile

from stopgap.errors import InputError
from stopgap.library.tables.formats.table import COMMA_NUMBER, LARGEST_FILE, TextRow, TextTable


def read_xlsx(data: bytes, name: str) -> TextTable:
    """The first sheet of an Office Open XML workbook (ISO/IEC 29500)."""
    return _read_workbook(data, name, engine="openpyxl", called="XLSX")


def read_ods(data: bytes, name: str) -> TextTable:
    """The first sheet of an OpenDocument spreadsheet (ISO/IEC 26300)."""
    return _read_workbook(data, name, engine="odf", called="ODS")


def members(data: bytes) -> dict[str, int]:
    """Names and unpacked sizes in a zip archive, empty where `data` is none."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            return {member.filename: member.file_size for member in archive.infolist()}
    except zipfile.BadZipFile:
        return {}


def _read_workbook(data: bytes, name: str, *, engine: str, called: str) -> TextTable:
    if sum(members(data).values()) > 4 * LARGEST_FILE:
        raise InputError(
            f"{name}: the workbook unpacks to more than {4 * LARGEST_FILE // 2**20} MB. "
            "Keep the swatches in a smaller file."
        )
    import pandas

    try:
        with warnings.catch_warnings():
            # openpyxl warns of styles and validations it drops; only cell values matter here
            warnings.simplefilter("ignore", UserWarning)
            book = pandas.ExcelFile(io.BytesIO(data), engine=engine)  # type: ignore[arg-type]
            sheet = str(book.sheet_names[0])
            frame = pandas.read_excel(book, sheet, header=None, dtype=object, na_filter=False)
    except Exception as error:
        raise InputError(
            f"{name}: the {called} workbook cannot be read; it may be damaged or protected by a "
            "password. Open it in its program and save it again, or export it as CSV."
        ) from error
    rows = [
        TextRow(number, tuple(_text(cell) for cell in record))
        for number, record in enumerate(frame.itertuples(index=False), start=1)
    ]
    rows = [row for row in rows if any(row.cells)]
    if not rows:
        raise InputError(f"{name}: the first sheet ({sheet}) of the workbook is empty.")
    details = {"format": called, "sheet": sheet}
    # numbers come with a point whatever the program shows; only text can have a comma
    decimal_comma = any(COMMA_NUMBER.fullmatch(cell) for row in rows[1:] for cell in row.cells)
    return TextTable(rows[0], tuple(rows[1:]), details, decimal_comma)


def _text(cell: object) -> str:
    if (
        cell is None or cell != cell
    ):  # pandas marks an empty cell by NaN, which is unequal to itself
        return ""
    if isinstance(cell, float) and cell.is_integer():
        return str(int(cell))
    return str(cell).strip()
