"""The answer of `range check`: probable mistakes, and what holds for the whole range."""

from collections.abc import Sequence

from stopgap.reports.answers.ranges.measurement import range_notes
from stopgap.reports.blocks import Block, Heading, Paragraph, Report
from stopgap.swatches import ColourRange, departure_notes, several_conditions


def check_report(found: ColourRange, warnings: Sequence[str]) -> Report:
    """JSON schema stopgap.check/1."""
    notes = []
    if found.white_assumed:
        notes.append(
            f"White {found.white} and the {found.observer} degree observer were assumed at import."
        )
    several = several_conditions([swatch.measurement for swatch in found.every_swatch])
    if several:
        notes.append(
            f"The swatches were measured in several ways: {'; '.join(several)}. Differences "
            "between them may come from that."
        )
    notes += map(str, departure_notes(found.swatches))
    wet = [pencil.first.code for pencil in found.pencils if pencil.colour() is None]
    if wet:
        notes.append(f"Never swatched dry, so no question is answered with: {', '.join(wet)}.")
    notes += range_notes(found)
    data = {"range": found.name, "warnings": list(warnings), "notes": notes}
    blocks: list[Block] = [Heading(f"{found.name}: {len(found.every_swatch)} swatches")]
    blocks += [Paragraph(warning, mark="!") for warning in warnings]
    blocks += [Paragraph(note, mark="·") for note in notes]
    if not warnings:
        blocks.append(Paragraph("No probable mistake found."))
    rows = [("warning", text) for text in warnings] + [("note", text) for text in notes]
    return Report("stopgap.check/1", data, blocks, ("kind", "text"), rows)
