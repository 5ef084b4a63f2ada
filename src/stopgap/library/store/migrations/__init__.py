"""Numbered steps that bring a library file up to date.

The number of the last step taken is the file's `user_version`. A step is one SQL file,
`NNNN_what_it_does.sql`; steps are never changed once released, only added.
"""

import sqlite3
from pathlib import Path


def steps() -> list[tuple[int, str]]:
    """Number and SQL of every step, in order."""
    return [(int(file.name[:4]), file.read_text(encoding="utf-8")) for file in _files()]


def newest_version() -> int:
    """The version that a library has once every step is taken."""
    return int(_files()[-1].name[:4])


def _files() -> list[Path]:
    return sorted(file for file in Path(__file__).parent.iterdir() if file.suffix == ".sql")


def take_step(connection: sqlite3.Connection, number: int, sql: str) -> None:
    """Run one step inside the transaction that is open, and record its number."""
    statement = ""
    for line in sql.splitlines(keepends=True):
        statement += line
        if sqlite3.complete_statement(statement):
            connection.execute(statement)
            statement = ""
    connection.execute(f"PRAGMA user_version = {number:d}")
