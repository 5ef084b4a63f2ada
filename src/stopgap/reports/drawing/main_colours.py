"""A picture beside its main colours, each as high as the share of the area that it stands for."""

from itertools import accumulate, pairwise

import numpy as np
import numpy.typing as npt
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from stopgap.colorimetry import lab_to_hexes
from stopgap.reports.answers.palette import main_colour_name, share_words
from stopgap.reports.drawing.drawing import MM, Drawing, Measure, drawing_style, fonts_for
from stopgap.reports.drawing.plots import GROUND
from stopgap.reports.text import harmless, unstacked
from stopgap.scanning import MainColour, MainColours

_PICTURE, _STRIP, _WORDS, _MARGIN = 120.0, 12.0, 62.0, 12.0
"""Millimetres: the longest side of the picture, width of the strip, room for words, margins; the
ground round the strip is as wide as the strip."""

_LINE = 5.4  # from one line of words to the next
_SIZE = 7.5
_INK, _SOFT, _RULE = "#1a1a1a", "#5a5a5a", "#8a8a8a"


def palette_picture(thumbnail: npt.NDArray[np.uint8], found: MainColours) -> Drawing:
    """The picture (height, width, 3), and a strip of its colours with their names and areas.

    Words that would meet stand apart, with a line to their colour. Lost accents stand below.
    """
    high, wide = thumbnail.shape[:2]
    scale = _PICTURE / max(high, wide)
    lost = bool(found.lost) * (len(found.lost) + 1.5) * _LINE
    height = max(high * scale, len(found.colours) * _LINE + lost + 4.0)
    strip = height - lost - (2.0 if lost else 0.0)
    width = wide * scale + 4.0 + 3 * _STRIP + _WORDS
    texts = [_words(colour) for colour in (*found.colours, *found.lost)]
    fonts, unshown = fonts_for(texts)
    with drawing_style(fonts):
        size = (width + 2 * _MARGIN, height + 2 * _MARGIN)
        figure = Figure(figsize=(size[0] * MM, size[1] * MM))
        axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
        axes.set_axis_off()
        right, bottom = _MARGIN + wide * scale, _MARGIN + high * scale
        extent = (_MARGIN, right, bottom, _MARGIN)
        axes.imshow(thumbnail, extent=extent, interpolation="antialiased")
        axes.set_xlim(0.0, size[0])
        axes.set_ylim(size[1], 0.0)
        axes.set_aspect("auto")
        left = right + 4.0 + _STRIP
        ground = (left - _STRIP, 0.0), 3 * _STRIP, size[1]
        axes.add_patch(Rectangle(*ground, facecolor=GROUND, lw=0))
        _draw_strip(axes, left, _MARGIN + strip, found.colours)
        if found.lost:
            _draw_lost(axes, left, _MARGIN + strip + 2.0 + _LINE, found.lost)
    return Drawing((figure,), fonts, unshown)


def _draw_strip(axes: Axes, left: float, bottom: float, colours: tuple[MainColour, ...]) -> None:
    ends = list(accumulate((colour.share for colour in colours), initial=0.0))
    tops = [_MARGIN + (bottom - _MARGIN) * end / ends[-1] for end in ends]
    middles = [(top + end) / 2.0 for top, end in pairwise(tops)]
    edge, text = left + 2 * _STRIP, left + 2 * _STRIP + 5.0
    lines = _apart(middles, bottom)
    for colour, ink, top, middle, line in zip(
        colours, _hexes(colours), tops[:-1], middles, lines, strict=True
    ):
        # to the end of the strip: edges that only meet let the ground through
        axes.add_patch(Rectangle((left, top), _STRIP, bottom - top, facecolor=ink, lw=0))
        lead = [edge + 0.5, edge + 1.5, text - 1.5, text - 0.5]
        axes.plot(lead, [middle, middle, line, line], color=_RULE, linewidth=0.4)
        _write(axes, text, line, colour)


def _draw_lost(axes: Axes, left: float, y: float, lost: tuple[MainColour, ...]) -> None:
    said = "Lost: far from all of these"
    at = left + 2 * _STRIP + 5.0
    axes.text(at, y, said, fontsize=_SIZE, weight="bold", va="center", color=_INK)
    for colour, ink in zip(lost, _hexes(lost), strict=True):
        y += _LINE
        axes.add_patch(Rectangle((left, y - 2.0), _STRIP, 4.0, facecolor=ink, lw=0))
        _write(axes, left + 2 * _STRIP + 5.0, y, colour)


def _hexes(colours: tuple[MainColour, ...]) -> list[str]:
    return lab_to_hexes([colour.lab for colour in colours])


def _words(colour: MainColour) -> str:
    name = main_colour_name(colour)
    called = f"{colour.swatch.code} {name}" if colour.swatch else name
    return unstacked(harmless(called))


def _write(axes: Axes, x: float, y: float, colour: MainColour) -> None:
    share = share_words(colour)
    axes.text(x + 9.5, y, share, fontsize=_SIZE, ha="right", va="center", color=_SOFT)
    room = _WORDS - 5.0 - 11.0
    axes.text(
        x + 11.0,
        y,
        Measure(_SIZE).cut(_words(colour), room),
        fontsize=_SIZE,
        va="center",
        color=_INK,
        parse_math=False,
    )


def _apart(middles: list[float], bottom: float) -> list[float]:
    """Places of lines near the middles, in order, a line apart and not below the bottom."""
    lines: list[float] = []
    for middle in middles:
        lines.append(max(middle, lines[-1] + _LINE if lines else _MARGIN + _LINE / 2.0))
    last = bottom - _LINE / 2.0
    for place in reversed(range(len(lines))):
        lines[place] = min(lines[place], last)
        last = lines[place] - _LINE
    return lines
