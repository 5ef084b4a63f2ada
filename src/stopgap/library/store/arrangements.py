"""Arrangements as the library keeps them: the user's own families, and which of them is in use."""

import json
import sqlite3
from collections.abc import Callable, Sequence
from typing import NamedTuple

from stopgap.errors import InputError, NothingFoundError, UnknownSwatchError, nearest_spellings
from stopgap.library.store.entry import arrangement_from_row
from stopgap.library.store.library import Library
from stopgap.swatches import PROPOSAL, Arrangement, Swatch, key_of, plain_name

_EARLIER = """
    SELECT filed_range.name || ':' || filed.code AS pencil, pin.family,
           after_range.name || ':' || after.code AS after
    FROM pin
    JOIN swatch AS filed ON filed.id = pin.swatch_id
    JOIN colour_range AS filed_range ON filed_range.id = filed.range_id
    LEFT JOIN swatch AS after ON after.id = pin.after_id
    LEFT JOIN colour_range AS after_range ON after_range.id = after.range_id
    ORDER BY pin.id
"""


_NEWCOMERS = """
    SELECT 1 FROM history JOIN change ON change.id = history.change
    LEFT JOIN decision ON history.table_name = 'decision' AND decision.id = history.row
    WHERE change.open AND history.operation <> 'DELETE' AND (
        history.table_name IN ('swatch', 'further_swatch') OR decision.field = 'lightness'
    )
"""


class EarlierPlace(NamedTuple):
    """Where a pencil was filed before there were arrangements: straight `after` another, if any."""

    family: str
    after: str | None = None


class KeptArrangement(NamedTuple):
    """An arrangement of the library, and whether families are shown by it where none is named."""

    arrangement: Arrangement
    in_use: bool


def stored_arrangements(library: Library) -> tuple[KeptArrangement, ...]:
    """Every arrangement, the oldest first."""
    with library.reading() as connection:
        rows = connection.execute("SELECT * FROM arrangement ORDER BY id").fetchall()
        return tuple(_kept(row) for row in rows)


def stored_arrangement(library: Library, name: str) -> Arrangement:
    """The arrangement of that name, in any case.

    Raises
    ------
    UnknownSwatchError
        If there is none; the nearest spellings are named.
    """
    kept = {key_of(one.arrangement.name): one.arrangement for one in stored_arrangements(library)}
    found = kept.get(key_of(" ".join(name.split())))
    if found is None:
        names = [each.name for each in kept.values()]
        there = f" There is {', '.join([PROPOSAL, *names])}." if names else " There is none yet."
        raise UnknownSwatchError(
            f"No arrangement is called {name!r:.90}.{there}{nearest_spellings(name, names)}"
        )
    return found


def arrangement_in_use(library: Library) -> Arrangement | None:
    """The arrangement by which families are shown, or None for the tool's proposal."""
    with library.reading() as connection:
        row = connection.execute("SELECT * FROM arrangement WHERE in_use").fetchone()
        return None if row is None else _kept(row).arrangement


def keep_arrangement(library: Library, arrangement: Arrangement, what: str) -> None:
    """Keep an arrangement in the place of the one of its name; a new one comes into use.

    `what` says the change in words. What was filed before there were arrangements is part of the
    first one, and is forgotten beside it.

    Raises
    ------
    InputError
        If its name is empty, or the one that the tool's proposal has.
    """
    name = plain_name(arrangement.name, "arrangement")
    families = _families_text(arrangement)
    before = [key_of(one.arrangement.name) for one in stored_arrangements(library)]
    with library.changing(what) as connection:
        if key_of(name) in before:
            connection.execute(
                "UPDATE arrangement SET families = ?, fills = ? WHERE name = ?",
                (families, int(arrangement.fills), stored_arrangement(library, name).name),
            )
            return
        connection.execute("UPDATE arrangement SET in_use = 0 WHERE in_use")
        connection.execute("DELETE FROM pin")
        connection.execute(
            "INSERT INTO arrangement (name, in_use, fills, families, step) VALUES (?, 1, ?, ?, ?)",
            (name, int(arrangement.fills), families, arrangement.step),
        )


