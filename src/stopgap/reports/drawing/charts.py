"""Pages to colour in by hand and to read back: an edition drawn as it is kept, in millimetres.

Boxes, headings and marks stand where the edition says. Nothing is printed within a field or in one
of the page's blank places, by which the reading knows the light.
"""

from collections.abc import Mapping, Sequence
from itertools import zip_longest
from typing import NamedTuple

import numpy as np

from stopgap.blends import Filed
from stopgap.colorimetry import lab_to_hexes
from stopgap.reports.drawing.drawing import Drawing, Measure, drawing_style, fonts_for
from stopgap.reports.drawing.sheets import DrawnSheet, Look, Side, Words
from stopgap.reports.text import harmless, unstacked
from stopgap.scanning import ANCHORS, FOLD, LAYERS, SIDE, SPARE, dark_modules
from stopgap.swatches import MARK, Box, ChartPage, Edition, Mark, mark_places
from stopgap.swatches.edition import MARK_FROM_EDGE

OWNED, GONE = "●", "✕"
SCALE_BAR = 50.0
"""Length in millimetres of the bar that shows whether the print has its true size."""

_INK, _SOFT, _LINE, _FAINT = "#1a1a1a", "#5a5a5a", "#8a8a8a", "#c8c8c8"
_FRAME = Look(edge=_LINE, line=0.5)
_BELOW_HEADING = _BAR = Look(edge=_INK, line=0.6)
_TO_FOLD = Look(edge=_INK, line=0.5, dashes=(6.0, 3.0))
_TO_WRITE_ON = Look(edge=_FAINT, line=0.4)
_HINT = 2.6
_NOTES = 58.0
_BESIDE_MARK = MARK_FROM_EDGE + MARK + 7.0  # a mark's white, and a blank place beside it
_LONGEST = 120
_TITLE, _HEADING, _SMALL, _CODE, _NAME, _FOOT = 14.0, 10.5, 7.0, 7.0, 6.5, 5.5
_CODE_AT, _NAME_AT, _NAME_LINE, _LAST = 3.0, 6.2, 2.75, 11.5
"""Lines of text below a box."""


class _Words(NamedTuple):
    """What stands below a box, fitted to its width."""

    code: str
    names: tuple[str, ...]
    foot: str
    marks: str = ""


def edition_chart(
    edition: Edition,
    filed: Mapping[str, Filed],
    *,
    title: str,
    pages: Sequence[ChartPage] | None = None,
) -> Drawing:
    """The pages of an edition, all or those that are named.

    `filed` has the pencils by address; one that is no longer there has its address alone.
    """
    title = _printable(title)
    drawn = edition.pages if pages is None else pages
    boxes = [box for page in drawn for box in page.boxes]
    words = [heading.words for page in drawn for heading in page.headings]
    words += [page.section for page in drawn]
    texts = [text for box in boxes for text in _texts(box, filed)]
    fonts, unshown = fonts_for([title, *map(_printable, words), *texts])
    with drawing_style(fonts):
        captions = Measure(_CODE, bold=True), Measure(_NAME), Measure(_FOOT)
        sheets = [_draw(page, edition, filed, title, captions) for page in drawn]
        figures = tuple(sheet.page() for sheet in sheets)
    return Drawing(figures, fonts, unshown)


def _printable(text: str) -> str:
    return unstacked(harmless(text, _LONGEST))


def _texts(box: Box, filed: Mapping[str, Filed]) -> list[str]:
    found = [filed[address].swatch for address in box.pencils if address in filed]
    known = [text for swatch in found for text in (swatch.code, swatch.name, swatch.range)]
    return [_printable(text) for text in (*known, *box.pencils)]


_Captions = tuple[Measure, Measure, Measure]
"""Of code, name and foot below boxes, the same for all pages, since much is said again."""


def _words(box: Box, filed: Mapping[str, Filed], title: str, captions: _Captions) -> _Words:
    """A range that is the title of the page is not said again below each box."""
    width = box.outline.width
    bold, plain, foot = captions
    members = [filed[address] for address in box.pencils if address in filed]
    if not members:
        return _Words(bold.cut(", ".join(map(_printable, box.pencils)), width), (), "")
    if len(members) > 1:
        codes = " + ".join(_printable(member.swatch.code) for member in members)
        named = (_printable(member.swatch.name or member.swatch.code) for member in members)
        below = [f", {each}" for each in box.fields[0].pressures[:-1]] * (len(box.fields) > 1)
        said = (
            f"{place}. {name}{how}"
            for place, (name, how) in enumerate(zip_longest(named, below, fillvalue=""), 1)
        )
        return _Words(bold.cut(codes, width), tuple(plain.cut(each, width) for each in said), "")
    (member,) = members
    swatch = member.swatch
    marks = " ".join([OWNED] * swatch.owned + [GONE] * swatch.discontinued)
    also = [f"also {member.also}"] if member.also else []
    line = [name for name in (_printable(swatch.range),) if name != title]
    return _Words(
        bold.cut(_printable(swatch.code), width - _HINT - 2.0 - plain.width(marks)),
        plain.wrap(_printable(swatch.name), width, 2),
        foot.cut(" · ".join([*line, *also]), width),
        marks,
    )


