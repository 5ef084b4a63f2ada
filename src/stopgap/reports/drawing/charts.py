"""Pages to colour in by hand and to read back: an edition drawn as it is kept, in millimetres.

Boxes, headings and marks stand where the edition says. Nothing is printed within a field or in one
of the page's blank places, by which the reading knows the light.
"""

from collections.abc import Mapping, Sequence
from itertools import zip_longest
from typing import NamedTuple

import numpy as np
from matplotlib.axes import Axes
from matplotlib.collections import LineCollection
from matplotlib.figure import Figure
from matplotlib.patches import PathPatch, Rectangle
from matplotlib.path import Path

from stopgap.blends import Filed
from stopgap.colorimetry import lab_to_hexes
from stopgap.reports.drawing.drawing import MM, Drawing, Measure, drawing_style, fonts_for
from stopgap.reports.text import harmless, unstacked
from stopgap.scanning import ANCHORS, FOLD, LAYERS, SIDE, SPARE, dark_modules
from stopgap.swatches import MARK, Box, ChartPage, Edition, Mark, mark_places
from stopgap.swatches.edition import MARK_FROM_EDGE

OWNED, GONE = "●", "✕"
SCALE_BAR = 50.0
"""Length in millimetres of the bar that shows whether the print has its true size."""

_INK, _SOFT, _LINE, _FAINT = "#1a1a1a", "#5a5a5a", "#8a8a8a", "#c8c8c8"
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
        figures = tuple(_draw(page, edition, filed, title, captions) for page in drawn)
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
) -> Figure:
    width, height = edition.size
    figure = Figure(figsize=(width * MM, height * MM))
    axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    axes.set_axis_off()
    for corner, place in enumerate(mark_places(edition.size)):
        _draw_mark(axes, place.x, place.y, Mark(edition.number, page.number, corner))
    _draw_header(axes, page, title, width)
    for heading in page.headings:
        words = _printable(heading.words) + (", continued" if heading.continued else "")
        words = Measure(_HEADING, bold=True).cut(words, width - 2.0 * SIDE)
        _write(axes, SIDE, heading.y + 4.2, words, _HEADING, weight="bold")
        axes.plot([SIDE, width - SIDE], [heading.y + 5.6] * 2, color=_INK, linewidth=0.6)
    for foot in {one.outline.y + one.outline.height for one in page.boxes if _folded(page, one)}:
        axes.plot([3.0, width - 3.0], [foot] * 2, color=_INK, linewidth=0.5, linestyle=(0, (6, 3)))
    for box in page.boxes:
        _draw_box(axes, box, filed, title, captions)
    _draw_footer(axes, page, edition)
    axes.set_xlim(0.0, width)  # last, since a picture on a page sets them
    axes.set_ylim(height, 0.0)
    return figure


def _folded(page: ChartPage, box: Box) -> bool:
    """Whether the page is to be folded along the lower edge of a box."""
    return page.words_above(box) == FOLD


def _draw_mark(axes: Axes, x: float, y: float, mark: Mark) -> None:
    """One path for all modules, so that no hair of white stands between neighbours."""
    dark = dark_modules(mark)
    side = MARK / len(dark)
    square = np.array([(0, 0), (1, 0), (1, 1), (0, 1), (0, 0)])
    places = np.argwhere(dark)[:, np.newaxis, ::-1]  # of upper left corners, as column and row
    corners = np.array([x, y]) + side * (places + square)
    codes = [Path.MOVETO, *[Path.LINETO] * 3, Path.CLOSEPOLY] * len(corners)
    axes.add_artist(PathPatch(Path(corners.reshape(-1, 2), codes), facecolor="black", lw=0))


def _draw_box(
    axes: Axes, box: Box, filed: Mapping[str, Filed], title: str, captions: _Captions
) -> None:
    outline = box.outline
    x, foot = outline.x, outline.y + outline.height
    frame = Rectangle(outline[:2], outline.width, outline.height, fill=False)
    frame.set(edgecolor=_LINE, linewidth=0.5, linestyle=(0, (4, 2)) if box.spare else "solid")
    axes.add_artist(frame)
    ends = {round(field.place.x + field.place.width, 3) for field in box.fields}
    ticks = [
        ((end, edge), (end, edge + out))
        for end in sorted(ends)
        if end < x + outline.width - 0.1
        for edge, out in ((outline.y, -1.2), (foot, 1.2))
    ]
    axes.add_collection(
        LineCollection(ticks, colors=_LINE, linewidths=0.5, capstyle="butt"), autolim=False
    )
    for field in box.fields if len(box.fields) > 1 else ():
        middle = field.place.x + field.place.width / 2.0
        pressure = str(field.pressures[-1])
        _write(axes, middle, outline.y - 0.6, pressure, _FOOT, colour=_SOFT, align="center")
    if box.spare:
        axes.plot([x, x + 24.0], [foot + _NAME_AT] * 2, color=_FAINT, linewidth=0.4)
    else:
        _draw_words(axes, box, _words(box, filed, title, captions), filed)


