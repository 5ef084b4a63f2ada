"""The pencils of a box in the planes of CIELAB, and a target with its stand-ins among them."""

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from stopgap.arrays import Floats, FloatsLike
from stopgap.colorimetry import lab_to_hexes
from stopgap.difference import Plane, unit_contour
from stopgap.errors import InputError, NothingFoundError
from stopgap.planner import StandIns
from stopgap.reports.blocks import Figures, plainly, worded
from stopgap.reports.drawing.drawing import MM, Drawing, Measure, drawing_style, fonts_for
from stopgap.reports.drawing.plots import (
    HALO,
    INK,
    draw_legend,
    draw_swatches,
    dress,
    frame_square,
    placed,
)
from stopgap.reports.terms import nearness_words
from stopgap.reports.text import harmless, unstacked
from stopgap.reports.wording import swatch_words, target_facts, target_title
from stopgap.swatches import Swatch

_OFF = 11.0
"""How far numbers stand off the middle of their discs, points."""
_LEAST_SPAN = 6.0
_WIDTH, _HEIGHT, _TITLE = 242.0, 134.0, 129.0
_MAIN, _OTHER = (15.0, 22.0, 98.0, 98.0), (136.0, 22.0, 98.0, 98.0)
_COLUMN = 126.0, 110.0
"""Left edge and width of the column beside the plane, millimetres."""

_CLOSE_UPS = (130.0, 72.0, 46.0, 46.0), (190.0, 72.0, 46.0, 46.0)
_FEW = 5
_CAUTION = worded(Figures("D50, 2° observer. "), "A screen is no colour reference.")


def plane_plot(
    swatches: Sequence[Swatch],
    plane: Plane | str = Plane.AB,
    *,
    answer: StandIns | None = None,
    reach: FloatsLike | None = None,
    figures: bool = True,
) -> Drawing:
    """Swatches in the a*, b* plane and by chroma and lightness, in their own colours.

    The `plane` named comes first. With an `answer`, its target and matches are marked, and shown
    enlarged in both planes instead of the other one, with the ellipse of one ΔE00 round the target:
    at its lightness in the a*, b* plane, at its hue in the other. `reach` (n, 3) are the colours of
    layers, whose outline is drawn as that of the owned pencils is. Without `figures` it is told in
    words, for who does not measure.

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
    other = Plane.LIGHTNESS if plane is Plane.AB else Plane.AB
    title = f"{len(swatches)} pencils, {sum(swatch.owned for swatch in swatches)} owned"
    lines: list[str] = []
    if answer is not None:
        lines = _lines(answer, figures=figures)
        title = unstacked(harmless(f"{target_title(answer.target)} among {title}", 100))
    fonts, unshown = fonts_for([*lines, title])
    with drawing_style(fonts):
        figure = Figure(figsize=(_WIDTH * MM, _HEIGHT * MM))
        _write(figure, _MAIN[0], _TITLE, title, 10.0)
        main = _draw_plane(figure, _MAIN, swatches, plane, reach, figures=figures)
        legend = _axes(figure, (_MAIN[0], 3.0, _MAIN[2], 6.0))
        draw_legend(legend)
        caution = _CAUTION if figures else _CAUTION.plain
        legend.text(0.0, 0.0, caution, fontsize=6.5, color=INK)
        if answer is None:
            _draw_plane(figure, _OTHER, swatches, other, reach, figures=figures)
        else:
            _mark_answer(main, answer, plane)
            for each, place in zip((plane, other), _CLOSE_UPS, strict=True):
                _draw_close_up(_axes(figure, place), swatches, answer, each, figures=figures)
            _write_lines(figure, lines)
    return Drawing((figure,), fonts, unshown)


def _draw_plane(
    figure: Figure,
    place: tuple[float, float, float, float],
    swatches: Sequence[Swatch],
    plane: Plane,
    reach: FloatsLike | None,
    *,
    figures: bool,
) -> Axes:
    """A plane with all pencils, the outline of those owned, and a dashed one of their layers."""
    axes = _axes(figure, place)
    dress(axes, plane, figures=figures)
    draw_swatches(axes, swatches, plane)
    every = placed([swatch.lab for swatch in swatches], plane)
    owned = every[[swatch.owned for swatch in swatches]]
    layered = np.empty((0, 2)) if reach is None else placed(reach, plane)
    _frame_all(axes, np.vstack([every, layered]), plane)
    for xy, line in ((owned, "-"), (layered, (0, (4, 2)))):
        if len(xy) > 2:
            _outline(axes, xy, line)
    return axes


def _lines(answer: StandIns, *, figures: bool) -> list[str]:
    said = [worded("◇  ", target_title(answer.target), ", ", target_facts(answer.target))]
    said += [
        Figures(
            f"{place}  ΔE {match.delta_E:.1f}  {swatch_words(match.swatch)}",
            f"{place}  {swatch_words(match.swatch)}: {nearness_words(match)}",
        )
        for place, match in enumerate(answer.matches, 1)
    ]
    told = said if figures else map(plainly, said)
    return [unstacked(harmless(line, 160)) for line in told]


def _write_lines(figure: Figure, lines: Sequence[str]) -> None:
    measure = Measure(6.5)
    most = 2 if len(lines) <= _FEW + 1 else 1
    y = 58.0
    for row, line in enumerate(lines):
        for part in measure.wrap(line, _COLUMN[1], most if row else 3):
            _write(figure, _COLUMN[0], y, part)
            y -= 2.9
        y -= 0.8


def _frame_all(axes: Axes, xy: Floats, plane: Plane) -> None:
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
        markersize=8,
        markerfacecolor=lab_to_hexes([answer.target.lab])[0],
        markeredgecolor=INK,
        markeredgewidth=1.1,
        path_effects=HALO,
        zorder=5,
    )


def _draw_close_up(
    axes: Axes, swatches: Sequence[Swatch], answer: StandIns, plane: Plane, *, figures: bool
) -> None:
    """The neighbourhood of the target, wide enough for the ellipse and for every match."""
    dress(axes, plane, labels=False, figures=figures)
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
    held = "a*, b*" if plane is Plane.AB else "chroma and lightness"
    words = "by hue" if plane is Plane.AB else "by lightness"
    title = f"{held}; ring: ΔE00 = 1" if figures else f"{words}; in the ring: a hair off"
    axes.set_title(title, fontsize=6.5, color=INK, loc="left", pad=3)


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


def _write(figure: Figure, x: float, y: float, text: str, size: float = 6.5) -> None:
    width, height = figure.get_size_inches() / MM
    figure.text(x / width, y / height, text, fontsize=size, color=INK, parse_math=False)


def _outline(axes: Axes, xy: Floats, line: object) -> None:
    """The convex outline of points (n, 2), by Andrew's monotone chain (1979)."""
    points = sorted(set(map(tuple, xy.tolist())))
    halves: list[list[tuple[float, float]]] = []
    for along in (points, points[::-1]):
        half: list[tuple[float, float]] = []
        for x, y in along:
            while len(half) > 1 and (half[-1][0] - half[-2][0]) * (y - half[-2][1]) <= (
                half[-1][1] - half[-2][1]
            ) * (x - half[-2][0]):
                half.pop()
            half.append((x, y))
        halves.append(half[:-1])
    ring = np.array([*halves[0], *halves[1], halves[0][0]])
    axes.plot(*ring.T, color=INK, linewidth=0.9, linestyle=line, path_effects=HALO, zorder=1.5)
