"""Swatches in a plane of CIELAB, told apart by form and never by hue alone, and what marks mean."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.patheffects import withStroke

from stopgap.arrays import Floats, FloatsLike, as_lab
from stopgap.colorimetry import lab_to_hexes
from stopgap.difference import Plane
from stopgap.swatches import Swatch

if TYPE_CHECKING:
    from matplotlib.axes import Axes

INK, SOFT = "#1a1a1a", "#5a5a5a"
GROUND = "#767676"
"""Grey of about L* 50 behind the colours, that of every page: between light and dark, no hue."""

HALO = (withStroke(linewidth=2.6, foreground="#ffffff"),)
"""White round a dark mark, so that it is seen on every colour."""

LEGEND = (
    ("o", 0.4, "a pencil, in its own colour"),
    ("o", 1.4, "one you own"),
    ("x", 1.0, "no longer made"),
    ("_", 1.0, "what yours reach; dashed in layers"),
)
AXES = {
    Plane.AB: (("a*", "greener – redder"), ("b*", "bluer – yellower")),
    Plane.LIGHTNESS: (("C*ab", "greyer – more vivid"), ("L*", "darker – lighter")),
}
"""What is across and what goes up: by its letter in CIELAB, and in words."""


def placed(lab: FloatsLike, plane: Plane) -> Floats:
    """Where colours (n, 3) stand in a plane, (n, 2): a*, b*, or C*ab, L*."""
    L, a, b = np.moveaxis(as_lab(lab), -1, 0)
    return np.stack([a, b] if plane is Plane.AB else [np.hypot(a, b), L], axis=-1)


def dress(axes: "Axes", plane: Plane, *, labels: bool = True, figures: bool = True) -> None:
    """The ground, the grid and the names of the axes; with units and numbers for who measures."""
    axes.set_facecolor(GROUND)
    axes.grid(color="#ffffff", linewidth=0.4, alpha=0.35)
    axes.set_axisbelow(True)
    axes.tick_params(labelsize=6, width=0.4, length=2, color=SOFT, labelcolor=SOFT)
    for spine in axes.spines.values():
        spine.set_visible(False)
    if plane is Plane.AB:
        for line in (axes.axhline, axes.axvline):
            line(0.0, color="#ffffff", linewidth=0.9, zorder=0.6)
    if labels:
        across, up = (
            f"{letter}  [CIELAB]   {words}" if figures else words for letter, words in AXES[plane]
        )
        axes.set_xlabel(across, fontsize=7, color=INK)
        axes.set_ylabel(up, fontsize=7, color=INK)
    if not figures:
        axes.tick_params(labelbottom=False, labelleft=False)


def frame_square(axes: "Axes", xy: Floats, *, least: float, room: float) -> float:
    """Limits of equal scale round all of `xy` (n, 2), `room` times as wide; half their width."""
    centre = (xy.max(axis=0) + xy.min(axis=0)) / 2.0
    reach = max(least, 0.5 * room * float(np.ptp(xy, axis=0).max()))
    axes.set(
        xlim=(centre[0] - reach, centre[0] + reach), ylim=(centre[1] - reach, centre[1] + reach)
    )
    axes.set_aspect("equal")
    return reach


def draw_swatches(
    axes: "Axes", swatches: Sequence[Swatch], plane: Plane, *, size: float = 24.0
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
    owned = np.array([swatch.owned for swatch in swatches])
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
    # a white ring round the dark one, which alone is lost on a dark pencil
    wider = (size**0.5 + 2.0) ** 2
    axes.scatter(x[owned], y[owned], s=wider, c="none", edgecolors="#ffffff", linewidths=0.9)


def draw_legend(axes: "Axes") -> None:
    """What the marks mean, side by side at the top of axes that are then bare."""
    axes.set_axis_off()
    axes.set(xlim=(0.0, 1.0), ylim=(0.0, 1.0))
    for x, (marker, rim, text) in zip((0.0, 0.42, 0.68, 1.0), LEGEND, strict=True):
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
