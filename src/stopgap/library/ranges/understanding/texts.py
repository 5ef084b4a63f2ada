"""Texts that came through the wrong encoding, or with marks that nobody sees."""

from collections.abc import Callable

from stopgap.library.tables.cells import UNSEEN, Finding, FindingKind, FoundCell
from stopgap.library.tables.formats import TextRow, TextTable
from stopgap.library.tables.formats.delimited import out_of_place, plausible

_WRONGLY_READ = (
    ("cp1252", "utf-8", "UTF-8"),
    ("mac_roman", "utf-8", "UTF-8"),
    ("cp1252", "mac_roman", "Mac Roman"),
    ("mac_roman", "cp1252", "cp1252"),
)


def plain_texts(table: TextTable) -> tuple[TextTable, list[Finding]]:
    """The table with its letters as they were meant, without unseen marks; and what was found."""
    findings = []
    whole = "\n".join(cell for row in (table.header, *table.rows) for cell in row.cells)
    count = 0 if whole.isprintable() else len(UNSEEN.findall(whole))
    if count:
        table, cells = _changed(table, lambda cell: UNSEEN.sub("", cell))
        text = f"{count} control character{'' if count == 1 else 's'} taken out of texts"
        findings.append(Finding(FindingKind.REMARK, "texts:unseen", text, cells=cells))
    if not whole.isascii():
        found = _misread(whole)
        if found is not None:
            written, meant, called = found
            table, cells = _changed(table, lambda cell: _again(cell, written, meant))
            one = len(cells) == 1
            text = (
                f"{'1 cell was' if one else f'{len(cells)} cells were'} {called} read as something "
                "else, and got back their letters"
            )
            findings.append(Finding(FindingKind.REPAIR, f"texts:{called}", text, cells=cells))
    return table, findings


def _misread(whole: str) -> tuple[str, str, str] | None:
    """In which encoding a text was written out, and in which it should be read, if that helps. A
    text in which all is in its place, as its curly quotes are, was read rightly.
    """
    if not out_of_place(whole):
        return None
    best, score = None, plausible(whole) + 0.5
    for written, meant, called in _WRONGLY_READ:
        again = "\n".join(_again(line, written, meant) for line in whole.split("\n"))
        if again != whole and plausible(again) > score:
            best, score = (written, meant, called), plausible(again)
    return best


def _again(cell: str, written: str, meant: str) -> str:
    """A cell read again, where that can be and makes more sense of it."""
    if not out_of_place(cell):
        return cell
    try:
        again = cell.encode(written).decode(meant)
    except UnicodeError:
        return cell
    return again if plausible(again) > plausible(cell) else cell


def _changed(
    table: TextTable, change: Callable[[str], str]
) -> tuple[TextTable, tuple[FoundCell, ...]]:
    cells: list[FoundCell] = []

    def row_of(row: TextRow) -> TextRow:
        after = tuple(map(change, row.cells))
        cells.extend(
            FoundCell(row.number, old, new)
            for old, new in zip(row.cells, after, strict=True)
            if old != new
        )
        return TextRow(row.number, after)

    header, rows = row_of(table.header), tuple(map(row_of, table.rows))
    return table._replace(header=header, rows=rows), tuple(cells)
