"""An edition: a printed chart whose places never change, so that it can be read back by its marks.

All lengths are millimetres from the upper left of a page. Drawing and reading take the same value,
and the library keeps it as it was printed; what comes later goes to spare boxes or onto a page of
its own.

The marks in the corners are Data Matrix symbols (ISO/IEC 16022, ECC 200) of ten digits, the most
that 12 by 12 modules hold: six for the edition, two for the page, one for the corner, and a check
digit by ISO/IEC 7064:2003, MOD 11,10.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any, NamedTuple, Self

from stopgap.errors import InputError
from stopgap.swatches.fields import Pressure
from stopgap.swatches.measurement import Lab

MARK = 10.0
"""Side of a mark's modules, 12 by 12 of them."""
MARK_FROM_EDGE = 10.0
"""From the edge of the page to a mark; a page lies askew on the glass, and at 5 marks are lost."""
MARK_QUIET = 2.0
"""White around a mark, more than the two modules that a reader likes."""
MOST_PAGES = 99


class Rectangle(NamedTuple):
    """A place on a page [mm]; x and y are of its upper left corner."""

    x: float
    y: float
    width: float
    height: float

    def inset(self, by: float) -> "Rectangle":
        """The rectangle less a border."""
        return Rectangle(self.x + by, self.y + by, self.width - 2.0 * by, self.height - 2.0 * by)

    def meets(self, other: "Rectangle") -> bool:
        """Whether the two have a part in common."""
        return (
            abs(2.0 * (self.x - other.x) + self.width - other.width) < self.width + other.width
            and abs(2.0 * (self.y - other.y) + self.height - other.height)
            < self.height + other.height
        )

    @property
    def corners(self) -> tuple[tuple[float, float], ...]:
        """Upper left, upper right, lower right, lower left."""
        right, bottom = self.x + self.width, self.y + self.height
        return ((self.x, self.y), (right, self.y), (right, bottom), (self.x, bottom))


class LaidField(NamedTuple):
    """A part of a box to be laid evenly, and how hard each of the box's pencils is pressed."""

    place: Rectangle
    pressures: tuple[Pressure, ...] = (Pressure.HEAVY,)


@dataclass(frozen=True, slots=True)
class Box:
    """A box to colour in: its outline and its even fields; the rest of it, the tail, is not read.

    `pencils` are addresses (`RANGE:CODE`), first layer first: none in a spare box, two in a box of
    layers. An `anchor` is there for the sake of a colour that is known otherwise.
    """

    outline: Rectangle
    fields: tuple[LaidField, ...]
    pencils: tuple[str, ...] = ()
    anchor: bool = False

    @property
    def spare(self) -> bool:
        """Whether no pencil has the box yet."""
        return not self.pencils


class LaidLayers(NamedTuple):
    """What a box of several pencils looks like: their addresses and pressures, first layer first.

    `lab` is L*, a*, b* under D50 for the 2 degree observer.
    """

    pencils: tuple[str, ...]
    pressures: tuple[str, ...]
    lab: Lab


class TargetPatch(NamedTuple):
    """A patch of known colour in the picture of a page: where it lies, or the box that it is.

    `cell` is row and column of a box, counted from 1; `uncertainty` is ΔE00, one sigma.
    """

    page: int
    place: Rectangle | None
    cell: tuple[int, int] | None
    lab: Lab
    uncertainty: float


class BoxHeading(NamedTuple):
    """Words above rows of boxes, with the line's place."""

    y: float
    words: str
    continued: bool = False


@dataclass(frozen=True, slots=True)
class ChartPage:
    """One page: its boxes, the headings, and places where nothing is printed nor to be coloured.

    `section` is that of an arrangement which the page is of.
    """

    number: int
    boxes: tuple[Box, ...]
    blanks: tuple[Rectangle, ...]
    headings: tuple[BoxHeading, ...] = ()
    section: str = ""

    def words_above(self, box: Box) -> str:
        """The heading that a box of the page stands under."""
        above = (heading for heading in self.headings if heading.y <= box.outline.y)
        return max(above, key=lambda heading: heading.y, default=BoxHeading(0.0, "")).words


