"""Check sums of the rows of a library, by which one that changed by itself is found."""

import json
import sqlite3
from collections.abc import Iterable
from zlib import crc32

WATCHED = (
    *("colour_range", "swatch", "further_swatch", "decision"),
    *("paper", "calibration", "pin", "edition", "arrangement"),
)
"""Tables of which each change is known."""

STRUCTURE = "structure"
"""Stands for a table where the check sum is that of tables and triggers themselves."""


def seal(connection: sqlite3.Connection, tables: Iterable[str], change: int | None = None) -> None:
    """Write down the check sums of the rows that a change touched, or of all."""
    if change is None:
        connection.execute("DELETE FROM row_checksum")
        connection.execute(
            "INSERT INTO row_checksum (table_name, row, value) VALUES (?, 0, ?)",
            (STRUCTURE, structure_checksum(connection)),
        )
    for table in tables:
        touched = ""
        bound: tuple[object, ...] = ()
        if change is not None:
            touched = "WHERE id IN (SELECT row FROM history WHERE change = ? AND table_name = ?)"
            bound = (change, table)
            connection.execute(
                "DELETE FROM row_checksum WHERE table_name = ? AND row IN"
                " (SELECT row FROM history WHERE change = ? AND table_name = ?)",
                (table, change, table),
            )
        rows = connection.execute(f"SELECT * FROM {table} {touched}", bound).fetchall()
        connection.executemany(
            "INSERT INTO row_checksum (table_name, row, value) VALUES (?, ?, ?)",
            [(table, row["id"], row_checksum(row)) for row in rows],
        )


def structure_checksum(connection: sqlite3.Connection) -> int:
    """The CRC-32 of what makes the tables, their indexes and triggers."""
    made = connection.execute("SELECT name, sql FROM sqlite_schema WHERE sql <> '' ORDER BY name")
    return row_checksum(text for row in made for text in tuple(row))


def structure_altered(connection: sqlite3.Connection) -> bool:
    """Whether tables are made otherwise than written; never of a library of an older stopgap."""
    try:
        sealed = connection.execute(
            "SELECT value FROM row_checksum WHERE table_name = ?", (STRUCTURE,)
        ).fetchone()
    except sqlite3.DatabaseError:
        return True
    return sealed is not None and sealed[0] != structure_checksum(connection)


def row_checksum(row: Iterable[object]) -> int:
    """The CRC-32 of the values of a row, in the order of its columns."""
    return crc32(json.dumps(tuple(row), default=str).encode())
