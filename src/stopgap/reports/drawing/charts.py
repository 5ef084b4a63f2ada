"""Pages to colour in by hand: one empty box a pencil, families apart, light to dark."""

from collections.abc import Sequence

from matplotlib.axes import Axes
from matplotlib.collections import LineCollection
from matplotlib.figure import Figure
from matplotlib.patches import Polygon, Rectangle

from stopgap.blends import Family, Filed
from stopgap.colorimetry import lab_to_hexes
from stopgap.defaults import CHART_PAPER
from stopgap.errors import NothingFoundError
from stopgap.reports.drawing.chart_layout import (
    BOX,
    CODE_LINE,
    FOOT_LINE,
    FOOTER,
    HEADER,
    NAME_LINE,
    SIDE,
    TOP,
    Cell,
    Head,
    Label,
    Page,
    lay_out,
    paper_size,
)
from stopgap.reports.drawing.drawing import MM, Drawing, Measure, drawing_style, fonts_for
from stopgap.reports.text import harmless, unstacked

OWNED, GONE = "●", "✕"
_LEGEND = (f"{OWNED} owned", f"{GONE} no longer made", "also …: serves that family too")
SCALE_BAR = 50.0
"""Length in millimetres of the bar that shows whether the print has its true size."""

_INK, _SOFT, _LINE = "#1a1a1a", "#5a5a5a", "#8a8a8a"
_HINT = 2.6
_NOTES = 70.0
_LONGEST = 120
_TITLE, _HEADING, _SMALL, _CODE, _NAME, _FOOT = 14.0, 10.5, 7.0, 7.0, 6.5, 5.5


def swatch_chart(
    families: Sequence[Family], *, paper: str = CHART_PAPER, title: str = "Swatch chart"
) -> Drawing:
    """Pages with an empty box of 34 by 12 mm for every swatch of the families.

    Raises
    ------
    NothingFoundError
        If there is no family.
    UsageError
        For an unknown paper.
    """
    size = paper_size(paper)
    if not families:
        raise NothingFoundError("There is no pencil to put on a chart.")
    members = [filed for family in families for filed in family.filed]
    title = _printable(title)
    fonts, unshown = fonts_for([title, *(text for filed in members for text in _texts(filed))])
    with drawing_style(fonts):
        labelled = [(family, [_label(filed) for filed in family.filed]) for family in families]
        pages = lay_out(labelled, size)
        drawn = tuple(
            _draw(page, number, len(pages), size, title) for number, page in enumerate(pages, 1)
        )
    return Drawing(drawn, fonts, unshown)


def _texts(filed: Filed) -> tuple[str, str, str]:
    swatch = filed.swatch
    return _printable(swatch.code), _printable(swatch.name), _printable(swatch.range)


def _printable(text: str) -> str:
    return unstacked(harmless(text, _LONGEST))


def _label(filed: Filed) -> Label:
    code, name, range_name = _texts(filed)
    bold, plain, foot = Measure(_CODE, bold=True), Measure(_NAME), Measure(_FOOT)
    also = f"also {filed.also}" if filed.also else ""
    together = " · ".join(part for part in (range_name, also) if part)
    fits = foot.width(together) <= BOX[0]
    marks = plain.width(_marks(filed)) + 1.0
    return Label(
        filed,
        bold.cut(code, BOX[0] - _HINT - 1.0 - marks),
        plain.wrap(name, BOX[0], 2),
        (together,)
        if fits
        else tuple(foot.cut(part, BOX[0]) for part in (range_name, also) if part),
    )


def _marks(filed: Filed) -> str:
    swatch = filed.swatch
    return " ".join([*([OWNED] if swatch.owned else []), *([GONE] if swatch.discontinued else [])])


def _draw(page: Page, number: int, total: int, size: tuple[float, float], title: str) -> Figure:
    width, height = size
    figure = Figure(figsize=(width * MM, height * MM))
    axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    axes.set_axis_off()
    axes.set_xlim(0.0, width)
    axes.set_ylim(height, 0.0)
    _draw_header(axes, page, title, width)
    for head in page.heads:
        _draw_head(axes, head, width)
    hints = lab_to_hexes([cell.label.filed.swatch.lab for cell in page.cells])
    for cell, hint in zip(page.cells, hints, strict=True):
        _draw_cell(axes, cell, hint)
    _draw_footer(axes, number, total, size)
    return figure


