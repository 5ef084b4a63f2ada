"""The answer of `range list`: the ranges of the library."""

from collections.abc import Sequence
from pathlib import Path

from stopgap.errors import Note, Remedy
from stopgap.reports.blocks import Block, Paragraph, Report, Say
from stopgap.reports.columns import RowField, cells_of, data_of, grid_of, titles_of
from stopgap.swatches import ColourRange


def ranges_report(ranges: Sequence[ColourRange], library: Path, say: Say = str) -> Report:
    """JSON schema stopgap.ranges/1."""
    blocks: list[Block] = [Paragraph(f"Library {library}")]
    if ranges:
        blocks.append(
            grid_of(
                _FIELDS, ("name", "pencils", "swatches", "owned", "discontinued", "origin"), ranges
            )
        )
    else:
        blocks.append(Paragraph(say(Note("No range yet.", Remedy.IMPORT_RANGE))))
    return Report(
        "stopgap.ranges/1",
        {"ranges": data_of(_FIELDS, ranges)},
        blocks,
        titles_of(_FIELDS),
        cells_of(_FIELDS, ranges),
    )


_FIELDS: list[RowField[ColourRange]] = [
    RowField("name", lambda found: found.name, title="range"),
    RowField("pencils", lambda found: len(found.pencils), title="pencils", number=True),
    RowField("swatches", lambda found: len(found.every_swatch), title="swatches", number=True),
    RowField(
        "owned",
        lambda found: sum(pencil.first.owned for pencil in found.pencils),
        title="owned",
        number=True,
    ),
    RowField(
        "discontinued",
        lambda found: sum(pencil.first.discontinued for pencil in found.pencils),
        title="discontinued",
        number=True,
    ),
    RowField("white", lambda found: found.white),
    RowField("observer", lambda found: found.observer),
    RowField(
        "origin",
        lambda found: found.origin,
        shown=lambda origin: origin or "entered by hand",
        title="from",
    ),
]
