"""A report as text for a person, laid out by rich: chips where the terminal can show colours."""

from collections.abc import Iterable, Iterator, Mapping
from io import StringIO

from rich.console import Console, RenderableType
from rich.segment import Segment
from rich.style import Style

from stopgap.reports.blocks import (
    Block,
    Chip,
    Command,
    Grid,
    Heading,
    Lab,
    Paragraph,
    Report,
    Strip,
)
from stopgap.reports.render.console import Beside, as_text, make_console
from stopgap.reports.render.grids import GridOnPage, patch
from stopgap.reports.render.strips import TouchingStrip, backgrounds

_WIDTH = 80
_BOLD = Style(bold=True)


def render_terminal(report: Report, console: Console | None = None) -> str:
    """The report as text for `console` (80 columns without colour where there is none)."""
    place = console or make_console(StringIO(), width=_WIDTH, environment={})
    inks = backgrounds(list(_colours(report.blocks)), place)
    with place.capture() as captured:
        for block in report.blocks:
            # a command to copy is one line, however wide
            place.print(_renderable(block, inks), soft_wrap=isinstance(block, Command))
    return "".join(f"{line.rstrip(' ')}\n" for line in captured.get().splitlines())


def _colours(blocks: Iterable[Block]) -> Iterator[Lab]:
    for block in blocks:
        match block:
            case Chip():
                yield from block.labs
            case Strip():
                yield from _colours(block.chips)
            case Grid():
                for row in block.rows:
                    yield from _colours(cell for cell in row if isinstance(cell, Chip))


def _renderable(block: Block, inks: Mapping[Lab, Style] | None) -> RenderableType:
    match block:
        case Heading(text):
            return as_text(text, 200, _BOLD)
        case Command(text):
            return as_text(f"  {text}", 1000)
        case Paragraph(text, mark):
            said = as_text(text, 2000)
            return Beside([Segment(as_text(mark, 10).plain, _BOLD)], said) if mark else said
        case Chip(_, label):
            said = as_text(label, 200)
            return Beside(patch(block, inks).segments, said) if inks is not None else said
        case Strip():
            return TouchingStrip(block, inks)
        case Grid():
            return GridOnPage(block, inks)
