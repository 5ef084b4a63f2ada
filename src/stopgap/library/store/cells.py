"""What each cell of the library file may hold, and which one is ill-formed.

Cells are looked at one by one only where a row cannot be read, or all of it is to be checked; for
what is read at every start see `rows.checked_columns`.
"""

import json
import sqlite3
from collections.abc import Callable, Iterator, Mapping
from math import inf, isfinite
from pathlib import Path
from types import NoneType
from typing import Any, NamedTuple

from stopgap.errors import InputError, LibraryError, Remedy
from stopgap.library.store import entry as entered
from stopgap.library.store.entry import Entry, EntryKind
from stopgap.library.store.sealing import WATCHED, structure_altered
from stopgap.swatches import FIELDS, GRAINS
from stopgap.swatches.kinds import Number, Text, WholeNumber, YesOrNo

ILL_FORMED = (
    KeyError,
    ValueError,
    TypeError,
    IndexError,
    AttributeError,
    ArithmeticError,
    RecursionError,
)
"""What decoding an ill-formed cell raises."""

FURTHEST = 1000.0  # no colour is as far out as that


class CellBounds(NamedTuple):
    """The types that a column may hold, and between which numbers."""

    types: frozenset[type]
    low: float = -inf
    high: float = inf

    def check(self, values: list[Any], column: str) -> list[Any]:
        """The values of a column; ValueError unless all are within the bounds."""
        found = set(map(type, values))
        if not found <= self.types:
            raise ValueError(column)
        if not found.isdisjoint((int, float)):
            known = [value for value in values if value is not None]
            if not (self.low <= min(known) and max(known) <= self.high):
                raise ValueError(column)
        return values


LAB = ("lightness", "a", "b")
TEXT = CellBounds(frozenset((str,)))
_PERHAPS = ("price", "laydown")  # numbers that nobody need state
_PERHAPS_TEXT = CellBounds(frozenset((str, NoneType)))
_FLAG = CellBounds(frozenset((int,)), 0, 1)
_PLACE = CellBounds(frozenset((int,)), -(2**40), 2**40)


def _bounds_of_fields() -> Iterator[tuple[str, CellBounds]]:
    for row in FIELDS.values():
        kind = row.kind
        if isinstance(kind, Text):
            yield row.columns[0], TEXT
        elif isinstance(kind, YesOrNo):
            yield row.columns[0], _FLAG
        elif isinstance(kind, Number):
            numbers = (int,) if isinstance(kind, WholeNumber) else (int, float)
            types = (*numbers, NoneType) if row.name in _PERHAPS else numbers
            low = -inf if kind.low is None else kind.low
            high = 1e12 if kind.high is None else kind.high
            yield row.columns[0], CellBounds(frozenset(types), low, high)


COORDINATE = CellBounds(frozenset((float, int, NoneType)), -FURTHEST, FURTHEST)
BOUNDS: Mapping[str, CellBounds] = {
    **dict(_bounds_of_fields()),
    **dict.fromkeys(LAB, COORDINATE),
    **dict.fromkeys(("entry", "extra", "measurement", "range", "shift"), TEXT),
    **dict.fromkeys(("white", "origin"), TEXT),
    "observer": CellBounds(frozenset((int,)), 2, 10),
    **dict.fromkeys(("readings", "covariance", "correction"), _PERHAPS_TEXT),
    **dict.fromkeys(
        ("by_hand", "white_assumed", "is_default", "in_use", "fills", "measured"), _FLAG
    ),
    **dict.fromkeys(("id", "range_id", "swatch_id", "position"), _PLACE),
}
"""Of the columns that have the same name and meaning in all tables; words are read as such."""


class IllFormed(NamedTuple):
    """A cell that nobody can read: in which row of which table, of which pencil or range if any."""

    table: str
    row: int
    column: str
    called: str = ""

    def __str__(self) -> str:
        of = self.called or f"{self.table.replace('_', ' ')} {self.row}"
        return f"{of}, column {self.column}"


def unreadable(path: Path, connection: sqlite3.Connection, error: Exception) -> Exception:
    """Which cell nobody can read; the error itself where all cells are as they should be."""
    if structure_altered(connection):
        return LibraryError(
            f"The library {path} is damaged: its tables are not made as was written.",
            remedy=Remedy.CHECK_LIBRARY,
        )
    found = ill_formed_cells(connection)
    if not found:
        return error
    more = f" and {len(found) - 1} more" if found[1:] else ""
    return LibraryError(
        f"The library {path} holds a value that stopgap does not know: {found[0]}{more}.",
        remedy=Remedy.CHECK_LIBRARY,
    )


def ill_formed_cells(connection: sqlite3.Connection) -> list[IllFormed]:
    """Every cell of the library that is not as it should be."""
    return [
        cell
        for table in WATCHED
        for row in connection.execute(f"SELECT * FROM {table} ORDER BY id")
        for cell in ill_formed(connection, table, dict(row))
    ]


