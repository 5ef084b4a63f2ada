"""The answers of `range list`, `range show` and `find`: ranges, and pencils of one or of all."""

from collections.abc import Callable, Sequence
from functools import partial
from operator import attrgetter
from pathlib import Path
from typing import Any, NamedTuple

from stopgap.errors import Note, Remedy
from stopgap.library import FoundPencil
from stopgap.planner import Ground
from stopgap.reports.blocks import Block, Figures, Heading, Paragraph, Report, Say, worded
from stopgap.reports.columns import (
    NOWHERE,
    RowField,
    cells_of,
    coordinate,
    data_of,
    grid_of,
    one_decimal,
    only_shown,
    swatch_chip,
    swatch_field,
    titles_of,
)
from stopgap.reports.terms import colour_words, in_our_spelling
from stopgap.reports.wording import (
    rating_words,
    swatch_marks,
)
from stopgap.swatches import FIELDS, ColourRange, Pencil, Swatch, laid_words, stated_conditions


def ranges_report(ranges: Sequence[ColourRange], library: Path, say: Say = str) -> Report:
    """JSON schema stopgap.ranges/1."""
    blocks: list[Block] = [Paragraph(f"Library {library}")]
    if ranges:
        keys = ("name", "pencils", "swatches", "owned", "discontinued", "origin")
        blocks.append(grid_of(_RANGE_FIELDS, keys, ranges))
    else:
        blocks.append(Paragraph(say(Note("No range yet.", Remedy.IMPORT_RANGE))))
    return Report(
        "stopgap.ranges/1",
        {"ranges": data_of(_RANGE_FIELDS, ranges)},
        blocks,
        titles_of(_RANGE_FIELDS),
        cells_of(_RANGE_FIELDS, ranges),
    )


