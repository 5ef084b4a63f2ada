"""A grid as lines of a terminal: columns side by side, or a row a paragraph where they are not."""

from collections.abc import Iterator, Sequence
from itertools import chain, zip_longest
from typing import NamedTuple

from stopgap.reports.cells import Line, Run, Word, fold, line_width, text_width

_LEGIBLE = 16  # cells; a column of text narrower than this does not fold inside its words
_GAP: Run = (" ", "")
_INDENT: Run = ("  ", "")

Text = list[Word]
Cell = Sequence[Text]


class Table(NamedTuple):
    """Titles, and rows of cells; a cell is one paragraph and its remarks, a number one word."""

    titles: Sequence[Text]
    numbers: Sequence[bool]
    rows: Sequence[Sequence[Cell]]


class Demand(NamedTuple):
    """Cells that a column takes: on one line, folded at words only, and at the very least."""

    natural: int
    words: int
    least: int


def table_lines(table: Table, width: int) -> Iterator[Line]:
    """Lines of at most `width` cells; only a single character can be wider."""
    if not table.titles:
        return
    room = width - len(_GAP[0]) * (len(table.titles) - 1)
    widths = share(_demands(table), room)
    if widths is None:
        yield from _paragraphs(table, width)
        return
    if any(table.titles):
        yield from _beside(_at_foot(table.titles, widths), table, widths)
    for row in table.rows:
        yield from _beside(list(map(_folded, row, widths)), table, widths)


def share(demands: Sequence[Demand], room: int) -> list[int] | None:
    """Widths that add up to at most `room`, or None where there are none.

    The widest columns give up width first, down to one level for all, but only where that is not
    enough does one become narrower than its longest word.

    >>> share([Demand(30, 9, 8), Demand(4, 4, 4), Demand(20, 9, 8)], 40)
    [18, 4, 18]
    """
    natural, words, least = zip(*demands, strict=True)
    if sum(words) <= room:
        return _levelled(words, natural, room)
    return _levelled(least, words, room) if sum(least) <= room else None


def _levelled(least: Sequence[int], most: Sequence[int], room: int) -> list[int]:
    """Widths between `least`, which fits, and `most`, as equal as can be, that use the room."""

    def held(level: int) -> list[int]:
        return [min(high, max(low, level)) for low, high in zip(least, most, strict=True)]

    level = next(level for level in range(max(most), -1, -1) if sum(held(level)) <= room)
    widths, wider = held(level), held(level + 1)
    for place, width in enumerate(wider):
        if sum(widths) < room:
            widths[place] = width
    return widths


def _demands(table: Table) -> list[Demand]:
    columns = zip(*([[title] for title in table.titles], *table.rows), strict=True)
    return [
        _demand(list(chain.from_iterable(cells)), number)
        for cells, number in zip(columns, table.numbers, strict=True)
    ]


def _demand(texts: Sequence[Text], number: bool) -> Demand:
    natural = max(map(text_width, texts))
    longest = max((word.width for text in texts for word in text), default=0)
    return Demand(natural, longest, longest if number else min(longest, _LEGIBLE))


def _folded(cell: Cell, width: int) -> list[Line]:
    return [line for text in cell for line in fold(text, width)]


def _at_foot(titles: Sequence[Text], widths: Sequence[int]) -> list[list[Line]]:
    """Titles folded, each with empty lines above it so that they end on one line."""
    folded = list(map(fold, titles, widths))
    height = max(map(len, folded))
    return [[[] for _ in range(height - len(title))] + title for title in folded]


def _beside(cells: Sequence[list[Line]], table: Table, widths: Sequence[int]) -> Iterator[Line]:
    """The lines of cells next to each other, numbers to the right."""
    for parts in zip_longest(*cells, fillvalue=[]):
        line: Line = []
        for part, width, number in zip(parts, widths, table.numbers, strict=True):
            padding = (" " * (width - line_width(part)), "")
            line += [padding, *part, _GAP] if number else [*part, padding, _GAP]
        yield line[:-1]


def _paragraphs(table: Table, width: int) -> Iterator[Line]:
    """The titles and every row as running text, set in but for its first line."""
    within = max(1, width - len(_INDENT[0]))
    untitled: list[Text] = [[] for _ in table.titles]
    titles = [[title] for title in table.titles]
    for row, names in ((titles, untitled), *((row, table.titles) for row in table.rows)):
        text: Text = []
        remarks: list[Text] = []
        for (first, *others), name, number in zip(row, names, table.numbers, strict=True):
            remarks += others
            if first:
                opening, *rest = _named(name, first, within) if number else first
                text += [opening._replace(space=_INDENT if text else ("", "")), *rest]
        yield from _indented([text, *remarks], within)


def _indented(texts: Sequence[Text], width: int) -> Iterator[Line]:
    indent: Line = []
    for text in texts:
        for line in fold(text, width):
            yield [*indent, *line]
            indent = [_INDENT]


def _named(title: Text, number: Text, width: int) -> Text:
    """A number behind its title, from whose last word it does not part where both fit."""
    if not title:
        return number
    *before, last = title
    joined = Word((*last.runs, _GAP, *number[0].runs), last.space)
    apart = [last, number[0]._replace(space=_GAP)]
    return [*before, *([joined] if joined.width <= width else apart), *number[1:]]