def ill_formed(
    connection: sqlite3.Connection, table: str, row: Mapping[str, Any]
) -> Iterator[IllFormed]:
    """The cells of one row that are not as they should be."""
    for column, value in row.items():
        try:
            _check(table, column, value, row)
        except (*ILL_FORMED, InputError):
            yield IllFormed(table, row["id"], column, _called(connection, table, row))


def _called(connection: sqlite3.Connection, table: str, row: Mapping[str, Any]) -> str:
    """The range that a row is, or the address of the pencil that it is about."""
    if table == "colour_range" and isinstance(row["name"], str):
        return f"range {row['name']}"
    of_id = row["id"] if table == "swatch" else row.get("swatch_id")
    found = connection.execute(
        "SELECT colour_range.name, swatch.code FROM swatch"
        " JOIN colour_range ON colour_range.id = range_id WHERE swatch.id = ?",
        (of_id,),
    ).fetchone()
    return "" if found is None else f"{found[0]}:{found[1]}"


def _check(table: str, column: str, value: Any, row: Mapping[str, Any]) -> None:
    special = _SPECIAL.get((table, column))
    if special is not None:
        special(value, row)
    elif column in BOUNDS:
        BOUNDS[column].check([value], column)
    elif column in _FIELD_OF:
        field = FIELDS[_FIELD_OF[column]]
        field.kind.restored(*(row[each] for each in field.columns))
    if column in LAB and (value is None) != (row["lightness"] is None):
        raise ValueError(column)
    if column in _JSON and value is not None:
        _JSON[column](value)


_FIELD_OF = {column: name for name, row in FIELDS.items() for column in row.columns}


def check_entry(text: str) -> None:
    """Raise what is wrong with a colour as entered."""
    entry = Entry.from_json(text)
    if entry.kind is EntryKind.SPECTRUM and len(entry.values) != len(entry.wavelengths):
        raise ValueError("wavelengths")


_JSON: Mapping[str, Callable[[str], object]] = {
    "entry": check_entry,
    "extra": entered.extra_from_json,
    "measurement": entered.conditions_from_json,
    "readings": entered.readings_from_json,
    "covariance": entered.covariance_from_json,
    "shift": entered.shift_from_json,
    "correction": lambda text: entered.corrections_from_json(text, "[0.0, 0.0, 0.0]"),
}


def _check_decision(value: Any, row: Mapping[str, Any]) -> None:
    field = row["field"]
    if field in BOUNDS:
        BOUNDS[field].check([value], field)
    elif field not in _FIELD_OF:
        raise ValueError(field)
    elif len(FIELDS[_FIELD_OF[field]].columns) == 1:
        FIELDS[_FIELD_OF[field]].kind.restored(value)
    elif not isinstance(value, str | int | NoneType):
        raise ValueError(field)


def _check_calibration(text: Any, _row: Mapping[str, Any]) -> None:
    _all_finite(json.loads(text))
    entered.laying_from_json(text)


def _all_finite(value: Any) -> None:
    if isinstance(value, float | int) and not (isfinite(value) and abs(value) < 1e6):
        raise ValueError(value)
    if isinstance(value, list | dict):
        for each in value.values() if isinstance(value, dict) else value:
            _all_finite(each)


def _texts(value: Any, _row: Mapping[str, Any]) -> None:
    if not all(isinstance(each, str) for each in json.loads(value)):
        raise ValueError(value)


def _laid(value: Any, _row: Mapping[str, Any]) -> None:
    for pencils, pressures, (L, a, b) in json.loads(value):
        _all_finite([float(L), float(a), float(b)])
        if not all(isinstance(each, str) for each in (*pencils, *pressures)):
            raise ValueError(pencils)


def _check_pages(value: Any, _row: Mapping[str, Any]) -> None:
    from stopgap.swatches import Edition  # as seldom read as editions are

    Edition.from_data(json.loads(value))


_SPECIAL: Mapping[tuple[str, str], Callable[[Any, Mapping[str, Any]], object]] = {
    ("decision", "value"): _check_decision,
    ("colour_range", "observer"): lambda value, _: {2: 2, 10: 10}[value],
    ("colour_range", "mapping"): lambda value, _: entered.mapping_from_json(value),
    ("colour_range", "paper"): lambda value, _: entered.paper_from_json(value),
    ("paper", "former"): _texts,
    ("paper", "grain"): lambda value, _: ("", *map(str, GRAINS)).index(value),
    ("paper", "lightness"): lambda value, _: CellBounds(
        frozenset((float, int)), -FURTHEST, FURTHEST
    ).check([value], "lightness"),
    ("calibration", "hand"): _check_calibration,
    ("pin", "family"): lambda value, _: TEXT.check([value], "family"),
    ("edition", "number"): lambda value, _: TEXT.check([value], "number"),
    ("edition", "pages"): _check_pages,
    ("edition", "laid"): _laid,
    ("arrangement", "families"): lambda _, row: entered.arrangement_from_row(row),
}