class Mark(NamedTuple):
    """What a mark says; corners count from 0, upper left, clockwise."""

    edition: str
    page: int
    corner: int

    @property
    def digits(self) -> str:
        """The ten digits, the last of them the check digit."""
        payload = f"{self.edition:0>6}{self.page:02d}{self.corner}"
        return payload + check_digit(payload)

    @classmethod
    def of(cls, digits: str) -> Self | None:
        """What ten digits say; None where they are no mark of a chart."""
        if len(digits) != 10 or not (digits.isascii() and digits.isdigit()):
            return None
        if check_digit(digits[:9]) != digits[9] or digits[8] > "3" or digits[6:8] == "00":
            return None
        return cls(digits[:6], int(digits[6:8]), int(digits[8]))


@dataclass(frozen=True, slots=True)
class Edition:
    """A chart as it was printed: six digits of its own, the size of its pages, and the pages.

    `paper` is the name of the paper that it is coloured in on, empty where nobody said it.
    """

    number: str
    size: tuple[float, float]
    pages: tuple[ChartPage, ...]
    paper: str = ""

    def page(self, number: int) -> ChartPage | None:
        """The page of that number, if there is one."""
        return next((page for page in self.pages if page.number == number), None)

    def boxes(self) -> Iterator[tuple[ChartPage, Box]]:
        """Every box with its page."""
        for page in self.pages:
            for box in page.boxes:
                yield page, box

    def with_spare(self, pencil: str, words: str) -> Self | None:
        """With the first spare box under a heading given to a pencil; None where none is left."""
        for page, box in self.boxes():
            if box.spare and page.words_above(box) == words:
                given = replace(box, pencils=(pencil,))
                boxes = tuple(given if other is box else other for other in page.boxes)
                pages = tuple(
                    replace(page, boxes=boxes) if other is page else other for other in self.pages
                )
                return replace(self, pages=pages)
        return None

    def as_data(self) -> dict[str, Any]:
        """The edition in lists, numbers and texts, for `from_data`."""
        return {
            "number": self.number,
            "size": list(self.size),
            "paper": self.paper,
            "pages": [
                {
                    "number": page.number,
                    "boxes": [_box_data(box) for box in page.boxes],
                    "blanks": [list(place) for place in page.blanks],
                    "headings": [list(heading) for heading in page.headings],
                    "section": page.section,
                }
                for page in self.pages
            ],
        }

    @classmethod
    def from_data(cls, data: Mapping[str, Any]) -> Self:
        """The edition that `as_data` gave.

        Raises
        ------
        InputError
            For anything else.
        """
        try:
            width, height = map(float, data["size"])
            pages = tuple(
                ChartPage(
                    int(page["number"]),
                    tuple(_box_of(box) for box in page["boxes"]),
                    tuple(Rectangle(*place) for place in page["blanks"]),
                    tuple(BoxHeading(*heading) for heading in page["headings"]),
                    str(page.get("section", "")),
                )
                for page in data["pages"]
            )
            return cls(str(data["number"]), (width, height), pages, str(data.get("paper", "")))
        except (KeyError, TypeError, ValueError) as error:
            raise InputError("edition: what is kept of a printed chart is damaged.") from error


def mark_places(size: tuple[float, float]) -> tuple[Rectangle, ...]:
    """Where the four marks of a page of that size stand, by their corner."""
    right, bottom = (length - MARK_FROM_EDGE - MARK for length in size)
    near = MARK_FROM_EDGE
    places = ((near, near), (right, near), (right, bottom), (near, bottom))
    return tuple(Rectangle(x, y, MARK, MARK) for x, y in places)


def check_digit(payload: str) -> str:
    """The check digit of digits by ISO/IEC 7064:2003, MOD 11,10 (section 8, recursive method).

    >>> check_digit("0794")
    '5'
    """
    product = 10
    for digit in payload:
        product = (int(digit) + product) % 10 or 10
        product = product * 2 % 11
    return str((11 - product) % 10)


def _box_data(box: Box) -> dict[str, Any]:
    return {
        "outline": list(box.outline),
        "fields": [[list(field.place), list(field.pressures)] for field in box.fields],
        "pencils": list(box.pencils),
        "anchor": box.anchor,
    }


def _box_of(data: Mapping[str, Any]) -> Box:
    return Box(
        Rectangle(*data["outline"]),
        tuple(
            LaidField(Rectangle(*place), tuple(map(Pressure, pressures)))
            for place, pressures in data["fields"]
        ),
        tuple(map(str, data["pencils"])),
        bool(data["anchor"]),
    )
