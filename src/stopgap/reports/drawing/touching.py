"""Rows of colours that touch, each with its label."""

from collections.abc import Sequence

from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from stopgap.colorimetry import lab_to_hexes
from stopgap.errors import NothingFoundError
from stopgap.reports.blocks import Chip
from stopgap.reports.drawing.drawing import MM, Drawing, Measure, drawing_style, fonts_for
from stopgap.reports.drawing.plots import GROUND, INK
from stopgap.reports.text import harmless, unstacked

_PAGE, _CHIPS, _ROW, _AIR, _EDGE = 160.0, 62.0, 11.0, 3.0, 4.0  # mm


def chip_plot(rows: Sequence[Chip]) -> Drawing:
    """A row for each chip: its colours in equal shares, on a neutral grey ground, and its label.

    Raises
    ------
    NothingFoundError
        If there is no row.
    """
    if not rows:
        raise NothingFoundError("There is no colour to show.")
    labels = [unstacked(harmless(row.label, 160)) for row in rows]
    fonts, unshown = fonts_for(labels)
    height = len(rows) * (_ROW + _AIR) - _AIR + 2 * _EDGE
    with drawing_style(fonts):
        figure = Figure(figsize=(_PAGE * MM, height * MM))
        axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
        axes.set_axis_off()
        axes.set(xlim=(0.0, _PAGE), ylim=(height, 0.0))
        axes.add_patch(Rectangle((0.0, 0.0), _CHIPS + 2 * _EDGE, height, color=GROUND, linewidth=0))
        words = Measure(8.0)
        for place, (row, label) in enumerate(zip(rows, labels, strict=True)):
            y = _EDGE + place * (_ROW + _AIR)
            share = _CHIPS / len(row.labs)
            for column, colour in enumerate(lab_to_hexes(row.labs)):
                x = column * share
                # to the end of the row: edges that only meet let the ground through
                ends = (_EDGE + x, y), _CHIPS - x
                axes.add_patch(Rectangle(*ends, _ROW, facecolor=colour, linewidth=0))
            lines = words.wrap(label, _PAGE - _CHIPS - 4 * _EDGE, 2)
            top = y + _ROW / 2.0 + 1.0 - 1.8 * (len(lines) - 1)
            for number, line in enumerate(lines):
                axes.text(
                    _CHIPS + 3 * _EDGE,
                    top + 3.6 * number,
                    line,
                    color=INK,
                    parse_math=False,
                )
    return Drawing((figure,), fonts, unshown)
