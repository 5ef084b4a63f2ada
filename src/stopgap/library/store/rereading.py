"""All pencils of a library for who reads them again and again: only what was touched is read.

Pencils are as they were read last where nobody wrote to the file, or only who asks did, and what
these changes touched is known from the history. After anything else all rows are read, of which the
very same are not made anew.
"""

import sqlite3
from collections.abc import Callable, Iterator, Mapping
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path
from typing import NamedTuple, Protocol

from stopgap.library.store.rows import Remembered, read_pencils, row_numbers
from stopgap.swatches import Pencil

FileState = tuple[int, ...]

_OF_PENCILS = ("colour_range", "swatch", "further_swatch")
"""Of watched tables those, beside decisions, whose rows pencils are made of."""

_MOST_OWN = 100  # changes between two readings that are kept in mind


def file_state(path: Path) -> FileState:
    """What a file is like from outside; empty where there is none."""
    try:
        file = path.stat()
    except OSError:
        return ()
    return (file.st_ino, file.st_mtime_ns, file.st_size)


class OpenLibrary(Protocol):
    """What is asked of a library that is open."""

    path: Path
    opened: FileState

    def reading(self) -> AbstractContextManager[sqlite3.Connection]:
        """The connection, at one moment of the library."""

    def when_landed(self, tell: Callable[[], None]) -> None:
        """Have something told once what is changed is safe."""


class _Moment(NamedTuple):
    """A library at one moment: its file, and the last entry of its history."""

    file: FileState
    entry: int


class _Seen(NamedTuple):
    """Pencils as they were read at a moment, and the places of their rows by number."""

    moment: _Moment
    pencils: tuple[Pencil, ...]
    places: Mapping[int, int]


class LastRead:
    """What was read of a library last. Threads may ask at once."""

    def __init__(self) -> None:
        self.rows: Remembered = {}
        self._seen: _Seen | None = None
        self._own: tuple[_Moment, ...] = ()  # between each and the next only who asks wrote

    def pencils(self, connection: sqlite3.Connection, library: OpenLibrary) -> tuple[Pencil, ...]:
        """Every pencil, as `read_pencils` gives them, at the moment of an open transaction."""
        entry = _last_entry(connection)  # which locks the file against who writes
        now = _Moment(file_state(library.path), entry)
        seen = self._seen
        if now.file[:1] != library.opened[:1] or not now.file:  # another lies there by now
            return read_pencils(connection, self.rows)
        if seen is not None and seen.moment == now:
            return seen.pencils
        found = None
        own = self._own
        if seen is not None and seen.moment in own and own[-1] == now:
            found = self._touched(connection, seen)
        if found is None or seen is None:
            found = read_pencils(connection, self.rows)
            places: Mapping[int, int] = {key: at for at, key in enumerate(row_numbers(connection))}
        else:
            places = seen.places
        self._seen = _Seen(now, found, places)
        return found

    @contextmanager
    def writing(self, library: OpenLibrary) -> Iterator[None]:
        """Have what is changed within its block, which nobody else does, known as one's own.

        What another program changes in the instant after it landed has entries of its own, or, as a
        whole library restored, lacks ours.
        """
        with library.reading() as connection:
            before = _Moment(file_state(library.path), _last_entry(connection))
            version = _version(connection)
        yield
        with library.reading() as connection:
            entry, alone = _last_entry(connection), _version(connection) == version
        if alone:
            library.when_landed(
                lambda: self._landed(before, _Moment(file_state(library.path), entry))
            )

    def _landed(self, before: _Moment, after: _Moment) -> None:
        known = self._own if self._own[-1:] == (before,) else (before,)
        self._own = (*known[-_MOST_OWN:], after)

    def _touched(self, connection: sqlite3.Connection, seen: _Seen) -> tuple[Pencil, ...] | None:
        """The pencils seen with those read anew that were decided about; None where more changed,
        or it is not known any more what.
        """
        tables = connection.execute(
            "SELECT table_name FROM history WHERE sequence > ?", (seen.moment.entry,)
        ).fetchall()
        if len(tables) != _last_entry(connection) - seen.moment.entry:
            return None
        if not {row[0] for row in tables}.isdisjoint(_OF_PENCILS):
            return None
        touched = connection.execute(
            "SELECT DISTINCT swatch.id FROM past_decision JOIN swatch ON swatch.id = swatch_id"
            " WHERE sequence > ?",
            (seen.moment.entry,),
        ).fetchall()
        if not touched:
            return seen.pencils
        if len(seen.places) != len(seen.pencils):
            return None
        rows = sorted((row[0] for row in touched), key=seen.places.__getitem__)
        pencils = [*seen.pencils]
        for row, its in zip(rows, read_pencils(connection, self.rows, rows=rows), strict=True):
            pencils[seen.places[row]] = its
        return tuple(pencils)


def _last_entry(connection: sqlite3.Connection) -> int:
    """The number of the last entry of the history; numbers follow each other without a gap."""
    found = connection.execute("SELECT seq FROM sqlite_sequence WHERE name = 'history'").fetchone()
    return 0 if found is None else int(found[0])


def _version(connection: sqlite3.Connection) -> int:
    """Another number once somebody else has changed the file."""
    return int(connection.execute("PRAGMA data_version").fetchone()[0])
