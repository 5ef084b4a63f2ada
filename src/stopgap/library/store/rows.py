"""Rows of the library file to swatches and pencils and back, walking the table of fields."""

import sqlite3
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from functools import cache
from math import inf
from types import NoneType
from typing import TYPE_CHECKING, Any, NamedTuple

from stopgap.errors import UnknownSwatchError
from stopgap.library.store import entry as entered
from stopgap.library.store.entry import Entry, EntryKind
from stopgap.swatches import FIELDS, Colour, Pencil, Reflectance, Swatch
from stopgap.swatches.kinds import Number, Text, WholeNumber, YesOrNo

if TYPE_CHECKING:
    from stopgap.swatches import RangeCorrection

DECIDABLE: tuple[str, ...] = tuple(
    column for row in FIELDS.values() if row.decidable for column in row.columns
)
"""Columns of a swatch that the user may override; the file's own value stays beneath."""

# a library is read at every start, so most values are taken as they are, and the few words that all
# pencils share are made values once
_AS_STORED = tuple(name for name, row in FIELDS.items() if row.kind.as_stored)
_SHARED = {
    name: cache(row.kind.restored)
    for name, row in FIELDS.items()
    if not (row.kind.as_stored or isinstance(row.kind, Colour))
}
_OF_A_COLUMN = tuple(
    (name, restored, FIELDS[name].columns[0])
    for name, restored in _SHARED.items()
    if len(FIELDS[name].columns) == 1
)
_OF_COLUMNS = tuple(
    (name, _SHARED.get(name, row.kind.restored), row.columns)
    for name, row in FIELDS.items()
    if len(row.columns) > 1
)
_OF_SWATCH = tuple(
    (name, row.kind.restored, row.columns) for name, row in FIELDS.items() if row.of_swatch
)
FURTHER: tuple[str, ...] = (
    *(column for _, _, columns in _OF_SWATCH for column in columns),
    *("measurement", "readings", "covariance", "extra"),
)
"""Columns in which the swatches of one pencil may differ, beside the colour as entered."""


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


def check_columns(names: Sequence[str], rows: Sequence[Sequence[Any]]) -> None:
    """Raise ValueError where some cell of the rows is of another type, or out of all bounds."""
    columns = dict(zip(names, zip(*rows)))
    for name, values in columns.items():
        if name in BOUNDS:
            BOUNDS[name].check(list(values), name)
    if rows:
        missing = {name: [value is None for value in columns[name]] for name in LAB}
        if not missing["lightness"] == missing["a"] == missing["b"]:
            raise ValueError("lightness")


def range_rows(connection: sqlite3.Connection) -> list[sqlite3.Row]:
    """The ranges in the order they came in; ValueError where a cell is ill-formed."""
    rows = connection.execute("SELECT * FROM colour_range ORDER BY id").fetchall()
    for column in ("name", "white", "observer", "white_assumed", "origin"):
        BOUNDS[column].check([row[column] for row in rows], column)
    return rows


_EVENS = frozenset(("uncertainty", "source"))


def swatch_from_row(row: Mapping[str, Any], decided: Mapping[str, Any]) -> Swatch:
    """The swatch as the user sees it: the file's row under the user's decisions."""
    value = {**row, **decided} if decided else row
    stated: dict[str, Any] = {name: value[name] for name in _AS_STORED}
    for name, shared, column in _OF_A_COLUMN:
        stated[name] = shared(value[column])
    for name, restored, columns in _OF_COLUMNS:
        stated[name] = restored(*[value[column] for column in columns])
    extra = entered.extra_from_json(value["extra"])
    # a colour decided by hand leaves behind what was measured of the file's
    if "lightness" not in decided:
        stated |= _measured(value, even=not _EVENS.isdisjoint(decided))
        steps = entered.corrections_from_json(value["correction"], value["shift"])
        if steps and not (value["by_hand"] or value["lightness"] is None):
            from stopgap.swatches import corrected  # with numpy

            stated |= corrected(stated, steps, doubt=_EVENS.isdisjoint(decided))
    return Swatch(range=value["range"], extra=extra, **stated)


def further_from_row(first: Swatch, row: sqlite3.Row, steps: "Sequence[RangeCorrection]") -> Swatch:
    """Another swatch of the pencil of `first`, which is one under the user's decisions."""
    value = dict(row)
    stated = {
        name: restored(*[value[column] for column in columns])
        for name, restored, columns in _OF_SWATCH
    }
    stated |= _measured(value, even=False)
    if steps and not value["by_hand"]:
        from stopgap.swatches import corrected

        stated |= corrected(stated, steps)
    return replace(first, **stated, extra=entered.extra_from_json(value["extra"]))


def _measured(value: Mapping[str, Any], *, even: bool) -> dict[str, Any]:
    """What was measured beside the colour; the uncertainty is `even` where it was decided."""
    covariance = None if even else entered.covariance_from_json(value["covariance"])
    return {
        "reflectance": _reflectance(value["entry"]),
        "measurement": entered.conditions_from_json(value["measurement"]),
        "readings": entered.readings_from_json(value["readings"]),
        "covariance": covariance,
    }


