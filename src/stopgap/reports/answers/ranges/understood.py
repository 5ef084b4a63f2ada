"""What was guessed, repaired or left out of a file that is to come in: one line a cause."""

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Any

from stopgap.errors import Note, Remedy
from stopgap.library import Finding, FindingKind
from stopgap.reports.blocks import Block, Column, Grid, Heading, Paragraph, Report, Say

_MOST_LINES = 10
"""Of the findings; with the heading, the question and what would help, a screen of 15 lines."""
_WIDTH = 76
_LONGEST = 2 * _WIDTH
_EXAMPLES = 2
_ORDER = (
    FindingKind.DOUBT,
    FindingKind.LEFT_OUT,
    FindingKind.KEPT,
    FindingKind.REPAIR,
    FindingKind.GUESS,
    FindingKind.REMARK,
)
_MARKS: Mapping[FindingKind, str] = MappingProxyType({FindingKind.DOUBT: "!"})


def understood_report(
    file: str, findings: Sequence[Finding], count: int, say: Say = str, *, every: bool = False
) -> Report:
    """What the user is asked to agree on; `count` pencils can be taken. With `every`, each cell."""
    pencils = "1 pencil" if count == 1 else f"{count} pencils"
    blocks: list[Block] = [
        Heading(f"{file}: {pencils} can be taken; this was guessed, mended or left out:")
    ]
    blocks += finding_blocks(findings, say, every=every)
    return Report("stopgap.import/1", {}, blocks)


def finding_blocks(
    findings: Sequence[Finding], say: Say = str, *, every: bool = False
) -> list[Block]:
    """What columns were taken for, in one paragraph; then a line for each other cause."""
    blocks: list[Block] = []
    lines = 0
    meant = [finding for finding in findings if finding.means]
    if meant:
        told = ", ".join(f"{finding.column} as {finding.means}" for finding in meant)
        blocks.append(Paragraph(_cut(f"Columns: {told}.", 3 * _WIDTH), mark="·"))
        lines += _lines(told)
    others = sorted(
        (finding for finding in findings if not finding.means),
        key=lambda finding: _ORDER.index(finding.kind),
    )
    for place, finding in enumerate(others):
        text = _cut(f"{finding.text}{_examples(finding)}.", _LONGEST)
        text = say(Note(text, finding.remedy))
        lines += _lines(text)
        if lines > _MOST_LINES and not every:
            left = Note(f"… and {len(others) - place} more of this kind.", Remedy.EACH_CELL)
            blocks.append(Paragraph(say(left)))
            break
        blocks.append(Paragraph(text, mark=_MARKS.get(finding.kind, "·")))
    if every:
        blocks += _each_cell(findings)
    return blocks


def finding_data(finding: Finding) -> dict[str, Any]:
    """A finding in JSON."""
    return {
        "kind": str(finding.kind),
        "column": finding.column or None,
        "means": finding.means or None,
        "count": len(finding.cells),
        "text": f"{finding.text}.",
    }


def _each_cell(findings: Sequence[Finding]) -> list[Block]:
    rows = [
        (str(cell.row), finding.column, cell.found, cell.taken or str(finding.kind))
        for finding in findings
        for cell in finding.cells
    ]
    titles = (Column("row", number=True), Column("column"), Column("found"), Column("taken as"))
    return [Grid(titles, rows)] if rows else []


def _examples(finding: Finding) -> str:
    """Where, and what stood there; the rows of doubt, which are to be mended."""
    cells = finding.cells
    if not cells or finding.cause.startswith("words:"):
        return ""  # the words are the sentence
    if finding.kind is FindingKind.DOUBT:
        rows = ", ".join(str(cell.row) for cell in cells[:8])
        more = f" and {len(cells) - 8} more" if len(cells) > 8 else ""
        return f" (row{'' if len(cells) == 1 else 's'} {rows}{more})"
    shown = [
        f"row {cell.row} {_short(cell.found)}" + (f" as {_short(cell.taken)}" if cell.taken else "")
        for cell in cells[:_EXAMPLES]
    ]
    return f": {', '.join(shown)}{' …' if len(cells) > len(shown) else ''}"


def _short(text: str) -> str:
    return repr(_cut(text, 24))


def _cut(text: str, length: int) -> str:
    return text if len(text) <= length else f"{text[: length - 1].rstrip()}…"


def _lines(text: str) -> int:
    return -(-len(text) // _WIDTH)
