"""The answer of `find`: the pencils that words name or describe."""

from collections.abc import Sequence

from stopgap.library import FoundPencil
from stopgap.reports.blocks import Chip, Heading, Paragraph, Report
from stopgap.reports.columns import (
    RowField,
    cells_of,
    data_of,
    grid_of,
    only_shown,
    swatch_field,
    titles_of,
)
from stopgap.reports.wording import swatch_marks

_COLUMNS = ("range", "code", "name", "L", "a", "b", "owned", "status")


def search_report(
    words: str, found: Sequence[FoundPencil], limit: int | None = None, *, near: bool = False
) -> Report:
    """JSON schema stopgap.search/1: the likeliest first, the terminal's page at most `limit`.

    `near` says that none is so called, and these come nearest.
    """
    notes = [f"No pencil's colour is called {words}; these come nearest to it."] if near else []
    shown = found[:limit]
    count = f"{len(found)} {'pencil' if len(found) == 1 else 'pencils'}"
    left = len(found) - len(shown)
    rest = [Paragraph(f"{left} more are not shown.", mark="·")] if left else []
    return Report(
        "stopgap.search/1",
        {"words": words, "found": data_of(_FIELDS, found), "notes": notes, "paper": None},
        [
            Heading(f"{words}: {count}"),
            grid_of(_FIELDS, ("chip", "address", "shown name", "called", "marks"), shown),
            *rest,
            *(Paragraph(note, mark="·") for note in notes),
        ],
        titles_of(_FIELDS),
        cells_of(_FIELDS, found),
    )


_FIELDS: list[RowField[FoundPencil]] = [
    only_shown("chip", lambda each: Chip((each.swatch.lab,))),
    only_shown("address", lambda each: each.swatch.address, "pencil"),
    only_shown("shown name", lambda each: each.swatch.name, "name"),
    only_shown("marks", lambda each: swatch_marks(each.swatch), "marks"),
    swatch_field(_COLUMNS),
    RowField("called", lambda each: each.called, title="colour"),
    RowField("also", lambda each: each.swatch.also),
]
