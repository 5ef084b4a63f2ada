"""Colours that touch: rows of them with their labels, and the map of holes."""

from collections.abc import Sequence

from stopgap.colorimetry import lab_to_hexes
from stopgap.errors import NothingFoundError
from stopgap.reports.blocks import Chip, ColourMap, MapCell
from stopgap.reports.drawing.drawing import Drawing, Measure, drawing_style, fonts_for
from stopgap.reports.drawing.plots import GROUND, INK
from stopgap.reports.drawing.sheets import DrawnSheet, Look, Side, Words
from stopgap.reports.text import harmless, unstacked

_PAGE, _SHOWN, _ROW, _EDGE = 160.0, 72.0, 11.0, 4.0  # mm; of the page at most what is ground


def chip_plot(rows: Sequence[Chip]) -> Drawing:
    """A row for each chip: its colours, as wide as the grey ground round them, and its label.

    Raises
    ------
    NothingFoundError
        If there is no row.
    """
    if not rows:
        raise NothingFoundError("There is no colour to show.")
    labels = [unstacked(harmless(row.label, 160)) for row in rows]
    fonts, unshown = fonts_for(labels)
    most = max(len(row.labs) for row in rows)
    wide = min(_ROW, _SHOWN / (most + 2))
    ground, height = (most + 2) * wide, len(rows) * (_ROW + wide) + wide
    with drawing_style(fonts):
        sheet = DrawnSheet(_PAGE, height)
        sheet.rectangle(0.0, 0.0, ground, height, Look(fill=GROUND))
        words = Measure(8.0)
        for place, (row, label) in enumerate(zip(rows, labels, strict=True)):
            y = wide + place * (_ROW + wide)
            for column, colour in enumerate(lab_to_hexes(row.labs)):
                # to the end of the row: edges that only meet let the ground through
                ends = wide * (column + 1), y, wide * (len(row.labs) - column)
                sheet.rectangle(*ends, _ROW, Look(fill=colour))
            lines = words.wrap(label, _PAGE - ground - 2 * _EDGE, 3)
            top = y + _ROW / 2.0 + 1.0 - 1.8 * (len(lines) - 1)
            for number, line in enumerate(lines):
                sheet.write(Words(ground + _EDGE, top + 3.6 * number, line, colour=INK))
        page = sheet.page()
    return Drawing((page,), fonts, unshown)


_CELL, _PAIR, _HIGH, _SWATCH, _LABELS, _TOP = 8.0, 5.2, 7.0, 4.2, 20.0, 12.0  # mm
_FRAME = Look(edge="#ffffff", line=0.9)
_LINE = 3.6  # mm from one line of text to the next


def map_plot(shown: ColourMap, title: str, said: Sequence[str]) -> Drawing:
    """A map of colours, its parts side by side, below its title; `said` in lines at the foot.

    In each cell two colours touch; how far they are apart, or the number of the hole in bold and
    framed, stands below them.
    """
    texts = [unstacked(harmless(text, 300)) for text in (title, *said)]
    fonts, unshown = fonts_for(texts)
    part = _LABELS + len(shown.columns) * _CELL
    width = len(shown.parts) * part + 2 * _EDGE
    ground = _TOP + len(shown.labels) * _HIGH + _EDGE
    with drawing_style(fonts):
        words, inks = Measure(7.0), iter(lab_to_hexes(shown.labs))
        lines = [line for text in texts[1:] for line in words.wrap(text, width - 2 * _EDGE, 3)]
        height = _TOP + ground + _EDGE + len(lines) * _LINE
        sheet = DrawnSheet(width, height)
        sheet.write(Words(_EDGE, _TOP / 2, texts[0], 10.0, colour=INK, middle=True))
        sheet.rectangle(0.0, _TOP, width, ground, Look(fill=GROUND))
        for number, (name, rows) in enumerate(shown.parts):
            left = _EDGE + number * part + _LABELS
            _write_white(sheet, left, _TOP + 3.5, name, 8.0, "left")
            for column, label in enumerate(shown.columns):
                _write_white(sheet, left + (column + 0.5) * _CELL, _TOP + 8.5, label, 6.5)
            for row, (label, cells) in enumerate(zip(shown.labels, rows, strict=True)):
                y = 2 * _TOP + row * _HIGH - 1.0
                hue = " ".join(label.split())
                _write_white(sheet, left - 1.5, y + _SWATCH / 2, hue, 6.5, "right")
                for column, cell in enumerate(cells):
                    if cell is not None:
                        x = left + column * _CELL + (_CELL - _PAIR) / 2
                        _draw_cell(sheet, x, y, cell, [next(inks) for _ in cell.labs])
        for place, line in enumerate(lines):
            y = _TOP + ground + _EDGE + place * _LINE
            sheet.write(Words(_EDGE, y, line, 7.0, colour=INK, middle=True))
        page = sheet.page()
    return Drawing((page,), fonts, unshown)


def _draw_cell(sheet: DrawnSheet, x: float, y: float, cell: MapCell, inks: Sequence[str]) -> None:
    for place, colour in enumerate(inks):
        wide = _PAIR * (1 - place / 2)
        sheet.rectangle(x + place * _PAIR / 2, y, wide, _SWATCH, Look(fill=colour))
    said = f"#{cell.hole}" if cell.hole else cell.off
    middle = x + _PAIR / 2, y + _SWATCH + 1.25
    _write_white(sheet, *middle, said, 6.0, bold=bool(cell.hole))
    if cell.hole:
        sheet.rectangle(x - 1.2, y - 0.3, _PAIR + 2.4, _SWATCH + 2.7, _FRAME)


def _write_white(
    sheet: DrawnSheet,
    x: float,
    y: float,
    text: str,
    size: float,
    side: Side = "center",
    *,
    bold: bool = False,
) -> None:
    sheet.write(Words(x, y, text, size, bold, "#ffffff", side, middle=True))
