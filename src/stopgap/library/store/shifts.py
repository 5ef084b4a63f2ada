"""Which two ranges seem to be measured differently, worked out when colours change, and kept.

Triggers forget what is no longer so; the change that follows works out anew what is not known, the
first of all in a library that was made before. Questions only read it.
"""

import sqlite3
from collections.abc import Iterable, Sequence
from contextlib import suppress
from typing import TYPE_CHECKING, NamedTuple

from stopgap.errors import Note, Remedy
from stopgap.library.store.cells import COORDINATE, LAB
from stopgap.library.store.rows import read_pencils

if TYPE_CHECKING:
    from stopgap.swatches import Lab, RangeCorrection

_AT_ONCE = 8
"""Pairs of ranges that one change works out at most; the next goes on."""


class StoredShift(NamedTuple):
    """What would make `range`, the later, agree with `reference`: found without named pairs.

    `own` is what it leaves each colour unsure by, `size` the mean that it moves colours by, both in
    ΔE00.
    """

    range: str
    reference: str
    flare: float
    gain: float
    own: float
    size: float

    @property
    def correction(self) -> "RangeCorrection":
        """What it does to the range."""
        from stopgap.swatches import RangeCorrection

        return RangeCorrection(self.flare, self.gain, own=self.own)

    @property
    def note(self) -> Note:
        """One sentence on it."""
        return Note(
            f"{self.range} seems to be measured otherwise than {self.reference}, by about ΔE00 "
            f"{self.size:.1f}.",
            Remedy.CORRECT_RANGE,
            {"range": self.range, "reference": self.reference},
            f"{self.range} seems to be measured otherwise than {self.reference}.",
        )


def read_shifts(connection: sqlite3.Connection) -> tuple[StoredShift, ...]:
    """What was found to lie between ranges."""
    rows = connection.execute(
        "SELECT one.name, other.name, flare, gain, own, size FROM range_shift"
        " JOIN colour_range AS one ON one.id = range_id"
        " JOIN colour_range AS other ON other.id = reference_id"
        " WHERE flare IS NOT NULL ORDER BY range_id, reference_id"
    )
    return tuple(StoredShift(*row) for row in rows)


def shift_notes(shifts: Iterable[StoredShift], ranges: Iterable[str]) -> list[Note]:
    """A sentence for each that lies between two of the ranges."""
    among = set(ranges)
    return [one.note for one in shifts if {one.range, one.reference} <= among]


def renew_shifts(connection: sqlite3.Connection) -> None:
    """Work out what is not known, inside the change that is open; the newest ranges first."""
    unknown = connection.execute(
        "SELECT one.id, one.name, other.id, other.name FROM colour_range AS one"
        " JOIN colour_range AS other ON other.id < one.id"
        " WHERE NOT EXISTS (SELECT 1 FROM range_shift"
        " WHERE range_id = one.id AND reference_id = other.id)"
        f" ORDER BY one.id DESC, other.id DESC LIMIT {_AT_ONCE:d}"
    ).fetchall()
    if not unknown:
        return
    with suppress(KeyError, ValueError):  # a value nobody knows is told where it is asked for
        labs = stored_labs(connection, {row[place] for row in unknown for place in (0, 2)})
        connection.executemany(
            "INSERT INTO range_shift VALUES (?, ?, ?, ?, ?, ?)",
            [
                (of_id, to_id, *_between(labs.get(name, []), labs.get(other, [])))
                for of_id, name, to_id, other in map(tuple, unknown)
            ],
        )


_NOT_AS_STORED = """
    SELECT id FROM colour_range WHERE correction IS NOT NULL OR shift <> '[0.0, 0.0, 0.0]'
    UNION SELECT range_id FROM swatch WHERE state <> 'dry'
    UNION SELECT range_id FROM swatch JOIN further_swatch ON swatch_id = swatch.id
    UNION SELECT range_id FROM swatch JOIN decision ON swatch_id = swatch.id
        WHERE field IN ('lightness', 'a', 'b', 'pressure', 'passes', 'state')
"""
_AS_STORED = """
    SELECT colour_range.name, lightness, a, b FROM swatch
    JOIN colour_range ON colour_range.id = range_id
    WHERE lightness IS NOT NULL AND range_id IN (SELECT value FROM json_each(?))
    ORDER BY range_id, position, swatch.id
"""


def stored_labs(connection: sqlite3.Connection, ranges: set[int]) -> "dict[str, list[Lab]]":
    """The colours of ranges by their names; pencils are made only where they tell another colour
    than the one that is stored, since that takes most of the time of an import.
    """
    labs: dict[str, list[Lab]] = {}
    told = ranges & {row[0] for row in connection.execute(_NOT_AS_STORED)}
    for pencil in read_pencils(connection, None, sorted(told)) if told else ():
        colour = pencil.colour()
        if colour is not None:
            labs.setdefault(colour.range, []).append(colour.lab)
    stored = [tuple(row) for row in connection.execute(_AS_STORED, (f"{sorted(ranges - told)}",))]
    for column, values in zip(LAB, list(zip(*stored))[1:]):
        COORDINATE.check(list(values), column)
    for name, L, a, b in stored:
        labs.setdefault(name, []).append((L, a, b))
    return labs


def _between(ours: "Sequence[Lab]", theirs: "Sequence[Lab]") -> tuple[float | None, ...]:
    """Flare, gain, own uncertainty and size; nothing where nothing can be believed."""
    import numpy as np

    from stopgap.difference import delta_E_ciede2000
    from stopgap.library.flare import find_unpaired

    labs = np.array(ours, dtype=np.float64).reshape(-1, 3)
    found = find_unpaired(labs, np.array(theirs, dtype=np.float64).reshape(-1, 3))
    if found is None:
        return (None, None, None, None)
    size = float(np.mean(delta_E_ciede2000(labs, found.lab(labs))))
    return (found.flare, found.gain, found.own, size)
