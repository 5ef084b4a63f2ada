"""Which row of a table names its columns, below titles or in two rows, and where none does."""

import re
from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

from stopgap.library.ranges.understanding.contents import number, three_numbers
from stopgap.library.ranges.understanding.grid import wavelength_of
from stopgap.library.ranges.understanding.mapping import ColumnMapping
from stopgap.library.ranges.understanding.vocabulary import meaning_of
from stopgap.library.tables.formats import TextRow, TextTable

_LOOKED_THROUGH = 40  # rows; titles and notes above a heading are few
_FEWEST_WAVELENGTHS = 6
_FEWEST_BESIDE = 3  # columns of a table whose headings stand in one
_REPEATED = re.compile(r" \(\d+\)$")  # as `_parted` numbers them


class Headed(NamedTuple):
    """A table parted: its headings by place, the rows of its heading, and those below and above.

    A column that nothing heads has its letter for a heading, and its place is among `bare`.
    """

    headings: tuple[str, ...]
    heading_rows: tuple[TextRow, ...]
    body: tuple[TextRow, ...]
    above: tuple[TextRow, ...]
    bare: frozenset[int] = frozenset()
    beside: int = 1
    """How many tables stood beside each other."""

    def column(self, place: int) -> list[str]:
        """The cells of a column."""
        return [cell_at(row, place) for row in self.body]


def cell_at(row: TextRow, place: int) -> str:
    """A cell, empty where the row is short."""
    return row.cells[place] if place < len(row.cells) else ""


def upright(table: TextTable, stated: ColumnMapping) -> TextTable:
    """The table with its rows and columns changed over, where its headings stand in a column."""
    rows = (table.header, *table.rows)
    width = max(len(row.cells) for row in rows)
    first = next((at for at in range(width) if any(cell_at(row, at) for row in rows)), 0)
    titles = [cell_at(row, first) for row in rows]
    best = max(_evidence(row.cells, stated) for row in rows[:_LOOKED_THROUGH])
    if width < _FEWEST_BESIDE or _evidence(titles, stated) < max(2.0, best + 1):
        return table
    header, *turned = (
        TextRow(at + 1, tuple(cell_at(row, at) for row in rows)) for at in range(first, width)
    )
    return table._replace(header=header, rows=tuple(turned), dates=frozenset())


def stacked(parted: Headed) -> Headed:
    """The table with those that stand beside each other under the same headings in one column.

    What stands left comes first.
    """
    titles = [_REPEATED.sub("", title) for title in parted.headings]
    blocks = _blocks(titles)
    left, *others = ([title for title in titles[block] if title] for block in blocks)
    if len(left) < 2 or not others or any(other != left for other in others) or parted.bare:
        return parted
    parts = [TextRow(row.number, row.cells[block]) for block in blocks for row in parted.body]
    body = tuple(part for part in parts if any(part.cells))
    return parted._replace(headings=tuple(titles[blocks[0]]), body=body, beside=len(blocks))


def _blocks(titles: Sequence[str]) -> list[slice]:
    """The columns from each place of the first heading on."""
    first = next(filter(None, titles), "")
    starts = [at for at, title in enumerate(titles) if title == first] or [0]
    return [slice(*pair) for pair in pairwise((*starts, len(titles)))]


def headed(table: TextTable, stated: ColumnMapping) -> Headed:
    """The table with its heading found below whatever stands above it.

    The heading is the row, or two rows of which each says something, whose cells are most often
    words for what a range can have. A table that nothing heads has letters for headings.
    """
    rows = (table.header, *table.rows)
    if table.details.get("format") in ("CGATS", "CxF"):
        return _parted(rows, 0, 1, table.header.cells)
    looked = range(min(len(rows), _LOOKED_THROUGH))
    candidates = [_Candidate(_evidence(rows[place].cells, stated), place, 1) for place in looked]
    candidates += [_two_rows(rows, place, stated) for place in looked if place + 1 < len(rows)]
    score, place, count = max(candidates, key=lambda found: (found.score, -found.place))
    if score >= 2 or (score >= 1 and (_is_words(rows[place]) or _names_a_list(rows, place))):
        cells = rows[place].cells
        both = _joined(cells, rows[place + 1].cells) if count == 2 else cells
        return _parted(rows, place, count, both)
    if _is_words(rows[0]) and len(rows) > 1 and not _is_words(rows[1]):
        return _parted(rows, 0, 1, rows[0].cells)
    return _parted(rows, 0, 0, ())


class _Candidate(NamedTuple):
    """How much speaks for a heading that starts at a place and has so many rows."""

    score: float
    place: int
    rows: int


def _two_rows(rows: Sequence[TextRow], place: int, stated: ColumnMapping) -> _Candidate:
    """Two rows as one heading: only if both say something, and together more than either."""
    upper, lower = rows[place].cells, rows[place + 1].cells
    if any(number(cell) for cell in lower if cell):
        return _Candidate(0.0, place, 2)
    alone, below = _evidence(upper, stated), _evidence(lower, stated)
    together = _evidence(_joined(upper, lower), stated)
    better = alone and together > max(alone, below) + 0.9
    return _Candidate(together if better else 0.0, place, 2)


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
    bare = frozenset(at for at, title in enumerate(titles) if not title and at in filled)
    seen: dict[str, int] = {}
    for at, title in enumerate(titles):
        if at in bare:
            titles[at] = letter(at)
        elif title:
            seen[title] = seen.get(title, 0) + 1
            titles[at] = title if seen[title] == 1 else f"{title} ({seen[title]})"
    heading, above = tuple(rows[place : place + count]), tuple(rows[:place])
    return Headed(tuple(titles), heading, body, above, bare)


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
    if not {"X", "Y", "Z"} <= meanings.keys():
        for axis in "XYZ":  # x is a tick more often
            meanings.pop(axis, None)
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


def _names_a_list(rows: Sequence[TextRow], place: int) -> bool:
    """Whether the first row has one cell, a word for codes or names."""
    filled = [meaning_of(cell) for cell in rows[place].cells if cell]
    return place == 0 and [found and found.title for found in filled] in (["code"], ["name"])


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
