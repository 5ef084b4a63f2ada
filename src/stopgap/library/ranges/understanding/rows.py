"""Which rows of a table are pencils, which head a section, and which are totals and notes."""

from collections.abc import Sequence
from functools import cache
from typing import NamedTuple

from stopgap.library.ranges.template import is_explanation
from stopgap.library.ranges.understanding.contents import date_in, number
from stopgap.library.ranges.understanding.grid import COLOUR_NUMBERS
from stopgap.library.ranges.understanding.headings import Headed, cell_at
from stopgap.library.ranges.understanding.mapping import Use
from stopgap.library.ranges.understanding.vocabulary import plain_heading, vocabulary
from stopgap.library.tables.cells import Finding, FindingKind, FoundCell
from stopgap.library.tables.formats import TextRow

SECTION = "section"
"""The column that says under which heading of its file a pencil stood."""

_LONGEST_SECTION = 60
_COLOURS = {*COLOUR_NUMBERS, "hex", "lab", "rgb"}


class Sorted(NamedTuple):
    """Rows of pencils, under which section each stood, and what became of the others."""

    rows: tuple[TextRow, ...]
    sections: tuple[str, ...]
    findings: list[Finding]


def sort_rows(table: Headed, uses: Sequence[Use]) -> Sorted:
    """Part pencils from sections, totals, repeated headings, notes, and rows that lack a half."""
    places = _Places.of(uses)
    kinds = [_kind_of(row, table, places) for row in table.body]
    last = max((at for at, kind in enumerate(kinds) if kind in ("pencil", "name")), default=-1)
    rows, sections = [], []
    others: dict[str, list[FoundCell]] = {}
    section = ""
    for at, (row, kind) in enumerate(zip(table.body, kinds, strict=True)):
        text = next(filter(None, row.cells), "")
        if kind == "alone":
            kind = "section" if at < last and _may_head(text) else "note"
        if kind == "section":
            section = text.strip(" :-–—*=")
        if kind in ("pencil", "name"):
            rows.append(row)
            sections.append(section)
        if kind != "pencil":
            others.setdefault(kind, []).append(FoundCell(row.number, text))
    above = [FoundCell(row.number, next(filter(None, row.cells), "")) for row in table.above]
    if above:
        others["above"] = above
    return Sorted(
        tuple(rows), tuple(sections), [_finding(kind, found) for kind, found in others.items()]
    )


class _Places(NamedTuple):
    """Where code, name and colour stand."""

    code: int
    name: int
    colour: frozenset[int]

    @classmethod
    def of(cls, uses: Sequence[Use]) -> "_Places":
        by_means = {use.means: use.place for use in uses}
        colour = frozenset(
            use.place for use in uses if use.means in _COLOURS or use.means.startswith("nm")
        )
        return cls(by_means["code"], by_means.get("name", -1), colour)


def _kind_of(row: TextRow, table: Headed, places: _Places) -> str:
    """`pencil`, `name` where it has no colour beside others, `alone` (one text), or why it is none.

    What has a code and no colour is the name of a pencil, unless it may be a note: in a table with
    colours the code must look like one.
    """
    filled = [(place, cell) for place, cell in enumerate(row.cells) if cell]
    code = cell_at(row, places.code)
    coloured = any(cell_at(row, place) for place in places.colour)
    if is_explanation(row.cells):
        return "explanation"
    if _repeats_heading(row, table):
        return "heading"
    if not any(char.isalnum() for _, cell in filled for char in cell):
        return "ruler"
    if _sums_up(row, places, coloured=coloured):
        return "total"
    if coloured:
        return "pencil" if code else "no code"
    return _kind_without_colour(filled, code, places)


def _sums_up(row: TextRow, places: _Places, *, coloured: bool) -> bool:
    """Whether a row's first text says so; a pencil may be called Sum, but then has a code."""
    text = next((cell for cell in row.cells if cell and number(cell) is None), "")
    if not text or not _is_total(text):
        return False
    code = cell_at(row, places.code)
    return not coloured or not code or _is_total(code)


