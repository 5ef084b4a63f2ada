"""The answer of `range show`: the swatches of a range."""

from functools import partial
from operator import attrgetter

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
from stopgap.swatches import FIELDS, ColourRange, Swatch, stated_conditions

_OF_EVERY_SWATCH = ("range", "code", "name", "lab", "owned", "status")
_COLUMNS = ("range", "code", "name", "L", "a", "b", "owned", "status")
_SHOWN = ("chip", "code", "name", "L*", "a*", "b*", "±", "marks")


def range_report(found: ColourRange) -> Report:
    """JSON schema stopgap.range/1."""
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
            "swatches": data_of(_FIELDS, found.swatches),
        },
        [
            Heading(f"{found.name}: {len(found.swatches)} swatches"),
            grid_of(_FIELDS, _SHOWN, found.swatches),
        ],
        titles_of(_FIELDS),
        cells_of(_FIELDS, found.swatches),
    )


def _decided(name: str) -> RowField[Swatch]:
    """A field of the table of fields, told as the table says."""
    kind = FIELDS[name].kind
    return RowField(name, lambda swatch: kind.told(getattr(swatch, name)))


def _number(title: str, get: "partial[float] | attrgetter[float]") -> RowField[Swatch]:
    return only_shown(title, lambda swatch: one_decimal(get(swatch)), title, number=True)


def _coordinate(place: int, swatch: Swatch) -> float:
    return swatch.lab[place]


_FIELDS: list[RowField[Swatch]] = [
    only_shown("chip", lambda swatch: Chip((swatch.lab,))),
    only_shown("code", attrgetter("code"), "code"),
    only_shown("name", attrgetter("name"), "name"),
    *(_number(f"{name}*", partial(_coordinate, place)) for place, name in enumerate("Lab")),
    _number("±", attrgetter("uncertainty")),
    only_shown("marks", swatch_marks, "marks"),
    swatch_field(_COLUMNS, get=lambda swatch: swatch),
    *(_decided(name) for name in FIELDS if name not in _OF_EVERY_SWATCH),
    RowField("measurement", lambda swatch: stated_conditions(swatch.measurement), cells=NOWHERE),
    RowField("extra", lambda swatch: dict(swatch.extra), cells=NOWHERE),
]