def fills_places(library: Library) -> bool:
    """Whether the change under way touched pencils, and some arrangement takes in new ones."""
    with library.reading() as connection:
        some = connection.execute("SELECT 1 FROM arrangement WHERE fills").fetchone()
        return some is not None and connection.execute(_NEWCOMERS).fetchone() is not None


def fill_places(
    library: Library, complete: Callable[[Arrangement, Sequence[Swatch]], Arrangement]
) -> None:
    """Keep what `complete` makes of every arrangement, as part of the change under way."""
    swatches = library.swatches()
    with library.reading() as connection:
        for kept in stored_arrangements(library):
            filled = complete(kept.arrangement, swatches)
            if filled != kept.arrangement:
                connection.execute(
                    "UPDATE arrangement SET families = ? WHERE name = ?",
                    (_families_text(filled), filled.name),
                )


def _families_text(arrangement: Arrangement) -> str:
    return json.dumps(arrangement.as_data(), ensure_ascii=False)


def use_arrangement(
    library: Library, name: str, *, fills: bool | None = None, step: float | None = None
) -> str:
    """Show families by that arrangement, or by the tool's proposal; its name as it is kept.

    `step` is kept with it [ΔE00], and 0 forgets it; the proposal keeps none.
    """
    proposal = key_of(name.strip()) == PROPOSAL
    if proposal and step is not None:
        raise InputError("The tool's proposal keeps no step; copy it, and let your own keep one.")
    known = PROPOSAL if proposal else stored_arrangement(library, name).name
    with library.changing(f"use of the arrangement {known}") as connection:
        connection.execute("UPDATE arrangement SET in_use = 0 WHERE in_use AND name <> ?", (known,))
        connection.execute("UPDATE arrangement SET in_use = 1 WHERE name = ?", (known,))
        if fills is not None:
            connection.execute(
                "UPDATE arrangement SET fills = ? WHERE name = ?", (int(fills), known)
            )
        if step is not None:
            connection.execute(
                "UPDATE arrangement SET step = ? WHERE name = ?", (step or None, known)
            )
    return known


def remove_arrangement(library: Library, name: str) -> str:
    """Take an arrangement out of the library; its name. The tool's proposal always stays."""
    if key_of(name.strip()) == PROPOSAL:
        raise NothingFoundError("The tool's proposal is not kept, so it cannot be removed.")
    gone = stored_arrangement(library, name).name
    with library.changing(f"removal of the arrangement {gone}") as connection:
        connection.execute("DELETE FROM arrangement WHERE name = ?", (gone,))
    return gone


def step_kept(library: Library, name: str | None) -> float | None:
    """The largest step that is kept with that arrangement, or with the one in use [ΔE00]."""
    if name is None:
        found = arrangement_in_use(library)
    else:
        found = None if key_of(name.strip()) == PROPOSAL else stored_arrangement(library, name)
    return None if found is None else found.step


def earlier_filing(library: Library) -> dict[str, EarlierPlace]:
    """Where pencils were filed before there were arrangements, in the order it was done."""
    with library.reading() as connection:
        return {
            row["pencil"]: EarlierPlace(row["family"], row["after"])
            for row in connection.execute(_EARLIER)
        }


def placed_by_hand(connection: sqlite3.Connection) -> frozenset[str]:
    """Keys of the pencils that some arrangement has by the user's own hand (see `key_of`)."""
    rows = connection.execute("SELECT * FROM arrangement").fetchall()
    arranged = (
        key_of(place.pencil)
        for row in rows
        for family in _kept(row).arrangement.families
        for place in family.places
        if place.by_hand
    )
    earlier = (key_of(row["pencil"]) for row in connection.execute(_EARLIER))
    return frozenset((*arranged, *earlier))


def _kept(row: sqlite3.Row) -> KeptArrangement:
    return KeptArrangement(arrangement_from_row(row), bool(row["in_use"]))
