"""File formats that a range can come from, found out by content and not by the file's ending."""

from collections.abc import Callable, Mapping
from importlib import import_module
from pathlib import Path
from types import MappingProxyType
from typing import Any, NamedTuple

from stopgap.errors import InputError
from stopgap.library.files import called, read_bounded
from stopgap.library.tables.cells import TextRow, TextTable
from stopgap.library.tables.formats.signs import is_cgats, is_ods, is_xls, is_xlsx, is_xml

__all__ = ["FORMATS", "Format", "TextRow", "TextTable", "read_table"]


class Format(NamedTuple):
    """One row of FORMATS: how the content is known, read and, for some, written.

    `knows` says whether the format takes a heading for a field of its own.
    """

    recognises: Callable[[bytes], bool]
    read: Callable[[bytes, str], TextTable]
    write: Callable[[TextTable], bytes] | None = None
    knows: Callable[[str], bool] = lambda _: False


def _of(module: str, name: str) -> Callable[..., Any]:
    """A function of a format's module, which is loaded when the function is first called."""

    def call(*given: Any) -> Any:
        return getattr(import_module(f"{__name__}.{module}"), name)(*given)

    return call


FORMATS: Mapping[str, Format] = MappingProxyType(
    {
        "XLSX": Format(is_xlsx, _of("workbook", "read_xlsx"), _of("xlsx_writer", "write_xlsx")),
        "ODS": Format(is_ods, _of("workbook", "read_ods")),
        "XLS": Format(is_xls, _of("workbook", "read_xls")),
        "CxF": Format(is_xml, _of("cxf", "read_cxf"), _of("cxf_writer", "write_cxf")),
        "CGATS": Format(
            is_cgats,
            _of("cgats", "read_cgats"),
            _of("cgats_writer", "write_cgats"),
            _of("cgats", "is_field"),
        ),
        "CSV": Format(
            lambda _: True, _of("delimited", "read_delimited"), _of("delimited", "write_delimited")
        ),
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
