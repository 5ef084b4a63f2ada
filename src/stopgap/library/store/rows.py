"""Rows of the library file to swatches and pencils and back, walking the table of fields."""

import marshal
import sqlite3
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import fields, replace
from functools import cache
from itertools import takewhile
from typing import TYPE_CHECKING, Any

from stopgap.errors import UnknownSwatchError
from stopgap.library.store import entry as entered
from stopgap.library.store.cells import BOUNDS, LAB
from stopgap.library.store.entry import Entry, EntryKind
from stopgap.swatches import FIELDS, Colour, Pencil, Reflectance, Swatch

if TYPE_CHECKING:
    from stopgap.swatches import RangeCorrection

DECIDABLE: tuple[str, ...] = tuple(
    column for row in FIELDS.values() if row.decidable for column in row.columns
)
"""Columns of a swatch that the user may override; the file's own value stays beneath."""

# a library is read at every start, so rows are read column by column: most values are taken as they
# are, and the few words that all pencils share are made values once
_RESTORED = {
    name: row.kind.restored if isinstance(row.kind, Colour) else cache(row.kind.restored)
    for name, row in FIELDS.items()
    if not row.kind.as_stored
}
_STORED = tuple((name, row.columns, row.kind.stored) for name, row in FIELDS.items())
_OF_SWATCH = tuple(
    (name, row.kind.restored, row.columns) for name, row in FIELDS.items() if row.of_swatch
)
FURTHER: tuple[str, ...] = (
    *(column for _, _, columns in _OF_SWATCH for column in columns),
    *("measurement", "readings", "covariance", "extra"),
)
"""Columns in which the swatches of one pencil may differ, beside the colour as entered."""

Columns = dict[str, list[Any]]


def checked_columns(names: Sequence[str], rows: Sequence[Sequence[Any]]) -> Columns:
    """The rows column by column; ValueError for a cell of another type, or out of all bounds."""
    columns = dict(zip(names, map(list, zip(*rows))))
    for name, values in columns.items():
        if name in BOUNDS:
            BOUNDS[name].check(values, name)
    if rows:
        missing = {name: [value is None for value in columns[name]] for name in LAB}
        if not missing["lightness"] == missing["a"] == missing["b"]:
            raise ValueError("lightness")
    return columns


def range_rows(connection: sqlite3.Connection) -> list[sqlite3.Row]:
    """The ranges in the order they came in; ValueError where a cell is ill-formed."""
    rows = connection.execute("SELECT * FROM colour_range ORDER BY id").fetchall()
    for column in ("name", "white", "observer", "white_assumed", "origin"):
        BOUNDS[column].check([row[column] for row in rows], column)
    return rows


_MEASURED = ("reflectance", "measurement", "readings", "covariance", "extra")
_STATED = tuple(
    takewhile({"range", *FIELDS, *_MEASURED}.__contains__, (each.name for each in fields(Swatch)))
)
_EVENS = frozenset(("uncertainty", "source"))
_UNMEASURED = {"entry": "", "measurement": "{}", "readings": None, "covariance": None}


def swatch_from_row(row: Mapping[str, Any], decided: Mapping[str, Any]) -> Swatch:
    """The swatch as the user sees it: the file's row under the user's decisions."""
    return _swatches({name: [value] for name, value in row.items()}, [decided])[0]


def _swatches(columns: Columns, decided: Sequence[Mapping[str, Any]]) -> list[Swatch]:
    """The same of many rows; what is decided goes into their columns."""
    for place, its in enumerate(decided):
        if "lightness" in its:  # a colour decided by hand leaves what was measured of the file's
            its = {**_UNMEASURED, **its}
        elif not _EVENS.isdisjoint(its):  # the uncertainty is even where it was decided
            its = {"covariance": None, **its}
        for name, value in its.items():
            columns[name][place] = value
    stated = {name: columns[name] for name in ("range", *FIELDS) if name in columns}
    for name, restored in _RESTORED.items():
        stated[name] = list(map(restored, *(columns[each] for each in FIELDS[name].columns)))
    stated |= _measured(columns)
    found = map(Swatch, *(stated[name] for name in _STATED))
    corrections = map(entered.corrections_from_json, columns["correction"], columns["shift"])
    of_file = [not by_hand for by_hand in columns["by_hand"]]
    return [
        _seen(swatch, its, steps) if steps and filed else swatch
        for swatch, its, steps, filed in zip(found, decided, corrections, of_file, strict=True)
    ]


def _seen(swatch: Swatch, decided: Mapping[str, Any], steps: "Sequence[RangeCorrection]") -> Swatch:
    """A swatch of a file after the corrections of its range, but for a colour decided by hand."""
    if not swatch.coloured or "lightness" in decided:
        return swatch
    return _corrected(swatch, steps, doubt=_EVENS.isdisjoint(decided))


def _corrected(swatch: Swatch, steps: "Sequence[RangeCorrection]", *, doubt: bool = True) -> Swatch:
    from stopgap.swatches import corrected  # with numpy

    names = ("lab", "reflectance", "uncertainty", "shared_uncertainty")
    stated = {name: getattr(swatch, name) for name in names}
    return replace(swatch, **corrected(stated, steps, doubt=doubt))


def further_from_row(first: Swatch, row: sqlite3.Row, steps: "Sequence[RangeCorrection]") -> Swatch:
    """Another swatch of the pencil of `first`, which is one under the user's decisions."""
    stated = {
        name: restored(*[row[column] for column in columns])
        for name, restored, columns in _OF_SWATCH
    }
    measured = _measured({name: [value] for name, value in dict(row).items()})
    stated |= {name: value for name, (value,) in measured.items()}
    found = replace(first, **stated)
    return _corrected(found, steps) if steps and not row["by_hand"] else found


