"""The library as its callers see it: swatches to read, and changes that land whole or not."""

import sqlite3
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, Self

from stopgap.errors import InputError, UnknownSwatchError, nearest_spellings
from stopgap.library.store import entry as entered
from stopgap.library.store import history
from stopgap.library.store.cells import ILL_FORMED
from stopgap.library.store.connection import connect, told_plainly
from stopgap.library.store.entry import Entry
from stopgap.library.store.insertion import add_by_hand
from stopgap.library.store.rereading import LastRead, file_state
from stopgap.library.store.rows import (
    DECIDABLE,
    decisions,
    range_rows,
    read_pencils,
    swatch_from_row,
    swatch_row,
)
from stopgap.library.store.shifts import StoredShift, read_shifts
from stopgap.swatches import Pencil, Swatch, without_colour

if TYPE_CHECKING:
    from stopgap.swatches import ColourRange

Settle = Callable[["Library"], None]
"""What is done about what a change brought, as a part of that change."""


def open_library(
    path: str | Path,
    *,
    read_only: bool = False,
    as_one: bool = False,
    settle: Settle | None = None,
) -> "Library":
    """The library at `path`, for use in a `with` block; made where it does not exist yet.

    With `as_one`, all that the block reads and changes belongs together: nobody else writes
    meanwhile, and its changes are one change, which lands at the block's end. `settle` is called
    before each change lands.

    Raises
    ------
    LibraryError
        If the file cannot be used; with `read_only`, also if there is none.
    """
    return Library(Path(path), read_only, as_one, settle)