def _kind_without_colour(filled: Sequence[tuple[int, str]], code: str, places: _Places) -> str:
    coded = _looks_like_code(code)
    named = "name" if places.colour else "pencil"
    if len({cell for _, cell in filled}) == 1:
        names_alone = not places.colour and places.code == places.name
        return named if names_alone or (coded and filled[0][0] == places.code) else "alone"
    if not coded and places.code != places.name and _section_with_count(filled, code):
        return "alone"
    if not code:
        return "no code"
    return named if coded or not places.colour else "no colour"


def _section_with_count(filled: Sequence[tuple[int, str]], code: str) -> bool:
    """A heading of a section may say how many there are: `Reds`, `12`."""
    others = [cell for _, cell in filled if cell != code]
    return bool(code) and len(others) == 1 and bool(number(others[0]))


def _looks_like_code(code: str) -> bool:
    return (any(map(str.isdigit, code)) and len(code) <= 16 and " " not in code.strip()) or bool(
        date_in(code)
    )


def _repeats_heading(row: TextRow, table: Headed) -> bool:
    own = [plain_heading(cell) for cell in row.cells if cell]
    for heading in table.heading_rows:
        titles = {plain_heading(cell) for cell in heading.cells if cell}
        if len(own) > 1 and sum(cell in titles for cell in own) >= 0.8 * len(own):
            return True
    return False


def _may_head(text: str) -> bool:
    short = len(text) <= _LONGEST_SECTION and not text.endswith((".", "!", "?"))
    return short and not _is_page(text)


_TOLD = {
    "section": Finding(
        FindingKind.GUESS, "rows:section", "{n} that {head} a section became the column section"
    ),
    "total": Finding(FindingKind.LEFT_OUT, "rows:total", "{n} that {sum} up others {was} left out"),
    "note": Finding(FindingKind.LEFT_OUT, "rows:note", "{n} with a note {was} left out"),
    "heading": Finding(
        FindingKind.LEFT_OUT, "rows:heading", "{n} that {repeat} the heading {was} left out"
    ),
    "explanation": Finding(
        FindingKind.REMARK, "rows:explanation", "{n} that {explain} the columns {was} passed over"
    ),
    "ruler": Finding(FindingKind.LEFT_OUT, "rows:ruler", "{n} of lines {was} left out"),
    "above": Finding(FindingKind.LEFT_OUT, "rows:above", "{n} above the heading {was} left out"),
    "name": Finding(
        FindingKind.REMARK, "rows:name", "{n} {have} no colour and {land} by name alone"
    ),
    "no colour": Finding(
        FindingKind.DOUBT, "rows:no colour", "{n} {have} no colour and {do} not land"
    ),
    "no code": Finding(FindingKind.DOUBT, "rows:no code", "{n} {have} no code and {do} not land"),
}


def _finding(kind: str, found: Sequence[FoundCell]) -> Finding:
    one = len(found) == 1
    told = _TOLD[kind]
    verbs = {
        "head": "heads" if one else "head",
        "sum": "sums" if one else "sum",
        "explain": "explains" if one else "explain",
        "repeat": "repeats" if one else "repeat",
        "was": "was" if one else "were",
        "have": "has" if one else "have",
        "do": "does" if one else "do",
        "land": "lands" if one else "land",
    }
    text = told.text.format(n="1 row" if one else f"{len(found)} rows", **verbs)
    return told._replace(text=text, cells=tuple(found))


def _is_total(text: str) -> bool:
    """Whether a cell says that its row sums others up."""
    word = plain_heading(text)
    return word in _totals() or any(word.startswith(f"{total} ") for total in _sums())


def _is_page(text: str) -> bool:
    """Whether a cell only numbers a page, as a print that was copied does."""
    first, *others = plain_heading(text).split() or [""]
    numbers = [word for word in others if word.isdecimal()]
    joined = len(others) - len(numbers) <= 1 and all(len(word) <= 4 for word in others)
    return first in vocabulary()["rows"]["pages"] and 1 <= len(numbers) <= 2 and joined


@cache
def _totals() -> frozenset[str]:
    return frozenset(vocabulary()["rows"]["totals"])


@cache
def _sums() -> frozenset[str]:
    return frozenset(word for word in _totals() if word not in ("wert", "media", "nombre", "mean"))
