"""Reports of `range`: what an import did, which ranges there are, their swatches and mistakes."""

from collections.abc import Sequence
from pathlib import Path

from stopgap.errors import Note, Remedy
from stopgap.library import ImportReport
from stopgap.reports.answers.measurement import range_notes
from stopgap.reports.blocks import Block, Chip, Column, Grid, Heading, Paragraph, Report
from stopgap.reports.data import swatch_data
from stopgap.reports.remarks import Say
from stopgap.reports.words import swatch_marks
from stopgap.swatches import FIELDS, ColourRange, Swatch, several_conditions, stated_conditions

_MOST_CODES = 12
_SWATCH_FIELDS = ("range", "code", "name", "lab", "owned", "status")  # those of every swatch
_OTHERS = {name: row.kind for name, row in FIELDS.items() if name not in _SWATCH_FIELDS}
_SWATCH_COLUMNS = ("range", "code", "name", "L", "a", "b", "owned", "status", *_OTHERS)


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
    rows = [(name, code) for name, codes in lists.items() for code in codes]
    return Report("stopgap.import/1", data, blocks, ("outcome", "code"), rows)


def ranges_report(ranges: Sequence[ColourRange], library: Path, say: Say = str) -> Report:
    """JSON schema stopgap.ranges/1."""
    columns = ("name", "swatches", "owned", "discontinued", "white", "observer", "origin")
    rows = [
        (
            found.name,
            len(found.swatches),
            sum(swatch.owned for swatch in found.swatches),
            sum(swatch.discontinued for swatch in found.swatches),
            found.white,
            found.observer,
            found.origin,
        )
        for found in ranges
    ]
    data = {"ranges": [dict(zip(columns, row, strict=True)) for row in rows]}
    blocks: list[Block] = [Paragraph(f"Library {library}")]
    if rows:
        grid_columns = [
            Column("range"),
            Column("swatches", number=True),
            Column("owned", number=True),
            Column("discontinued", number=True),
            Column("from"),
        ]
        cells = [
            [row[0], str(row[1]), str(row[2]), str(row[3]), row[6] or "entered by hand"]
            for row in rows
        ]
        blocks.append(Grid(grid_columns, cells))
    else:
        blocks.append(Paragraph(say(Note("No range yet.", Remedy.IMPORT_RANGE))))
    return Report("stopgap.ranges/1", data, blocks, columns, rows)


def range_report(found: ColourRange) -> Report:
    """JSON schema stopgap.range/1."""
    data = {
        "name": found.name,
        "white": found.white,
        "observer": found.observer,
        "white_assumed": found.white_assumed,
        "origin": found.origin,
        "paper": {"lab": list(found.paper.lab), "measured": found.paper.measured},
        "shift": list(found.shift),
        "swatches": [
            {
                "swatch": swatch_data(swatch),
                **_facts(swatch),
                "measurement": stated_conditions(swatch.measurement),
                "extra": dict(swatch.extra),
            }
            for swatch in found.swatches
        ],
    }
    columns = [
        Column(""),
        Column("code"),
        Column("name"),
        Column("L*", number=True),
        Column("a*", number=True),
        Column("b*", number=True),
        Column("±", number=True),
        Column("marks"),
    ]
    cells: list[list[str | Chip]] = [
        [
            Chip((swatch.lab,)),
            swatch.code,
            swatch.name,
            *(f"{value:.1f}" for value in swatch.lab),
            f"{swatch.uncertainty:.1f}",
            swatch_marks(swatch),
        ]
        for swatch in found.swatches
    ]
    rows = [
        (
            swatch.range,
            swatch.code,
            swatch.name,
            *swatch.lab,
            swatch.owned,
            str(swatch.status),
            *_facts(swatch).values(),
        )
        for swatch in found.swatches
    ]
    blocks: list[Block] = [
        Heading(f"{found.name}: {len(found.swatches)} swatches"),
        Grid(columns, cells),
    ]
    return Report("stopgap.range/1", data, blocks, _SWATCH_COLUMNS, rows)


def check_report(found: ColourRange, warnings: Sequence[str]) -> Report:
    """JSON schema stopgap.check/1."""
    notes = []
    if found.white_assumed:
        notes.append(
            f"White {found.white} and the {found.observer} degree observer were assumed at import."
        )
    several = several_conditions([swatch.measurement for swatch in found.swatches])
    if several:
        notes.append(
            f"The swatches were measured in several ways: {'; '.join(several)}. Differences "
            "between them may come from that."
        )
    notes += range_notes(found)
    data = {"range": found.name, "warnings": list(warnings), "notes": notes}
    blocks: list[Block] = [Heading(f"{found.name}: {len(found.swatches)} swatches")]
    blocks += [Paragraph(warning, mark="!") for warning in warnings]
    blocks += [Paragraph(note, mark="·") for note in notes]
    if not warnings:
        blocks.append(Paragraph("No probable mistake found."))
    rows = [("warning", text) for text in warnings] + [("note", text) for text in notes]
    return Report("stopgap.check/1", data, blocks, ("kind", "text"), rows)


def _facts(swatch: Swatch) -> dict[str, object]:
    """The fields that `swatch_data` leaves out."""
    return {name: kind.told(getattr(swatch, name)) for name, kind in _OTHERS.items()}


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
