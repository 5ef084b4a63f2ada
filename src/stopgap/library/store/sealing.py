"""Check sums of the rows of a library, by which one that changed by itself is found."""

import json
import sqlite3
from collections.abc import Iterable
from zlib import crc32


def seal(connection: sqlite3.Connection, tables: Iterable[str], change: int | None = None) -> None:
    """Write down the check sums of the rows that a change touched, or of all."""
    if change is None:
        connection.execute("DELETE FROM row_checksum")
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


def row_checksum(row: Iterable[object]) -> int:
    """The CRC-32 of the values of a row, in the order of its columns."""
    return crc32(json.dumps(tuple(row), default=str).encode())
