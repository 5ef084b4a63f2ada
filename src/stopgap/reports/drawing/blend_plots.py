"""Blends as paths through the planes of CIELAB and as steps, their gaps broken and crossed."""

from bisect import bisect_left
from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from stopgap.blends import Blend
from stopgap.colorimetry import lab_to_hexes
from stopgap.difference import Plane
from stopgap.errors import NothingFoundError
from stopgap.reports.blocks import plainly
from stopgap.reports.drawing.drawing import MM, Drawing, Measure, drawing_style, fonts_for
from stopgap.reports.drawing.plots import GROUND, HALO, INK, SOFT, dress, frame_square, placed
from stopgap.reports.text import harmless, unstacked
from stopgap.reports.wording import point_labels

_WIDTH, _ROW, _PANEL = 180.0, 61.0, 40.0
_LEFT = {Plane.AB: 12.0, Plane.LIGHTNESS: 68.0}
_STEPS = (122.0, 54.0)
_CODE_ROOM = 16.0
_BARS = _PANEL - 7.0
_CHIP = 5.0  # mm, at most; as wide the ground on all sides of a strip, and where it breaks
_MARKS = "dotted, crossed, hatched: a gap"


def blend_plot(blends: Sequence[Blend], *, figures: bool = True) -> Drawing:
    """One row a blend: its path in a*, b*, in chroma and lightness, and its steps as bars.

    A step within the limit is a solid line and a plain bar; a gap is a dotted line with a cross
    and a hatched bar. Without `figures` bars are high or low beside the limit, and bear no number.

    Raises
    ------
    NothingFoundError
        If there is no blend.
    """
    if not blends:
        raise NothingFoundError("There is no blend to plot.")
    titles = [_title(blend, figures=figures) for blend in blends]
    texts = [*titles]
    texts += [label for blend in blends for label in _codes(blend, figures=figures)]
    fonts, unshown = fonts_for(_printable(text) for text in texts)
    with drawing_style(fonts):
        height = _ROW * len(blends)
        figure = Figure(figsize=(_WIDTH * MM, height * MM))
        for row, blend in enumerate(blends):
            bottom = height - _ROW * (row + 1)
            _write_title(figure, titles[row], bottom)
            for plane, left in _LEFT.items():
                axes = _axes(figure, left, bottom + 12.0, _PANEL, _PANEL)
                _draw_path(axes, blend, plane, figures=figures)
            left, width = _STEPS
            axes = _axes(figure, left, bottom + 19.0, width, _BARS)
            _draw_steps(axes, blend, figures=figures)
    return Drawing((figure,), fonts, unshown)


def _printable(text: str) -> str:
    return unstacked(harmless(text, 120))


def _title(blend: Blend, *, figures: bool) -> str:
    gaps = len(blend.over_limit)
    found = "no gap" if not gaps else f"{gaps} gap{'s' if gaps > 1 else ''}"
    named = f"{blend.name}: " if blend.name else ""
    if not figures:
        return f"{named}{found if gaps else 'every step melts'}"
    return f"{named}{found}, largest step ΔE00 {blend.largest_step:.1f}, limit {blend.limit:g}"


def _codes(blend: Blend, *, figures: bool) -> list[str]:
    labels = point_labels(blend.points)
    return labels if figures else [*map(plainly, labels)]


def _write_title(figure: Figure, title: str, bottom: float) -> None:
    width, height = figure.get_size_inches() / MM
    text = Measure(8.0, bold=True).cut(_printable(title), _WIDTH - 50.0)
    figure.text(
        2.0 / width,
        (bottom + _ROW - 6.0) / height,
        text,
        fontsize=8,
        weight="bold",
        color=INK,
        parse_math=False,
    )
    y = (bottom + _ROW - 6.0) / height
    figure.text(1.0 - 4.0 / width, y, _MARKS, fontsize=6, ha="right", color=SOFT)


