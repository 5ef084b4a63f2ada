"""The answer of `range check`: probable mistakes, and what holds for the whole range."""

from typing import NamedTuple

from stopgap.library import RangeCheck
from stopgap.reports.answers.ranges.measurement import range_notes
from stopgap.reports.blocks import Block, Heading, Paragraph, Report, Say
from stopgap.reports.columns import cells_of, plain, titles_of


class _Line(NamedTuple):
    """One line of the answer in CSV; JSON has a list of either kind."""

    kind: str
    text: str


_FIELDS = plain("kind", "text")


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
        titles_of(_FIELDS),
        cells_of(_FIELDS, lines),
    )
