"""Colours as backgrounds of a terminal's cells.

References
----------
The palette of 256 colours is xterm's, as rich has it: 16 colours that each user chooses, a cube of
six levels, a scale of 24 greys.
"""

from collections.abc import Collection, Mapping, Sequence

import numpy as np
from rich.color import Color
from rich.console import Console, ConsoleOptions, RenderResult
from rich.measure import Measurement
from rich.segment import Segment
from rich.style import Style

from stopgap.arrays import Floats
from stopgap.colorimetry import lab_to_srgb, srgb_to_lab
from stopgap.reports.blocks import Lab

_NUMBERS = range(16, 256)  # before them the user's own colours, which nobody knows


def backgrounds(labs: Collection[Lab], console: Console) -> Mapping[Lab, Style] | None:
    """Each colour as a background, None where the console shows fewer than 256 colours."""
    if console.no_color or console.color_system not in ("256", "truecolor"):
        return None
    distinct = list(dict.fromkeys(labs))
    if not distinct:
        return {}
    if console.color_system == "truecolor":
        rgb, _ = lab_to_srgb(distinct)
        colours = [Color.from_rgb(*levels) for levels in np.rint(255.0 * rgb).tolist()]
    else:
        colours = [Color.from_ansi(number) for number in _nearest(np.array(distinct))]
    return {lab: Style(bgcolor=colour) for lab, colour in zip(distinct, colours, strict=True)}


def _nearest(labs: Floats) -> list[int]:
    """The number in the palette of the colour nearest to each of `labs` (n, 3) by CIEDE2000."""
    from stopgap.difference import delta_E

    palette = [Color.from_ansi(number).get_truecolor() for number in _NUMBERS]
    shown = srgb_to_lab(np.array(palette) / 255.0)
    rows = delta_E(labs[:, np.newaxis], shown).argmin(axis=1)
    return [_NUMBERS[row] for row in rows.tolist()]


class Patch:
    """Colours side by side that touch, `width` cells each, in as many lines as they need."""

    def __init__(self, inks: Sequence[Style], width: int) -> None:
        self.inks = inks
        self.width = width

    @property
    def segments(self) -> list[Segment]:
        """The cells of each colour."""
        return [Segment(" " * self.width, ink) for ink in self.inks]

    @property
    def cells(self) -> int:
        """Cells of all colours on one line."""
        return self.width * len(self.inks)

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        """The cells of the colours."""
        a_line = max(1, options.max_width // self.width)
        for start in range(0, len(self.inks), a_line):
            yield from self.segments[start : start + a_line]
            yield Segment.line()

    def __rich_measure__(self, console: Console, options: ConsoleOptions) -> Measurement:
        """From one colour to all on one line."""
        return Measurement(self.width, self.cells)
