"""What was read and changed, what may be wrong, and the changes that can be taken back."""

from collections.abc import Mapping, Sequence
from operator import attrgetter
from types import MappingProxyType
from typing import Any, NamedTuple

from stopgap.errors import Note, Remedy
from stopgap.library import Change, Finding, FindingKind, ImportReport, RangeCheck
from stopgap.reports.answers.measurement import range_notes
from stopgap.reports.blocks import Block, Column, Grid, Heading, Paragraph, Report, Say
from stopgap.reports.columns import (
    RowField,
    cells_of,
    data_of,
    grid_of,
    only_shown,
    plain,
    titles_of,
)

_MOST_CODES = 12


class _Change(NamedTuple):
    """What became of one swatch: a row of CSV; JSON has a list of codes for each outcome."""

    outcome: str
    code: str


_CHANGE_FIELDS = plain("outcome", "code")


def import_report(report: ImportReport, say: Say = str) -> Report:
    """JSON schema stopgap.import/1."""
    notes = [say(note) for note in report.notes]
    lists = {
        "added": report.added,
        "changed": report.changed,
        "gone": report.gone,
        "kept": report.kept,
    }
    data = {
        "range": report.range,
        "file": report.origin,
        "read_as": report.details,
        **{name: list(codes) for name, codes in lists.items()},
        "unchanged": report.unchanged,
        "notes": notes,
        "warnings": list(report.warnings),
        "understood": [finding_data(finding) for finding in report.findings],
    }
    read_as = ", ".join(
        value if name in ("format", "encoding") else f"{name} {value}"
        for name, value in report.details.items()
    )
    blocks: list[Block] = [
        Heading(f"{report.range}: {_counts(report)}"),
        Paragraph(f"Read {report.origin} as {read_as}."),
    ]
    blocks += [
        Paragraph(f"{name.capitalize()}: {_codes(lists[name])}.")
        for name in ("changed", "gone")
        if lists[name]
    ]
    if report.kept:
        blocks.append(
            Paragraph(
                f"Kept though the file lacks them, because they are yours: {_codes(report.kept)}."
            )
        )
    blocks += finding_blocks(report.findings, say)
    blocks += [Paragraph(note, mark="·") for note in notes]
    blocks += [Paragraph(warning, mark="!") for warning in report.warnings]
    if report.warnings:
        look = Note("Look at the lines marked !.", Remedy.CHECK_RANGE)
        blocks.append(Paragraph(say(look)))
    changes = [_Change(name, code) for name, codes in lists.items() for code in codes]
    cells = cells_of(_CHANGE_FIELDS, changes)
    return Report("stopgap.import/1", data, blocks, titles_of(_CHANGE_FIELDS), cells)


def imports_report(reports: Sequence[ImportReport], say: Say = str) -> Report:
    """JSON schema stopgap.imports/1: several files brought in at once, one after the other."""
    each = [import_report(one, say) for one in reports]
    data = {"ranges": [{"schema": one.schema, **one.data} for one in each]}
    rows = [
        [report.range, *cells]
        for report, one in zip(reports, each, strict=True)
        for cells in one.rows
    ]
    blocks = [block for one in each for block in one.blocks]
    titles = ["range", *titles_of(_CHANGE_FIELDS)]
    return Report("stopgap.imports/1", data, blocks, titles, rows)


def _counts(report: ImportReport) -> str:
    counts = {
        "added": len(report.added),
        "changed": len(report.changed),
        "unchanged": report.unchanged,
        "gone": len(report.gone),
        "kept": len(report.kept),
    }
    return ", ".join(f"{count} {name}" for name, count in counts.items() if count) or "no swatch"


def _codes(codes: Sequence[str]) -> str:
    shown = ", ".join(codes[:_MOST_CODES])
    more = len(codes) - _MOST_CODES
    return f"{shown} and {more} more" if more > 0 else shown


class _Line(NamedTuple):
    """One line of the answer in CSV; JSON has a list of either kind."""

    kind: str
    text: str


_LINE_FIELDS = plain("kind", "text")


def check_report(found: RangeCheck, say: Say = str) -> Report:
    """JSON schema stopgap.check/1."""
    notes = [*map(say, found.notes), *range_notes(found.range)]
    blocks: list[Block] = [Heading(f"{found.range.name}: {len(found.range.every_swatch)} swatches")]
    blocks += [Paragraph(warning, mark="!") for warning in found.warnings]
    blocks += [Paragraph(note, mark="·") for note in notes]
    if not found.warnings:
        blocks.append(Paragraph("No probable mistake found."))
    lines = [_Line("warning", text) for text in found.warnings]
    lines += [_Line("note", text) for text in notes]
    return Report(
        "stopgap.check/1",
        {"range": found.range.name, "warnings": list(found.warnings), "notes": notes},
        blocks,
        titles_of(_LINE_FIELDS),
        cells_of(_LINE_FIELDS, lines),
    )


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
    file: str,
    findings: Sequence[Finding],
    count: int,
    say: Say = str,
    *,
    every: bool = False,
    most: int = _MOST_LINES,
) -> Report:
    """What the user is asked to agree on; `count` pencils can be taken. With `every`, each cell,
    else `most` lines at most.
    """
    pencils = "1 pencil" if count == 1 else f"{count} pencils"
    blocks: list[Block] = [
        Heading(f"{file}: {pencils} can be taken; this was guessed, mended or left out:")
    ]
    blocks += finding_blocks(findings, say, every=every, most=most)
    return Report("stopgap.import/1", {}, blocks)


def finding_blocks(
    findings: Sequence[Finding], say: Say = str, *, every: bool = False, most: int = _MOST_LINES
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
        a_line_left = place == len(others) - 1 and _lines(text) == 1
        if lines > most and not every and not a_line_left:
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
        rows = list(dict.fromkeys(str(cell.row) for cell in cells))  # two cells of one: once
        more = f" and {len(rows) - 8} more" if len(rows) > 8 else ""
        return f" (row{'' if len(rows) == 1 else 's'} {', '.join(rows[:8])}{more})"
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


def changes_report(changes: Sequence[Change]) -> Report:
    """JSON schema stopgap.history/1: the changes of a library that are kept, newest first."""
    if changes:
        shown = ("number", "when", "what", "taken_back")
        blocks: list[Block] = [grid_of(_CHANGES, shown, changes)]
    else:
        blocks = [Paragraph("No change is kept that could be taken back.")]
    return Report(
        "stopgap.history/1",
        {"changes": data_of(_CHANGES, changes)},
        blocks,
        titles_of(_CHANGES),
        cells_of(_CHANGES, changes),
    )


_CHANGES: list[RowField[Change]] = [
    RowField("number", attrgetter("number"), title="change", number=True),
    RowField("at", lambda one: one.at.isoformat()),
    only_shown("when", lambda one: one.at.astimezone().strftime("%Y-%m-%d %H:%M"), "when"),
    RowField("what", attrgetter("words"), title="what"),
    RowField("changes", attrgetter("joined")),
    RowField(
        "taken_back",
        attrgetter("undone"),
        shown=lambda undone: "taken back" if undone else "",
    ),
]
