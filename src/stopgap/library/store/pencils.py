"""Pencils with all their swatches, as the library keeps them: a row, and further swatches of it."""

import sqlite3
from typing import TYPE_CHECKING, Any

from stopgap.errors import InputError, UnknownSwatchError
from stopgap.library.store.entry import Entry
from stopgap.library.store.rows import FURTHER, further_from_row, row_from_further, swatch_from_row
from stopgap.swatches import Pencil, Swatch

if TYPE_CHECKING:
    from stopgap.library.store.library import Library

SELECT_SWATCHES = """
    SELECT swatch.*, colour_range.name AS range, colour_range.shift
    FROM swatch JOIN colour_range ON colour_range.id = swatch.range_id
"""


def read_pencils(connection: sqlite3.Connection) -> tuple[Pencil, ...]:
    """Every pencil under the user's decisions, by range and place in the file.

    What the user decided of how a pencil was swatched, or of its colour, is said of the first of
    its swatches; the rest holds for all of them.
    """
    decided = decisions(connection)
    further: dict[int, list[sqlite3.Row]] = {}
    for row in connection.execute("SELECT * FROM further_swatch ORDER BY swatch_id, position, id"):
        further.setdefault(row["swatch_id"], []).append(row)
    found = connection.cursor()
    found.row_factory = None  # a tuple: a Row looks for each name anew
    found.execute(SELECT_SWATCHES + "ORDER BY swatch.range_id, swatch.position, swatch.id")
    names = [column[0] for column in found.description]
    pencils = []
    for row in (dict(zip(names, values)) for values in found):
        first = swatch_from_row(row, decided.get(row["id"], {}))
        rest = (further_from_row(first, each, row["shift"]) for each in further.get(row["id"], ()))
        pencils.append(Pencil((first, *rest)))
    return tuple(pencils)


def decisions(connection: sqlite3.Connection) -> dict[int, dict[str, Any]]:
    """What the user decided, by the id of the row and the column."""
    decided: dict[int, dict[str, Any]] = {}
    for row in connection.execute("SELECT swatch_id, field, value FROM decision"):
        decided.setdefault(row["swatch_id"], {})[row["field"]] = row["value"]
    return decided


def swatch_row(connection: sqlite3.Connection, range_name: str, code: str) -> sqlite3.Row:
    """The row of a pencil; raises UnknownSwatchError where it is not in the library."""
    row: sqlite3.Row | None = connection.execute(
        SELECT_SWATCHES + "WHERE colour_range.name = ? AND swatch.code = ?", (range_name, code)
    ).fetchone()
    if row is None:
        raise UnknownSwatchError(f"No swatch {range_name}:{code} is in the library.")
    return row


def swatch_id(connection: sqlite3.Connection, swatch: Swatch) -> int:
    """The id of a pencil's row; raises UnknownSwatchError where it is not in the library."""
    return int(swatch_row(connection, swatch.range, swatch.code)["id"])


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


def remove_further(library: "Library", swatch: Swatch, number: int) -> Swatch:
    """Take away one of a pencil's swatches beside its colour, the first of those being number 1.

    Where it is the pencil's first, the next takes its place, and what the user had decided of how
    it was swatched is gone with it.

    Returns
    -------
    Swatch
        The one that is gone.

    Raises
    ------
    InputError
        If there is none of that number.
    """
    pencil = next(each for each in library.pencils() if each.first.address == swatch.address)
    colour = pencil.colour() or pencil.first
    others = [place for place, each in enumerate(pencil.swatches) if each is not colour]
    if not 1 <= number <= len(others):
        has = {0: "no swatch", 1: "1 swatch"}.get(len(others), f"{len(others)} swatches")
        raise InputError(f"{swatch.address} has {has} beside its colour, so not number {number}.")
    place = others[number - 1]
    with library.changing(f"removal of a swatch of {swatch.address}") as connection:
        of_id = swatch_id(connection, swatch)
        rows = connection.execute(
            "SELECT id FROM further_swatch WHERE swatch_id = ? ORDER BY position, id", (of_id,)
        ).fetchall()
        further_id = rows[max(place - 1, 0)]["id"]
        if place == 0:
            _make_first(connection, of_id, further_id)
        connection.execute("DELETE FROM further_swatch WHERE id = ?", (further_id,))
    return pencil.swatches[place]


def _make_first(connection: sqlite3.Connection, of_id: int, further_id: int) -> None:
    """Put a further swatch in the place of a pencil's first."""
    columns = ", ".join((*FURTHER, "entry", "by_hand"))
    connection.execute(
        f"UPDATE swatch SET ({columns}) = (SELECT {columns} FROM further_swatch WHERE id = ?)"
        " WHERE id = ?",
        (further_id, of_id),
    )
    connection.executemany(
        "DELETE FROM decision WHERE swatch_id = ? AND field = ?",
        [(of_id, column) for column in FURTHER],
    )
