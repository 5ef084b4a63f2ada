"""Columns of cells under titles, and the words for what was found in them."""

import re
from collections.abc import Iterable, Mapping, Sequence, Sized
from typing import NamedTuple

from stopgap.library.tables.cells import Finding, FindingKind, FoundCell, is_wavelength
from stopgap.swatches import FIELDS, Number

COLOUR_NUMBERS = ("L", "a", "b", "X", "Y", "Z", "red", "green", "blue", "chroma", "hue")


_SPECTRAL = re.compile(
    r"(?:(?:nm|r|λ|w|spectral|spectral nm|spec|refl|reflectance|% ?r)[\s_.]*)?"
    r"(\d{3})(?:[.,]0+)?\s*(?:nm)?",
    re.IGNORECASE,
)


class CellGrid(NamedTuple):
    """Columns by title, a cell for each row of `numbers`; `own` are the file's own headings."""

    numbers: tuple[int, ...]
    columns: dict[str, list[str]]
    own: dict[str, str]

    def found(self, title: str, taken: Mapping[int, str]) -> tuple[FoundCell, ...]:
        """The cells of a column that were taken for something else, by their places."""
        column = self.columns[title]
        return tuple(
            FoundCell(self.numbers[place], column[place], text) for place, text in taken.items()
        )

    def with_column(self, title: str, cells: list[str], own: str = "") -> "CellGrid":
        """The grid with a column set."""
        headed = {**self.own, title: own} if own else self.own
        return self._replace(columns={**self.columns, title: cells}, own=headed)

    def without(self, titles: Iterable[str]) -> "CellGrid":
        """The grid without some columns."""
        gone = set(titles)
        return self._replace(
            columns={title: cells for title, cells in self.columns.items() if title not in gone}
        )


Step = tuple[CellGrid, list[Finding]]


def is_number(title: str) -> bool:
    return (
        title in COLOUR_NUMBERS
        or is_wavelength(title)
        or (title in FIELDS and isinstance(FIELDS[title].kind, Number))
    )


def wavelength_of(heading: str) -> int | None:
    """The wavelength [nm] that a heading such as `400 nm`, `R400` or `nm400` names."""
    found = _SPECTRAL.fullmatch(heading.strip())
    return int(found[1]) if found and 300 <= int(found[1]) <= 900 else None


def with_cells(grid: CellGrid, title: str, taken: Mapping[int, str]) -> CellGrid:
    cells = [taken.get(place, cell) for place, cell in enumerate(grid.columns[title])]
    return grid.with_column(title, cells)


def repair(cause: str, text: str, column: str, cells: tuple[FoundCell, ...] = ()) -> Finding:
    return Finding(FindingKind.REPAIR, cause, text, column, cells)


def own_headings(grid: CellGrid, titles: Sequence[str]) -> str:
    return ", ".join(dict.fromkeys(grid.own.get(title, title) for title in titles))


def changes_of(before: Sequence[str], after: Sequence[str]) -> dict[int, str]:
    """By their places, the cells that are different now."""
    pairs = enumerate(zip(before, after, strict=True))
    return {place: new for place, (old, new) in pairs if old != new}


def count_of(places: Sized) -> str:
    return "1 cell" if len(places) == 1 else f"{len(places)} cells"


def have(places: Sized) -> str:
    return "has" if len(places) == 1 else "have"
