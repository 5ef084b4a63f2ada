"""Undo and redo: triggers keep the rows that a change replaced, so that it can be taken back.

For each watched table `past_<table>` holds copies of rows as they were, in SQLite's own types, so
that numbers come back to the last bit. The triggers write only while a change is open. Taking a
change back is recorded in its place, which is what redo takes back. Cost: one copied row for each
row changed; CHANGES_KEPT changes are kept.
"""

import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime
from itertools import pairwise
from typing import NamedTuple

from stopgap.errors import InputError, landed
from stopgap.library.files import uninterrupted
from stopgap.library.store.sealing import WATCHED, seal
from stopgap.library.store.shifts import renew_shifts

CHANGES_KEPT = 200
TOGETHER = 60.0
"""Within how many seconds ticks of one page are one change [s]."""
ROWS_KEPT = 200_000
"""Copies of rows beyond which the oldest change is forgotten."""


def watch_tables(connection: sqlite3.Connection, tables: Sequence[str] = WATCHED) -> None:
    """Lay the history tables and triggers afresh; earlier changes can no longer be undone."""
    connection.execute("DROP TABLE IF EXISTS history")
    connection.execute("DROP TABLE IF EXISTS change")
    connection.execute(
        "CREATE TABLE change (id INTEGER PRIMARY KEY AUTOINCREMENT, what TEXT NOT NULL,"
        " at TEXT NOT NULL, open INTEGER NOT NULL, undone INTEGER NOT NULL DEFAULT 0,"
        " joined INTEGER NOT NULL DEFAULT 1)"
    )
    connection.execute("CREATE INDEX change_open ON change (open) WHERE open")
    connection.execute(
        "CREATE TABLE history (sequence INTEGER PRIMARY KEY AUTOINCREMENT,"
        " change INTEGER NOT NULL REFERENCES change (id) ON DELETE CASCADE ON UPDATE CASCADE,"
        " table_name TEXT NOT NULL, operation TEXT NOT NULL, row INTEGER NOT NULL)"
    )
    connection.execute("CREATE INDEX history_by_change ON history (change)")
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


class Change(NamedTuple):
    """One change: its number, what it did in words, when, and whether it was taken back since.

    `joined` is of how many it is made, the last of which the words tell.
    """

    number: int
    what: str
    at: datetime
    joined: int = 1
    undone: bool = False

    @property
    def words(self) -> str:
        """What it did."""
        before = self.joined - 1
        if not before:
            return self.what
        return f"{self.what} and {before} {'change' if before == 1 else 'changes'} before it"


@contextmanager
def whole(connection: sqlite3.Connection, kind: str = "IMMEDIATE") -> Iterator[list[str]]:
    """What is read and written within belongs together: nobody else writes meanwhile.

    It lands whole or not at all. Within another, it is part of that. What is put into the list is
    told as `landed` then.
    """
    done: list[str] = []
    if connection.in_transaction:
        yield done
        return
    connection.execute(f"BEGIN {kind}")
    try:
        yield done
        with uninterrupted():
            if connection.in_transaction:
                connection.execute("COMMIT")
            for what in done:
                landed(what)
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise


@contextmanager
def one_change(connection: sqlite3.Connection) -> Iterator[None]:
    """What is changed within is one change, if anything is; what was taken back is gone then."""
    with whole(connection) as done:
        opened = _open_change(connection)
        yield
        (what,) = connection.execute("SELECT what FROM change WHERE id = ?", (opened,)).fetchone()
        if not what:
            connection.execute("ROLLBACK")
            return
        connection.execute("UPDATE change SET open = 0 WHERE id = ?", (opened,))
        connection.execute("DELETE FROM change WHERE undone")
        seal(connection, WATCHED, opened)
        _make_room(connection)
        done.append(f"the change was made: {what}")


def _open_change(connection: sqlite3.Connection) -> int:
    now = datetime.now(UTC).isoformat(timespec="seconds")
    opened = connection.execute("INSERT INTO change (what, at, open) VALUES ('', ?, 1)", (now,))
    return opened.lastrowid or 0