def _draw_words(axes: Axes, box: Box, words: _Words, filed: Mapping[str, Filed]) -> None:
    x, foot, width = box.outline.x, box.outline.y + box.outline.height, box.outline.width
    after_hint = x
    if len(box.pencils) == 1 and box.pencils[0] in filed and filed[box.pencils[0]].swatch.coloured:
        (hint,) = lab_to_hexes([filed[box.pencils[0]].swatch.lab])
        low = foot + _CODE_AT - _HINT + 0.3
        axes.add_artist(
            Rectangle((x, low), _HINT, _HINT, facecolor=hint, edgecolor=_LINE, linewidth=0.3)
        )
        after_hint += _HINT + 1.0
    _write(axes, after_hint, foot + _CODE_AT, words.code, _CODE, weight="bold")
    _write(axes, x + width, foot + _CODE_AT, words.marks, _NAME, align="right")
    for line, name in enumerate(words.names):
        _write(axes, x, foot + _NAME_AT + line * _NAME_LINE, name, _NAME)
    last = _LAST if len(words.names) > 1 else _LAST - _NAME_LINE + 0.1
    _write(axes, x, foot + last, words.foot, _FOOT, colour=_SOFT)


def _draw_header(axes: Axes, page: ChartPage, title: str, width: float) -> None:
    left, right = _BESIDE_MARK, width - _BESIDE_MARK
    room = right - left - _NOTES - 5.0
    every = dict.fromkeys(heading.words for heading in page.headings)
    filed = [words for words in every if words not in (LAYERS, SPARE, ANCHORS, FOLD)]
    there = _printable(", ".join(filed or every))
    said = _page_title(page, title)
    _write(axes, left, 16.0, Measure(_TITLE, bold=True).cut(said, room), _TITLE, weight="bold")
    for line, words in enumerate(Measure(_SMALL).wrap(there, room, 2) if there != said else ()):
        _write(axes, left, 21.0 + 3.4 * line, words, _SMALL, colour=_SOFT)
    axes.add_artist(
        Rectangle((right - _NOTES, 11.0), _NOTES, 14.0, fill=False, edgecolor=_LINE, linewidth=0.5)
    )
    _write(axes, right - _NOTES + 1.5, 14.0, "notes: paper, light, date", _FOOT, colour=_SOFT)
    _draw_pattern(axes, SIDE, 29.0)
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
        _write(axes, SIDE + 24.0, 31.2 + 3.6 * line, words, _SMALL)


def _page_title(page: ChartPage, title: str) -> str:
    return f"{_printable(page.section)} · {title}" if page.section else title


def _draw_pattern(axes: Axes, x: float, y: float) -> None:
    """A small box laid as a box is to be laid."""
    wide, tail, high, steps = 14.0, 6.0, 6.0, 24
    axes.add_artist(Rectangle((x, y), wide, high, facecolor="#9a9a9a", lw=0))
    fading = np.linspace(154, 255, steps)
    shades = np.repeat(fading[np.newaxis, :, np.newaxis], 3, axis=2).astype(np.uint8)
    axes.imshow(shades, extent=(x + wide, x + wide + tail, y + high, y), aspect="auto", zorder=0.5)
    axes.add_artist(
        Rectangle((x, y), wide + tail, high, fill=False, edgecolor=_LINE, linewidth=0.5)
    )
    ends = [((x + wide, y - 1.0), (x + wide, y)), ((x + wide, y + high), (x + wide, y + high + 1))]
    axes.add_collection(LineCollection(ends, colors=_LINE, linewidths=0.5), autolim=False)


def _draw_footer(axes: Axes, page: ChartPage, edition: Edition) -> None:
    width, height = edition.size
    left, line = _BESIDE_MARK, height - 16.0
    bar = [(left, line), (left + SCALE_BAR, line)]
    ends = [((x, line - 1.0), (x, line + 1.0)) for x, _ in bar]
    axes.add_collection(
        LineCollection([bar, *ends], colors=_INK, linewidths=0.6, capstyle="butt"), autolim=False
    )
    _write(axes, left, line + 4.0, "50 mm in print; if not, print at 100 %", _FOOT, colour=_SOFT)
    _write(
        axes,
        left + SCALE_BAR + 6.0,
        line + 1.0,
        "A printout is no colour reference: the small\nsquares only help to find a pencil.",
        _FOOT,
        colour=_SOFT,
    )
    last = edition.pages[-1].number
    right = width - _BESIDE_MARK
    _write(axes, right, line, f"{page.number} of {last}", _SMALL, align="right")
    said = f"edition {edition.number}"
    _write(axes, right, line + 4.0, said, _FOOT, colour=_SOFT, align="right")


def _write(
    axes: Axes,
    x: float,
    y: float,
    text: str,
    size: float,
    *,
    weight: str = "normal",
    colour: str = _INK,
    align: str = "left",
) -> None:
    """Text standing on the line `y`; never taken for a formula."""
    if text:
        axes.text(
            x,
            y,
            text,
            fontsize=size,
            weight=weight,
            color=colour,
            ha=align,
            va="baseline",
            parse_math=False,
        )