_RANGE_FIELDS: list[RowField[ColourRange]] = [
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


_OF_EVERY_SWATCH = ("range", "code", "name", "lab", "owned", "status")
_COLUMNS = ("range", "code", "name", "L", "a", "b", "owned", "status")
_OF_SWATCH = tuple(name for name, row in FIELDS.items() if row.of_swatch and name != "lab")
_SHOWN = ("chip", "code", "name", "L*", "a*", "b*", "±", "rated", "marks")
_PRICED = (*_SHOWN[:-1], "shown price", "marks")


class _Row(NamedTuple):
    """A pencil, and its colour on a paper; its first swatch where all of them are wet, or a name.

    `source` is the swatch that the colour comes from, None where there is no dry one.
    """

    swatch: Swatch
    pencil: Pencil
    source: Swatch | None


def range_report(found: ColourRange, ground: Ground) -> Report:
    """JSON schema stopgap.range/1: every pencil by its colour, with all its swatches."""
    colours = {swatch.address: swatch for swatch in ground.swatches}
    rows = [
        _Row(colours.get(pencil.first.address, pencil.first), pencil, pencil.colour(ground.on))
        for pencil in found.pencils
    ]
    count = len(found.every_swatch)
    shown = _PRICED if any(map(_price, rows)) else _SHOWN
    of = f" of {len(rows)} pencils" if count != len(rows) else ""
    return Report(
        "stopgap.range/1",
        {
            "name": found.name,
            "white": found.white,
            "observer": found.observer,
            "white_assumed": found.white_assumed,
            "origin": found.origin,
            "paper": {"lab": list(found.paper.lab), "measured": found.paper.measured},
            "shift": list(found.shift),
            "swatches": data_of(_PENCIL_FIELDS, rows),
        },
        [
            Heading(f"{found.name}: {count} swatches{of}"),
            grid_of(_PENCIL_FIELDS, shown, rows, _also),
        ],
        titles_of(_PENCIL_FIELDS),
        cells_of(_PENCIL_FIELDS, rows),
    )


def _told(name: str, swatch: Swatch) -> Any:
    """A field as the table of fields says."""
    return FIELDS[name].kind.told(getattr(swatch, name))


def _decided(name: str) -> RowField[_Row]:
    return RowField(name, lambda row: _told(name, row.swatch))


def _swatches(row: _Row) -> list[dict[str, Any]]:
    """All swatches of the pencil; `colour` says which of them is its colour."""
    return [
        {
            "lab": list(swatch.lab),
            **{name: _told(name, swatch) for name in _OF_SWATCH},
            "date": swatch.measurement.date,
            "colour": swatch is row.source,
        }
        for swatch in row.pencil.swatches
        if swatch.coloured
    ]


def _also(row: _Row) -> list[str]:
    """The other swatches of the pencil, a line each; and that there is none that is dry."""
    predicted = row.source is not None and row.source.lab != row.swatch.lab
    shown = row.swatch if row.source is None else row.source
    if not shown.coloured:
        return []
    others = [swatch for swatch in row.pencil.swatches if predicted or swatch is not shown]
    also = "swatched" if predicted else "also"
    lines = [
        worded(f"{also} {laid_words(swatch) or 'laid heavy'}: ", colour_words(swatch.lab))
        for swatch in others
    ]
    wet = row.source is None
    return [*(["! never swatched dry, so no question is answered with it"] if wet else []), *lines]


def _price(row: _Row) -> str:
    """The price with what it is in; a bare number, which says little by itself, is not shown."""
    price, currency = row.swatch.price, row.swatch.currency
    return "" if price is None or not currency else f"{price:.2f} {currency}"


def _number(title: str, get: Callable[[Swatch], float | None]) -> RowField[_Row]:
    return only_shown(title, lambda row: one_decimal(get(row.swatch)), Figures(title), number=True)


def _uncertainty(swatch: Swatch) -> float | None:
    return swatch.total_uncertainty if swatch.coloured else None


_PENCIL_FIELDS: list[RowField[_Row]] = [
    only_shown("chip", lambda row: swatch_chip(row.swatch)),
    only_shown("code", attrgetter("swatch.code"), "code"),
    only_shown("name", attrgetter("swatch.name"), "name"),
    *(_number(f"{name}*", partial(coordinate, place)) for place, name in enumerate("Lab")),
    _number("±", _uncertainty),
    only_shown("shown price", _price, "price", number=True),
    only_shown("rated", lambda row: rating_words(row.swatch), "rated"),
    only_shown("marks", lambda row: swatch_marks(row.swatch), "marks"),
    swatch_field(_COLUMNS),
    *(_decided(name) for name in FIELDS if name not in _OF_EVERY_SWATCH),
    RowField("measurement", lambda row: stated_conditions(row.swatch.measurement), cells=NOWHERE),
    RowField("extra", lambda row: dict(row.swatch.extra), cells=NOWHERE),
    RowField("swatches", _swatches, lambda value: value, NOWHERE),
]


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
        {
            "words": words,
            "found": data_of(_FIELDS, found),
            "notes": notes,
            "paper": None,
            "marked": [],
        },
        [
            Heading(f"{words}: {count}"),
            grid_of(_FIELDS, ("chip", "address", "shown name", "called", "rated", "marks"), shown),
            *rest,
            *(Paragraph(note, mark="·") for note in notes),
        ],
        titles_of(_FIELDS),
        cells_of(_FIELDS, found),
    )


_FIELDS: list[RowField[FoundPencil]] = [
    only_shown("chip", lambda each: swatch_chip(each.swatch)),
    only_shown("address", lambda each: each.swatch.address, "pencil"),
    only_shown("shown name", lambda each: each.swatch.name, "name"),
    only_shown("rated", lambda each: rating_words(each.swatch), "rated"),
    only_shown("marks", lambda each: swatch_marks(each.swatch), "marks"),
    swatch_field((*_COLUMNS, "lightfastness")),
    RowField("called", lambda each: each.called, shown=in_our_spelling, title="colour"),
    RowField("also", lambda each: each.swatch.also),
]
