"""A grid as a table of rich, or a row a paragraph where columns have no room side by side."""

from collections.abc import Iterator, Mapping, Sequence
from itertools import chain

from rich.align import Align, AlignMethod
from rich.console import Console, ConsoleOptions, Group, RenderableType, RenderResult
from rich.measure import Measurement
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


def _beside(colours: Patch | None, text: Text) -> RenderableType:
    if colours is None:
        return text
    return hanging(colours, text) if text else colours


def hanging(mark: RenderableType, text: RenderableType) -> Table:
    """Text beside its mark."""
    beside = Table.grid(padding=(0, 1, 0, 0))
    beside.add_column(no_wrap=True)
    beside.add_column(overflow="fold")
    beside.add_row(mark, text)
    return beside


class GridOnPage:
    """A grid for a console; columns of bare chips need `inks`."""

    def __init__(self, grid: Grid, inks: Mapping[Lab, Style] | None) -> None:
        self.inks = inks
        shown = [
            place
            for place in range(len(grid.columns))
            if inks is not None or not _is_bare([row[place] for row in grid.rows])
        ]
        self.titles = [as_text(grid.columns[place].title, 200, _TITLE) for place in shown]
        self.numbers = [grid.columns[place].number for place in shown]
        self.rows = [[self._cell(row[place]) for place in shown] for row in grid.rows]
        self.remarks = {
            place: [as_text(remark, 300) for remark in said] for place, said in grid.remarks.items()
        }

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        """The table, or its rows one after the other."""
        if not self.titles:
            return
        widths = [
            max(Measurement.get(console, options, cell).maximum for cell in column)
            for column in zip(self.titles, *self._whole_rows(), strict=True)
        ]
        fixed = [
            number or width <= _LEGIBLE for number, width in zip(self.numbers, widths, strict=True)
        ]
        least = [width if whole else _LEGIBLE for width, whole in zip(widths, fixed, strict=True)]
        if sum(least) + len(least) - 1 <= options.max_width:
            yield self._table(fixed)
        else:
            yield from self._paragraphs(console, options.max_width - len(_INDENT))

    def _cell(self, cell: str | Chip) -> tuple[Patch | None, Text]:
        if isinstance(cell, str):
            return None, as_text(cell, 200)
        return patch(cell, self.inks) if self.inks else None, as_text(cell.label, 200)

    def _whole_rows(self) -> Iterator[list[RenderableType]]:
        """Rows with their remarks below the last cell."""
        for place, row in enumerate(self.rows):
            *cells, last = [_beside(*cell) for cell in row]
            remarks = self.remarks.get(place, ())
            yield [*cells, Group(last, *map(_indented, remarks)) if remarks else last]

    def _table(self, fixed: Sequence[bool]) -> Table:
        table = Table(box=None, padding=(0, 1, 0, 0), pad_edge=False, show_header=any(self.titles))
        for title, number, whole in zip(self.titles, self.numbers, fixed, strict=True):
            side: AlignMethod = "right" if number else "left"
            table.add_column(
                Align(title, side, vertical="bottom"),
                justify=side,
                no_wrap=whole,
                overflow="fold",
            )
        for row in self._whole_rows():
            table.add_row(*row)
        return table

    def _paragraphs(self, console: Console, width: int) -> Iterator[RenderableType]:
        """Titles and every row as running text, set in but for its first line."""
        yield from _set_in(
            [Text("  ").join(title for title in self.titles if title)], console, width
        )
        for place, row in enumerate(self.rows):
            parts = [
                Text.assemble(title, " ", cell) if number and title else cell
                for title, number, (_, cell) in zip(self.titles, self.numbers, row, strict=True)
                if cell
            ]
            said = [Text("  ").join(parts), *self.remarks.get(place, ())]
            yield from _set_in(said, console, width)


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
