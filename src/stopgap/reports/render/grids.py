"""A grid as a table of rich, or a row a paragraph where columns have no room side by side."""

from collections.abc import Iterator, Mapping, Sequence
from itertools import chain
from typing import NamedTuple

from rich.align import Align, AlignMethod
from rich.console import Console, ConsoleOptions, Group, RenderableType, RenderResult
from rich.padding import Padding
from rich.style import Style
from rich.table import Table
from rich.text import Text

from stopgap.reports.blocks import Chip, Grid, Lab
from stopgap.reports.render.chips import Patch
from stopgap.reports.text import harmless, unstacked

_CHIP, _NARROW = 3, 1  # cells of a colour
_LEGIBLE = 16  # cells; a column gives up no width below it
_TITLE = Style(dim=True)
_INDENT = "  "


def as_text(said: str, longest: int, style: str | Style = "") -> Text:
    """What somebody wrote, made harmless; a word too long for its line folds."""
    return Text(unstacked(harmless(said, longest)), style, overflow="fold")


def patch(chip: Chip, inks: Mapping[Lab, Style]) -> Patch:
    """The colours of a chip."""
    return Patch([inks[lab] for lab in chip.labs], _NARROW if chip.narrow else _CHIP)


def hanging(mark: RenderableType, text: RenderableType) -> Table:
    """Text beside its mark."""
    beside = Table.grid(padding=(0, 1, 0, 0))
    beside.add_column(no_wrap=True)
    beside.add_column(overflow="fold")
    beside.add_row(mark, text)
    return beside


class Cell(NamedTuple):
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
            first = hanging(self.colours, self.text) if self.text else self.colours
        return Group(first, *map(_indented, self.remarks)) if self.remarks else first


class GridOnPage:
    """A grid for a console; columns of bare chips need `inks`."""

    def __init__(self, grid: Grid, inks: Mapping[Lab, Style] | None) -> None:
        shown = [
            place
            for place in range(len(grid.columns))
            if inks is not None or not _is_bare([row[place] for row in grid.rows])
        ]
        self.titles = [as_text(grid.columns[place].title, 200, _TITLE) for place in shown]
        self.numbers = [grid.columns[place].number for place in shown]
        self.rows: list[list[Cell]] = []
        for number, row in enumerate(grid.rows):
            cells = [_cell(row[place], inks) for place in shown]
            if cells and (said := grid.remarks.get(number)):
                cells[-1] = cells[-1]._replace(remarks=[as_text(one, 300) for one in said])
            self.rows.append(cells)

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        """The table, or its rows one after the other."""
        if not self.titles:
            return
        widths = [
            max(title.cell_len, *(row[place].width for row in self.rows), 0)
            for place, title in enumerate(self.titles)
        ]
        room = options.max_width - (len(widths) - 1)
        may_fold = [
            sum(widths) > room and width > _LEGIBLE and not number
            for width, number in zip(widths, self.numbers, strict=True)
        ]
        least = (
            _LEGIBLE if folds else width for folds, width in zip(may_fold, widths, strict=True)
        )
        if sum(least) <= room:
            stated = zip(may_fold, widths, strict=True)
            yield self._table([None if folds else width for folds, width in stated])
        else:
            yield from self._paragraphs(console, options.max_width - len(_INDENT))

    def _table(self, widths: Sequence[int | None]) -> Table:
        """Columns of `widths`; rich shares what room is left among the others."""
        table = Table(box=None, padding=(0, 1, 0, 0), pad_edge=False, show_header=any(self.titles))
        for title, number, width in zip(self.titles, self.numbers, widths, strict=True):
            side: AlignMethod = "right" if number else "left"
            header = Align(title, side, vertical="bottom")
            table.add_column(header, justify=side, width=width, overflow="fold")
        for row in self.rows:
            table.add_row(*(cell.renderable for cell in row))
        return table

    def _paragraphs(self, console: Console, width: int) -> Iterator[Text]:
        """Titles and every row as running text, set in but for its first line."""
        titles = [title for title in self.titles if title]
        yield from _set_in([Text(_INDENT).join(titles)], console, width)
        for row in self.rows:
            parts = [
                Text.assemble(title, " ", cell.text) if number and title else cell.text
                for title, number, cell in zip(self.titles, self.numbers, row, strict=True)
                if cell.text
            ]
            yield from _set_in([Text(_INDENT).join(parts), *row[-1].remarks], console, width)


def _cell(cell: str | Chip, inks: Mapping[Lab, Style] | None) -> Cell:
    if isinstance(cell, str):
        return Cell(as_text(cell, 200))
    return Cell(as_text(cell.label, 200), patch(cell, inks) if inks else None)


def _indented(text: Text) -> RenderableType:
    """Text whose every line is indented as its first."""
    indent = len(text.plain) - len(text.plain.lstrip(" "))
    return Padding(text[indent:], (0, 0, 0, indent)) if indent else text


def _set_in(texts: Sequence[Text], console: Console, width: int) -> Iterator[Text]:
    lines = chain.from_iterable(text.wrap(console, width, overflow="fold") for text in texts)
    for number, line in enumerate(lines):
        yield Text.assemble(_INDENT if number else "", line)


def _is_bare(column: Sequence[str | Chip]) -> bool:
    """There are chips in it and no text."""
    chips = [cell for cell in column if isinstance(cell, Chip)]
    return bool(chips) and not any(
        cell.label if isinstance(cell, Chip) else cell for cell in column
    )
