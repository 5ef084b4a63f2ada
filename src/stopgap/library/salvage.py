"""What is damaged in a library, and a new one of all that can still be read."""

import sqlite3
from collections.abc import Iterator, Mapping
from contextlib import closing, suppress
from pathlib import Path
from typing import Any, NamedTuple

from stopgap.library.files import LIBRARY, check_free, replacing
from stopgap.library.store.cells import ill_formed
from stopgap.library.store.connection import (
    bring_up_to_date,
    connect,
    open_file,
    told_plainly,
)
from stopgap.library.store.sealing import WATCHED, row_checksum, seal, structure_altered

_SPARED = "mapping"  # a range is whole without it: what was agreed on can be asked anew
_MOST_TRIED = 100_000
"""Rows that are looked for one by one behind a damaged page."""

Rows = dict[str, dict[int, dict[str, Any]]]


class LibraryDamage(NamedTuple):
    """What is wrong with a library: whole pages, rows with cells that nobody can read, and rows
    that are not what was written, though they can be read; each in words. `sound` is how many rows
    are as they were written.
    """

    pages: tuple[str, ...] = ()
    unreadable: tuple[str, ...] = ()
    altered: tuple[str, ...] = ()
    sound: int = 0

    @property
    def everything(self) -> tuple[str, ...]:
        """All of it, a line each."""
        return (*self.pages, *self.unreadable, *self.altered)


def check_library(path: Path) -> LibraryDamage:
    """Look through every page and every cell of the library; nothing is changed.

    Raises
    ------
    LibraryError
        If it cannot be opened at all.
    """
    with closing(connect(path, read_only=True)) as connection, told_plainly(path):
        return _looked_through(connection)[0]


def rescue(path: Path, new: Path) -> LibraryDamage:
    """Make a library at `new` of all rows of another that can be read; what was left out.

    Altered rows are taken as they are, since most of such a row is right. Where the range of a
    pencil is lost, it stands in one called after its number.

    Raises
    ------
    LibraryError
        If the library cannot be opened at all.
    InputError
        If there is something at `new`.
    """
    check_free(new, kind=LIBRARY)
    with closing(connect(path, read_only=True)) as connection, told_plainly(path):
        found, rows = _looked_through(connection)
    with (
        told_plainly(new),
        replacing(new, like=path) as partial,
        closing(open_file(partial)) as made,
    ):
        bring_up_to_date(made, partial)
        made.execute("PRAGMA foreign_keys = OFF")
        made.execute("BEGIN")
        lost = [*_orphans(rows), *_filled(made, rows)]
        seal(made, WATCHED)
        made.execute("COMMIT")
    return found._replace(unreadable=(*found.unreadable, *lost))


def _looked_through(connection: sqlite3.Connection) -> tuple[LibraryDamage, Rows]:
    connection.text_factory = _text
    connection.execute("BEGIN")
    pages: list[str] = []
    with suppress(sqlite3.DatabaseError):
        pages = [str(row[0]) for row in connection.execute("PRAGMA integrity_check(50)")]
    pages = [line for line in pages if line != "ok"]
    rows: Rows = {}
    unreadable, altered = [], []
    sound = 0
    if structure_altered(connection):
        altered.append("how its tables are made: not as written")
    for table in WATCHED:
        try:
            read, lost = _rows(connection, table)
        except sqlite3.DatabaseError as error:
            read, lost = {}, f"all of {table.replace('_', ' ')} ({error})"
        unreadable += [lost] if lost else []
        sums = _checksums(connection, table)
        rows[table] = {}
        for number, row in read.items():
            cells = list(ill_formed(connection, table, row))
            unreadable += map(str, cells)
            if any(cell.column != _SPARED for cell in cells):
                continue
            rows[table][number] = row
            if cells:
                row[_SPARED] = None
            elif sums is not None and sums.get(number) != row_checksum(row.values()):
                altered.append(
                    f"{table.replace('_', ' ')} {number}{_called(row, rows)}: not as written"
                )
            else:
                sound += 1
    return LibraryDamage(tuple(pages), tuple(unreadable), tuple(altered), sound), rows


def _text(stored: bytes) -> str | bytes:
    """A text, or the bytes of what is none."""
    try:
        return stored.decode()
    except UnicodeDecodeError:
        return stored


def _rows(connection: sqlite3.Connection, table: str) -> tuple[dict[int, dict[str, Any]], str]:
    """The rows of a table that can be read, by number, and what is lost in words."""
    found: dict[int, dict[str, Any]] = {}
    ends = []
    for order in ("ASC", "DESC"):
        number = None
        try:
            for row in connection.execute(f"SELECT * FROM {table} ORDER BY id {order}"):
                number = row["id"]
                found[number] = dict(row)
            return found, ""
        except sqlite3.DatabaseError:
            ends.append(number)
    first, last = ends
    tried = range((first or 0) + 1, (last if last is not None else _MOST_TRIED))
    for number in tried[:_MOST_TRIED]:
        with suppress(sqlite3.DatabaseError):
            row = connection.execute(f"SELECT * FROM {table} WHERE id = ?", (number,)).fetchone()
            if row is not None:
                found[number] = dict(row)
    missing = "rows" if first is None else f"rows behind {first}"
    return dict(sorted(found.items())), f"{missing} of {table.replace('_', ' ')}, on damaged pages"


def _checksums(connection: sqlite3.Connection, table: str) -> dict[int, int] | None:
    """What rows were sealed by; None where it cannot be read, as in an older library."""
    try:
        return dict(
            tuple(row)
            for row in connection.execute(
                "SELECT row, value FROM row_checksum WHERE table_name = ?", (table,)
            )
        )
    except sqlite3.DatabaseError:
        return None


def _called(row: Mapping[str, Any], rows: Rows) -> str:
    """Whose row it is, in brackets."""
    swatch = row if "code" in row else rows.get("swatch", {}).get(row.get("swatch_id", -1), {})
    of = rows.get("colour_range", {}).get(swatch.get("range_id", -1), {}).get("name")
    if "code" in swatch:
        return f" ({of or 'range lost'}:{swatch['code']})"
    return f" ({row['name']})" if "name" in row else ""


_PARENTS = {"further_swatch": "swatch_id", "decision": "swatch_id", "pin": "swatch_id"}


def _orphans(rows: Rows) -> Iterator[str]:
    """Let go of what belongs to pencils that are lost; give pencils without a range one."""
    for number, row in rows["swatch"].items():
        of_id = row["range_id"]
        if of_id not in rows["colour_range"]:
            name = f"Rescued {of_id}"
            rows["colour_range"][of_id] = {
                "id": of_id,
                "name": name,
                "white": "D50",
                "observer": 2,
                "white_assumed": 1,
                "origin": "",
            }
            yield f"the name of range {of_id}, now {name!r} (first lost of swatch {number})"
    for table, parent in _PARENTS.items():
        for number in [of for of, row in rows[table].items() if row[parent] not in rows["swatch"]]:
            del rows[table][number]
            yield f"{table.replace('_', ' ')} {number}, of a pencil that is lost"


def _filled(made: sqlite3.Connection, rows: Rows) -> Iterator[str]:
    """Write the rows; what the new library refuses is told."""
    for table, found in rows.items():
        for number, row in found.items():
            columns = ", ".join(f'"{column}"' for column in row)
            marks = ", ".join("?" * len(row))
            try:
                made.execute(
                    f"INSERT INTO {table} ({columns}) VALUES ({marks})", tuple(row.values())
                )
            except sqlite3.DatabaseError as error:
                yield f"{table.replace('_', ' ')} {number} ({error})"
