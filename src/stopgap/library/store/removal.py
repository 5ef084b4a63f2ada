"""One of a pencil's swatches taken away; the pencil stays."""

import sqlite3

from stopgap.errors import InputError
from stopgap.library.store.library import Library
from stopgap.library.store.rows import FURTHER, swatch_id
from stopgap.swatches import Swatch


def remove_further(library: Library, swatch: Swatch, number: int) -> Swatch:
    """Take away one of a pencil's swatches beside its colour, the first of those being number 1.

    Where it is the pencil's first, the next takes its place, and what the user had decided of how
    it was swatched is gone with it.

    Returns
    -------
    Swatch
        The one that is gone.

    Raises
    ------
    InputError
        If there is none of that number.
    """
    pencil = next(each for each in library.pencils() if each.first.address == swatch.address)
    colour = pencil.colour() or pencil.first
    others = [place for place, each in enumerate(pencil.swatches) if each is not colour]
    if not 1 <= number <= len(others):
        has = {0: "no swatch", 1: "1 swatch"}.get(len(others), f"{len(others)} swatches")
        raise InputError(f"{swatch.address} has {has} beside its colour, so not number {number}.")
    place = others[number - 1]
    with library.changing(f"removal of a swatch of {swatch.address}") as connection:
        of_id = swatch_id(connection, swatch)
        rows = connection.execute(
            "SELECT id FROM further_swatch WHERE swatch_id = ? ORDER BY position, id", (of_id,)
        ).fetchall()
        further_id = rows[max(place - 1, 0)]["id"]
        if place == 0:
            _make_first(connection, of_id, further_id)
        connection.execute("DELETE FROM further_swatch WHERE id = ?", (further_id,))
    return pencil.swatches[place]


def _make_first(connection: sqlite3.Connection, of_id: int, further_id: int) -> None:
    """Put a further swatch in the place of a pencil's first."""
    columns = ", ".join((*FURTHER, "entry", "by_hand"))
    connection.execute(
        f"UPDATE swatch SET ({columns}) = (SELECT {columns} FROM further_swatch WHERE id = ?)"
        " WHERE id = ?",
        (further_id, of_id),
    )
    connection.executemany(
        "DELETE FROM decision WHERE swatch_id = ? AND field = ?",
        [(of_id, column) for column in FURTHER],
    )