def _make_room(connection: sqlite3.Connection) -> None:
    """Keep no more than CHANGES_KEPT changes: two small old ones that meet become one.

    So none falls out behind many small ones, least of all the import of a range. Only beyond
    ROWS_KEPT does the oldest go.
    """
    if connection.execute("SELECT count(*) FROM change").fetchone()[0] <= CHANGES_KEPT:
        return
    sizes = connection.execute(
        "SELECT change.id, count(sequence) AS rows,"
        " total(table_name = 'colour_range') > 0 AS ranges"
        " FROM change LEFT JOIN history ON change = change.id GROUP BY change.id ORDER BY change.id"
    ).fetchall()
    if sum(size["rows"] for size in sizes) > ROWS_KEPT:
        connection.execute("DELETE FROM change WHERE id = ?", (sizes[0][0],))
        return
    old = sizes[: CHANGES_KEPT // 2]
    earlier, later = min(
        pairwise(old),
        key=lambda pair: [pair[0][of] + pair[1][of] for of in ("ranges", "rows")],
    )
    _join(connection, earlier[0], later[0])


def _join(connection: sqlite3.Connection, earlier: int, later: int) -> None:
    """Make two changes that meet one, which bears the number of the later."""
    connection.execute(
        "UPDATE change SET joined = joined + (SELECT joined FROM change WHERE id = ?) WHERE id = ?",
        (earlier, later),
    )
    connection.execute("UPDATE history SET change = ? WHERE change = ?", (later, earlier))
    connection.execute("DELETE FROM change WHERE id = ?", (earlier,))


def join_newest(connection: sqlite3.Connection, earlier: int) -> int:
    """Make the newest change one with the one before it, where that is `earlier` and came at most
    TOGETHER before; return the number of the newest, 0 where there is none.
    """
    with whole(connection):
        there = [change for change in read_changes(connection) if not change.undone][:2]
        met = len(there) == 2 and there[1].number == earlier
        if met and (there[0].at - there[1].at).total_seconds() <= TOGETHER:
            _join(connection, earlier, there[0].number)
        return there[0].number if there else 0


@contextmanager
def change(connection: sqlite3.Connection, what: str) -> Iterator[None]:
    """One change that lands whole or not at all; `what` says it in words, for undo to repeat.

    Within `one_change` it is part of that.
    """
    if not connection.in_transaction:
        with one_change(connection), change(connection, what):
            yield
        return
    connection.execute("SAVEPOINT part")
    try:
        connection.execute(
            "UPDATE change SET what = what || iif(what = '', ?, '; ' || ?) WHERE open", (what, what)
        )
        yield
        renew_shifts(connection)
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK TO part")
            connection.execute("RELEASE part")
        raise
    connection.execute("RELEASE part")


def read_changes(connection: sqlite3.Connection) -> list[Change]:
    """Every change that is kept, the newest first; those taken back stand above the others."""
    rows = connection.execute(
        "SELECT id, what, at, joined, undone FROM change WHERE NOT open ORDER BY id DESC"
    )
    return [
        Change(
            row["id"],
            row["what"],
            datetime.fromisoformat(row["at"]),
            row["joined"],
            bool(row["undone"]),
        )
        for row in rows
    ]


def take_back(
    connection: sqlite3.Connection, many: int = 1, only: int | None = None
) -> list[Change]:
    """Take back the newest changes and return them, fewer where there are no more.

    Raises
    ------
    InputError
        If `only` is given, and the newest change has another number.
    """
    with whole(connection) as told:
        done = [change for change in read_changes(connection) if not change.undone][:many]
        if only is not None and (not done or done[0].number != only):
            newest = f"that is {done[0].number}, {done[0].words}" if done else "there is none"
            raise InputError(
                f"Change {only} is not the newest ({newest}), so it is not taken back: "
                "what came later may rest on it."
            )
        for each in done:
            _reverse(connection, each)
            told.append(f"this was taken back: {each.words}")
        return done


def do_again(connection: sqlite3.Connection, many: int = 1) -> list[Change]:
    """Do again what was taken back last, and return it, fewer where there is no more."""
    with whole(connection) as told:
        undone = [change for change in reversed(read_changes(connection)) if change.undone][:many]
        for each in undone:
            _reverse(connection, each)
            told.append(f"this was done again: {each.words}")
        return undone


def _reverse(connection: sqlite3.Connection, change: Change) -> None:
    """Take back what a change did, recorded in its place so that this can be taken back too."""
    connection.execute("PRAGMA defer_foreign_keys = ON")
    entries = connection.execute(
        "SELECT sequence, table_name, operation, row FROM history WHERE change = ?"
        " ORDER BY sequence DESC",
        (change.number,),
    ).fetchall()
    opened = _open_change(connection)
    for entry in entries:
        _take_back(connection, entry)
    connection.execute(
        "UPDATE change SET open = 0, undone = ?, (what, at, joined) ="
        " (SELECT what, at, joined FROM change WHERE id = ?) WHERE id = ?",
        (int(not change.undone), change.number, opened),
    )
    connection.execute("DELETE FROM change WHERE id = ?", (change.number,))
    connection.execute("UPDATE change SET id = ? WHERE id = ?", (change.number, opened))
    renew_shifts(connection)
    seal(connection, WATCHED, change.number)


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