def _draw_path(axes: Axes, blend: Blend, plane: Plane, *, figures: bool) -> None:
    dress(axes, plane, figures=figures)
    lab = np.array([point.lab for point in blend.points])
    xy = placed(lab, plane)
    for place in range(len(blend.steps)):
        gap = place in blend.over_limit
        axes.plot(
            *xy[place : place + 2].T,
            color=INK,
            linewidth=1.2,
            linestyle=":" if gap else "-",
            zorder=2,
        )
    middles = [xy[place : place + 2].mean(axis=0) for place in blend.over_limit]
    if middles:
        x, y = np.array(middles).T
        axes.scatter(
            x,
            y,
            marker="x",
            s=28,
            c=INK,
            linewidths=1.3,
            zorder=4,
            path_effects=HALO,
        )
    for pencils, marker in ((True, "o"), (False, "s")):
        rows = [
            row for row, each in enumerate(blend.points) if (each.swatch is not None) == pencils
        ]
        if not rows:
            continue
        x, y = xy[rows].T
        axes.scatter(
            x,
            y,
            s=42,
            c=lab_to_hexes(lab[rows]),
            marker=marker,
            edgecolors=INK,
            linewidths=0.6,
            zorder=3,
        )
    frame_square(axes, xy, least=8.0, room=1.24)


def _draw_steps(axes: Axes, blend: Blend, *, figures: bool) -> None:
    """Bars above the seams of a strip: high is a large step.

    Across, 1 is the width of a chip.
    """
    lefts, widths = _touching(blend)
    across = max(lefts[-1] + 3.0, _STEPS[1] / _CHIP)
    highest = max(blend.largest_step, blend.limit) * 1.22
    wide = _STEPS[1] / across  # mm
    chip = highest * wide / (_BARS - 3 * wide)  # as high as a chip is wide, in units of the bars
    hexes = lab_to_hexes([point.lab for point in blend.points])
    high = [-chip] * len(hexes)
    axes.bar(lefts, high, widths, -chip, align="edge", color=hexes, linewidth=0, zorder=2)
    seams = [(one + 1.0 + other) / 2.0 for one, other in pairwise(lefts)]
    for place, (seam, step) in enumerate(zip(seams, blend.steps, strict=True)):
        gap = place in blend.over_limit
        axes.bar(
            seam,
            step,
            width=0.5,
            facecolor="#ffffff" if gap else "#c8c8c8",
            edgecolor=INK,
            hatch="xxxx" if gap else "",
            linewidth=0.6,
            zorder=2,
        )
        axes.annotate(
            f"{step:.1f}" if figures else "gap" * gap,
            (seam, step),
            xytext=(0, 1.5),
            textcoords="offset points",
            ha="center",
            weight="bold" if gap else "normal",
            fontsize=6.0 if wide > 0.9 * _CHIP else 4.0,
            color=INK,
            path_effects=HALO,
            zorder=4,
        )
    axes.axhline(blend.limit, color=INK, linewidth=0.8, linestyle="--", zorder=3)
    codes = Measure(6.0)
    labels = [codes.cut(_printable(each), _CODE_ROOM) for each in _codes(blend, figures=figures)]
    middles = [left + 0.5 for left in lefts]
    axes.set_xticks(middles, labels, rotation=90, fontsize=6, parse_math=False)
    axes.set(xlim=(-1.0, across - 1.0), ylim=(-3 * chip, highest), facecolor=GROUND)
    up, names = _axis_names(blend.limit, figures=figures)
    axes.set_yticks([0.0, blend.limit], names)
    axes.tick_params(labelsize=6, width=0.4, length=2, color=SOFT, labelcolor=INK)
    axes.set_ylabel(up, fontsize=7, color=INK)
    for spine in axes.spines.values():
        spine.set_visible(False)


def _axis_names(limit: float, *, figures: bool) -> tuple[str, list[str]]:
    """What goes up, and what nothing and the limit are called."""
    return ("step [ΔE00]", ["0", f"{limit:g}"]) if figures else ("step", ["", "melts"])


def _touching(blend: Blend) -> tuple[list[float], list[float]]:
    """Left ends and widths of chips that touch but at gaps, where there is ground between.

    Each goes on below those after it: edges that only meet let the ground through.
    """
    gaps = sorted(blend.over_limit)
    runs = [bisect_left(gaps, place) for place in range(len(blend.points))]
    lefts = [float(place + run) for place, run in enumerate(runs)]
    ends = {run: left + 1.0 for left, run in zip(lefts, runs, strict=True)}
    return lefts, [ends[run] - left for left, run in zip(lefts, runs, strict=True)]


def _axes(figure: Figure, left: float, bottom: float, wide: float, high: float) -> Axes:
    width, height = figure.get_size_inches() / MM
    return figure.add_axes((left / width, bottom / height, wide / width, high / height))
