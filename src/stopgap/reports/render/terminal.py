"""A report as text for a person, laid out by rich: chips where the terminal can show colours."""

from collections.abc import Iterable, Iterator, Mapping
from io import StringIO

from rich.console import Console, Group, RenderableType
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
from stopgap.reports.render.chips import backgrounds
from stopgap.reports.render.console import make_console
from stopgap.reports.render.grids import GridOnPage, as_text, hanging, patch
from stopgap.reports.render.strips import TouchingStrip

_WIDTH = 80
_BOLD = Style(bold=True)
_MOST_BESIDE = 6  # colours that leave room for text beside them


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
            return hanging(as_text(mark, 10, _BOLD), said) if mark else said
        case Chip(labs, label):
            said = as_text(label, 200)
            if inks is None:
                return said
            colours = patch(block, inks)
            return hanging(colours, said) if len(labs) <= _MOST_BESIDE else Group(colours, said)
        case Strip():
            return TouchingStrip(block, inks)
        case Grid():
            return GridOnPage(block, inks)
