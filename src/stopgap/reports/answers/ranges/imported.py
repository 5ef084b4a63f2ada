"""The answers of `range import` and `range check`: what was read and changed; what may be wrong."""

from collections.abc import Sequence
from typing import NamedTuple

from stopgap.errors import Note, Remedy
from stopgap.library import ImportReport, RangeCheck
from stopgap.reports.answers.ranges.measurement import range_notes
from stopgap.reports.answers.ranges.understood import finding_blocks, finding_data
from stopgap.reports.blocks import Block, Heading, Paragraph, Report, Say
from stopgap.reports.columns import cells_of, plain, titles_of

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
