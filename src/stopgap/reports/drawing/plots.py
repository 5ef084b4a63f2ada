"""Plots: swatches in the planes of CIELAB, a target with its stand-ins, colours that touch."""

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from stopgap.arrays import Floats
from stopgap.colorimetry import lab_to_hexes
from stopgap.difference import Plane, unit_contour
from stopgap.errors import InputError, NothingFoundError
from stopgap.planner import StandIns
from stopgap.reports.blocks import Chip
from stopgap.reports.drawing.drawing import MM, Drawing, Measure, drawing_style, fonts_for
from stopgap.reports.drawing.plot_marks import (
    GROUND,
    HALO,
    INK,
    draw_legend,
    draw_swatches,
    dress,
    frame_square,
    placed,
)
from stopgap.reports.text import harmless, unstacked
from stopgap.reports.wording import swatch_words, target_words
from stopgap.swatches import Swatch

_PAGE, _CHIPS, _ROW, _AIR, _EDGE = 160.0, 62.0, 11.0, 3.0, 4.0


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
                x = _EDGE + column * share
                axes.add_patch(Rectangle((x, y), share, _ROW, facecolor=colour, linewidth=0))
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


_WIDTH, _NARROW, _HEIGHT = 180.0, 118.0, 126.0
_MAIN = (15.0, 22.0, 98.0, 98.0)
_COLUMN = 122.0, 54.0
"""Left edge and width of the column beside the plane, millimetres."""

_CLOSE_UP = (124.0, 70.0, 50.0, 50.0)
_OFF = 11.0
"""How far numbers stand off the middle of their discs, points."""

_FEW = 5
_CAUTION = "D50, 2° observer. A screen is no colour reference."
_LEAST_SPAN = 6.0


def plane_plot(
    swatches: Sequence[Swatch],
    plane: Plane | str = Plane.AB,
    *,
    answer: StandIns | None = None,
) -> Drawing:
    """Swatches in the a*, b* plane or by chroma and lightness, in their own colours.

    With an `answer`, its target and matches are marked, and shown enlarged with the ellipse of one
    ΔE00 round the target: at its lightness in the a*, b* plane, at its hue in the other.

    Raises
    ------
    InputError
        For an unknown plane.
    NothingFoundError
        If there is no swatch.
    """
    if plane not in list(Plane):
        raise InputError(f"plane: {plane!r} is not one of {', '.join(Plane)}.")
    plane = Plane(plane)
    if not swatches:
        raise NothingFoundError("There is no pencil to plot; ask for less.")
    lines = _lines(answer) if answer is not None else []
    fonts, unshown = fonts_for(lines)
    with drawing_style(fonts):
        width = _NARROW if answer is None else _WIDTH
        figure = Figure(figsize=(width * MM, _HEIGHT * MM))
        main = _axes(figure, _MAIN)
        dress(main, plane)
        draw_swatches(main, swatches, plane)
        _frame_all(main, swatches, plane)
        legend = _axes(figure, (_MAIN[0], 3.0, _MAIN[2], 6.0))
        draw_legend(legend)
        legend.text(0.0, 0.0, _CAUTION, fontsize=6.5, color=INK)
        if answer is not None:
            _mark_answer(main, answer, plane)
            _draw_close_up(_axes(figure, _CLOSE_UP), swatches, answer, plane)
            _write_lines(figure, lines)
    return Drawing((figure,), fonts, unshown)


def _lines(answer: StandIns) -> list[str]:
    said = [f"◇  {target_words(answer.target)}"]
    said += [
        f"{place}  ΔE {match.delta_E:.1f}  {swatch_words(match.swatch)}"
        for place, match in enumerate(answer.matches, 1)
    ]
    return [unstacked(harmless(line, 160)) for line in said]