class Library:
    """One library file. Reading gives immutable swatches; each changing method is one change."""

    def __init__(self, path: Path, read_only: bool, as_one: bool, settle: Settle | None) -> None:
        self.path = path
        self._settle = settle
        self.opened = file_state(path)
        self._connection = connect(path, read_only=read_only)
        self._block = ExitStack()
        self._block.callback(self.close)
        self._as_one = as_one
        self._to_be_told: list[Callable[[], None]] = []
        self.last_read: LastRead | None = None  # of who asks for all pencils again

    def __enter__(self) -> Self:
        if self._as_one:
            try:
                self._block.enter_context(self._writing())
            except BaseException:
                self.close()
                raise
        return self

    def __exit__(self, *raised: Any) -> None:
        self._block.__exit__(*raised)
        for tell in () if raised[0] else self._to_be_told:
            tell()

    def when_landed(self, tell: Callable[[], None]) -> None:
        """Have something told once what the block changed is safe, after the block."""
        self._to_be_told.append(tell)

    def close(self) -> None:
        """Let go of the file."""
        self._connection.close()

    @contextmanager
    def reading(self) -> Iterator[sqlite3.Connection]:
        """The connection, at one moment of the library; errors of the file are told plainly."""
        whole = history.whole(self._connection, "DEFERRED")
        with told_plainly(self.path), self._decoded(*ILL_FORMED, InputError), whole:
            yield self._connection

    @contextmanager
    def _decoded(self, *raised: type[Exception]) -> Iterator[None]:
        try:
            yield
        except raised as error:
            from stopgap.library.store.cells import unreadable

            raise unreadable(self.path, self._connection, error) from error

    @contextmanager
    def changing(self, what: str) -> Iterator[sqlite3.Connection]:
        """The connection inside one change named `what`, which lands whole or not at all; within
        another, it is part of that.
        """
        if not self._connection.in_transaction:
            with self._writing(), self.changing(what) as connection:
                yield connection
            return
        change = history.change(self._connection, what)
        with told_plainly(self.path), self._decoded(*ILL_FORMED), change:
            yield self._connection

    @contextmanager
    def _writing(self) -> Iterator[None]:
        with told_plainly(self.path), history.one_change(self._connection):
            yield
            if self._settle is not None:
                self._settle(self)

    def range_names(self) -> list[str]:
        """Names of the ranges, in the order they came in."""
        with self.reading() as connection:
            return [row["name"] for row in range_rows(connection)]

    def ranges(self) -> "list[ColourRange]":
        """Every range with its swatches, in the order they came in."""
        from stopgap.swatches import ColourRange

        by_range: dict[str, list[Pencil]] = {}
        for pencil in self.pencils():
            by_range.setdefault(pencil.first.range, []).append(pencil)
        with self.reading() as connection:
            return [
                ColourRange(
                    name=row["name"],
                    pencils=tuple(by_range.get(row["name"], ())),
                    white=row["white"],
                    observer=row["observer"],
                    white_assumed=bool(row["white_assumed"]),
                    origin=row["origin"],
                    paper=entered.paper_from_json(row["paper"]),
                    shift=entered.shift_from_json(row["shift"]),
                    corrections=entered.corrections_from_json(row["correction"], row["shift"]),
                )
                for row in range_rows(connection)
            ]

    def known_range(self, name: str) -> str:
        """The name of a range as it is spelt in the library, whatever the case of `name`.

        Raises UnknownSwatchError, naming the nearest spellings.
        """
        names = self.range_names()
        for known in names:
            if known.casefold() == name.casefold():
                return known
        raise UnknownSwatchError(f"No range is called {name!r}.{nearest_spellings(name, names)}")

    def colour_range(self, name: str) -> "ColourRange":
        """The range of that name with its swatches; raises as `known_range` does."""
        known = self.known_range(name)
        return next(found for found in self.ranges() if found.name == known)

    def pencils(self, address: str = "") -> tuple[Pencil, ...]:
        """Every pencil with all its swatches, by range and place in the file; or that one."""
        with self.reading() as connection:
            if self.last_read is not None and not address:
                return self.last_read.pencils(connection, self)
            return read_pencils(connection, only=address)

    def swatches(self, on: str = "") -> tuple[Swatch, ...]:
        """Of every pencil the swatch that is its colour (on that paper), in the same order.

        The rule is that of `swatches.pencil`; names, and pencils that are only wet, have none.
        """
        return tuple(filter(None, (pencil.colour(on) for pencil in self.pencils())))

    def names(self) -> tuple[Swatch, ...]:
        """The other pencils, names and those that are only wet."""
        return without_colour(self.pencils())

    def shifts(self) -> tuple[StoredShift, ...]:
        """Which ranges seem to be measured differently, as was found when they changed."""
        with self.reading() as connection:
            return read_shifts(connection)

    def entry(self, swatch: Swatch) -> Entry:
        """The colour of a swatch as it was entered."""
        with self.reading() as connection:
            return Entry.from_json(swatch_row(connection, swatch.range, swatch.code)["entry"])

    def as_imported(self, swatch: Swatch) -> Swatch:
        """A swatch as its range's file states it, without what the user decided."""
        with self.reading() as connection:
            return swatch_from_row(dict(swatch_row(connection, swatch.range, swatch.code)), {})

    def decisions(self, swatch: Swatch) -> dict[str, Any]:
        """What the user decided about a swatch, by column."""
        with self.reading() as connection:
            row = swatch_row(connection, swatch.range, swatch.code)
            return decisions(connection).get(row["id"], {})

    def decide(
        self,
        swatches: Iterable[Swatch],
        values: Mapping[str, Any],
        what: str,
        *,
        afresh: bool = False,
    ) -> None:
        """Override columns of swatches by the user's own values, which outlive a new import.

        With `afresh`, what was decided about them before is forgotten in the same change.

        Raises
        ------
        InputError
            If a column is not one that can be decided.
        """
        for field in values:
            if field not in DECIDABLE:
                raise InputError(f"{field}: not something that can be set on a swatch.")
        with self.changing(what) as connection:
            for swatch in swatches:
                row = swatch_row(connection, swatch.range, swatch.code)
                if afresh:
                    connection.execute("DELETE FROM decision WHERE swatch_id = ?", (row["id"],))
                for field, value in values.items():
                    connection.execute(
                        "INSERT INTO decision (swatch_id, field, value) VALUES (?, ?, ?)"
                        " ON CONFLICT (swatch_id, field) DO UPDATE SET value = excluded.value",
                        (row["id"], field, value),
                    )

    def add_swatch(self, swatch: Swatch, entry: Entry, *, new_range: bool, what: str) -> None:
        """Add one swatch by hand to its range, which is made where `new_range` allows it.

        A code that is there gets it as a further swatch, if it has none laid so yet, and a name as
        its colour; what is known of the pencil itself stays.

        Raises
        ------
        InputError
            If the pencil has a swatch that was laid so.
        UnknownSwatchError
            If there is no such range and none may be made.
        """
        with self.changing(what) as connection:
            add_by_hand(connection, self.pencils(), swatch, entry, new_range=new_range)

    def remove_swatch(self, swatch: Swatch, what: str) -> None:
        """Take one swatch out of its range."""
        with self.changing(what) as connection:
            row = swatch_row(connection, swatch.range, swatch.code)
            connection.execute("DELETE FROM swatch WHERE id = ?", (row["id"],))

    def remove_range(self, name: str, what: str) -> None:
        """Take a range and its swatches out of the library."""
        known = self.known_range(name)
        with self.changing(what) as connection:
            connection.execute("DELETE FROM colour_range WHERE name = ?", (known,))

    def changes(self) -> list[history.Change]:
        """Every change that is kept, the newest first, with those that were taken back."""
        with self.reading() as connection:
            return history.read_changes(connection)

    def undo(self) -> str | None:
        """Take back the last change and say what it was; None where there is none."""
        return next((done.words for done in self.take_back()), None)

    def take_back(self, many: int = 1, *, only: int | None = None) -> list[history.Change]:
        """Take back the newest changes, in one step, and return them, the newest first.

        Raises
        ------
        InputError
            If `only` is given, and the newest change has another number.
        """
        with told_plainly(self.path):
            return history.take_back(self._connection, many, only)

    def join_newest(self, earlier: int) -> int:
        """Make the newest change one with that before it, as `history.join_newest` says."""
        with told_plainly(self.path):
            return history.join_newest(self._connection, earlier)

    def do_again(self, many: int = 1) -> list[history.Change]:
        """Do again what was taken back last, in one step, and return it."""
        with told_plainly(self.path):
            return history.do_again(self._connection, many)
