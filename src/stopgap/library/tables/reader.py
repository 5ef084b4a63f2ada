"""Every kind of file row by row: cells to values, problems gathered instead of raised.

One dialect for all of them: headings in any case, with a star or with spaces; a decimal comma where
the file has one; the Unicode minus; text as a spreadsheet guards it.
"""

from collections.abc import Callable, Collection, Sequence
from itertools import takewhile
from pathlib import Path
from typing import Any, NamedTuple

from stopgap.errors import InputError, Problem, ProblemsInFile, Remedy
from stopgap.library.files import called
from stopgap.library.tables.cells import unguard
from stopgap.library.tables.columns import Columns, find_columns, folded
from stopgap.library.tables.formats import TextRow, TextTable, read_table
from stopgap.library.tables.formats.delimited import refuse_uneven
from stopgap.swatches import Field, FieldKind, Number


class Cells:
    """One row, asked cell by cell; `problems` gathers what was wrong with it."""

    def __init__(self, row: TextRow, columns: Columns, *, decimal_comma: bool) -> None:
        self.row = row
        self.columns = columns
        self.problems: list[Problem] = []
        self._decimal_comma = decimal_comma

    def raw(self, title: str) -> str:
        """The cell under a heading as it stands, empty where there is none."""
        index = self.columns.place.get(folded(title))
        return self.at(index) if index is not None else ""

    def at(self, index: int) -> str:
        """The cell in a column, empty where the row is short."""
        return self.row.cells[index] if index < len(self.row.cells) else ""

    def text(self, title: str) -> str:
        """A text, without the guard that an export put before it."""
        return unguard(self.raw(title))

    def problem(self, column: str, found: str, expected: str, beside: str = "") -> None:
        """Note that a cell is not as expected."""
        own = self.columns.own(column)
        self.problems.append(Problem(self.row.number, own, found, expected, beside))

    def trouble(self, column: str, reason: str) -> None:
        """Note what is wrong in a sentence."""
        self.problems.append(Problem(self.row.number, self.columns.own(column), reason=reason))

    def field(self, row: Field) -> Any | None:
        """The value of a field; None where its first cell is empty or a problem was noted."""
        first, *others = row.titles
        cell = self.text(first)
        if not cell:
            return None
        return self.value(first, row.kind, [cell, *map(self.text, others)])

    def number(self, title: str, kind: Number) -> float | None:
        """The number under a heading; None as with `field`."""
        return self.number_in(title, self.text(title), kind)

    def above_zero(self, title: str, kind: Number) -> float | None:
        """The number above 0 under a heading; None as with `field`."""
        value = self.number(title, kind)
        if value == 0.0:
            self.problem(title, self.text(title), kind.expected)
        return value

    def number_in(self, column: str, cell: str, kind: Number) -> float | None:
        """The number in a cell of that column; None as with `field`."""
        value: float | None = self.value(column, kind, [cell])
        return value

    def value(self, column: str, kind: FieldKind, cells: Sequence[str]) -> Any | None:
        """What cells say, the first of them being in `column`; None as with `field`."""
        if not cells[0]:
            return None
        try:
            return kind.read(*(map(self._plain, cells) if isinstance(kind, Number) else cells))
        except ValueError:
            self.problem(column, cells[0], kind.expected)
            return None

    def _plain(self, cell: str) -> str:
        plain = cell.replace("−", "-")
        return plain.replace(",", ".") if self._decimal_comma else plain


class Sheet(NamedTuple):
    """A file as it was read: its table, what its columns hold, and its rows, at least one."""

    name: str
    table: TextTable
    columns: Columns
    rows: list[Cells]

    def raise_problems(self, outcome: str, remedy: Remedy | None = None) -> None:
        """Raise ProblemsInFile with all that was noted in file order, if anything was."""
        problems = [problem for cells in self.rows for problem in cells.problems]
        if problems:
            raise ProblemsInFile(f"{self.name}: {outcome}", problems, remedy=remedy)


_MOST_ABOVE = 4

Renaming = Callable[[Sequence[str]], tuple[str, ...] | None]
"""Headings in other words to known titles; None where they are none."""


def read_sheet(
    path: Path,
    known: Collection[str],
    required: Collection[str],
    each: str,
    *,
    spectra: bool = False,
    unheaded: Sequence[str] = (),
    named: Renaming | None = None,
) -> Sheet:
    """The rows of a file, each of which stands for one of `each`.

    `unheaded` is what its columns hold where a file may have no row of headings;
    `named` gives a row of headings in the known titles, None where it is none; it is not asked of
    headings that are all known. What stands above them, alone in its row, is a title and left out.

    Raises
    ------
    InputError
        If the file cannot be read or has no row, or as `find_columns` does.
    """
    table = read_table(path)
    if named is not None:
        table = _below_title(table, required, named)
    titles = None
    if named is not None and not _as_expected(table, known, required):
        titles = named(table.header.cells)
    if titles is not None:
        header = TextRow(table.header.number, titles)
        table = table._replace(header=header, own=table.header.cells)
    elif unheaded and not _has_headings(table, unheaded):
        table = table._replace(
            header=TextRow(table.header.number, tuple(unheaded[: len(table.header.cells)])),
            rows=(table.header, *table.rows),
        )
    if "delimiter" in table.details:
        refuse_uneven(table, called(path))
    return sheet_of(table, called(path), known, required, each, spectra=spectra)


def _as_expected(table: TextTable, known: Collection[str], required: Collection[str]) -> bool:
    """Whether each heading is one of the known titles, so that none needs to be understood."""
    titles = {folded(cell) for cell in table.header.cells}
    return {*required} <= titles <= {*known}


def _below_title(table: TextTable, required: Collection[str], named: Renaming) -> TextTable:
    """The table from its headings on, where only a title stands above them."""
    above = (table.header, *table.rows[:_MOST_ABOVE])
    alone = list(takewhile(lambda row: sum(map(bool, row.cells)) < 2, above))
    if not alone or len(alone) == len(above):
        return table
    header = above[len(alone)]
    if named(header.cells) is None and not {*required} <= set(map(folded, header.cells)):
        return table
    return table._replace(header=header, rows=table.rows[len(alone) :])


def sheet_of(
    table: TextTable,
    name: str,
    known: Collection[str],
    required: Collection[str],
    each: str,
    *,
    spectra: bool = False,
) -> Sheet:
    """The rows of a table, each of which stands for one of `each`; `name` is its file's.

    Raises
    ------
    InputError
        If there is no row, or as `find_columns` does.
    """
    columns = find_columns(table, name, known, required, spectra=spectra)
    if not table.rows:
        raise InputError(
            f"{name}: there is a header but no row below it. Expected one row for each {each}."
        )
    rows = [Cells(row, columns, decimal_comma=table.decimal_comma) for row in table.rows]
    return Sheet(name, table, columns, rows)


def _has_headings(table: TextTable, titles: Sequence[str]) -> bool:
    """Whether the first row names columns: it has one of these titles, or looks like no value."""
    cells = [cell for cell in table.header.cells if cell]
    own = table.details.get("format") in ("CGATS", "CxF")
    if own or not {folded(cell) for cell in cells}.isdisjoint(titles):
        return True
    alone = all(not any(row.cells[1:]) for row in (table.header, *table.rows))
    return not (alone or any(each.isdigit() or each in ":#(" for each in table.header.cells[0]))