def _draw_cell(axes: Axes, cell: Cell, hint: str) -> None:
    x, y, label = cell.x, cell.y, cell.label
    axes.add_patch(Rectangle((x, y), *BOX, fill=False, edgecolor=_LINE, linewidth=0.5))
    thirds = [x + BOX[0] * share / 3.0 for share in (1, 2)]
    foot = y + BOX[1]
    ticks = [((third, foot), (third, foot - 1.2)) for third in thirds]
    axes.add_collection(
        LineCollection(ticks, colors=_LINE, linewidths=0.5, capstyle="butt"), autolim=False
    )
    line = foot + CODE_LINE - 1.2
    axes.add_patch(
        Rectangle(
            (x, line - _HINT + 0.3), _HINT, _HINT, facecolor=hint, edgecolor=_LINE, linewidth=0.3
        )
    )
    _write(axes, x + _HINT + 1.0, line, label.code, _CODE, weight="bold")
    _write(axes, x + BOX[0], line, _marks(label.filed), _NAME, align="right")
    line = foot + CODE_LINE - 0.9
    for name in label.name:
        line += NAME_LINE
        _write(axes, x, line, name, _NAME)
    line += NAME_LINE - FOOT_LINE - 0.1
    for words in label.foot:
        line += FOOT_LINE
        _write(axes, x, line, words, _FOOT, colour=_SOFT)


def _draw_head(axes: Axes, head: Head, width: float) -> None:
    line = head.y + 4.6
    name = head.name + (", continued" if head.continued else "")
    _write(axes, SIDE, line, name, _HEADING, weight="bold")
    axes.plot([SIDE, width - SIDE], [line + 1.6] * 2, color=_INK, linewidth=0.6)


def _draw_header(axes: Axes, page: Page, title: str, width: float) -> None:
    room = width - 2 * SIDE - _NOTES - 6.0
    there = ", ".join(head.name for head in page.heads)
    _write(
        axes, SIDE, TOP + 5.0, Measure(_TITLE, bold=True).cut(title, room), _TITLE, weight="bold"
    )
    _write(axes, SIDE, TOP + 10.5, Measure(_SMALL).cut(there, room), _SMALL)
    left = width - SIDE - _NOTES
    axes.add_patch(
        Rectangle((left, TOP), _NOTES, HEADER, fill=False, edgecolor=_LINE, linewidth=0.5)
    )
    _write(axes, left + 1.5, TOP + 3.0, "notes: paper, light, date", _FOOT, colour=_SOFT)
    line = TOP + HEADER
    _write(axes, SIDE, line, "light pressure", _SMALL)
    axes.add_patch(
        Polygon([(32.0, line - 1.0), (54.0, line - 2.4), (54.0, line + 0.4)], color=_SOFT, lw=0)
    )
    _write(axes, 56.0, line, "heavy pressure", _SMALL)
    for x, text in zip((0.0, 17.0, 47.0), _LEGEND, strict=True):
        _write(axes, SIDE + x, line + 6.0, text, _SMALL)


def _draw_footer(axes: Axes, number: int, total: int, size: tuple[float, float]) -> None:
    width, height = size
    line = height - FOOTER + 8.0
    bar = [(SIDE, line), (SIDE + SCALE_BAR, line)]
    ends = [((x, line - 1.0), (x, line + 1.0)) for x, _ in bar]
    axes.add_collection(
        LineCollection([bar, *ends], colors=_INK, linewidths=0.6, capstyle="butt"), autolim=False
    )
    _write(axes, SIDE, line + 4.0, "50 mm in print; if not, print at 100 %", _FOOT, colour=_SOFT)
    _write(
        axes,
        width / 2 + 14.0,
        line + 1.0,
        "A printout is no colour reference: the small squares only\n"
        "help to find a pencil. What you lay here is what counts.",
        _FOOT,
        colour=_SOFT,
        align="center",
    )
    _write(axes, width - SIDE, line + 1.0, f"{number} of {total}", _SMALL, align="right")


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
