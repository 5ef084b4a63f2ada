"""Opening the library file: what makes it ours, how it is kept safe, and what can go wrong.

The journal is SQLite's rollback journal, not WAL: one person works with the library at a time, and
a library must stay a single file that can be copied to a stick or lie on a network drive at any
moment, which WAL's side files do not allow.

Numbered steps bring a file up to date; the number of the last one taken is its `user_version`. A
step is one SQL file in `migrations`, `NNNN_what_it_does.sql`; steps are never changed once
released, only added.
"""

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from stopgap.errors import LibraryError, Remedy, StopgapError
from stopgap.library.files import APPLICATION_ID
from stopgap.library.store.history import watch_tables

LOCK_PATIENCE = 5.0  # seconds to wait for another program to finish writing


def connect(path: Path, *, read_only: bool = False, as_it_is: bool = False) -> sqlite3.Connection:
    """A connection to the library at `path`, brought up to date, made where it does not exist.

    A library of an older stopgap is brought up to date even to be read only, unless it is to be
    copied `as_it_is`.

    Raises
    ------
    LibraryError
        Where there is no library (reading), the file is not one, is damaged, locked, not
        permitted, or was written by a newer stopgap.
    """
    with told_plainly(path):
        if path.is_dir():
            raise LibraryError(f"{path} is a folder; a library is one file. Name a file in it.")
        fresh = not path.exists() or path.stat().st_size == 0
        if fresh and read_only:
            raise LibraryError(f"There is no library at {path} yet.", remedy=Remedy.FIRST_RANGE)
        if fresh:
            path.parent.mkdir(parents=True, exist_ok=True)
            _bring_up_to_date(path, None)
        else:
            connection = _open(path, read_only=read_only)
            try:
                version = _version_of(connection, path)
            except BaseException:
                connection.close()
                raise
            if as_it_is or version == newest_version():
                return connection
            connection.close()
            _bring_up_to_date(path, version)
        return _open(path, read_only=read_only)


@contextmanager
def told_plainly(path: Path) -> Iterator[None]:
    """Turn SQLite's and the system's errors about the file into one clear sentence."""
    try:
        yield
    except StopgapError:
        raise
    except sqlite3.OperationalError as error:
        raise LibraryError(f"The library {path} {_plain_reason(str(error))}") from error
    except sqlite3.DatabaseError as error:
        raise LibraryError(
            f"The library {path} is damaged or is not a library ({error}).",
            remedy=Remedy.RESTORE,
        ) from error
    except OSError as error:
        raise LibraryError(
            f"The library {path} cannot be used: {error.strerror or error}."
        ) from error


def _open(path: Path, *, read_only: bool) -> sqlite3.Connection:
    mode = "ro" if read_only else "rwc"
    address = f"{path.absolute().as_uri()}?mode={mode}"
    connection = sqlite3.connect(address, uri=True, isolation_level=None, timeout=LOCK_PATIENCE)
    connection.row_factory = sqlite3.Row
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute("PRAGMA trusted_schema = OFF")
    return connection


def _bring_up_to_date(path: Path, version: int | None) -> None:
    """Take the steps that a library of that version lacks; one that is new, None, lacks all."""
    with closing(_open(path, read_only=False)) as connection:
        if version is not None:
            back_up(connection, path.with_name(f"{path.name}.version-{version}"))
        connection.execute("BEGIN EXCLUSIVE")
        try:
            connection.execute(f"PRAGMA application_id = {APPLICATION_ID:d}")
            for number, sql in steps():
                if number > (version or 0):
                    take_step(connection, number, sql)
            watch_tables(connection)
            connection.execute("COMMIT")
        except BaseException:
            if connection.in_transaction:
                connection.execute("ROLLBACK")
            raise


def _version_of(connection: sqlite3.Connection, path: Path) -> int:
    mark = connection.execute("PRAGMA application_id").fetchone()[0]
    if mark != APPLICATION_ID:
        raise LibraryError(f"{path} is not a stopgap library.", remedy=Remedy.OTHER_LIBRARY)
    version = int(connection.execute("PRAGMA user_version").fetchone()[0])
    if version > newest_version():
        raise LibraryError(
            f"The library {path} was written by a newer stopgap (library version {version}, this "
            f"one knows {newest_version()}). Update stopgap to use it; nothing was changed."
        )
    return version


def back_up(connection: sqlite3.Connection, target: Path) -> None:
    """Write a copy of the open library to `target`, replacing what is there."""
    target = Path(os.path.realpath(target))
    partial = target.with_name(f"{target.name}.partial")
    try:
        with closing(sqlite3.connect(partial)) as copy:
            connection.backup(copy)
        partial.replace(target)
    finally:
        partial.unlink(missing_ok=True)


def _plain_reason(message: str) -> str:
    reasons = {
        "locked": "is in use by another program. Close it there and try again.",
        "unable to open": "cannot be opened: the folder does not exist or may not be read.",
        "readonly": "may not be written to. Make the file and its folder writable; a library from "
        "an older stopgap must be written to once, to bring it up to date.",
        "full": "could not be written: the disk is full. Nothing was changed.",
        "disk I/O": "could not be read or written: the disk is full or failing. "
        "Nothing was changed.",
    }
    for part, reason in reasons.items():
        if part in message:
            return reason
    return f"could not be used ({message})."


def steps() -> list[tuple[int, str]]:
    """Number and SQL of every step, in order."""
    return [(int(file.name[:4]), file.read_text(encoding="utf-8")) for file in _files()]


def newest_version() -> int:
    """The version that a library has once every step is taken."""
    return int(_files()[-1].name[:4])


def _files() -> list[Path]:
    return sorted(
        file for file in Path(__file__).with_name("migrations").iterdir() if file.suffix == ".sql"
    )


def take_step(connection: sqlite3.Connection, number: int, sql: str) -> None:
    """Run one step inside the transaction that is open, and record its number."""
    statement = ""
    for line in sql.splitlines(keepends=True):
        statement += line
        if sqlite3.complete_statement(statement):
            connection.execute(statement)
            statement = ""
    connection.execute(f"PRAGMA user_version = {number:d}")
