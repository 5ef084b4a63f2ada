"""A report as text for a person, laid out by rich: chips where the terminal can show colours.

A grid is a table of rich, or a row a paragraph where columns have no room side by side.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from io import StringIO
from itertools import chain
from typing import NamedTuple

from rich.align import Align, AlignMethod
from rich.console import Console, ConsoleOptions, Group, RenderableType, RenderResult
from rich.padding import Padding
from rich.segment import Segment
from rich.style import Style
from rich.table import Table
from rich.text import Text

from stopgap.reports.blocks import (
    Block,
    Chip,
    ColourMap,
    Column,
    Command,
    Grid,
    Heading,
    Lab,
    Paragraph,
    Report,
    Strip,
    Wall,
    WallChip,
)
from stopgap.reports.render.console import Beside, as_text, make_console
from stopgap.reports.render.strips import CHIP, NARROW, MapOnPage, Patch, TouchingStrip, backgrounds

_WIDTH = 80
_BOLD = Style(bold=True)


def render_terminal(report: Report, console: Console | None = None) -> str:
    """The report as text for `console` (80 columns without colour where there is none)."""
    place = console or make_console(StringIO(), width=_WIDTH, environment={})
    blocks = report.shown
    inks = backgrounds(list(_colours(blocks)), place)
    with place.capture() as captured:
        for block in blocks:
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
            case Wall() | ColourMap():
                yield from block.labs
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
        case Wall():
            return GridOnPage(_rows_of(block), inks)
        case ColourMap():
            return MapOnPage(block, inks)


def _rows_of(wall: Wall) -> Grid:
    """A wall as a grid: the colours of a family touch, its codes stand below with their marks."""
    rows: list[list[str | Chip]] = [
        [label, Chip(tuple(chip.lab for chip in chips if chip.lab is not None), narrow=True)]
        for label, chips in wall.rows
    ]
    codes = {
        place: ["  ".join(f"{chip.code}{_mark(chip)} {chip.rated}".rstrip() for chip in chips)]
        for place, (_, chips) in enumerate(wall.rows)
    }
    return Grid((Column("family"), Column("in order")), rows, codes)


def _mark(chip: WallChip) -> str:
    """In a character each: yours, no longer made, a special finish, no colour yet."""
    said = ("▲", chip.owned), ("×", chip.gone), (chip.apart[:1], bool(chip.apart))
    return "".join(mark for mark, so in said if so) + ("?" if chip.lab is None else "")


_LEGIBLE = 16  # cells; a column of text gives up no width below it
_FEW = 6  # cells; nor a column of colours
_TITLE = Style(dim=True)
_INDENT = "  "


def patch(chip: Chip, inks: Mapping[Lab, Style]) -> Patch:
    """The colours of a chip."""
    return Patch([inks[lab] for lab in chip.labs], NARROW if chip.narrow else CHIP)


class GridCell(NamedTuple):
    """Colours, text beside them, and remarks below."""

    text: Text
    colours: Patch | None = None
    remarks: Sequence[Text] = ()

    @property
    def width(self) -> int:
        """Cells that it takes where nothing folds."""
        colours = self.colours.cells + bool(self.text) if self.colours else 0
        return max(colours + self.text.cell_len, *(remark.cell_len for remark in self.remarks), 0)

    @property
    def renderable(self) -> RenderableType:
        """What rich lays out."""
        first: RenderableType = self.text
        if self.colours:
            first = Beside(self.colours.segments, self.text) if self.text else self.colours
        return Group(first, *map(_indented, self.remarks)) if self.remarks else first


class Demand(NamedTuple):
    """Cells that a column takes where nothing folds, and those that it does not give up."""

    width: int
    least: int
    colours: bool = False


class GridOnPage:
    """A grid for a console; columns of bare chips need `inks`."""

    def __init__(self, grid: Grid, inks: Mapping[Lab, Style] | None) -> None:
        columns = zip(*grid.rows, strict=True) if grid.rows else ((),) * len(grid.columns)
        shown = [
            place
            for place, column in enumerate(columns)
            if inks is not None or not _is_bare(column)
        ]
        self.titles = [as_text(grid.columns[place].title, 200, _TITLE) for place in shown]
        self.numbers = [grid.columns[place].number for place in shown]
        self.rows = [
            _row([row[place] for place in shown], grid.remarks.get(number, ()), inks)
            for number, row in enumerate(grid.rows)
        ]

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        """The table, or its rows one after the other."""
        if not self.titles:
            return
        columns = zip(*self.rows, strict=True) if self.rows else ((),) * len(self.titles)
        demands = list(map(_demand, self.titles, self.numbers, columns))
        widths = stated_widths(demands, options.max_width - (len(demands) - 1))
        if widths is None:
            yield from self._paragraphs(console, options.max_width)
        else:
            yield self._table(widths)

    def _table(self, widths: Sequence[int | None]) -> Table:
        """Columns of `widths`; rich shares what room is left among the others."""
        table = Table(
            box=None,
            padding=(0, 1, 0, 0),
            pad_edge=False,
            show_header=any(self.titles),
            header_style=None,
        )
        for title, number, width in zip(self.titles, self.numbers, widths, strict=True):
            side: AlignMethod = "right" if number else "left"
            header = Align(title, side, vertical="bottom")
            table.add_column(header, justify=side, width=width, overflow="fold")
        for row in self.rows:
            table.add_row(*(cell.renderable for cell in row))
        return table

    def _paragraphs(self, console: Console, width: int) -> Iterator[RenderableType]:
        """Titles and every row as running text, set in but for its first line."""
        titles = [title for title in self.titles if title]
        yield from _set_in([Text(_INDENT).join(titles)], console, width)
        for row in self.rows:
            parts = [
                Text.assemble(title, " ", cell.text) if number and title else cell.text
                for title, number, cell in zip(self.titles, self.numbers, row, strict=True)
                if cell.text
            ]
            yield from (cell.colours for cell in row if cell.colours)
            yield from _set_in([Text(_INDENT).join(parts), *row[-1].remarks], console, width)


def stated_widths(demands: Sequence[Demand], room: int) -> list[int | None] | None:
    """Widths of the columns that do not fold, None for each that shares what they leave.

    Text folds before a run of colours does. There are none where even folding is not enough.
    """
    widths = [demand.width for demand in demands]
    text_folds = [demand.width if demand.colours else demand.least for demand in demands]
    all_fold = [demand.least for demand in demands]
    for least in (widths, text_folds, all_fold):
        if sum(least) <= room:
            return [
                None if low < width else width for width, low in zip(widths, least, strict=True)
            ]
    return None


def _demand(title: Text, number: bool, column: Sequence[GridCell]) -> Demand:
    width = max(title.cell_len, *(cell.width for cell in column), 0)
    if number:
        return Demand(width, width)
    colours = bool(column) and not any(cell.text for cell in column)
    return Demand(width, min(width, _FEW if colours else _LEGIBLE), colours)


def _row(
    row: Sequence[str | Chip], remarks: Sequence[str], inks: Mapping[Lab, Style] | None
) -> list[GridCell]:
    """Cells, the last with the remarks below it."""
    cells = [_cell(cell, inks) for cell in row]
    if cells and remarks:
        cells[-1] = cells[-1]._replace(remarks=[as_text(remark, 300) for remark in remarks])
    return cells


def _cell(cell: str | Chip, inks: Mapping[Lab, Style] | None) -> GridCell:
    if isinstance(cell, str):
        return GridCell(as_text(cell, 200))
    return GridCell(as_text(cell.label, 200), patch(cell, inks) if inks else None)


def _indented(text: Text) -> RenderableType:
    """Text whose every line is indented as its first."""
    indent = len(text.plain) - len(text.plain.lstrip(" "))
    return Padding(text[indent:], (0, 0, 0, indent)) if indent else text


def _set_in(texts: Sequence[Text], console: Console, width: int) -> Iterator[Text]:
    within = width - len(_INDENT)
    lines = chain.from_iterable(text.wrap(console, within, overflow="fold") for text in texts)
    for number, line in enumerate(lines):
        yield Text.assemble(_INDENT if number else "", line)


def _is_bare(column: Sequence[str | Chip]) -> bool:
    """There are chips in it and no text."""
    chips = [cell for cell in column if isinstance(cell, Chip)]
    return bool(chips) and not any(
        cell.label if isinstance(cell, Chip) else cell for cell in column
    )
