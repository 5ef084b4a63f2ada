"""A blend as a strip: chips that touch, codes below them, steps below where they meet.

References
----------
The palette of 256 colours is xterm's, as rich has it: 16 colours that each user chooses, a cube of
six levels, a scale of 24 greys.
"""

from collections.abc import Collection, Iterator, Mapping, Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from rich.cells import cell_len
from rich.color import Color
from rich.console import Console, ConsoleOptions, RenderResult
from rich.containers import Lines
from rich.measure import Measurement
from rich.segment import Segment
from rich.style import Style
from rich.text import Text

from stopgap.arrays import Floats
from stopgap.colorimetry import lab_to_srgb, srgb_to_lab
from stopgap.reports.blocks import ColourMap, Lab, MapCell, Strip
from stopgap.reports.text import harmless, unstacked

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


CHIP, NARROW = 3, 1  # cells of a colour beside text, and of one among many
_LEAST = 6  # cells of a chip in a strip
_MOST = 20  # cells; a longer word of a label folds
_WHOLE = 14  # cells; a label up to `lab(52 40 -30)` stays on one line, a longer one takes several
_LEAD = 5  # cells of a chip that is shown again where the strip goes on below
_BEHIND = 4  # cells that a mark may stand out over the last chip
_PLAIN, _BOLD, _DIM = Style(), Style(bold=True), Style(dim=True)


class Place(NamedTuple):
    """One colour of a strip; `step` leads to it from the one before, None to the first."""

    label: str
    step: Text | None
    width: int
    ink: Style | None
    rated: str = ""


class TouchingStrip:
    """A strip for a console; without `inks`, labels with the steps between them."""

    def __init__(self, strip: Strip, inks: Mapping[Lab, Style] | None) -> None:
        self.strip = strip
        self.inks = inks

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        """The lines of the strip."""
        labels = [unstacked(harmless(chip.label)) for chip in self.strip.chips]
        rated = [chip.rated for chip in self.strip.chips]
        marks = [_mark(step, self.strip) for step in self.strip.steps]
        if self.inks is None:
            told = [
                f"{one} ({how})" if how else one for one, how in zip(labels, rated, strict=True)
            ]
            yield from _as_text(told, marks, options.max_width)
            return
        inks = [self.inks[lab] for chip in self.strip.chips for lab in chip.labs[-1:]]
        places = [
            Place(*each)
            for each in zip(
                labels,
                [None, *marks],
                _widths(labels, rated, marks, options.max_width),
                inks,
                rated,
                strict=True,
            )
        ]
        for row in _rows(places, options.max_width):
            yield from _row_lines(row, console)


def _mark(step: float, strip: Strip) -> Text:
    """A step, `╳ 14.7 ╳` where the blend breaks; without figures a dash, `╳` where it breaks."""
    if not strip.figures:
        return Text("╳", _BOLD) if step > strip.limit else Text("–", _DIM)
    return Text(f"╳ {step:.1f} ╳", _BOLD) if step > strip.limit else Text(f"{step:.1f}", _DIM)


def _as_text(labels: Sequence[str], marks: Sequence[Text], width: int) -> Iterator[Text]:
    """Labels and steps in turn, none broken that fits on a line."""
    parts = [Text(labels[0])]
    for mark, label in zip(marks, labels[1:], strict=True):
        parts += [mark, Text(label)]
    line = Text()
    for part in parts:
        if line and line.cell_len + 1 + part.cell_len > width:
            yield line
            line = Text()
        line = Text.assemble(line, " " if line else "", part, overflow="fold")
    yield line