def _measured(columns: Columns) -> Columns:
    """What was measured beside the colour, and the columns of the file that are not known."""
    return {
        "reflectance": list(map(_reflectance, columns["entry"])),
        "measurement": list(map(entered.conditions_from_json, columns["measurement"])),
        "readings": list(map(entered.readings_from_json, columns["readings"])),
        "covariance": list(map(entered.covariance_from_json, columns["covariance"])),
        "extra": list(map(entered.extra_from_json, columns["extra"])),
    }


def stored_fields(swatch: Swatch) -> dict[str, Any]:
    """Column values of the fields of a swatch."""
    return {
        column: value
        for name, columns, stored in _STORED
        for column, value in zip(columns, stored(getattr(swatch, name)), strict=True)
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
_OF_ROWS = "WHERE swatch.id IN (SELECT value FROM json_each(?)) "
_ORDER = "ORDER BY swatch.range_id, swatch.position, swatch.id"
_OF_ADDRESS = "WHERE colour_range.name || ':' || swatch.code = ? "
Remembered = dict[int, tuple[Any, Pencil]]  # by the id of a row, with what the library said of it
_Said = tuple[Any, Mapping[str, Any], Sequence[sqlite3.Row]]  # row, decisions, further swatches
_AT_ONCE = 1000  # rows


def read_pencils(
    connection: sqlite3.Connection,
    remembered: Remembered | None = None,
    only: str | list[int] = "",
    rows: Sequence[int] = (),
) -> tuple[Pencil, ...]:
    """Every pencil under the user's decisions, by range and place in the file; `only` that of an
    address, or those of ranges with these numbers; or those of some `rows`.

    What the user decided of how a pencil was swatched, or of its colour, is said of its first
    swatch; the rest holds for all. Who is `remembered` with the very rows is not made anew.
    """
    decided, further = decisions(connection), _further_rows(connection)
    kept, pencils = dict(remembered or {}), Remembered()
    for names, some in _rows_at_once(connection, only, rows):
        at = names.index("id")
        said = {row[at]: (row, decided.get(row[at], {}), further.get(row[at], [])) for row in some}
        pencils |= _renewed(names, said, kept, marked=remembered is not None)
    if remembered is not None and not (only or rows):
        remembered.clear()
        remembered.update(pencils)
    return tuple(pencil for _, pencil in pencils.values())


def _renewed(
    names: Sequence[str], said: Mapping[int, _Said], kept: Remembered, *, marked: bool
) -> Remembered:
    """Pencils of which that is said: those that are kept where it is the same, else made anew."""
    marks = {key: _mark(*its) if marked else b"" for key, its in said.items()}
    same = {key for key, mark in marks.items() if key in kept and kept[key][0] == mark}
    new = {key: its for key, its in said.items() if key not in same}
    made = dict(zip(new, _pencils(names, [*new.values()])))
    return {key: (mark, made[key] if key in made else kept[key][1]) for key, mark in marks.items()}


def _rows_at_once(
    connection: sqlite3.Connection, only: str | list[int], numbers: Sequence[int]
) -> Iterator[tuple[list[str], list[Any]]]:
    """The columns of pencils, and their rows, so many at once that memory stays small."""
    found = connection.cursor()
    found.row_factory = None  # a tuple: a Row looks for each name anew
    those, said = "", ""
    if only:
        those = _OF_ADDRESS if isinstance(only, str) else _OF_RANGES
        said = f"{only}"  # a list of numbers is one of JSON
    elif numbers:
        those, said = _OF_ROWS, f"{[*numbers]}"
    found.execute(SELECT_SWATCHES + those + _ORDER, [said] if those else [])
    names = [column[0] for column in found.description]
    while rows := found.fetchmany(_AT_ONCE):
        yield names, rows


def row_numbers(connection: sqlite3.Connection) -> list[int]:
    """The numbers of the rows that pencils are read of, in their order."""
    return [row[0] for row in connection.execute(f"SELECT swatch.id FROM swatch {_ORDER}")]


def _mark(row: Any, decided: Mapping[str, Any], further: Sequence[sqlite3.Row]) -> bytes:
    """What tells that the library says another thing of a pencil, a fourth as large as the rows."""
    said: tuple[Any, ...] = (row, decided, [tuple(each) for each in further])
    return marshal.dumps(said, 2)


def _pencils(names: Sequence[str], said: Sequence[_Said]) -> list[Pencil]:
    rows, decided, further = zip(*said) if said else ((), (), ())
    columns = checked_columns(names, rows)
    found = [Pencil((first,)) for first in _swatches(columns, decided)] if rows else []
    for place in [place for place, beside in enumerate(further) if beside]:
        first = found[place].first
        steps = entered.corrections_from_json(columns["correction"][place], columns["shift"][place])
        beside = (further_from_row(first, each, steps) for each in further[place])
        found[place] = Pencil((first, *beside))
    return found


def _further_rows(connection: sqlite3.Connection) -> dict[int, list[sqlite3.Row]]:
    further: dict[int, list[sqlite3.Row]] = {}
    laid = connection.execute("SELECT * FROM further_swatch ORDER BY swatch_id, position, id")
    beside = laid.fetchall()
    checked_columns([column[0] for column in laid.description], beside)
    for row in beside:
        further.setdefault(row["swatch_id"], []).append(row)
    return further


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
