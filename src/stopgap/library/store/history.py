"""Undo: triggers keep the rows that a change replaced, so that the change can be taken back.

For each watched table `past_<table>` holds copies of rows as they were, in SQLite's own types, so
that numbers come back to the last bit. The triggers write only while a change is open, which is
why undoing does not record itself. Cost: one copied row for each row changed; the last
CHANGES_KEPT changes are kept.
"""

import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime

from stopgap.library.store.shifts import renew_shifts

CHANGES_KEPT = 20
WATCHED = (
    *("colour_range", "swatch", "further_swatch", "decision"),
    *("paper", "calibration", "pin", "edition", "arrangement"),
)


def watch_tables(connection: sqlite3.Connection, tables: Sequence[str] = WATCHED) -> None:
    """Lay the history tables and triggers afresh; earlier changes can no longer be undone."""
    connection.execute("DROP TABLE IF EXISTS history")
    connection.execute("DROP TABLE IF EXISTS change")
    connection.execute(
        "CREATE TABLE change (id INTEGER PRIMARY KEY AUTOINCREMENT, what TEXT NOT NULL,"
        " at TEXT NOT NULL, open INTEGER NOT NULL)"
    )
    connection.execute(
        "CREATE TABLE history (sequence INTEGER PRIMARY KEY AUTOINCREMENT,"
        " change INTEGER NOT NULL REFERENCES change (id) ON DELETE CASCADE,"
        " table_name TEXT NOT NULL, operation TEXT NOT NULL, row INTEGER NOT NULL)"
    )
    for table in tables:
        columns = _columns(connection, table)
        connection.execute(f"DROP TABLE IF EXISTS past_{table}")
        connection.execute(
            f"CREATE TABLE past_{table} (sequence INTEGER PRIMARY KEY"
            f" REFERENCES history (sequence) ON DELETE CASCADE, {', '.join(columns)})"
        )
        for operation, row in (("INSERT", "NEW"), ("UPDATE", "OLD"), ("DELETE", "OLD")):
            old = ", ".join(f"{row}.{column}" for column in columns)
            connection.execute(f"DROP TRIGGER IF EXISTS {table}_{operation}")
            connection.execute(
                f"CREATE TRIGGER {table}_{operation} AFTER {operation} ON {table}"
                " WHEN EXISTS (SELECT 1 FROM change WHERE open) BEGIN"
                " INSERT INTO history (change, table_name, operation, row)"
                f" SELECT id, '{table}', '{operation}', {row}.id FROM change WHERE open;"
                f" INSERT INTO past_{table} VALUES (last_insert_rowid(), {old}); END"
            )


@contextmanager
def change(connection: sqlite3.Connection, what: str) -> Iterator[None]:
    """One change that lands whole or not at all; `what` says it in words, for undo to repeat."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        now = datetime.now(UTC).isoformat(timespec="seconds")
        opened = connection.execute(
            "INSERT INTO change (what, at, open) VALUES (?, ?, 1)", (what, now)
        )
        yield
        renew_shifts(connection)
        connection.execute("UPDATE change SET open = 0 WHERE id = ?", (opened.lastrowid,))
        connection.execute(
            "DELETE FROM change WHERE id <= ?", ((opened.lastrowid or 0) - CHANGES_KEPT,)
        )
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise


def undo_last(connection: sqlite3.Connection) -> str | None:
    """Take back the last change and say what it was; None where there is none."""
    last = connection.execute("SELECT id, what FROM change ORDER BY id DESC LIMIT 1").fetchone()
    if last is None:
        return None
    connection.execute("BEGIN IMMEDIATE")
    try:
        connection.execute("PRAGMA defer_foreign_keys = ON")
        entries = connection.execute(
            "SELECT sequence, table_name, operation, row FROM history WHERE change = ?"
            " ORDER BY sequence DESC",
            (last["id"],),
        ).fetchall()
        for entry in entries:
            _take_back(connection, entry)
        connection.execute("DELETE FROM change WHERE id = ?", (last["id"],))
        renew_shifts(connection)
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise
    return str(last["what"])


def _take_back(connection: sqlite3.Connection, entry: sqlite3.Row) -> None:
    # the name comes from a file that a stranger may have made: only watched tables are touched
    table = WATCHED[WATCHED.index(entry["table_name"])]
    columns = ", ".join(_columns(connection, table))
    past = f"SELECT {columns} FROM past_{table} WHERE sequence = ?"
    match entry["operation"]:
        case "INSERT":
            connection.execute(f"DELETE FROM {table} WHERE id = ?", (entry["row"],))
        case "DELETE":
            connection.execute(f"INSERT INTO {table} ({columns}) {past}", (entry["sequence"],))
        case "UPDATE":
            connection.execute(
                f"UPDATE {table} SET ({columns}) = ({past}) WHERE id = ?",
                (entry["sequence"], entry["row"]),
            )


def _columns(connection: sqlite3.Connection, table: str) -> list[str]:
    names = [row["name"] for row in connection.execute(f"PRAGMA table_info({table})")]
    return ['"' + name.replace('"', '""') + '"' for name in names]