def _draw(
    page: ChartPage, edition: Edition, filed: Mapping[str, Filed], title: str, captions: _Captions
) -> DrawnSheet:
    width, height = edition.size
    sheet = DrawnSheet(width, height)
    for corner, place in enumerate(mark_places(edition.size)):
        _draw_mark(sheet, place.x, place.y, Mark(edition.number, page.number, corner))
    _draw_header(sheet, page, title, width)
    for heading in page.headings:
        words = _printable(heading.words) + (", continued" if heading.continued else "")
        words = Measure(_HEADING, bold=True).cut(words, width - 2.0 * SIDE)
        sheet.write(Words(SIDE, heading.y + 4.2, words, _HEADING, bold=True, colour=_INK))
        sheet.line([(x, heading.y + 5.6) for x in (SIDE, width - SIDE)], _BELOW_HEADING)
    for foot in {one.outline.y + one.outline.height for one in page.boxes if _folded(page, one)}:
        sheet.line([(3.0, foot), (width - 3.0, foot)], _TO_FOLD)
    for box in page.boxes:
        _draw_box(sheet, box, filed, title, captions)
    _draw_footer(sheet, page, edition)
    return sheet


def _folded(page: ChartPage, box: Box) -> bool:
    """Whether the page is to be folded along the lower edge of a box."""
    return page.words_above(box) == FOLD


def _draw_mark(sheet: DrawnSheet, x: float, y: float, mark: Mark) -> None:
    """One path for all modules, so that no hair of white stands between neighbours."""
    dark = dark_modules(mark)
    side = MARK / len(dark)
    square = np.array([(0, 0), (1, 0), (1, 1), (0, 1)])
    places = np.argwhere(dark)[:, np.newaxis, ::-1]  # of upper left corners, as column and row
    sheet.rings(np.array([x, y]) + side * (places + square), Look(fill="black"))


def _draw_box(
    sheet: DrawnSheet, box: Box, filed: Mapping[str, Filed], title: str, captions: _Captions
) -> None:
    outline = box.outline
    x, foot = outline.x, outline.y + outline.height
    sheet.rectangle(*outline, _FRAME._replace(dashes=(4.0, 2.0)) if box.spare else _FRAME)
    ends = {round(field.place.x + field.place.width, 3) for field in box.fields}
    for end in sorted(ends):
        if end < x + outline.width - 0.1:
            sheet.line([(end, outline.y), (end, outline.y - 1.2)], _FRAME)
            sheet.line([(end, foot), (end, foot + 1.2)], _FRAME)
    for field in box.fields if len(box.fields) > 1 else ():
        middle = field.place.x + field.place.width / 2.0
        pressure = str(field.pressures[-1])
        _note(sheet, middle, outline.y - 0.6, pressure, side="center")
    if box.spare:
        sheet.line([(x, foot + _NAME_AT), (x + 24.0, foot + _NAME_AT)], _TO_WRITE_ON)
    else:
        _draw_words(sheet, box, _words(box, filed, title, captions), filed)


def _draw_words(sheet: DrawnSheet, box: Box, words: _Words, filed: Mapping[str, Filed]) -> None:
    x, foot, width = box.outline.x, box.outline.y + box.outline.height, box.outline.width
    after_hint = x
    if len(box.pencils) == 1 and box.pencils[0] in filed and filed[box.pencils[0]].swatch.coloured:
        (hint,) = lab_to_hexes([filed[box.pencils[0]].swatch.lab])
        low = foot + _CODE_AT - _HINT + 0.3
        sheet.rectangle(x, low, _HINT, _HINT, Look(fill=hint, edge=_LINE, line=0.3))
        after_hint += _HINT + 1.0
    line = foot + _CODE_AT
    sheet.write(Words(after_hint, line, words.code, _CODE, bold=True, colour=_INK))
    sheet.write(Words(x + width, line, words.marks, _NAME, colour=_INK, side="right"))
    for row, name in enumerate(words.names):
        line = foot + _NAME_AT + row * _NAME_LINE
        sheet.write(Words(x, line, name, _NAME, colour=_INK))
    last = _LAST if len(words.names) > 1 else _LAST - _NAME_LINE + 0.1
    _note(sheet, x, foot + last, words.foot)


