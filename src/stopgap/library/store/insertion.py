"""Ranges and swatches put into the library file, inside a change that is open."""

import json
import sqlite3
from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

from stopgap.errors import InputError, Remedy, UnknownSwatchError, nearest_spellings
from stopgap.library.store import entry as entered
from stopgap.library.store.entry import Entry, EntryKind
from stopgap.library.store.rows import FURTHER, stored_fields, swatch_row
from stopgap.swatches import Pencil, Swatch, laid_key


def add_by_hand(
    connection: sqlite3.Connection,
    pencils: Iterable[Pencil],
    swatch: Swatch,
    entry: Entry,
    *,
    new_range: bool,
) -> None:
    """Add a swatch to its range, made where `new_range` allows it, or to its pencil among them.

    Raises
    ------
    InputError
        If the pencil has a swatch that was laid so.
    UnknownSwatchError
        If there is no such range and none may be made.
    """
    names = [row["name"] for row in connection.execute("SELECT name FROM colour_range ORDER BY id")]
    if not new_range and swatch.range.casefold() not in map(str.casefold, names):
        near = nearest_spellings(swatch.range, names)
        text = f"No range is called {swatch.range!r}.{near}"
        raise UnknownSwatchError(text, remedy=Remedy.START_RANGE)
    if entry.kind in (EntryKind.LAB, EntryKind.XYZ):
        measured = swatch.measurement._replace(illuminant=entry.white, observer=entry.observer)
        swatch = replace(swatch, measurement=measured)
    range_id = find_or_make_range(connection, swatch.range, entry)
    address = swatch.address.casefold()
    same = [each for each in pencils if each.first.address.casefold() == address]
    if not same:
        last = connection.execute(
            "SELECT coalesce(max(position), 0) FROM swatch WHERE range_id = ?", (range_id,)
        ).fetchone()[0]
        insert_swatch(connection, range_id, last + 1, swatch, entry, by_hand=True)
        return
    pencil = same[0]
    alike = pencil.first.coloured and laid_key(swatch) in map(laid_key, pencil.swatches)
    if alike or not swatch.coloured:
        so = ", swatched in the same way" if alike else ""
        text = f"{pencil.first.address} exists already{so}."
        raise InputError(text, remedy=Remedy.EDIT_SWATCH)
    lay_beside(connection, swatch_id(connection, pencil.first), pencil, swatch, entry)


def range_number(connection: sqlite3.Connection, name: str) -> int | None:
    """The id of the range of that name, None where there is none."""
    row = connection.execute("SELECT id FROM colour_range WHERE name = ?", (name,)).fetchone()
    return None if row is None else int(row["id"])


def find_or_make_range(connection: sqlite3.Connection, name: str, entry: Entry) -> int:
    """The id of the range of that name; a new one entered by hand where there is none."""
    found = range_number(connection, name)
    if found is not None:
        return found
    made = connection.execute(
        "INSERT INTO colour_range (name, white, observer, white_assumed, origin)"
        " VALUES (?, ?, ?, 0, '')",
        (name, entry.white, entry.observer),
    )
    return made.lastrowid or 0


def insert_swatch(
    connection: sqlite3.Connection,
    range_id: int,
    position: int,
    swatch: Swatch,
    entry: Entry,
    *,
    by_hand: bool = False,
) -> int:
    """Add one row at its place in the range; its id."""
    values = {
        "range_id": range_id,
        "position": position,
        "by_hand": int(by_hand),
        "entry": entry.to_json(),
        **row_from_swatch(swatch),
    }
    made = connection.execute(
        f"INSERT INTO swatch ({', '.join(values)}) VALUES ({', '.join('?' * len(values))})",
        tuple(values.values()),
    )
    return made.lastrowid or 0


def lay_beside(
    connection: sqlite3.Connection, of_id: int, pencil: Pencil, swatch: Swatch, entry: Entry
) -> None:
    """Add a swatch by hand to a pencil: a name gets it as its colour, another beside its own."""
    if not pencil.first.coloured:
        lay_first(connection, of_id, swatch, entry)
        return
    settle_first(connection, of_id, pencil.first)
    insert_further(connection, of_id, swatch, entry, by_hand=True)


def settle_first(connection: sqlite3.Connection, of_id: int, first: Swatch) -> None:
    """Where a pencil's colour is but decided over a name, make a swatch of it.

    A name stands alone, so that there must be one before the pencil gets another.
    """
    row = connection.execute("SELECT lightness FROM swatch WHERE id = ?", (of_id,)).fetchone()
    if row["lightness"] is None:
        lay_first(connection, of_id, first, Entry(EntryKind.LAB, first.lab))


def lay_first(connection: sqlite3.Connection, of_id: int, swatch: Swatch, entry: Entry) -> None:
    """Put a swatch by hand in the place of a pencil's first; see `take_first`."""
    values = {**row_from_further(swatch), "entry": entry.to_json(), "by_hand": 1}
    take_first(connection, of_id, values)


def take_first(connection: sqlite3.Connection, of_id: int, values: Mapping[str, Any]) -> None:
    """Put another swatch in the place of a pencil's first, as the columns of its row.

    What the user had decided of how the one before was swatched is gone with it.
    """
    assignments = ", ".join(f"{column} = ?" for column in values)
    connection.execute(f"UPDATE swatch SET {assignments} WHERE id = ?", (*values.values(), of_id))
    connection.executemany(
        "DELETE FROM decision WHERE swatch_id = ? AND field = ?",
        [(of_id, column) for column in FURTHER],
    )


def insert_further(
    connection: sqlite3.Connection,
    of_id: int,
    swatch: Swatch,
    entry: Entry,
    *,
    by_hand: bool = False,
) -> None:
    """Add a swatch to a pencil, after those that it has."""
    last = connection.execute(
        "SELECT coalesce(max(position), 0) FROM further_swatch WHERE swatch_id = ?", (of_id,)
    ).fetchone()[0]
    values = {
        "swatch_id": of_id,
        "position": last + 1,
        "by_hand": int(by_hand),
        "entry": entry.to_json(),
        **row_from_further(swatch),
    }
    connection.execute(
        f"INSERT INTO further_swatch ({', '.join(values)}) VALUES ({', '.join('?' * len(values))})",
        tuple(values.values()),
    )


def row_from_further(swatch: Swatch) -> dict[str, Any]:
    """Column values of another swatch of a pencil, all but its place and the colour as entered."""
    row = row_from_swatch(swatch)
    return {column: row[column] for column in FURTHER}


def row_from_swatch(swatch: Swatch) -> dict[str, Any]:
    """Column values of a swatch, all but its place in the range and the colour as entered."""
    return {
        **stored_fields(swatch),
        "measurement": entered.conditions_to_json(swatch.measurement),
        "readings": entered.readings_to_json(swatch.readings),
        "covariance": entered.covariance_to_json(swatch.covariance),
        "extra": json.dumps(dict(swatch.extra), ensure_ascii=False),
    }


def swatch_id(connection: sqlite3.Connection, swatch: Swatch) -> int:
    """The id of a pencil's row; raises UnknownSwatchError where it is not in the library."""
    return int(swatch_row(connection, swatch.range, swatch.code)["id"])
