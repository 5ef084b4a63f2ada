"""A spreadsheet as a form: what its columns are taken for, and its cells, to be corrected."""

from collections.abc import Mapping, Sequence

from stopgap.library.ranges.understanding.mapping import Use
from stopgap.library.ranges.understanding.vocabulary import KEEP, LEAVE_OUT, OTHER_MEANINGS
from stopgap.library.tables.cells import Finding, FindingKind, TextRow, TextTable
from stopgap.library.tables.columns import KNOWN
from stopgap.reports.render.rooms import FormField, SheetCell, SheetForm

COLUMN, CELL = "column ", "cell "
"""What the names of fields begin with: a column's heading follows, a cell's row and place."""
_WRONG = (FindingKind.DOUBT, FindingKind.KEPT, FindingKind.LEFT_OUT)
_MOST_ROWS = 300
_MOST_WORDS = 60  # letters of a remark in a cell


def sheet_of(table: TextTable, uses: Sequence[Use], findings: Sequence[Finding]) -> SheetForm:
    """The spreadsheet as it was brought, with what each column is taken for above it and what was
    found of a cell in it; rows with a remark are always shown.
    """
    rows = [table.header, *table.rows]
    told = _told(findings, {use.heading: use.place for use in uses}, rows)
    wrong = {row for (row, _), (_, is_wrong) in told.items() if is_wrong}
    first = [row.number for row in rows if row.number in wrong][:_MOST_ROWS]
    rest = [row.number for row in rows if row.number not in wrong]
    shown = {*first, *rest[: max(_MOST_ROWS - len(first), 1)]}
    cells = [(row.number, _cells(row, told)) for row in rows if row.number in shown]
    wide = max(len(row.cells) for row in rows)
    return SheetForm(_columns(uses, wide), cells, len(rows) - len(cells))


def _columns(uses: Sequence[Use], wide: int) -> list[FormField | None]:
    """The choice over each column; None where there is none."""
    known = dict.fromkeys((*KNOWN, *OTHER_MEANINGS, KEEP, LEAVE_OUT))
    columns: list[FormField | None] = [None] * wide
    for use in uses:
        if use.heading and use.place < wide:
            options = [(word, word) for word in dict.fromkeys([use.means, *known])]
            field = FormField(COLUMN + use.heading, use.heading, use.means, "choice", options)
            columns[use.place] = field
    return columns


def _cells(row: TextRow, told: Mapping[tuple[int, int], tuple[str, bool]]) -> list[SheetCell]:
    cells = []
    for at, text in enumerate(row.cells):
        words, wrong = told.get((row.number, at), ("", False))
        cells.append(SheetCell(f"{CELL}{row.number} {at}", text, words, wrong))
    return cells


def _told(
    findings: Sequence[Finding], places: Mapping[str, int], rows: Sequence[TextRow]
) -> dict[tuple[int, int], tuple[str, bool]]:
    """What was found of cells, by row and place, and whether it is wrong; where no column is named
    it stands in the cell that says what was found, and of a whole row in its first.
    """
    cells = {row.number: row.cells for row in rows}
    told: dict[tuple[int, int], tuple[str, bool]] = {}
    for finding in findings:
        for cell in finding.cells if not finding.means else ():
            words = f"taken as {cell.taken}" if cell.taken else _short(finding)
            texts = cells.get(cell.row, ())
            there = texts.index(cell.found) if cell.found in texts else 0
            key = cell.row, places.get(finding.column, there)
            before, wrong = told.get(key, ("", False))
            said = f"{before}; {words}" if before else words
            told[key] = said, wrong or finding.kind in _WRONG
    return told


def _short(finding: Finding) -> str:
    _, expected, what = finding.text.partition("expected ")
    if expected:
        return expected + what
    return finding.text if len(finding.text) <= _MOST_WORDS else str(finding.kind)
