"""A report as text for a person, through rich: chips where the terminal can show colours."""

from collections.abc import Mapping
from io import StringIO
from typing import IO

from rich.console import Console
from rich.style import Style
from rich.table import Table
from rich.text import Text

from stopgap.colorimetry import lab_to_hex
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
from stopgap.reports.text import harmless

_CHIP_WIDTH = 3
_SHOWS_CHIPS = ("truecolor", "256")


def make_console(
    file: IO[str], *, width: int | None = None, environment: Mapping[str, str] | None = None
) -> Console:
    """A console for `file`, which decides for itself what the place it writes to can show."""
    return Console(
        file=file,
        width=width,
        # rich takes a dumb terminal to be 80 wide unless both measures are given
        height=None if width is None else 25,
        highlight=False,
        markup=False,
        emoji=False,
        soft_wrap=False,
        _environ=environment,
    )


def render_terminal(report: Report, console: Console | None = None) -> str:
    """The report as text for `console` (80 columns without colour where there is none)."""
    console = console or make_console(StringIO(), width=80, environment={})
    with console.capture() as capture:
        for block in report.blocks:
            _print(block, console)
    lines = capture.get().splitlines()
    return "".join(line.rstrip() + "\n" for line in lines)


def _print(block: Block, console: Console) -> None:
    match block:
        case Heading(text):
            console.print(Text(harmless(text, 200), style="bold"))
        case Command(text):
            console.print(Text(f"  {harmless(text, 1000)}"), soft_wrap=True)
        case Paragraph(text, mark):
            _print_paragraph(harmless(text, 2000), mark, console)
        case Chip():
            console.print(_chip_line(block, console))
        case Grid():
            console.print(_table(block, console))
        case Strip():
            console.print(_strip(block, console))


def _print_paragraph(text: str, mark: str, console: Console) -> None:
    table = Table.grid(padding=(0, 1))
    if mark:
        table.add_column(no_wrap=True)
    table.add_column(overflow="fold")
    table.add_row(*([Text(mark, style="bold")] if mark else []), Text(text))
    console.print(table)


def _chip_line(chip: Chip, console: Console) -> Text:
    if not _shows_chips(console):
        return Text(harmless(chip.label, 200))
    return Text.assemble(_patch(chip.labs), " ", harmless(chip.label, 200))


def _strip(strip: Strip, console: Console) -> Text:
    """Chips with steps between, `╳ 14.7 ╳` where the blend breaks."""
    line = Text()
    for place, chip in enumerate(strip.chips):
        if place:
            step = strip.steps[place - 1]
            gap = step > strip.limit
            line.append(f" ╳ {step:.1f} ╳ " if gap else f" {step:.1f} ", "bold" if gap else "dim")
        if _shows_chips(console):
            line.append_text(_patch(chip.labs))
        line.append(harmless(chip.label).replace(" ", "\u00a0"))
    return line


def _table(grid: Grid, console: Console) -> Table:
    shown = [
        place
        for place in range(len(grid.columns))
        if _shows_chips(console) or not any(_is_bare_chip(row[place]) for row in grid.rows)
    ]
    table = Table(box=None, padding=(0, 1, 0, 0), pad_edge=False, header_style="dim")
    for place in shown:
        column = grid.columns[place]
        table.add_column(
            column.title,
            justify="right" if column.number else "left",
            no_wrap=column.number,
            overflow="fold",
            vertical="top",
        )
    for number, row in enumerate(grid.rows):
        cells = [_cell(row[place], console) for place in shown]
        for remark in grid.remarks.get(number, ()):
            cells[-1] = Text.assemble(cells[-1], "\n", harmless(remark, 300))
        table.add_row(*cells)
    return table


def _is_bare_chip(cell: str | Chip) -> bool:
    return isinstance(cell, Chip) and not cell.label


def _cell(cell: str | Chip, console: Console) -> Text:
    if isinstance(cell, str):
        return Text(harmless(cell, 200))
    width = 1 if cell.narrow else _CHIP_WIDTH
    return _patch(cell.labs, width) if not cell.label else _chip_line(cell, console)


def _patch(labs: tuple[Lab, ...], width: int = _CHIP_WIDTH) -> Text:
    return Text.assemble(*((" " * width, Style(bgcolor=lab_to_hex(lab))) for lab in labs))


def _shows_chips(console: Console) -> bool:
    return console.color_system in _SHOWS_CHIPS and not console.no_color
