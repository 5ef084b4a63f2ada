"""The answer of `range import`: what was read, and what has changed."""

from collections.abc import Sequence
from typing import NamedTuple

from stopgap.errors import Note, Remedy
from stopgap.library import ImportReport
from stopgap.reports.blocks import Block, Heading, Paragraph, Report, Say
from stopgap.reports.columns import cells_of, plain, titles_of

_MOST_CODES = 12


class _Change(NamedTuple):
    """What became of one swatch: a row of CSV; JSON has a list of codes for each outcome."""

    outcome: str
    code: str


_FIELDS = plain("outcome", "code")


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
    blocks += [Paragraph(note, mark="·") for note in notes]
    blocks += [Paragraph(warning, mark="!") for warning in report.warnings]
    if report.warnings:
        look = Note("Look at the lines marked !.", Remedy.CHECK_RANGE)
        blocks.append(Paragraph(say(look)))
    changes = [_Change(name, code) for name, codes in lists.items() for code in codes]
    cells = cells_of(_FIELDS, changes)
    return Report("stopgap.import/1", data, blocks, titles_of(_FIELDS), cells)


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
