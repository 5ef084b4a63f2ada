"""What a report consists of, before anybody decides how it is shown.

A report is built once; RENDERERS turn it into a terminal page, one JSON object or CSV.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import cached_property
from types import MappingProxyType
from typing import Any, NamedTuple

from stopgap.errors import Note
from stopgap.swatches import Lab as Lab


class Figures(str):
    """Text with figures, for people who measure; others are told what stands as `plain`.

    A block or a remark of which nothing is plain is left out, and so is a column so headed.

    >>> Figures("Mean ΔE00 3.1."), Figures("a gap of 14.2", "a gap").plain
    ('Mean ΔE00 3.1.', 'a gap')
    """

    plain: str

    def __new__(cls, text: str, plain: str = "") -> "Figures":
        """The text, and what is told without figures."""
        made = super().__new__(cls, text)
        made.plain = plain
        return made


def worded(*texts: str) -> Figures:
    """Texts one after the other, with figures and plainly.

    >>> worded("after ", Figures("lab(52 40 30), strong red", "strong red")).plain
    'after strong red'
    """
    return Figures("".join(texts), "".join(map(plainly, texts)))


def plainly(text: str) -> str:
    """A text as it is told to somebody who does not measure."""
    return text.plain if isinstance(text, Figures) else text


class Heading(NamedTuple):
    """A line that says what follows; on paper `whole` keeps that on one page where it can."""

    text: str
    whole: bool = False


class Paragraph(NamedTuple):
    """Running text; `mark` stands before it, for instance `!` before a caution."""

    text: str
    mark: str = ""


class Command(NamedTuple):
    """A command that the reader can repeat, never broken into lines."""

    text: str


class Chip(NamedTuple):
    """A patch of colour with what it is called; several colours lie side by side.

    `captions`, one for each colour where there are any, say what each is. `rated` is how lightfast
    a pencil is where the label is but its code: in strips it stands on the line below.
    """

    labs: tuple[Lab, ...]
    label: str = ""
    narrow: bool = False
    captions: tuple[str, ...] = ()
    rated: str = ""


class Column(NamedTuple):
    """A column of a grid; numbers stand to the right."""

    title: str
    number: bool = False


class Grid(NamedTuple):
    """Rows of text cells and chips. `remarks` go below a row, by its place.

    `ticks`, one for each row where there are any, name what may be ticked off: pages have a box.
    """

    columns: Sequence[Column]
    rows: Sequence[Sequence[str | Chip]]
    remarks: Mapping[int, Sequence[str]] = MappingProxyType({})
    ticks: Sequence[str] = ()


class Strip(NamedTuple):
    """A blend: labelled colours in order with the step written between each two.

    A step over `limit` is a gap, and is seen as one without colour too. With `by_lightness`, pages
    hang each colour at its L*, on one scale for all such strips; neighbours touch all the same.
    Without `figures` a step is a mark, that of a gap or a plain one.
    """

    chips: Sequence[Chip]
    steps: Sequence[float]
    limit: float
    by_lightness: bool = False
    figures: bool = True


class WallChip(NamedTuple):
    """A pencil on the wall: its colour, None where nobody knows it, its code, and what it is.

    `apart` is its special finish, empty where it is plain; `address` names it where it is touched;
    `rated` is how lightfast it is.
    """

    lab: Lab | None
    code: str
    words: str
    owned: bool = False
    gone: bool = False
    apart: str = ""
    address: str = ""
    rated: str = ""


class Wall(NamedTuple):
    """All pencils as touching chips, a row a family, in their order."""

    rows: Sequence[tuple[str, Sequence[WallChip]]]

    @property
    def labs(self) -> list[Lab]:
        """Every colour on it."""
        return [chip.lab for _, chips in self.rows for chip in chips if chip.lab is not None]


class MapCell(NamedTuple):
    """A colour of a map beside what comes nearest to it, how far off that is, and all in words, or
    what says them: only some pages show them.

    `hole` is its number among the worst, 0 for none.
    """

    labs: tuple[Lab, Lab]
    off: str
    said: str | Callable[[], str]
    hole: int = 0

    @property
    def words(self) -> str:
        """All of it in words."""
        return self.said if isinstance(self.said, str) else self.said()

    @property
    def told_plainly(self) -> "MapCell":
        """The same without figures."""
        return self._replace(off=plainly(self.off), said=lambda: plainly(self.words))


class ColourMap(NamedTuple):
    """Parts with a title each, side by side: a row for each of `labels`, a column a cell.

    A cell is None where nothing comes near.
    """

    labels: Sequence[str]
    columns: Sequence[str]
    parts: Sequence[tuple[str, Sequence[Sequence[MapCell | None]]]]

    @property
    def labs(self) -> list[Lab]:
        """Every colour on it."""
        cells = (cell for _, rows in self.parts for row in rows for cell in row)
        return [lab for cell in cells if cell is not None for lab in cell.labs]


Block = Heading | Paragraph | Command | Chip | Grid | Strip | Wall | ColourMap


class Later(Sequence[Block]):
    """Blocks that are made when somebody reads them: JSON and CSV do without."""

    def __init__(self, make: Callable[[], Sequence[Block]]) -> None:
        self._make = make

    @cached_property
    def _made(self) -> Sequence[Block]:
        return self._make()

    def __getitem__(self, place: Any) -> Any:
        """One of them, or a slice."""
        return self._made[place]

    def __len__(self) -> int:
        """How many there are."""
        return len(self._made)


class Report(NamedTuple):
    """One answer: `data` for JSON under its schema, rows for CSV, blocks for people.

    `columns` and `rows` are the same facts as `data`, flat; they are empty where the answer has no
    rows. `figures` says that the reader measures: else figures are left out of what is `shown`.
    """

    schema: str
    data: Mapping[str, Any]
    blocks: Sequence[Block]
    columns: Sequence[str] = ()
    rows: Sequence[Sequence[Any]] = ()
    figures: bool = False

    @property
    def shown(self) -> list[Block]:
        """The blocks for people, as they want figures or do not."""
        return list(self.blocks if self.figures else without_figures(self.blocks))


def without_figures(blocks: Iterable[Block]) -> Iterator[Block]:
    """The blocks in words: every `Figures` in them told plainly, or left out."""
    for block in blocks:
        match block:
            case Heading(text) | Paragraph(text):
                if plainly(text) or not isinstance(text, Figures):
                    yield block._replace(text=plainly(text))
            case Chip():
                yield _plain_chip(block)
            case Grid():
                yield _plain_grid(block)
            case Strip(chips):
                yield block._replace(chips=[*map(_plain_chip, chips)], figures=False)
            case ColourMap(labels, columns, parts):
                cells = [
                    (
                        plainly(title),
                        [[cell and cell.told_plainly for cell in row] for row in rows],
                    )
                    for title, rows in parts
                ]
                yield ColourMap([*map(plainly, labels)], [*map(plainly, columns)], cells)
            case _:
                yield block


def _plain_chip(chip: Chip) -> Chip:
    captions = tuple(map(plainly, chip.captions))
    return chip._replace(label=plainly(chip.label), captions=captions)


def _plain_grid(grid: Grid) -> Grid:
    kept = [
        place
        for place, column in enumerate(grid.columns)
        if plainly(column.title) or not isinstance(column.title, Figures)
    ]
    said = {
        place: [plainly(text) for text in texts if plainly(text) or not isinstance(text, Figures)]
        for place, texts in grid.remarks.items()
    }
    return grid._replace(
        columns=[
            grid.columns[place]._replace(title=plainly(grid.columns[place].title)) for place in kept
        ],
        rows=[
            [
                _plain_chip(cell) if isinstance(cell, Chip) else plainly(cell)
                for cell in (row[place] for place in kept)
            ]
            for row in grid.rows
        ],
        remarks=said,
        ticks=[*map(plainly, grid.ticks)],
    )


Say = Callable[[Note], str]
"""Puts a note into words with what would help: the command line's, a page's, or `str`, which leaves
out what would help."""


def remarks(notes: Iterable[Note], say: Say) -> list[Paragraph]:
    """A paragraph for each note that says something."""
    return [Paragraph(text, mark="·") for text in (said(note, say) for note in notes) if text]


def said(note: Note, say: Say) -> str:
    """A note in words, with figures where it has a plainer text."""
    text = say(note)
    return text if note.plain is None else Figures(text, say(note._replace(text=note.plain)))