def _write_lines(figure: Figure, lines: Sequence[str]) -> None:
    measure = Measure(6.5)
    most = 2 if len(lines) <= _FEW + 1 else 1
    y = 58.0
    for row, line in enumerate(lines):
        for part in measure.wrap(line, _COLUMN[1], most if row else 3):
            _write(figure, _COLUMN[0], y, part)
            y -= 2.9
        y -= 0.8


def _frame_all(axes: Axes, swatches: Sequence[Swatch], plane: Plane) -> None:
    xy = placed([swatch.lab for swatch in swatches], plane)
    if plane is Plane.AB:
        frame_square(axes, xy, least=20.0, room=1.08)
    else:
        axes.set(xlim=(-3.0, max(20.0, 1.08 * float(xy[:, 0].max()))), ylim=(0.0, 100.0))


def _mark_answer(axes: Axes, answer: StandIns, plane: Plane) -> None:
    x, y = placed(answer.target.lab, plane)
    axes.plot(
        [x],
        [y],
        marker="D",
        markersize=9,
        markerfacecolor="none",
        markeredgecolor=INK,
        markeredgewidth=1.1,
        path_effects=HALO,
        zorder=5,
    )


def _draw_close_up(axes: Axes, swatches: Sequence[Swatch], answer: StandIns, plane: Plane) -> None:
    """The neighbourhood of the target, wide enough for the ellipse and for every match."""
    dress(axes, plane, labels=False)
    target = answer.target.lab
    contour = unit_contour(target, plane)
    matches = [match.swatch for match in answer.matches]
    seen = np.vstack([contour, placed([swatch.lab for swatch in matches], plane)])
    centre = placed(target, plane)
    around = np.vstack([seen, 2.0 * centre - seen])
    reach = frame_square(axes, around, least=_LEAST_SPAN, room=1.35)
    left, right = axes.get_xlim()
    if plane is Plane.LIGHTNESS and left < -1.0:  # there is no chroma below 0
        axes.set_xlim(-1.0, right - left - 1.0)
    near = [
        swatch
        for swatch in swatches
        if swatch not in matches and np.abs(placed(swatch.lab, plane) - centre).max() < 2.0 * reach
    ]
    draw_swatches(axes, near, plane, size=20.0)
    draw_swatches(axes, matches, plane, size=130.0)
    axes.scatter(
        centre[0], centre[1], s=90, c=lab_to_hexes([target]), marker="D", edgecolors=INK, zorder=4
    )
    axes.plot(*contour.T, color=INK, linewidth=1.0, path_effects=HALO, zorder=5)
    _number(axes, placed([swatch.lab for swatch in matches], plane))
    axes.set_title("near it; the ring is ΔE00 = 1", fontsize=6.5, color=INK, loc="left", pad=3)


def _number(axes: Axes, discs: Floats) -> None:
    """The matches' numbers beside their discs, each away from the nearest other disc."""
    for place, (x, y) in enumerate(discs.tolist()):
        away = discs[place] - np.delete(discs, place, axis=0)
        nearest = away[np.argmin(np.hypot(*away.T))] if len(away) else np.zeros(2)
        length = float(np.hypot(*nearest))
        right, up = _OFF * nearest / length if length > 0.0 else (0.7 * _OFF, 0.7 * _OFF)
        axes.annotate(
            str(place + 1),
            (x, y),
            xytext=(right, up),
            textcoords="offset points",
            ha="center",
            va="center",
            fontsize=8,
            weight="bold",
            color=INK,
            path_effects=HALO,
            zorder=6,
        )


def _axes(figure: Figure, place: tuple[float, float, float, float]) -> Axes:
    """Axes at left, bottom, width, height, all in millimetres."""
    width, height = figure.get_size_inches() / MM
    left, bottom, wide, high = place
    return figure.add_axes((left / width, bottom / height, wide / width, high / height))


def _write(figure: Figure, x: float, y: float, text: str) -> None:
    width, height = figure.get_size_inches() / MM
    figure.text(x / width, y / height, text, fontsize=6.5, color=INK, parse_math=False)
