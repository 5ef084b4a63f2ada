"""The answer of `range show`: the swatches of a range."""

from functools import partial
from operator import attrgetter
from typing import Any, NamedTuple

from stopgap.reports.blocks import Chip, Heading, Report
from stopgap.reports.columns import (
    NOWHERE,
    RowField,
    cells_of,
    data_of,
    grid_of,
    one_decimal,
    only_shown,
    swatch_field,
    titles_of,
)
from stopgap.reports.wording import swatch_marks
from stopgap.swatches import FIELDS, ColourRange, Pencil, Swatch, laid_words, stated_conditions

_OF_EVERY_SWATCH = ("range", "code", "name", "lab", "owned", "status")
_COLUMNS = ("range", "code", "name", "L", "a", "b", "owned", "status")
_OF_SWATCH = tuple(name for name, row in FIELDS.items() if row.of_swatch and name != "lab")
_SHOWN = ("chip", "code", "name", "L*", "a*", "b*", "±", "marks")


class _Row(NamedTuple):
    """A pencil, and the swatch that is its colour; its first where all of them are wet."""

    swatch: Swatch
    pencil: Pencil


def range_report(found: ColourRange) -> Report:
    """JSON schema stopgap.range/1: every pencil by its colour, with all its swatches."""
    rows = [_Row(pencil.colour() or pencil.first, pencil) for pencil in found.pencils]
    count = len(found.every_swatch)
    of = f" of {len(rows)} pencils" if count > len(rows) else ""
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
            "swatches": data_of(_FIELDS, rows),
        },
        [
            Heading(f"{found.name}: {count} swatches{of}"),
            grid_of(_FIELDS, _SHOWN, rows, _also),
        ],
        titles_of(_FIELDS),
        cells_of(_FIELDS, rows),
    )


def _told(name: str, swatch: Swatch) -> Any:
    """A field as the table of fields says."""
    return FIELDS[name].kind.told(getattr(swatch, name))


def _decided(name: str) -> RowField[_Row]:
    return RowField(name, lambda row: _told(name, row.swatch))


def _swatches(row: _Row) -> list[dict[str, Any]]:
    """All swatches of the pencil; `colour` says which of them is its colour."""
    colour = row.pencil.colour()
    return [
        {
            "lab": list(swatch.lab),
            **{name: _told(name, swatch) for name in _OF_SWATCH},
            "date": swatch.measurement.date,
            "colour": swatch is colour,
        }
        for swatch in row.pencil.swatches
    ]


def _also(row: _Row) -> list[str]:
    """The other swatches of the pencil, a line each; and that there is none that is dry."""
    others = [swatch for swatch in row.pencil.swatches if swatch is not row.swatch]
    lines = [
        f"also {laid_words(swatch) or 'laid heavy'}: lab({L:.1f} {a:.1f} {b:.1f})"
        for swatch in others
        for L, a, b in [swatch.lab]
    ]
    wet = row.swatch.state.wet
    return [*(["! never swatched dry, so no question is answered with it"] if wet else []), *lines]


def _number(title: str, get: "partial[float] | attrgetter[float]") -> RowField[_Row]:
    return only_shown(title, lambda row: one_decimal(get(row.swatch)), title, number=True)


def _coordinate(place: int, swatch: Swatch) -> float:
    return swatch.lab[place]


_FIELDS: list[RowField[_Row]] = [
    only_shown("chip", lambda row: Chip((row.swatch.lab,))),
    only_shown("code", attrgetter("swatch.code"), "code"),
    only_shown("name", attrgetter("swatch.name"), "name"),
    *(_number(f"{name}*", partial(_coordinate, place)) for place, name in enumerate("Lab")),
    _number("±", attrgetter("uncertainty")),
    only_shown("marks", lambda row: swatch_marks(row.swatch), "marks"),
    swatch_field(_COLUMNS),
    *(_decided(name) for name in FIELDS if name not in _OF_EVERY_SWATCH),
    RowField("measurement", lambda row: stated_conditions(row.swatch.measurement), cells=NOWHERE),
    RowField("extra", lambda row: dict(row.swatch.extra), cells=NOWHERE),
    RowField("swatches", _swatches, lambda value: value, NOWHERE),
]
