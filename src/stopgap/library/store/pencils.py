"""Pencils with all their swatches, as the library keeps them: a row, and further swatches of it."""

import sqlite3
from typing import Any

from stopgap.errors import UnknownSwatchError
from stopgap.library.store.entry import Entry
from stopgap.library.store.rows import further_from_row, row_from_further, swatch_from_row
from stopgap.swatches import Pencil, Swatch

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
