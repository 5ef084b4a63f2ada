"""A page drawn in millimetres from its upper left corner, by matplotlib's renderers without axes.

Axes look after scales, ticks and limits, and an artist for each mark asks for all of them and
measures its text again: on a page full of boxes and words that takes longer than to draw it.
"""

from typing import Literal, NamedTuple, cast

import numpy as np
from matplotlib.artist import Artist
from matplotlib.backend_bases import RendererBase
from matplotlib.colors import to_rgba
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties
from matplotlib.path import Path
from matplotlib.text import Text
from matplotlib.transforms import Affine2D

from stopgap.arrays import FloatsLike
from stopgap.reports.drawing.drawing import MM

Side = Literal["left", "center", "right"]


_MIDDLE = (1556 - 492) / 2048 / 2
"""How far below its middle a line stands, of its size: half of what DejaVu Sans has above its foot
less what it has below."""


class Words(NamedTuple):
    """A line of text: which side of it stands at `x` [mm], and its foot or `middle` at `y` [mm]."""

    x: float
    y: float
    text: str
    size: float = 8.0  # points
    bold: bool = False
    colour: str = "black"
    side: Side = "left"
    middle: bool = False


class Look(NamedTuple):
    """What a path is filled with, and its line [pt]; dashes and gaps in widths of the line."""

    fill: str | None = None
    edge: str | None = None
    line: float = 0.0
    dashes: tuple[float, ...] = ()


class DrawnSheet(Artist):
    """Shapes in the order in which they were put there, and words over all of them.

    `width` and `height` are those of the page [mm].
    """

    def __init__(self, width: float, height: float) -> None:
        super().__init__()
        self.width, self.height = width, height
        self.shapes: list[tuple[Path, Look]] = []
        self.words: list[Words] = []

    def page(self) -> Figure:
        """A page with nothing else."""
        figure = Figure(figsize=(self.width * MM, self.height * MM))
        figure.add_artist(self)
        return figure

    def line(self, corners: FloatsLike, look: Look) -> None:
        """A line through corners (n, 2)."""
        self.shapes.append((Path(np.asarray(corners)), look))

    def rectangle(self, x: float, y: float, width: float, height: float, look: Look) -> None:
        """A rectangle by its upper left corner."""
        right, foot = x + width, y + height
        self.rings(np.array([[(x, y), (right, y), (right, foot), (x, foot)]]), look)

    def rings(self, corners: FloatsLike, look: Look) -> None:
        """Closed lines (n, m, 2) of m corners each, as one path."""
        rings = np.asarray(corners)
        closed = np.concatenate([rings, rings[:, :1]], axis=1)
        codes = [Path.MOVETO, *[Path.LINETO] * (rings.shape[1] - 1), Path.CLOSEPOLY]
        self.shapes.append((Path(closed.reshape(-1, 2), codes * len(rings)), look))

    def write(self, words: Words) -> None:
        """Text, never taken for a formula."""
        if words.text:
            self.words.append(words)

    def draw(self, renderer: RendererBase) -> None:
        """Draw the page, as matplotlib asks for it."""
        scale = 72.0 * MM * _pixels_of_point(renderer)
        high = self.height * scale
        onto = Affine2D(np.array([[scale, 0.0, 0.0], [0.0, -scale, high], [0.0, 0.0, 1.0]]))
        for path, look in self.shapes:
            self._draw_shape(renderer, path, look, onto)
        pen = _Pen(renderer)
        for words in self.words:
            pen.write(words, words.x * scale, high - words.y * scale)
        self.stale = False

    @staticmethod
    def _draw_shape(renderer: RendererBase, path: Path, look: Look, onto: Affine2D) -> None:
        context = renderer.new_gc()
        context.set_foreground(look.edge or "black")
        context.set_linewidth(look.line)
        context.set_capstyle("butt")
        context.set_joinstyle("miter")
        if look.dashes:
            context.set_dashes(0.0, [look.line * dash for dash in look.dashes])
        renderer.draw_path(context, path, onto, to_rgba(look.fill) if look.fill else None)
        context.restore()


def _pixels_of_point(renderer: RendererBase) -> float:
    return cast("float", renderer.points_to_pixels(1.0))


class _Pen:
    """What writes with a renderer; a text is measured once, and only where it must be."""

    def __init__(self, renderer: RendererBase) -> None:
        self._renderer = renderer
        self._flip = renderer.get_canvas_width_height()[1] if renderer.flipy() else None
        self._text = Text()  # tells an SVG which side stands where
        self._fonts: dict[tuple[float, bool], FontProperties] = {}
        self._widths: dict[tuple[str, float, bool], float] = {}

    def write(self, words: Words, x: float, y: float) -> None:
        """Words at a place in pixels, from below."""
        look = words.size, words.bold
        if look not in self._fonts:
            weight = "bold" if words.bold else "normal"
            self._fonts[look] = FontProperties(size=words.size, weight=weight)
        font = self._fonts[look]
        self._text.set_position((x, y))
        self._text.set_horizontalalignment(words.side)
        if words.side != "left":
            x -= self._width(words, font) / (2.0 if words.side == "center" else 1.0)
        if words.middle:
            y -= _MIDDLE * words.size * _pixels_of_point(self._renderer)
        context = self._renderer.new_gc()
        context.set_foreground(words.colour)
        top = y if self._flip is None else self._flip - y
        self._renderer.draw_text(context, x, top, words.text, font, 0.0, mtext=self._text)
        context.restore()

    def _width(self, words: Words, font: FontProperties) -> float:
        key = words.text, words.size, words.bold
        if key not in self._widths:
            extent = self._renderer.get_text_width_height_descent(words.text, font, ismath=False)
            self._widths[key] = extent[0]
        return self._widths[key]
