"""What every spreadsheet format is read into: text cells with their place in the file."""

from collections.abc import Mapping
from dataclasses import dataclass

LARGEST_FILE = 64 * 2**20
"""Bytes of a file that are read at most; also the bound on what a workbook unpacks to (x4)."""


@dataclass(frozen=True, slots=True)
class Row:
    """One row: `number` as a spreadsheet program counts it, the header being row 1 as a rule."""

    number: int
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """Header cells and rows of one sheet; `details` says how the file was understood."""

    header: Row
    rows: tuple[Row, ...]
    details: Mapping[str, str]
    decimal_comma: bool = False
