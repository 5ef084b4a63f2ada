"""What every spreadsheet format is read into: text cells with their place in the file."""

from collections.abc import Mapping
from dataclasses import dataclass

from stopgap.library.tables.formulas import COMMA_NUMBER as COMMA_NUMBER


@dataclass(frozen=True, slots=True)
class TextRow:
    """One row: `number` as a spreadsheet program counts it, the header being row 1 as a rule."""

    number: int
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class TextTable:
    """Header cells and rows of one sheet; `details` says how the file was understood.

    `unit` is `factor` or `per cent` where the format says which reflectances are; `paper_row` is
    the number of a row that holds the bare paper; `dates` are cells, by the row's number and the
    place within it, that a workbook holds as dates; `notes` are for the user. A table to be written
    says in `numbers` which headings have numbers below them, and in `chips` the colour of each row.
    `own` are the file's own headings by place, where the header has the contract's in their stead.
    """

    header: TextRow
    rows: tuple[TextRow, ...]
    details: Mapping[str, str]
    decimal_comma: bool = False
    unit: str | None = None
    paper_row: int | None = None
    notes: tuple[str, ...] = ()
    dates: frozenset[tuple[int, int]] = frozenset()
    numbers: frozenset[str] = frozenset()
    chips: tuple[str, ...] = ()
    own: tuple[str, ...] = ()
