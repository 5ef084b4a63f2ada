"""Whole copies of a library: backup, and putting one back.

A copy is put back *into* the file of the library, by SQLite and with the file locked: whoever
writes at that moment waits, its links and rights stay, and no journal of what was there before can
be played into it.
"""

import os
import sqlite3
from contextlib import closing
from pathlib import Path
from tempfile import TemporaryDirectory

from stopgap.errors import InputError, LibraryError, landed
from stopgap.library.files import (
    LIBRARY,
    STANDARD,
    as_file,
    check_free,
    reserved,
    uninterrupted,
    write_whole,
)
from stopgap.library.store.connection import (
    back_up,
    bring_up_to_date,
    connect,
    is_empty,
    keep_copy,
    lock_file,
    told_plainly,
)
from stopgap.library.store.library import Library


def backup(library: Library, target: Path, *, overwrite: bool = False) -> None:
    """Copy the library to `target`.

    Raises
    ------
    InputError
        If `target` exists and may not be overwritten.
    LibraryError
        If it cannot be written, or the library is damaged.
    """
    check_free(target, overwrite=overwrite, kind=LIBRARY)
    if target.exists() and target.samefile(library.path):
        raise InputError(f"{target} is the library itself. Name another file.")
    with TemporaryDirectory() as folder:
        copy = Path(folder) / "copy"
        with library.reading() as connection, told_plainly(target):
            back_up(connection, copy)
        with closing(sqlite3.connect(copy)) as written, told_plainly(library.path):
            found = _damage(written)
        if found:
            raise LibraryError(f"The library {library.path} is damaged ({found}); not copied.")
        write_whole(target, copy.read_bytes(), overwrite=overwrite, like=library.path)


def restore(source: Path, path: Path) -> Path | None:
    """Put the copy `source` in the place of the library at `path`.

    What was there is kept beside it; its path is returned, None where there was nothing.

    Raises
    ------
    LibraryError
        If `source` is not a sound stopgap library; nothing is changed then.
    """
    if source != STANDARD and (not source.exists() or source.is_dir()):
        raise LibraryError(f"{source}: there is no such backup file.")
    with as_file(source) as file:
        if path.exists() and file.samefile(path):
            raise LibraryError(f"{source} is the library itself. Name a copy of it.")
        with (
            closing(connect(file, read_only=True, as_it_is=True)) as copy,
            told_plainly(source),
        ):
            copy.execute("BEGIN")  # nobody changes the copy meanwhile
            found = _damage(copy)
            if found:
                raise LibraryError(
                    f"The backup {source} is damaged ({found}). Nothing was changed."
                )
            with told_plainly(path):
                return _put_in_place(copy, path, file)


def _put_in_place(copy: sqlite3.Connection, path: Path, file: Path) -> Path | None:
    path.parent.mkdir(parents=True, exist_ok=True)
    if not path.exists():
        rights = file.stat().st_mode & 0o777
        os.close(os.open(os.path.realpath(path), os.O_CREAT | os.O_WRONLY, rights))
    library, kept = _locked(path)
    with closing(library):
        if kept is None and not is_empty(library):
            kept = keep_copy(library, path, "before-restore")
        try:
            with uninterrupted():
                copy.backup(library)
                landed(f"{path} was restored")
        except sqlite3.Error:
            if kept is not None:  # the library is as it was
                kept.unlink()
            raise
        library.execute("PRAGMA journal_mode = DELETE")
        if found := _damage(library):
            raise LibraryError(
                f"What was put into {path} cannot be read back ({found}): the disk may be failing. "
                + ("" if kept is None else f"What was there before is kept as {kept}.")
            )
        bring_up_to_date(library, path, copy=False)  # the copy may be of an older stopgap
    return kept


def _locked(path: Path) -> tuple[sqlite3.Connection, Path | None]:
    """The library's file, locked until the connection is closed.

    What is so damaged that SQLite cannot take it for a database is just what one restores over: it
    is kept byte for byte, under the path returned, and the file emptied.
    """
    try:
        return lock_file(path), None
    except sqlite3.DatabaseError as error:
        if error.sqlite_errorcode not in (sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_CORRUPT):
            raise
    kept = reserved(path.with_name(f"{path.name}.before-restore"))
    kept.write_bytes(path.read_bytes())
    kept.chmod(path.stat().st_mode & 0o777)
    os.truncate(path, 0)
    return lock_file(path), kept


def _damage(connection: sqlite3.Connection) -> str:
    """What SQLite finds wrong with a database; empty where nothing is."""
    found = str(connection.execute("PRAGMA integrity_check").fetchone()[0])
    return "" if found == "ok" else found
