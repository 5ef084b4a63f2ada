"""Text cells: in a table with their place in the file, marked where they could be mistaken,
and what became of those that were guessed at, repaired or left out.
"""

import re
from collections.abc import Mapping
from enum import StrEnum
from typing import NamedTuple

from stopgap.errors import Remedy


class FindingKind(StrEnum):
    """What became of the cells that a finding is about."""

    GUESS = "guess"
    REPAIR = "repair"
    LEFT_OUT = "left out"
    KEPT = "kept as text"
    """Cells that could not be read, and stay with the pencil as texts."""
    REMARK = "remark"
    """Nothing that could be otherwise; it is told, and nobody is asked."""
    DOUBT = "doubt"
    """Rows that do not land."""


class FoundCell(NamedTuple):
    """One cell: its row as a spreadsheet program counts it, what stands there, what was taken."""

    row: int
    found: str
    taken: str = ""


class Finding(NamedTuple):
    """One cause, told once: `text` is a sentence, `cells` are all the cells that it is about.

    `cause` is the same for the same cause in another file of the range; several have a line each.
    """

    kind: FindingKind
    cause: str
    text: str
    column: str = ""
    cells: tuple[FoundCell, ...] = ()
    means: str = ""
    """What a column is taken for, where that is the finding."""
    remedy: Remedy | None = None

    @property
    def causes(self) -> tuple[str, ...]:
        """Each word and each column is a cause of its own."""
        return tuple(self.cause.split("\n"))


class TextRow(NamedTuple):
    """One row: `number` as a spreadsheet program counts it, the header being row 1 as a rule."""

    number: int
    cells: tuple[str, ...]


class TextTable(NamedTuple):
    """Header cells and rows of one sheet; `details` says how the file was understood.

    `unit` is `factor` or `per cent` where the format says which reflectances are; `paper_row` is
    the number of a row that holds the bare paper; `dates` are cells, by the row's number and the
    place within it, that a workbook holds as dates; `notes` are for the user. A table to be written
    says in `numbers` which headings have numbers below them, and in `chips` the colour of each row.
    `sheet` is the one that was read, and `others` how many more of the file hold something.
    `own` are the file's own headings by place, where the header has the contract's in their stead.
    """

    header: TextRow
    rows: tuple[TextRow, ...]
    details: Mapping[str, str]
    decimal_comma: bool = False
    unit: str | None = None
    paper_row: int | None = None
    notes: tuple[str, ...] = ()
    dates: frozenset[tuple[int, int]] = frozenset()
    numbers: frozenset[str] = frozenset()
    chips: tuple[str, ...] = ()
    own: tuple[str, ...] = ()
    sheet: str = ""
    others: int = 0

    @property
    def unread(self) -> Finding | None:
        """That the file holds other sheets than the one read, None where it does not."""
        if not self.others:
            return None
        more = f"{self.others} more {'sheet holds' if self.others == 1 else 'sheets hold'}"
        return Finding(
            FindingKind.LEFT_OUT,
            "sheets",
            f"Only the sheet {self.sheet!r:.60} was read, and {more} something; save each that you "
            "want as a file of its own",
        )

    @property
    def told(self) -> tuple[str, ...]:
        """What the user should know of the file."""
        return (*self.notes, f"{self.unread.text}.") if self.unread else self.notes


def is_wavelength(title: str) -> bool:
    """Whether a title of the contract's, as `nm400`, names a wavelength."""
    return title.startswith("nm") and title[2:3].isdigit()


# a spreadsheet program could run a text as a formula, a reader could take it for a number with a
# decimal comma, and a heading of the user's own for one that has a meaning
UNSEEN = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069\ud800-\udfff]")
"""Control characters but ends of lines and tabs (C0, DEL, C1), what turns the direction of a line
(UAX #9: embeddings, overrides, isolates), and halves of characters, which no encoding has."""
COMMA_NUMBER = re.compile(r"[-+−]?\d+,\d+")
"""A cell that is a number with a decimal comma."""
_KEPT = re.compile(r"kept(?: \d+)?: (.+)", re.DOTALL)
_STARTS = ("=", "+", "-", "@", "\t", "\r", "'")


def written_out(text: str) -> str:
    r"""`text` with what nobody sees, and what could steer a terminal, as JSON writes it.

    >>> written_out("red\x1b[31m \u202eneerg")
    'red\\u001b[31m \\u202eneerg'
    """
    if text.isprintable():
        return text
    return UNSEEN.sub(lambda found: f"\\u{ord(found[0]):04x}", text)


def guard(text: str) -> str:
    """`text` as a cell that is taken for no formula and no number: an apostrophe before it.

    >>> guard("=HYPERLINK()"), guard("1,5"), guard("Wet Slate")
    ("'=HYPERLINK()", "'1,5", 'Wet Slate')
    """
    return f"'{text}" if _is_mistakable(text) else text


def guard_twice(text: str) -> str:
    """`text` guarded only where `unguard` would take something away: for other formats."""
    return guard(text) if unguard(text) != text else text


def unguard(text: str) -> str:
    """The text that `guard` was given."""
    return text[1:] if text[:1] == "'" and _is_mistakable(text[1:]) else text


def _is_mistakable(text: str) -> bool:
    return text.startswith(_STARTS) or COMMA_NUMBER.fullmatch(text) is not None


def kept(title: str, number: int = 1) -> str:
    """A heading under a name of its own, by which no format takes it for one of its fields.

    >>> kept("LAB_L"), kept("lab_l", 2)
    ('kept: LAB_L', 'kept 2: lab_l')
    """
    return f"kept: {title}" if number == 1 else f"kept {number}: {title}"


def unkept(title: str) -> str:
    """The heading that `kept` was given, any other as it is."""
    found = _KEPT.fullmatch(title)
    return found[1] if found else title
