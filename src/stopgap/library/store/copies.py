"""Whole copies of a library: backup, and putting one back."""

import sqlite3
from contextlib import closing
from pathlib import Path
from tempfile import TemporaryDirectory

from stopgap.errors import LibraryError
from stopgap.library.files import LIBRARY, STANDARD, as_file, check_free, write_whole
from stopgap.library.store.connection import back_up, connect, told_plainly
from stopgap.library.store.library import Library


def backup(library: Library, target: Path, *, overwrite: bool = False) -> None:
    """Copy the library to `target`.

    Raises
    ------
    InputError
        If `target` exists and may not be overwritten.
    LibraryError
        If it cannot be written.
    """
    check_free(target, overwrite=overwrite, kind=LIBRARY)
    with TemporaryDirectory() as folder:
        copy = Path(folder) / "copy"
        with library.reading() as connection, told_plainly(target):
            back_up(connection, copy)
        write_whole(target, copy.read_bytes(), overwrite=overwrite)


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
    with (
        as_file(source) as file,
        closing(connect(file, read_only=True, as_it_is=True)) as copy,
        told_plainly(source),
    ):
        found = copy.execute("PRAGMA integrity_check").fetchone()[0]
        if found != "ok":
            raise LibraryError(f"The backup {source} is damaged ({found}). Nothing was changed.")
        with told_plainly(path):
            path.parent.mkdir(parents=True, exist_ok=True)
            kept = _keep_old(path)
            back_up(copy, path)
    connect(path).close()  # a copy that an older stopgap made is brought up to date
    return kept


def _keep_old(path: Path) -> Path | None:
    if not path.exists():
        return None
    kept = path.with_name(f"{path.name}.before-restore")
    with closing(sqlite3.connect(path)) as old:
        try:
            back_up(old, kept)
        except sqlite3.DatabaseError:
            # a damaged library is just what one restores over: keep it byte for byte
            kept.write_bytes(path.read_bytes())
    return kept
