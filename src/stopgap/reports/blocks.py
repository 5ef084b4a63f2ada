"""What a report consists of, before anybody decides how it is shown.

A report is built once; RENDERERS turn it into a terminal page, one JSON object or CSV.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

Lab = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Heading:
    """A line that says what follows."""

    text: str


@dataclass(frozen=True, slots=True)
class Paragraph:
    """Running text; `mark` stands before it, for instance `!` before a caution."""

    text: str
    mark: str = ""


@dataclass(frozen=True, slots=True)
class Command:
    """A command that the reader can repeat, never broken into lines."""

    text: str


@dataclass(frozen=True, slots=True)
class Chip:
    """A patch of colour with what it is called; several colours lie side by side.

    `captions`, one for each colour where there are any, say what each is.
    """

    labs: tuple[Lab, ...]
    label: str = ""
    narrow: bool = False
    captions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a grid; numbers stand to the right."""

    title: str
    number: bool = False


@dataclass(frozen=True, slots=True)
class Grid:
    """Rows of text cells and chips. `remarks` go below a row, by its place."""

    columns: Sequence[Column]
    rows: Sequence[Sequence[str | Chip]]
    remarks: Mapping[int, Sequence[str]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Strip:
    """A blend: labelled colours in order with the step written between each two.

    A step over `limit` is a gap, and is seen as one without colour too.
    """

    chips: Sequence[Chip]
    steps: Sequence[float]
    limit: float


Block = Heading | Paragraph | Command | Chip | Grid | Strip


@dataclass(frozen=True, slots=True)
class Report:
    """One answer: `data` for JSON under its schema, rows for CSV, blocks for people.

    `columns` and `rows` are the same facts as `data`, flat; they are empty where the answer has no
    rows.
    """

    schema: str
    data: Mapping[str, Any]
    blocks: Sequence[Block]
    columns: Sequence[str] = ()
    rows: Sequence[Sequence[Any]] = ()