def stored_fields(swatch: Swatch) -> dict[str, Any]:
    """Column values of the fields of a swatch."""
    return {
        column: stored
        for name, row in FIELDS.items()
        for column, stored in zip(row.columns, row.kind.stored(getattr(swatch, name)), strict=True)
    }


def _reflectance(text: str) -> Reflectance | None:
    if EntryKind.SPECTRUM not in text:  # most have none, and reading an entry takes its time
        return None
    entry = Entry.from_json(text)
    if entry.kind is not EntryKind.SPECTRUM:
        return None
    if not len(entry.wavelengths) == len(entry.values) > 1:
        raise ValueError(text)
    return Reflectance(entry.wavelengths, entry.values)


SELECT_SWATCHES = """
    SELECT swatch.*, colour_range.name AS range, colour_range.shift,
        colour_range.correction
    FROM swatch JOIN colour_range ON colour_range.id = swatch.range_id
"""
_OF_RANGES = "WHERE range_id IN (SELECT value FROM json_each(?)) "
_OF_ADDRESS = "WHERE colour_range.name || ':' || swatch.code = ? "
Remembered = dict[int, tuple[Any, Pencil]]  # by the id of a row, with what the library said of it


def read_pencils(
    connection: sqlite3.Connection, remembered: Remembered | None = None, only: str | list[int] = ""
) -> tuple[Pencil, ...]:
    """Every pencil under the user's decisions, by range and place in the file; `only` that of an
    address, or those of ranges with these numbers.

    What the user decided of how a pencil was swatched, or of its colour, is said of its first
    swatch; the rest holds for all. Who is `remembered` with the very rows is not made anew.
    """
    names, said = _said(connection, only)
    kept = dict(remembered or {})
    pencils = {key: kept[key] for key, now in said.items() if key in kept and kept[key][0] == now}
    new = {key: now for key, now in said.items() if key not in pencils}
    check_columns(names, [values for values, *_ in new.values()])
    pencils |= {key: (now, _pencil(dict(zip(names, now[0])), *now[1:])) for key, now in new.items()}
    if remembered is not None and not only:
        remembered.clear()
        remembered.update(pencils)
    return tuple(pencils[key][1] for key in said)


def _said(
    connection: sqlite3.Connection, only: str | list[int]
) -> tuple[list[str], dict[int, Any]]:
    """The columns of pencils, and by their ids their rows, decisions and further swatches."""
    decided, further = decisions(connection), _further_rows(connection)
    found = connection.cursor()
    found.row_factory = None  # a tuple: a Row looks for each name anew
    said = [only] if isinstance(only, str) else [f"{only}"]  # a list of numbers is one of JSON
    order = "ORDER BY swatch.range_id, swatch.position, swatch.id"
    those = (_OF_ADDRESS if isinstance(only, str) else _OF_RANGES) if only else ""
    found.execute(SELECT_SWATCHES + those + order, said if only else [])
    at = (names := [column[0] for column in found.description]).index("id")
    return names, {
        row[at]: (row, decided.get(row[at], {}), further.get(row[at], ())) for row in found
    }


def _further_rows(connection: sqlite3.Connection) -> dict[int, list[sqlite3.Row]]:
    further: dict[int, list[sqlite3.Row]] = {}
    laid = connection.execute("SELECT * FROM further_swatch ORDER BY swatch_id, position, id")
    beside = laid.fetchall()
    check_columns([column[0] for column in laid.description], beside)
    for row in beside:
        further.setdefault(row["swatch_id"], []).append(row)
    return further


def _pencil(
    row: Mapping[str, Any], decided: Mapping[str, Any], further: Sequence[sqlite3.Row]
) -> Pencil:
    first = swatch_from_row(row, decided)
    steps = entered.corrections_from_json(row["correction"], row["shift"])
    return Pencil((first, *(further_from_row(first, each, steps) for each in further)))


def decisions(connection: sqlite3.Connection) -> dict[int, dict[str, Any]]:
    """What the user decided, by the id of the row and the column."""
    decided: dict[int, dict[str, Any]] = {}
    by_field: dict[str, list[Any]] = {}
    for row in connection.execute("SELECT swatch_id, field, value FROM decision"):
        decided.setdefault(row["swatch_id"], {})[row["field"]] = row["value"]
        by_field.setdefault(row["field"], []).append(row["value"])
    for field, values in by_field.items():
        if field in BOUNDS:
            BOUNDS[field].check(values, field)
    return decided


def swatch_row(connection: sqlite3.Connection, range_name: str, code: str) -> sqlite3.Row:
    """The row of a pencil; raises UnknownSwatchError where it is not in the library."""
    row: sqlite3.Row | None = connection.execute(
        SELECT_SWATCHES + "WHERE colour_range.name = ? AND swatch.code = ?", (range_name, code)
    ).fetchone()
    if row is None:
        raise UnknownSwatchError(f"No swatch {range_name}:{code} is in the library.")
    return row
