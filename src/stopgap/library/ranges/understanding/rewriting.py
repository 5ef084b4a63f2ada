"""A table as people keep it to the table that a range file is: rows sorted out, cells made plain.

Each step takes columns of cells and gives them back with what it found; nothing is changed that the
contract's own reading would take as it stands.
"""

from collections.abc import Callable, Sequence

from stopgap.library.ranges.understanding.colouring import COLOUR_STEPS, parted_colours
from stopgap.library.ranges.understanding.contents import number, thousands_mark
from stopgap.library.ranges.understanding.grid import (
    COLOUR_NUMBERS,
    CellGrid,
    Step,
    changes_of,
    count_of,
    have,
    is_number,
    repair,
)
from stopgap.library.ranges.understanding.mapping import Use
from stopgap.library.ranges.understanding.rows import SECTION
from stopgap.library.ranges.understanding.values import VALUE_STEPS
from stopgap.library.ranges.understanding.vocabulary import (
    KEEP,
    LEAVE_OUT,
    is_title,
)
from stopgap.library.tables.cells import (
    COMMA_NUMBER,
    Finding,
    FindingKind,
    FoundCell,
    is_wavelength,
    kept,
)
from stopgap.library.tables.formats import TextRow, TextTable


def rewritten(
    rows: Sequence[TextRow], sections: Sequence[str], uses: Sequence[Use], table: TextTable
) -> tuple[TextTable, list[Finding]]:
    """The rows of pencils under the contract's titles, their cells plain; and what was found."""
    grid = _gathered(rows, uses)
    if any(sections):
        earlier = grid.columns.get(SECTION, [""] * len(rows))
        joined = [own or section for own, section in zip(earlier, sections, strict=True)]
        grid = grid.with_column(SECTION, joined)
    findings: list[Finding] = []
    delimited = "delimiter" in table.details
    lenient = not delimited or _one_mark(grid)
    steps: tuple[Callable[[CellGrid], Step], ...] = (
        parted_colours,
        lambda grid: _plain_numbers(grid, marks_may_differ=lenient, told=not delimited),
        *COLOUR_STEPS,
        *VALUE_STEPS,
    )
    for step in steps:
        grid, found = step(grid)
        findings += found
    titles = tuple(grid.columns)
    numbered = tuple(
        TextRow(number_, cells)
        for number_, cells in zip(
            grid.numbers, zip(*grid.columns.values(), strict=True), strict=True
        )
    )
    own = tuple(grid.own.get(title, title) for title in titles)
    header = TextRow(table.header.number, titles)
    clean = table._replace(header=header, rows=numbered, decimal_comma=False, own=own, others=0)
    return clean, findings


def _gathered(rows: Sequence[TextRow], uses: Sequence[Use]) -> CellGrid:
    """The cells of rows by what they are taken for; what is only kept has its own heading."""
    columns: dict[str, list[str]] = {}
    own: dict[str, str] = {}
    for use in uses:
        if use.means == LEAVE_OUT:
            continue
        title = use.means
        if title == KEEP:
            title = kept(use.heading) if is_title(use.heading) else use.heading
        columns[title] = [
            row.cells[use.place] if use.place < len(row.cells) else "" for row in rows
        ]
        own[title] = use.heading
    for use in uses:
        for title, value in use.beside:
            if title not in columns:
                columns[title] = [value] * len(rows)
    return CellGrid(tuple(row.number for row in rows), columns, own)


def _one_mark(grid: CellGrid) -> bool:
    """Whether no number of the file has a decimal point, or none a decimal comma."""
    cells = [cell for title, column in grid.columns.items() if is_number(title) for cell in column]
    marks = {mark for mark in ",." for cell in cells if mark in cell and number(cell)}
    return len(marks) < 2


def _plain_numbers(grid: CellGrid, *, marks_may_differ: bool, told: bool) -> Step:
    """Every number with a decimal point; a decimal comma is guessed only among points.

    Where numbers need not be text it is `told`.
    """
    findings = []
    kind = FindingKind.REMARK if marks_may_differ else FindingKind.REPAIR
    for title in [title for title in grid.columns if is_number(title) and title != "price"]:
        grid, commas, others = _plain_column(grid, title)
        own = grid.own.get(title, title)
        if commas and (told or not marks_may_differ):
            text = f"{count_of(commas)} of column {own} {have(commas)} a decimal comma"
            findings.append(repair(f"comma:{title}", text, own, commas)._replace(kind=kind))
        if others:
            text = f"{count_of(others)} of column {own} {have(others)} more than a plain number"
            findings.append(repair(f"number:{title}", text, own, others))
    return grid, findings


def _plain_column(
    grid: CellGrid, title: str
) -> tuple[CellGrid, tuple[FoundCell, ...], tuple[FoundCell, ...]]:
    """A column with plain numbers; its cells that had a decimal comma, and those with more."""
    column = grid.columns[title]
    mark = "" if title in COLOUR_NUMBERS or is_wavelength(title) else thousands_mark(column)
    plain = [number(cell, thousands=mark) or cell for cell in column]
    changed = changes_of([cell.replace("−", "-") for cell in column], plain)
    cells = grid.found(title, changed)
    commas = tuple(cell for cell in cells if _is_comma(cell.found))
    others = tuple(cell for cell in cells if not _is_comma(cell.found))
    return grid.with_column(title, plain), commas, others


def _is_comma(cell: str) -> bool:
    """Whether a cell is a number with nothing unusual but a decimal comma."""
    return COMMA_NUMBER.fullmatch(cell) is not None
