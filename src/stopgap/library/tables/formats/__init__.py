"""File formats that a range can come from, found out by content and not by the file's ending."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType

from stopgap.errors import InputError
from stopgap.library.files import called, read_bounded
from stopgap.library.tables.cells import TextRow, TextTable
from stopgap.library.tables.formats.cgats import is_cgats, is_field, read_cgats
from stopgap.library.tables.formats.cgats_writer import write_cgats
from stopgap.library.tables.formats.cxf import is_xml, read_cxf
from stopgap.library.tables.formats.cxf_writer import write_cxf
from stopgap.library.tables.formats.delimited import read_delimited, write_delimited
from stopgap.library.tables.formats.workbook import (
    is_ods,
    is_xls,
    is_xlsx,
    read_ods,
    read_xls,
    read_xlsx,
)
from stopgap.library.tables.formats.xlsx_writer import write_xlsx

__all__ = ["FORMATS", "Format", "TextRow", "TextTable", "read_table"]


@dataclass(frozen=True, slots=True)
class Format:
    """One row of FORMATS: how the content is known, read and, for some, written.

    `knows` says whether the format takes a heading for a field of its own.
    """

    recognises: Callable[[bytes], bool]
    read: Callable[[bytes, str], TextTable]
    write: Callable[[TextTable], bytes] | None = None
    knows: Callable[[str], bool] = lambda _: False


FORMATS: Mapping[str, Format] = MappingProxyType(
    {
        "XLSX": Format(is_xlsx, read_xlsx, write_xlsx),
        "ODS": Format(is_ods, read_ods),
        "XLS": Format(is_xls, read_xls),
        "CxF": Format(is_xml, read_cxf, write_cxf),
        "CGATS": Format(is_cgats, read_cgats, write_cgats, is_field),
        "CSV": Format(lambda _: True, read_delimited, write_delimited),
    }
)
"""In the order in which they are tried; CSV, which has no mark of its own, comes last."""


def read_table(path: Path) -> TextTable:
    """The table in a file, a pipe or, for `-`, on standard input.

    Raises
    ------
    InputError
        If the file cannot be opened, is too large, or is of no known format.
    """
    data = read_bounded(path)
    for row in FORMATS.values():
        if row.recognises(data):
            return row.read(data, called(path))
    raise InputError(f"{called(path)}: not one of the formats {', '.join(FORMATS)}.")
