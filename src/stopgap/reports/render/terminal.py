"""A report as text for a person: chips where the terminal can show colours."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import NamedTuple

from stopgap.reports.ansi import BOLD, DIM, backgrounds, paint
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
from stopgap.reports.cells import Line, Word, fold, line_width, words
from stopgap.reports.console import Console
from stopgap.reports.grids import Cell, Table, table_lines
from stopgap.reports.text import harmless

_CHIP_WIDTH = 3
_SPACE = (" ", "")


class Page(NamedTuple):
    """How wide lines may be, and how each colour is shown: None where none can be."""

    width: int
    inks: Mapping[Lab, str] | None


def render_terminal(report: Report, console: Console | None = None) -> str:
    """The report as text for `console` (80 columns without colour where there is none)."""
    place = console or Console()
    inks = backgrounds(_colours(report.blocks), place.colours) if place.colours else None
    page = Page(place.width, inks)
    lines = (line for block in report.blocks for line in _lines(block, page))
    return "".join(f"{paint(line, styled=place.styled)}\n" for line in lines)


def _colours(blocks: Iterable[Block]) -> list[Lab]:
    chips: list[Chip] = []
    for block in blocks:
        match block:
            case Chip():
                chips.append(block)
            case Strip():
                chips += block.chips
            case Grid():
                chips += [cell for row in block.rows for cell in row if isinstance(cell, Chip)]
    return [lab for chip in chips for lab in chip.labs]


def _lines(block: Block, page: Page) -> Iterable[Line]:
    match block:
        case Heading(text):
            return fold(words(harmless(text, 200), BOLD), page.width)
        case Command(text):
            return [[(f"  {harmless(text, 1000)}", "")]]
        case Paragraph(text, mark):
            return _hanging([(mark, BOLD)] if mark else [], harmless(text, 2000), page)
        case Chip():
            return _hanging(_patch(block, page), harmless(block.label, 200), page)
        case Strip():
            return fold(list(_strip(block, page)), page.width)
        case Grid():
            return table_lines(_table(block, page), page.width)


def _hanging(mark: Line, text: str, page: Page) -> Iterator[Line]:
    """Text beside its mark, or behind it where that takes half the page."""
    indent = line_width(mark) + 1 if mark else 0
    if indent > page.width // 2:
        yield from fold(_behind([Word(tuple(mark))], text), page.width)
        return
    before: Line = [*mark, _SPACE] if mark else []
    for line in fold(words(text), page.width - indent):
        yield [*before, *line]
        before = [(" " * indent, "")]


def _behind(patches: list[Word], text: str) -> list[Word]:
    """Words after what is not text."""
    said = words(text)
    if patches and said:
        said[0] = said[0]._replace(space=_SPACE)
    return [*patches, *said]


def _strip(strip: Strip, page: Page) -> Iterator[Word]:
    """Chips with steps between, `╳ 14.7 ╳` where the blend breaks."""
    for place, chip in enumerate(strip.chips):
        if place:
            step = strip.steps[place - 1]
            gap = step > strip.limit
            shown = f"╳ {step:.1f} ╳" if gap else f"{step:.1f}"
            yield Word(((shown, BOLD if gap else DIM),), _SPACE)
        label = (harmless(chip.label), "")
        yield Word((*_patch(chip, page), label), _SPACE if place else ("", ""))


def _table(grid: Grid, page: Page) -> Table:
    """The columns that can be shown."""
    shown = [
        place
        for place in range(len(grid.columns))
        if page.inks is not None or not _is_bare([row[place] for row in grid.rows])
    ]
    numbers = [grid.columns[place].number for place in shown]
    titles = [words(harmless(grid.columns[place].title, 200), DIM) for place in shown]
    rows: list[Sequence[Cell]] = []
    for number, row in enumerate(grid.rows):
        cells = [
            [_cell(row[place], page, whole=whole)]
            for place, whole in zip(shown, numbers, strict=True)
        ]
        if cells:
            cells[-1] += [words(harmless(said, 300)) for said in grid.remarks.get(number, ())]
        rows.append(cells)
    return Table(titles, numbers, rows)


def _is_bare(column: Sequence[str | Chip]) -> bool:
    """There are chips in it and no text."""
    chips = [cell for cell in column if isinstance(cell, Chip)]
    return bool(chips) and not any(
        cell.label if isinstance(cell, Chip) else cell for cell in column
    )


def _cell(cell: str | Chip, page: Page, *, whole: bool) -> list[Word]:
    """The words of a cell, one word if it is to stay `whole`."""
    if isinstance(cell, str):
        text = harmless(cell, 200)
        return ([Word(((text, ""),))] if text else []) if whole else words(text)
    patch = _patch(cell, page)
    patches = [Word((run,)) for run in patch] if cell.narrow else [Word(tuple(patch))]
    return _behind(patches if patch else [], harmless(cell.label, 200))


def _patch(chip: Chip, page: Page) -> Line:
    """The colours side by side, nothing where none can be shown."""
    if page.inks is None:
        return []
    width = 1 if chip.narrow else _CHIP_WIDTH
    return [(" " * width, page.inks[lab]) for lab in chip.labs]
