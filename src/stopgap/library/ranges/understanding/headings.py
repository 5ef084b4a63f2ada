"""Which row of a table names its columns, below titles or in two rows, and where none does."""

from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

from stopgap.library.ranges.understanding.contents import number, three_numbers
from stopgap.library.ranges.understanding.mapping import ColumnMapping
from stopgap.library.ranges.understanding.vocabulary import meaning_of, wavelength_of
from stopgap.library.tables.formats import TextRow, TextTable

_LOOKED_THROUGH = 40  # rows; titles and notes above a heading are few
_FEWEST_WAVELENGTHS = 6


class Headed(NamedTuple):
    """A table parted: its headings by place, the rows of its heading, and those below and above."""

    headings: tuple[str, ...]
    heading_rows: tuple[TextRow, ...]
    body: tuple[TextRow, ...]
    above: tuple[TextRow, ...]

    def column(self, place: int) -> list[str]:
        """The cells of a column."""
        return [cell_at(row, place) for row in self.body]


def cell_at(row: TextRow, place: int) -> str:
    """A cell, empty where the row is short."""
    return row.cells[place] if place < len(row.cells) else ""


def headed(table: TextTable, stated: ColumnMapping) -> Headed:
    """The table with its heading found below whatever stands above it.

    The heading is the row, or two rows of which each says something, whose cells are most often
    words for what a range can have. A table that nothing heads has letters for headings.
    """
    rows = (table.header, *table.rows)
    if table.details.get("format") in ("CGATS", "CxF"):
        return _parted(rows, 0, 1, table.header.cells)
    best: tuple[float, int, int, tuple[str, ...]] = (0.0, 0, 0, ())
    for place, row in enumerate(rows[:_LOOKED_THROUGH]):
        alone = _evidence(row.cells, stated)
        if alone > best[0]:
            best = (alone, place, 1, row.cells)
        below = rows[place + 1] if place + 1 < len(rows) else None
        if below is not None and not any(map(number, (cell for cell in below.cells if cell))):
            both = _joined(row.cells, below.cells)
            together = _evidence(both, stated)
            if (
                alone
                and together > max(alone, _evidence(below.cells, stated)) + 0.9
                and together > best[0]
            ):
                best = (together, place, 2, both)
    score, place, count, headings = best
    if score >= 2 or (score >= 1 and _is_words(rows[place]) and len(rows) > place + 1):
        return _parted(rows, place, count, headings)
    if _is_words(rows[0]) and len(rows) > 1 and not _is_words(rows[1]):
        return _parted(rows, 0, 1, rows[0].cells)
    return _parted(rows, 0, 0, ())


def letter(place: int) -> str:
    """The letter of a column as a spreadsheet program has it."""
    text = ""
    place += 1
    while place:
        place, rest = divmod(place - 1, 26)
        text = chr(65 + rest) + text
    return text


def _parted(rows: Sequence[TextRow], place: int, count: int, headings: Sequence[str]) -> Headed:
    width = max(len(row.cells) for row in rows)
    body = tuple(rows[place + count :])
    filled = {at for row in body for at, cell in enumerate(row.cells) if cell}
    titles = [headings[at] if at < len(headings) else "" for at in range(width)]
    seen: dict[str, int] = {}
    for at, title in enumerate(titles):
        if not title and at in filled:
            titles[at] = letter(at)
        elif title:
            seen[title] = seen.get(title, 0) + 1
            titles[at] = title if seen[title] == 1 else f"{title} ({seen[title]})"
    return Headed(tuple(titles), tuple(rows[place : place + count]), body, tuple(rows[:place]))


def _evidence(cells: Sequence[str], stated: ColumnMapping) -> float:
    """How many things these cells would head; a word of the contract counts a little more.

    Long texts and numbers are no headings, save wavelengths, which come in numbers.
    """
    meanings: dict[str, float] = {}
    for cell in cells:
        if not cell or len(cell) > 60:
            continue
        if stated.means(cell):
            meanings[cell] = 1.2
        elif (found := meaning_of(cell)) is not None:
            weight = 1.1 if found.contract else 1.0
            meanings[found.title] = max(weight, meanings.get(found.title, 0.0))
    spectral = [cell for cell in cells if wavelength_of(cell) is not None]
    return sum(meanings.values()) + (3.0 if is_spectrum(spectral) else 0.0)


def is_spectrum(headings: Sequence[str]) -> bool:
    """Whether headings name the wavelengths of a spectrum, in equal steps."""
    found = [at for at in map(wavelength_of, headings) if at is not None]
    steps = {abs(later - earlier) for earlier, later in pairwise(found)}
    return len(found) >= _FEWEST_WAVELENGTHS and len(steps) == 1 and 0 not in steps


def _is_words(row: TextRow) -> bool:
    """Whether a row has texts, and no number or colour."""
    filled = [cell for cell in row.cells if cell]
    return len(filled) > 1 and not any(number(cell) or three_numbers(cell) for cell in filled)


def _joined(upper: Sequence[str], lower: Sequence[str]) -> tuple[str, ...]:
    """Headings of two rows: the one that says something, else both."""
    width = max(len(upper), len(lower))
    pairs = zip(
        (*upper, *[""] * (width - len(upper))), (*lower, *[""] * (width - len(lower))), strict=True
    )
    return tuple(
        below if not above or (below and meaning_of(below)) else f"{above} {below}".strip()
        for above, below in pairs
    )
