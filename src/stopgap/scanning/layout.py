"""Where the boxes of an edition stand: rows of boxes under headings, page by page.

Every box is as wide and high as any other, so that a spare one serves whatever comes. Between the
boxes of a row white is left over, by which the reading knows the light at that place.
"""

from collections.abc import Collection, Mapping, Sequence
from types import MappingProxyType
from typing import NamedTuple

from stopgap.errors import UsageError
from stopgap.swatches import Pressure
from stopgap.swatches.edition import (
    MARK,
    MARK_FROM_EDGE,
    MOST_PAGES,
    Box,
    BoxHeading,
    ChartPage,
    Edition,
    LaidField,
    Rectangle,
    mark_places,
)

SHEETS: Mapping[str, tuple[float, float]] = MappingProxyType(
    {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
)
"""Width and height in millimetres: ISO 216, ANSI/ASME Y14.1."""
BOX = (34.0, 12.0)
"""Width and height of a box."""
COLUMNS = 5
SIDE = 12.0
"""Margin left and right; printers seldom reach the outer 5 mm."""
LABEL = 11.5
"""Height kept below a box for its words."""
ROW_AIR, HEAD = 2.5, 8.5
"""Between rows; from a heading to its first row."""
BODY_TOP = 40.0
"""Above it stand the title, the notes and two marks."""
FOOT = MARK_FROM_EDGE + MARK + 3.0
"""Height kept free at the foot of a page, where two marks stand."""
EVEN = 24.0
"""Width of the even field of a box; what is left is the tail, for the hand's own gradient."""
ANCHORS = "Pencils of known colour"
SPARE = "Spare boxes"
LAYERS = "Two pencils over each other"
FOLD = "Fold back along the line below; lay the edge beside the original"
"""Over boxes of a trial card that end at the edge where the page is folded."""

_ROW = BOX[1] + LABEL + ROW_AIR
_CLEAR = 0.8  # from the line of a box to what counts as blank: pencils stray


class BoxSection(NamedTuple):
    """Boxes under one heading; each box is the addresses of its pencils, first layer first.

    With `own_spare` the last row is filled with spare boxes, one at least, and the section stays on
    one page where a page can hold it. `page` names the pages that it is on; another begins a page.
    With `thirds` every box has three fields; of several pencils the last is laid light, medium and
    heavy, those below it medium.
    """

    words: str
    pencils: Sequence[tuple[str, ...]]
    page: str = ""
    own_spare: bool = False
    thirds: bool = False

    @property
    def rows(self) -> list[Sequence[tuple[str, ...]]]:
        """Its boxes row by row."""
        spare = (COLUMNS - len(self.pencils) % COLUMNS) * self.own_spare
        boxes = [*self.pencils, *[()] * spare]
        return [boxes[start : start + COLUMNS] for start in range(0, len(boxes), COLUMNS)]


def sheet_size(name: str) -> tuple[float, float]:
    """Width and height [mm] of a sheet of SHEETS, whatever its case.

    Raises
    ------
    UsageError
        If no sheet has that name.
    """
    for known, size in SHEETS.items():
        if known.casefold() == name.strip().casefold():
            return size
    raise UsageError(f"{name!r} is not one of {', '.join(SHEETS)}.", argument="sheet_size")


def lay_out_edition(
    number: str,
    sections: Sequence[BoxSection],
    size: tuple[float, float],
    *,
    anchors: Sequence[str] = (),
    thirds: Collection[str] = (),
    spare_rows: int = 1,
    first_page: int = 1,
) -> Edition:
    """Pages with the sections below each other, then spare boxes.

    Parameters
    ----------
    number
        Six digits that no other edition has.
    size
        Of the pages [mm].
    anchors
        Addresses of pencils whose colour is known: a row on every page, at most one row.
    thirds
        Addresses of pencils whose box is three fields, light, medium and heavy.
    spare_rows
        Rows of spare boxes at the end, where no section has its own.
    first_page
        Number of the first page; more than 1 for a supplement.

    Raises
    ------
    UsageError
        For more anchors than a row holds, or more pages than marks can count.
    """
    if len(anchors) > COLUMNS:
        raise UsageError(
            f"a page has room for {COLUMNS} pencils of known colour, not {len(anchors)}.",
            argument="anchors",
        )
    bottom = size[1] - FOOT
    foot_of_anchors = HEAD + _ROW if anchors else 0.0
    pages = _Pages(size, bottom - foot_of_anchors, first_page)
    common = not any(section.own_spare for section in sections)
    spare = [BoxSection(SPARE, [()] * (COLUMNS * spare_rows))] if spare_rows and common else []
    for section in [*sections, *spare]:
        pages.begin(section)
        for place, row in enumerate(section.rows):
            boxes = [
                _box_kind(each, thirds=section.thirds or (len(each) == 1 and each[0] in thirds))
                for each in row
            ]
            pages.add(section.words, boxes, place > 0)
    if anchors:
        pages.add_everywhere(ANCHORS, [((address,), _even(), True) for address in anchors])
    laid = pages.finished()
    if first_page + len(laid) - 1 > MOST_PAGES:
        raise UsageError(f"a chart has {MOST_PAGES} pages at most; leave pencils out.")
    return Edition(number, size, laid)


_Offsets = tuple[LaidField, ...]
_Unplaced = tuple[tuple[str, ...], _Offsets, bool]


def _even(layers: int = 1) -> _Offsets:
    return (LaidField(Rectangle(0.0, 0.0, EVEN, BOX[1]), (Pressure.HEAVY,) * layers),)


def _box_kind(pencils: tuple[str, ...], *, thirds: bool) -> _Unplaced:
    if not (thirds and pencils):
        return pencils, _even(max(1, len(pencils))), False
    width, below = BOX[0] / len(Pressure), (Pressure.MEDIUM,) * (len(pencils) - 1)
    fields = (
        LaidField(Rectangle(place * width, 0.0, width, BOX[1]), (*below, pressure))
        for place, pressure in enumerate(Pressure)
    )
    return pencils, tuple(fields), False


class _Pages:
    """Pages being filled from the top."""

    def __init__(self, size: tuple[float, float], bottom: float, first_page: int) -> None:
        self._size, self._bottom, self._first = size, bottom, first_page
        self._pages: list[tuple[str, list[BoxHeading], list[Box]]] = []
        self._y = BODY_TOP
        self._words: str | None = None

    def begin(self, section: BoxSection) -> None:
        """Turn the page where a section has to begin one."""
        high = HEAD + _ROW * len(section.rows) if section.own_spare else 0.0
        held = self._y + high <= self._bottom or BODY_TOP + high > self._bottom
        if not self._pages or self._pages[-1][0] != section.page or not held:
            self._turn(section.page)

    def _turn(self, section: str) -> None:
        if not self._pages or self._pages[-1][2]:
            self._pages.append((section, [], []))
        self._pages[-1] = (section, *self._pages[-1][1:])
        self._y, self._words = BODY_TOP, None

    def add(self, words: str, row: Sequence[_Unplaced], continued: bool) -> None:
        head = HEAD if words != self._words else 0.0
        if self._y + head + _ROW > self._bottom and self._pages[-1][2]:
            self._turn(self._pages[-1][0])
            head = HEAD
        _, headings, boxes = self._pages[-1]
        if head:
            headings.append(BoxHeading(self._y, words, continued))
            self._y += head
        boxes += self._row(self._y, row)
        self._y += _ROW
        self._words = words

    def add_everywhere(self, words: str, row: Sequence[_Unplaced]) -> None:
        for _, headings, boxes in self._pages:
            headings.append(BoxHeading(self._bottom, words))
            boxes += self._row(self._bottom + HEAD, row)

    def finished(self) -> tuple[ChartPage, ...]:
        return tuple(
            ChartPage(
                number,
                tuple(boxes),
                tuple(_blanks(boxes, self._size, self._pitch)),
                tuple(heads),
                section,
            )
            for number, (section, heads, boxes) in enumerate(self._pages, self._first)
            if boxes
        )

    @property
    def _pitch(self) -> float:
        return BOX[0] + (self._size[0] - 2.0 * SIDE - COLUMNS * BOX[0]) / (COLUMNS - 1)

    def _row(self, y: float, row: Sequence[_Unplaced]) -> list[Box]:
        placed = []
        for column, (pencils, fields, anchor) in enumerate(row):
            x = SIDE + column * self._pitch
            moved = tuple(
                LaidField(Rectangle(x + place.x, y + place.y, place.width, place.height), pressures)
                for place, pressures in fields
            )
            placed.append(Box(Rectangle(x, y, *BOX), moved, pencils, anchor))
        return placed


def _blanks(boxes: Sequence[Box], size: tuple[float, float], pitch: float) -> list[Rectangle]:
    """The white beside every box and towards the middle of the page beside every mark."""
    gap = pitch - BOX[0]
    rows = sorted({box.outline.y for box in boxes})
    beside = [
        Rectangle(
            SIDE + column * pitch - gap + _CLEAR, y + _CLEAR, gap - 2 * _CLEAR, BOX[1] - 2 * _CLEAR
        )
        for y in rows
        for column in range(COLUMNS + 1)
    ]
    near_marks = []
    for place in mark_places(size):
        inward = place.x + MARK + 1.5 if place.x < size[0] / 2 else place.x - 4.0
        near_marks.append(Rectangle(inward, place.y, 2.5, MARK))
    return [*beside, *near_marks]
