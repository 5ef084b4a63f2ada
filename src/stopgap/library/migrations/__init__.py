"""Numbered steps that bring a library file up to date.

The number of the last step taken is the file's `user_version`. A step is one SQL file,
`NNNN_what_it_does.sql`; steps are never changed once released, only added.
"""

import sqlite3
from importlib.resources import files


def steps() -> list[tuple[int, str]]:
    """Number and SQL of every step, in order."""
    found = [entry for entry in files(__package__).iterdir() if entry.name.endswith(".sql")]
    return sorted((int(entry.name[:4]), entry.read_text(encoding="utf-8")) for entry in found)


def newest_version() -> int:
    """The version that a library has once every step is taken."""
    return steps()[-1][0]


def take_step(connection: sqlite3.Connection, number: int, sql: str) -> None:
    """Run one step inside the transaction that is open, and record its number."""
    statement = ""
    for line in sql.splitlines(keepends=True):
        statement += line
        if sqlite3.complete_statement(statement):
            connection.execute(statement)
            statement = ""
    connection.execute(f"PRAGMA user_version = {number:d}")