def _draw_header(sheet: DrawnSheet, page: ChartPage, title: str, width: float) -> None:
    left, right = _BESIDE_MARK, width - _BESIDE_MARK
    room = right - left - _NOTES - 5.0
    every = dict.fromkeys(heading.words for heading in page.headings)
    filed = [words for words in every if words not in (LAYERS, SPARE, ANCHORS, FOLD)]
    there = _printable(", ".join(filed or every))
    said = _page_title(page, title)
    fitted = Measure(_TITLE, bold=True).cut(said, room)
    sheet.write(Words(left, 16.0, fitted, _TITLE, bold=True, colour=_INK))
    for line, words in enumerate(Measure(_SMALL).wrap(there, room, 2) if there != said else ()):
        sheet.write(Words(left, 21.0 + 3.4 * line, words, _SMALL, colour=_SOFT))
    sheet.rectangle(right - _NOTES, 11.0, _NOTES, 14.0, _FRAME)
    _note(sheet, right - _NOTES + 1.5, 14.0, "notes: paper, light, date")
    _draw_pattern(sheet, SIDE, 29.0)
    thirds = "Three parts: light, medium, heavy. "
    has_thirds = any(len(box.fields) > 1 for box in page.boxes)
    laid = "Lay the wide part evenly and heavily, up to the ticks; beyond them let it run out, for "
    laid += "your own eye."
    if all(len(box.fields) > 1 for box in page.boxes if box.pencils):
        laid = (
            "Lay each part evenly; of two pencils the first at medium throughout, then the other."
        )
    how = (
        laid,
        f"Keep the white between boxes white. {thirds if has_thirds else ''}"
        f"{OWNED} owned, {GONE} no longer made.",
    )
    for line, words in enumerate(how):
        sheet.write(Words(SIDE + 24.0, 31.2 + 3.6 * line, words, _SMALL, colour=_INK))


def _page_title(page: ChartPage, title: str) -> str:
    return f"{_printable(page.section)} · {title}" if page.section else title


def _draw_pattern(sheet: DrawnSheet, x: float, y: float) -> None:
    """A small box laid as a box is to be laid."""
    wide, tail, high, steps = 14.0, 6.0, 6.0, 24
    sheet.rectangle(x, y, wide, high, Look(fill="#9a9a9a"))
    for step, shade in enumerate(np.linspace(154, 255, steps).astype(np.uint8)):
        # to the end: edges that only meet let the white through
        begin = wide + tail * step / steps
        grey = Look(fill="#" + f"{shade:02x}" * 3)
        sheet.rectangle(x + begin, y, wide + tail - begin, high, grey)
    sheet.rectangle(x, y, wide + tail, high, _FRAME)
    sheet.line([(x + wide, y - 1.0), (x + wide, y)], _FRAME)
    sheet.line([(x + wide, y + high), (x + wide, y + high + 1.0)], _FRAME)


def _draw_footer(sheet: DrawnSheet, page: ChartPage, edition: Edition) -> None:
    width, height = edition.size
    left, line = _BESIDE_MARK, height - 16.0
    sheet.line([(left, line), (left + SCALE_BAR, line)], _BAR)
    for x in (left, left + SCALE_BAR):
        sheet.line([(x, line - 1.0), (x, line + 1.0)], _BAR)
    _note(sheet, left, line + 4.0, "50 mm in print; if not, print at 100 %")
    beside = left + SCALE_BAR + 6.0
    _note(sheet, beside, line - 1.3, "A printout is no colour reference: the small")
    _note(sheet, beside, line + 1.0, "squares only help to find a pencil.")
    right = width - _BESIDE_MARK
    told = f"{page.number} of {edition.pages[-1].number}"
    sheet.write(Words(right, line, told, _SMALL, colour=_INK, side="right"))
    _note(sheet, right, line + 4.0, f"edition {edition.number}", side="right")


def _note(sheet: DrawnSheet, x: float, y: float, text: str, *, side: Side = "left") -> None:
    """What is said in passing."""
    sheet.write(Words(x, y, text, _FOOT, colour=_SOFT, side=side))
