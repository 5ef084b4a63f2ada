"""Opening the library file: what makes it ours, how it is kept safe, and what can go wrong.

The journal is SQLite's rollback journal, not WAL: one person works with the library at a time, and
a library must stay a single file that can be copied to a stick or lie on a network drive at any
moment, which WAL's side files do not allow.

Numbered steps bring a file up to date; the number of the last one taken is its `user_version`. A
step is one SQL file in `migrations`, `NNNN_what_it_does.sql`; steps are never changed once
released, only added.
"""

import math
import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from contextvars import ContextVar
from pathlib import Path

from stopgap.errors import LibraryError, Remedy, StopgapError
from stopgap.library.files import APPLICATION_ID, replacing, reserved
from stopgap.library.store.history import watch_tables, whole
from stopgap.library.store.sealing import WATCHED, seal

LOCK_PATIENCE = 30.0  # seconds to wait for another program to finish writing
_PATIENCE = ContextVar("patience", default=math.inf)


@contextmanager
def lock_patience(seconds: float) -> Iterator[None]:
    """For so long at most libraries that are opened in the block wait for another program."""
    before = _PATIENCE.set(seconds)
    try:
        yield
    finally:
        _PATIENCE.reset(before)


def connect(path: Path, *, read_only: bool = False, as_it_is: bool = False) -> sqlite3.Connection:
    """A connection to the library at `path`, brought up to date, made where it does not exist.

    What a crash left half done is taken back, and a library of an older stopgap is brought up to
    date, even to be read only; the latter not where it is to be copied `as_it_is`.

    Raises
    ------
    LibraryError
        Where there is no library (reading), the file is not one, is damaged, locked, not
        permitted, or was written by a newer stopgap.
    """
    with told_plainly(path):
        if path.is_dir():
            raise LibraryError(f"{path} is a folder; a library is one file. Name a file in it.")
        if read_only and not path.exists():
            raise _no_library(path)
        if not read_only:
            path.parent.mkdir(parents=True, exist_ok=True)
        connection = open_file(path, read_only=read_only)
        try:
            version = version_of(connection, path)
            if version is None and read_only:
                raise _no_library(path)
            if not as_it_is and version != newest_version():
                connection.close()  # what it lacks is looked up again: two may start at once
                with closing(lock_file(path)) as writable:
                    bring_up_to_date(writable, path)
                connection = open_file(path, read_only=read_only)
        except BaseException:
            connection.close()
            raise
        return connection


def _no_library(path: Path) -> LibraryError:
    return LibraryError(f"There is no library at {path} yet.", remedy=Remedy.FIRST_RANGE)


@contextmanager
def told_plainly(path: Path) -> Iterator[None]:
    """Turn SQLite's and the system's errors about the file into one clear sentence."""
    try:
        yield
    except StopgapError:
        raise
    except sqlite3.OperationalError as error:
        if not hasattr(error, "sqlite_errorcode"):  # Python's own, of bytes that are no text
            raise LibraryError(
                f"The library {path} holds a text that is damaged ({error}).",
                remedy=Remedy.CHECK_LIBRARY,
            ) from error
        raise LibraryError(f"The library {path} {_plain_reason(error, path)}") from error
    except (sqlite3.DatabaseError, UnicodeDecodeError) as error:  # its words may be damaged
        raise LibraryError(
            f"The library {path} is damaged or is not a library ({error}).",
            remedy=Remedy.RESTORE,
        ) from error
    except OSError as error:
        raise LibraryError(
            f"The library {path} cannot be used: {error.strerror or error}."
        ) from error


def open_file(path: Path, *, read_only: bool = False) -> sqlite3.Connection:
    """A connection to the file as it is, made where it does not exist and may be written to.

    One that only reads may take back what a crash left half done, and write nothing else.
    """
    mode = "rw" if read_only else "rwc"  # where the file may not be written to, SQLite only reads
    address = f"{path.absolute().as_uri()}?mode={mode}"
    patience = min(_PATIENCE.get(), LOCK_PATIENCE)
    connection = sqlite3.connect(address, uri=True, isolation_level=None, timeout=patience)
    connection.row_factory = sqlite3.Row
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute("PRAGMA trusted_schema = OFF")
    if read_only:
        connection.execute("PRAGMA query_only = ON")
    return connection


