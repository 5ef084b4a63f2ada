"""How the columns of a file are taken, as it was guessed, stated or agreed on."""

import json
import sqlite3
from collections.abc import Iterable, Mapping
from enum import StrEnum
from types import MappingProxyType
from typing import NamedTuple

from stopgap.errors import InputError, Problem
from stopgap.library.ranges.understanding.grid import wavelength_of
from stopgap.library.ranges.understanding.vocabulary import (
    KEEP,
    LEAVE_OUT,
    OTHER_MEANINGS,
    meaning_of,
    plain_heading,
)
from stopgap.library.store.entry import mapping_from_json
from stopgap.library.store.library import Library
from stopgap.library.tables.cells import Finding, FindingKind, TextTable


class Basis(StrEnum):
    """Why a column is taken for what it is taken for."""

    CONTRACT = "contract"
    """Its heading is one of the contract's."""
    HEADING = "heading"
    """Its heading is a word for it."""
    CONTENTS = "contents"
    """Its cells look like it."""
    STATED = "stated"
    """The user said so, now or at an earlier import."""
    NOTHING = "nothing"
    """Nothing; it is kept as a text."""


class Use(NamedTuple):
    """What the column at a place is taken for: a title of the contract or one of OTHER_MEANINGS.

    `beside` are further columns with the value that the heading states for every row; `passed_over`
    is what a column that is only kept would have been by its heading.
    """

    place: int
    heading: str
    means: str
    basis: Basis
    beside: tuple[tuple[str, str], ...] = ()
    passed_over: str = ""


def has_colour(known: set[str]) -> bool:
    """Whether columns of these meanings hold a colour."""
    return (
        any(means.startswith("nm") for means in known)
        or bool(known & {"hex", "lab", "rgb"})
        or any(
            set(three) <= known
            for three in (
                ("L", "a", "b"),
                ("X", "Y", "Z"),
                ("red", "green", "blue"),
                ("L", "chroma", "hue"),
            )
        )
    )


class ColumnMapping(NamedTuple):
    """What was agreed on for a range: by heading what a column holds, and the causes accepted."""

    columns: Mapping[str, str] = MappingProxyType({})
    accepted: frozenset[str] = frozenset()

    def means(self, heading: str) -> str | None:
        """What was said of a column, whatever the case of its heading."""
        if not self.columns:
            return None
        wanted = plain_heading(heading) or heading
        return next(
            (means for own, means in self.columns.items() if (plain_heading(own) or own) == wanted),
            None,
        )

    def to_json(self) -> str:
        """As it is stored."""
        plain = {"columns": dict(self.columns), "accepted": sorted(self.accepted)}
        return json.dumps(plain, ensure_ascii=False)

    @classmethod
    def from_json(cls, text: str | None) -> "ColumnMapping":
        """As it was stored; empty where nothing was."""
        columns, accepted = mapping_from_json(text)
        return cls(MappingProxyType(columns), accepted)

    def with_uses(self, uses: Iterable[Use], findings: Iterable[Finding]) -> "ColumnMapping":
        """The mapping together with what was understood, as the user agreed to it."""
        columns = {use.heading: use.means for use in uses if use.basis is not Basis.NOTHING}
        causes = {
            cause
            for finding in findings
            if finding.kind is not FindingKind.DOUBT
            for cause in finding.causes
        }
        return ColumnMapping(MappingProxyType({**self.columns, **columns}), self.accepted | causes)


def stored_mapping(library: Library, name: str) -> ColumnMapping:
    """What was agreed on about the file of a range; empty where there is no such range."""
    with library.reading() as connection:
        row = connection.execute(
            "SELECT mapping FROM colour_range WHERE name = ? COLLATE NOCASE", (name,)
        ).fetchone()
        return ColumnMapping.from_json(row["mapping"] if row is not None else None)


def keep_mapping(connection: sqlite3.Connection, name: str, mapping: ColumnMapping) -> None:
    """Keep with a range what was agreed on about its file."""
    connection.execute(
        "UPDATE colour_range SET mapping = ? WHERE name = ?", (mapping.to_json(), name)
    )


def mapping_in(table: TextTable, name: str) -> ColumnMapping:
    """What a mapping file says: a table with the columns `column` and `means`.

    Raises
    ------
    InputError
        If it lacks a column, or something is meant that no column can hold.
    """
    titles = [plain_heading(title) for title in table.header.cells]
    if "column" not in titles or "means" not in titles:
        raise InputError(
            f"{name}: expected a table with the columns 'column' (a heading of the range's file, "
            "or a letter such as C) and 'means' (what it holds)."
        )
    columns = {}
    for row in table.rows:
        cells = dict(zip(titles, row.cells, strict=False))
        columns[cells.get("column", "")] = _meant(cells.get("means", ""), row.number, name)
    return ColumnMapping(MappingProxyType(columns))


def _meant(text: str, row: int, name: str) -> str:
    """What a word of a mapping file means."""
    word = text.strip().casefold()
    if word in (KEEP, LEAVE_OUT) or word in OTHER_MEANINGS:
        return word
    wavelength = wavelength_of(text)
    if wavelength is not None:
        return f"nm{wavelength}"
    found = meaning_of(text)
    if found is None:
        others = ", ".join(OTHER_MEANINGS)
        problem = Problem(
            row,
            "means",
            text,
            f"a column of a range file such as code, name, L or owned, or one of {others}, "
            f"'{KEEP}' or '{LEAVE_OUT}'",
        )
        raise InputError(f"{name}: {problem}")
    return found.title
