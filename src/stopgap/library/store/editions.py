"""Charts as they were printed, so that they can be read back, and the swatches read of them."""

import json
import sqlite3
from collections.abc import Iterable, Sequence
from dataclasses import replace
from os import urandom

from stopgap.errors import NothingFoundError
from stopgap.library.store.entry import Entry, EntryKind
from stopgap.library.store.insertion import insert_further, lay_first, settle_first, swatch_id
from stopgap.library.store.library import Library
from stopgap.swatches import Edition, LaidLayers, Pencil, Source, Swatch, colour_of, laid_key

_NUMBERS = 10**6
_MOST_NAMED = 3


def stored_editions(library: Library) -> tuple[Edition, ...]:
    """Every edition, the oldest first."""
    with library.reading() as connection:
        rows = connection.execute("SELECT pages FROM edition ORDER BY id").fetchall()
        return tuple(Edition.from_data(json.loads(row["pages"])) for row in rows)


def stored_edition(library: Library, number: str) -> Edition:
    """The edition of that number; zeros before it may be left out.

    Raises
    ------
    NothingFoundError
        If the library has no such edition; names those it has.
    """
    kept = {edition.number: edition for edition in stored_editions(library)}
    found = kept.get(number.strip().rjust(6, "0"))
    if found is None:
        there = f"Those it has: {', '.join(kept)}." if kept else "It has none yet."
        raise NothingFoundError(f"The library has no chart of edition {number!r:.20}. {there}")
    return found


def keep_edition(library: Library, edition: Edition) -> Edition:
    """Keep an edition in the place of the one of its number; one without a number gets one.

    Numbers are drawn at random, so that charts of two libraries are not taken for each other.
    """
    if not edition.number.strip("0"):
        taken = {each.number for each in stored_editions(library)}
        free = (f"{_drawn():06d}" for _ in iter(int, 1))
        edition = replace(edition, number=next(each for each in free if each not in taken))
    text = json.dumps(edition.as_data())
    with library.changing(f"chart of edition {edition.number}") as connection:
        connection.execute(
            "INSERT INTO edition (number, pages) VALUES (?, ?)"
            " ON CONFLICT (number) DO UPDATE SET pages = excluded.pages",
            (edition.number, text),
        )
    return edition


def _drawn() -> int:
    """A number but 0; the module of secrets loads OpenSSL for it."""
    return int.from_bytes(urandom(8), "big") % (_NUMBERS - 1) + 1


def scanned_layers(library: Library, edition: Edition) -> tuple[LaidLayers, ...]:
    """What scans of a chart say of its boxes of several pencils."""
    with library.reading() as connection:
        row = connection.execute(
            "SELECT laid FROM edition WHERE number = ?", (edition.number,)
        ).fetchone()
        laid = [] if row is None else json.loads(row["laid"])
        return tuple(
            LaidLayers(tuple(pencils), tuple(pressures), (float(L), float(a), float(b)))
            for pencils, pressures, (L, a, b) in laid
        )


def of_edition(swatch: Swatch, edition: Edition) -> bool:
    """Whether a swatch was scanned from a page of that chart."""
    told = swatch.measurement.instrument
    return swatch.source is Source.SCANNED and told.endswith(f"edition {edition.number}")


def keep_scan(
    library: Library,
    edition: Edition,
    swatches: Sequence[Swatch],
    layers: Sequence[LaidLayers] = (),
) -> None:
    """Keep swatches and layers read of a chart, in one change.

    What an earlier scan of the same chart said of a layer laid in the same way gives way, and so
    does a name; of layers that a chart has twice the first box counts. A pencil's colour is then,
    by the rule, that of its latest heavy dry swatch.
    """
    pencils = {pencil.first.address: pencil for pencil in library.pencils()}
    of = f": {some_names(swatches)}" if swatches else ""
    what = f"scan of {len(swatches)} swatches of edition {edition.number}{of}"
    every = (*scanned_layers(library, edition), *reversed(layers))
    laid = {(one.pencils, one.pressures): one for one in every}
    with library.changing(what) as connection:
        connection.execute(
            "UPDATE edition SET laid = ? WHERE number = ?",
            (json.dumps(list(laid.values())), edition.number),
        )
        by_pencil: dict[str, list[Swatch]] = {}
        for swatch in swatches:
            by_pencil.setdefault(swatch.address, []).append(swatch)
        for address, read in by_pencil.items():
            _keep_read(connection, pencils[address], read, edition)


def _keep_read(
    connection: sqlite3.Connection, pencil: Pencil, read: Sequence[Swatch], edition: Edition
) -> None:
    """Keep what was read of the boxes of one pencil."""
    of_id = swatch_id(connection, read[0])
    rows = connection.execute(
        "SELECT id FROM further_swatch WHERE swatch_id = ? ORDER BY position, id", (of_id,)
    ).fetchall()
    there = list(zip(pencil.swatches[1:], [row["id"] for row in rows], strict=True))
    name = not pencil.first.coloured
    colour = colour_of(read) if name else None
    for swatch in sorted(read, key=lambda each: each is not colour):
        entry = Entry(EntryKind.LAB, swatch.lab)
        if name or _again(pencil.first, swatch, edition):
            lay_first(connection, of_id, swatch, entry)
            name = False
            continue
        settle_first(connection, of_id, pencil.first)
        earlier = [(row,) for other, row in there if _again(other, swatch, edition)]
        connection.executemany("DELETE FROM further_swatch WHERE id = ?", earlier)
        insert_further(connection, of_id, swatch, entry, by_hand=True)


def _again(other: Swatch, swatch: Swatch, edition: Edition) -> bool:
    """Whether an earlier scan of a chart read a layer that was laid as one which is read now."""
    laid = laid_key(swatch, dated=False)
    return of_edition(other, edition) and laid_key(other, dated=False) == laid


def some_names(swatches: Iterable[Swatch]) -> str:
    """Swatches by their addresses, the first few of many: what a change was about."""
    known = list(dict.fromkeys(swatch.address for swatch in swatches))
    more = len(known) - _MOST_NAMED
    return ", ".join(known[:_MOST_NAMED]) + (f" and {more} more" if more > 0 else "")
