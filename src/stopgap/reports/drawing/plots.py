"""Plots: swatches in the planes of CIELAB, told apart by form and never by hue alone; a target."""

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patheffects import withStroke

from stopgap.arrays import Floats, FloatsLike, as_lab
from stopgap.colorimetry import lab_to_hexes
from stopgap.difference import Plane, unit_contour
from stopgap.errors import InputError, NothingFoundError
from stopgap.planner import StandIns
from stopgap.reports.drawing.drawing import MM, Drawing, Measure, drawing_style, fonts_for
from stopgap.reports.text import harmless, unstacked
from stopgap.reports.wording import swatch_words, target_facts, target_title
from stopgap.swatches import Swatch

INK, SOFT = "#1a1a1a", "#5a5a5a"
GROUND = "#767676"
"""Grey of about L* 50 behind the colours, that of every page: between light and dark, no hue."""

HALO = (withStroke(linewidth=2.6, foreground="#ffffff"),)
"""White round a dark mark, so that it is seen on every colour."""

LEGEND = (
    ("o", 0.4, "a pencil, in its own colour"),
    ("o", 1.4, "one you own"),
    ("x", 1.0, "no longer made"),
)
AXES = {
    Plane.AB: ("a*  [CIELAB]   greener – redder", "b*  [CIELAB]   bluer – yellower"),
    Plane.LIGHTNESS: (
        "C*ab  [CIELAB]   greyer – more vivid",
        "L*  [CIELAB]   darker – lighter",
    ),
}


def placed(lab: FloatsLike, plane: Plane) -> Floats:
    """Where colours (n, 3) stand in a plane, (n, 2): a*, b*, or C*ab, L*."""
    L, a, b = np.moveaxis(as_lab(lab), -1, 0)
    return np.stack([a, b] if plane is Plane.AB else [np.hypot(a, b), L], axis=-1)


def dress(axes: Axes, plane: Plane, *, labels: bool = True) -> None:
    """The ground, the grid and the names of the axes with their units."""
    axes.set_facecolor(GROUND)
    axes.grid(color="#ffffff", linewidth=0.4, alpha=0.6)
    axes.set_axisbelow(True)
    axes.tick_params(labelsize=6, width=0.4, length=2, color=SOFT, labelcolor=SOFT)
    for spine in axes.spines.values():
        spine.set_visible(False)
    if plane is Plane.AB:
        for line in (axes.axhline, axes.axvline):
            line(0.0, color="#ffffff", linewidth=0.9, zorder=0.6)
    if labels:
        across, up = AXES[plane]
        axes.set_xlabel(across, fontsize=7, color=INK)
        axes.set_ylabel(up, fontsize=7, color=INK)


def frame_square(axes: Axes, xy: Floats, *, least: float, room: float) -> float:
    """Limits of equal scale round all of `xy` (n, 2), `room` times as wide; half their width."""
    centre = (xy.max(axis=0) + xy.min(axis=0)) / 2.0
    reach = max(least, 0.5 * room * float(np.ptp(xy, axis=0).max()))
    axes.set(
        xlim=(centre[0] - reach, centre[0] + reach), ylim=(centre[1] - reach, centre[1] + reach)
    )
    axes.set_aspect("equal")
    return reach


def draw_swatches(
    axes: Axes, swatches: Sequence[Swatch], plane: Plane, *, size: float = 24.0
) -> None:
    """A disc for each swatch: a strong rim where it is owned, a cross where it is discontinued."""
    if not swatches:
        return
    lab = np.array([swatch.lab for swatch in swatches])
    x, y = placed(lab, plane).T
    axes.scatter(
        x,
        y,
        s=size,
        c=lab_to_hexes(lab),
        edgecolors=[INK if swatch.owned else SOFT for swatch in swatches],
        linewidths=[1.2 if swatch.owned else 0.3 for swatch in swatches],
        zorder=2,
    )
    gone = np.array([swatch.discontinued for swatch in swatches])
    axes.scatter(
        x[gone],
        y[gone],
        s=size * 0.6,
        c=INK,
        marker="x",
        linewidths=0.8,
        zorder=3,
        path_effects=[withStroke(linewidth=1.6, foreground="#ffffff")],
    )


def draw_legend(axes: Axes) -> None:
    """What the marks mean, side by side at the top of axes that are then bare."""
    axes.set_axis_off()
    axes.set(xlim=(0.0, 1.0), ylim=(0.0, 1.0))
    for x, (marker, rim, text) in zip((0.0, 0.42, 0.68), LEGEND, strict=True):
        axes.plot(
            [x + 0.015],
            [1.0],
            marker=marker,
            markersize=4.5,
            color=INK,
            markerfacecolor=GROUND,
            clip_on=False,
            markeredgewidth=rim,
        )
        axes.text(x + 0.045, 1.0, text, fontsize=6.5, va="center", color=INK)


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
    said = [f"◇  {target_title(answer.target)}, {target_facts(answer.target)}"]
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