def lock_file(path: Path) -> sqlite3.Connection:
    """A connection as `open_file` makes it, with the file locked against all others until it ends.

    Unlike a transaction this lets the file be copied whole, and copied into.
    """
    connection = open_file(path)
    try:
        connection.execute("BEGIN EXCLUSIVE")
        # not before: in this mode two that wait for each other would never give way
        connection.execute("PRAGMA locking_mode = EXCLUSIVE")
        connection.execute("COMMIT")  # which leaves the lock
        is_empty(connection)  # raises what is wrong with it
    except BaseException:
        connection.close()
        raise
    return connection


def bring_up_to_date(connection: sqlite3.Connection, path: Path, *, copy: bool = True) -> None:
    """Take the steps that the library lacks, all of them where it is new; it is locked already.

    A `copy` of an older one is kept beside it.
    """
    version = version_of(connection, path)
    if version == newest_version():
        return
    if copy and version is not None:
        keep_copy(connection, path, f"version-{version}")
    with whole(connection):
        connection.execute(f"PRAGMA application_id = {APPLICATION_ID:d}")
        for number, sql in steps():
            if number > (version or 0):
                take_step(connection, number, sql)
        watch_tables(connection)
        seal(connection, WATCHED)


def is_empty(connection: sqlite3.Connection) -> bool:
    """Whether nothing was ever put into the file."""
    pages = connection.execute("PRAGMA page_count").fetchone()[0]  # a lock alone may make one
    tables = connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()[0]
    return bool(pages <= 1 and tables == 0)


def version_of(connection: sqlite3.Connection, path: Path) -> int | None:
    """The version of the open library, None where there is nothing in the file yet.

    Raises
    ------
    LibraryError
        Where it is no library, or a newer stopgap wrote it.
    """
    if is_empty(connection):
        return None
    mark = connection.execute("PRAGMA application_id").fetchone()[0]
    if mark != APPLICATION_ID:
        raise LibraryError(f"{path} is not a library of stopgap.", remedy=Remedy.OTHER_LIBRARY)
    version = int(connection.execute("PRAGMA user_version").fetchone()[0])
    if version > newest_version():
        raise LibraryError(
            f"The library {path} was written by a newer stopgap (library version {version}, this "
            f"one knows {newest_version()}). Update stopgap to use it; nothing was changed."
        )
    return version


def back_up(connection: sqlite3.Connection, target: Path) -> None:
    """Write a copy of the open library to the empty file `target`."""
    connection.execute("SELECT count(*) FROM sqlite_schema")  # waits no longer than LOCK_PATIENCE
    with closing(sqlite3.connect(target)) as copy:
        copy.execute("PRAGMA journal_mode = OFF")  # the file is not needed unless it is whole
        connection.backup(copy)


def keep_copy(connection: sqlite3.Connection, path: Path, why: str) -> Path:
    """Keep a copy of the open library beside it under a name that is free, with the same rights."""
    kept = reserved(path.with_name(f"{path.name}.{why}"))
    try:
        with replacing(kept, like=path) as partial:
            back_up(connection, partial)
    except BaseException:
        kept.unlink(missing_ok=True)
        raise
    return kept


def _plain_reason(error: sqlite3.Error, path: Path) -> str:
    message = str(error)
    journal = Path(f"{os.path.realpath(path)}-journal")
    if error.sqlite_errorcode in _NOT_TAKEN_BACK and journal.exists():
        return (
            "was being changed when a program or the computer stopped, and what was half done "
            "cannot be taken back: that needs the file and its folder to be writable. Make them so "
            f"once, or copy the file together with {journal.name} to a folder of yours."
        )
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


_NOT_TAKEN_BACK = (
    *(sqlite3.SQLITE_READONLY_ROLLBACK, sqlite3.SQLITE_READONLY_DIRECTORY),
    *(sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_IOERR_DELETE, sqlite3.SQLITE_READONLY),
    *(sqlite3.SQLITE_READONLY_CANTLOCK, sqlite3.SQLITE_PERM),
)


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
