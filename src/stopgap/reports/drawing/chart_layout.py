"""Where everything stands on the pages of a swatch chart, in millimetres from the upper left."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from stopgap.blends import Family, Filed
from stopgap.errors import UsageError

PAPERS: Mapping[str, tuple[float, float]] = MappingProxyType(
    {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
)
"""Width and height in millimetres: ISO 216, ANSI/ASME Y14.1."""

BOX = (34.0, 12.0)
"""Width and height of the box of one pencil."""

COLUMNS = 5
SIDE = 12.0
"""Margin left and right; printers seldom reach the outer 5 mm."""

TOP, HEADER = 12.0, 18.0
BODY_TOP = 42.0
FOOTER = 19.0
"""Height kept free at the foot of the page."""

CODE_LINE, NAME_LINE, FOOT_LINE = 4.2, 2.75, 2.5
_ROW_AIR, _FAMILY_AIR, _HEAD = 2.6, 4.0, 8.5


@dataclass(frozen=True, slots=True)
class Label:
    """A pencil and the text below its box, already fitted to the box's width."""

    filed: Filed
    code: str
    name: tuple[str, ...]
    foot: tuple[str, ...]

    @property
    def height(self) -> float:
        """What the text takes below the box."""
        return CODE_LINE + len(self.name) * NAME_LINE + len(self.foot) * FOOT_LINE


@dataclass(frozen=True, slots=True)
class Cell:
    """A box at (x, y) and its label."""

    x: float
    y: float
    label: Label


@dataclass(frozen=True, slots=True)
class Head:
    """The name of a family above its first row on a page."""

    y: float
    name: str
    continued: bool


@dataclass(frozen=True, slots=True)
class Page:
    """What stands in the body of one page."""

    heads: tuple[Head, ...]
    cells: tuple[Cell, ...]


def paper_size(name: str) -> tuple[float, float]:
    """Width and height [mm] of a paper of PAPERS, whatever its case.

    Raises
    ------
    UsageError
        If no paper has that name.
    """
    for known, size in PAPERS.items():
        if known.casefold() == name.strip().casefold():
            return size
    raise UsageError(f"{name!r} is not one of {', '.join(PAPERS)}.", argument="sheet_size")


def lay_out(
    families: Sequence[tuple[Family, Sequence[Label]]], size: tuple[float, float]
) -> tuple[Page, ...]:
    """The pages: families one below the other, each row by row from light to dark.

    A family's name is never parted from its first row; it is repeated where the family goes on
    over the page.
    """
    width, height = size
    bottom = height - FOOTER
    pitch = BOX[0] + (width - 2 * SIDE - COLUMNS * BOX[0]) / (COLUMNS - 1)
    pages: list[Page] = []
    heads: list[Head] = []
    cells: list[Cell] = []
    y = BODY_TOP
    for family, labels in families:
        for start in range(0, len(labels), COLUMNS):
            row = labels[start : start + COLUMNS]
            needed = row_height(row)
            first = start == 0
            head = _HEAD if first else 0.0
            air = (_FAMILY_AIR if first else _ROW_AIR) if cells else 0.0
            if cells and y + air + head + needed > bottom:
                pages.append(Page(tuple(heads), tuple(cells)))
                heads, cells, y, air = [], [], BODY_TOP, 0.0
            y += air
            if first or not cells:
                heads.append(Head(y, family.name, continued=not first))
                y += _HEAD
            cells += [Cell(SIDE + column * pitch, y, label) for column, label in enumerate(row)]
            y += needed
    return (*pages, Page(tuple(heads), tuple(cells)))


def row_height(row: Sequence[Label]) -> float:
    """Height of a row: the boxes, and the text of the label that has most."""
    return BOX[1] + max(label.height for label in row)