def _widths(
    labels: Sequence[str], rated: Sequence[str], marks: Sequence[Text], page: int
) -> list[int]:
    """Cells of each chip: label, rating and half of each mark beside it stand free below it."""
    most = min(_MOST, page - _LEAD - _BEHIND)
    sides = [0, *(mark.cell_len for mark in marks), 0]
    return [
        min(most, max(_LEAST, *(_label_width(one) + 1 for one in two), (left + right + 1) // 2 + 1))
        for *two, (left, right) in zip(labels, rated, pairwise(sides), strict=True)
    ]


def _label_width(label: str) -> int:
    whole = cell_len(label)
    return whole if whole <= _WHOLE else max(map(cell_len, label.split()), default=0)


def _rows(places: Sequence[Place], page: int) -> Iterator[list[Place]]:
    """Places that fit side by side; a row after the first begins with the chip before it."""
    row: list[Place] = []
    used = 0
    for place in places:
        if row and used + place.width + _BEHIND > page:
            yield row
            row = [row[-1]._replace(label="…", step=None, width=_LEAD, rated="")]
            used = _LEAD
        row.append(place)
        used += place.width
    yield row


def _row_lines(row: Sequence[Place], console: Console) -> Iterator[Segment | Text]:
    for place in row:
        yield Segment(" " * place.width, place.ink)
    yield Segment.line()
    yield from _beside([_folded(place, place.label, console) for place in row], row)
    if any(place.rated for place in row):
        yield from _beside([_folded(place, place.rated, console) for place in row], row)
    if any(place.step for place in row):
        yield _steps(row)


def _folded(place: Place, text: str, console: Console) -> Lines:
    return Text(text, overflow="fold").wrap(console, max(1, place.width - 1))


def _beside(labels: Sequence[Lines], row: Sequence[Place]) -> Iterator[Text]:
    """Labels under their chips."""
    for number in range(max(map(len, labels))):
        line = Text(no_wrap=True)
        for lines, place in zip(labels, row, strict=True):
            part = lines[number] if number < len(lines) else Text()
            line.append_text(part)
            line.append(" " * (place.width - part.cell_len))
        yield line


def _steps(row: Sequence[Place]) -> Text:
    """Each step under the line where two chips meet."""
    line = Text(no_wrap=True)
    edge = 0
    for place in row:
        if place.step is not None:
            start = edge - place.step.cell_len // 2
            line.append(" " * (start - line.cell_len))
            line.append_text(place.step)
        edge += place.width
    return line


_AIR = "  "  # between the parts of a map that stand side by side


class MapOnPage:
    """A map for a console: in each cell both colours, and how far off, or #1 for the worst hole."""

    def __init__(self, shown: ColourMap, inks: Mapping[Lab, Style] | None) -> None:
        self.shown = shown
        self.inks = inks

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        """The parts side by side where they have room, else one below the other."""
        edge = max(map(cell_len, self.shown.labels)) + 1
        wide = edge + len(self.shown.parts) * (4 * len(self.shown.columns) + len(_AIR))
        beside = wide - len(_AIR) <= options.max_width
        parts = self.shown.parts
        for together in [parts] if beside else [[part] for part in parts]:
            across = 4 * len(self.shown.columns)
            for titles in (
                [title for title, _ in together],
                ["".join(f"{column:>4}" for column in self.shown.columns)] * len(together),
            ):
                line = _AIR.join(f"{title:{across}}" for title in titles)
                yield Text(f"{'':{edge}}{line}".rstrip(), no_wrap=True, overflow="crop")
            for place, label in enumerate(self.shown.labels):
                yield Segment(f"{label:{edge}}")
                for number, (_, rows) in enumerate(together):
                    yield Segment(_AIR if number else "")
                    for cell in rows[place]:
                        yield from self._cell(cell)
                yield Segment.line()

    def _cell(self, cell: MapCell | None) -> Iterator[Segment]:
        said = "" if cell is None else f"#{cell.hole}" if cell.hole else cell.off
        if cell is None or self.inks is None:
            yield Segment("  ")
        else:
            yield from (Segment(" ", self.inks[lab]) for lab in cell.labs)
        yield Segment(f"{said:>2}", _BOLD if cell is not None and cell.hole else _PLAIN)
