"""XLSX (ISO/IEC 29500): which sheet of the workbook is read, and what its cells ask for."""

import posixpath
import string
from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

from stopgap.library.tables.formats.gate import (
    MOST_CELLS,
    MOST_TEXT,
    Attributes,
    Extent,
    Kinds,
    Parts,
    Passed,
    Refused,
    column_letters,
    column_number,
    elements_of,
    packed,
    parse,
)

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

WORKBOOK = "xl/workbook.xml"
_RELATIONS = "xl/_rels/workbook.xml.rels"
_BESIDE = ("xl/sharedstrings.xml", "xl/styles.xml")  # where calamine looks for them, in any case
_START = (
    '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
    '<Relationship Id="a" Type="http://schemas.openxmlformats.org/officeDocument/2006/'
    f'relationships/officeDocument" Target="{WORKBOOK}"/></Relationships>'
)
_MOST_DIGITS = 10  # of a row's number
_UNUSUAL = (b":c", b":f", b't="e"')  # prefixes, errors
_HELD = (b"<v>", b"<is>")  # begin what a cell holds
_BLOCK = 4 * 2**20  # bytes looked through at a time
_BEHIND_NAME = tuple(b" >/\t\n\r")


def select_xlsx(parts: Parts) -> Passed:
    """The first sheet that may be a table, else that holds something; hidden ones come last.

    Raises
    ------
    Refused
        If there is none, or it asks for too much.
    """
    kept = {"_rels/.rels": _START.encode()}
    kept |= {part: parts.read(part) for part in (WORKBOOK, _RELATIONS)}
    related = elements_of(kept[_RELATIONS], "Relationship")
    lengths: list[int] = []
    for part in parts.names - set(kept):
        if part.casefold() in _BESIDE:
            kept[part] = parts.read(part)
            lengths += _text_lengths(kept[part])
    targets = {relation.get("Id", ""): _target(relation) for relation in related}
    sheets = [
        (place, part)
        for place, sheet in _seen_first(elements_of(kept[WORKBOOK], "sheet"))
        if (part := _part_of(sheet, targets)) in parts.names and part not in kept
    ]
    held = _held(parts, sheets)
    read = held[-1] if held[-1].extent.may_be_table else held[0]
    if read.shared * max(lengths, default=0) > MOST_TEXT:
        read.extent.text = _shared_text(read.content, lengths)
    read.extent.check()
    others = sum(parts.may_hold(other, _HELD) for _, other in sheets[held[-1].at + 1 :])
    package = packed({**kept, read.part: read.content})
    return Passed(package, read.place, read.extent, others + len(held) - 1)


def _held(parts: Parts, sheets: Sequence[tuple[int, str]]) -> list["_Read"]:
    """The sheets that hold something, up to the first that may be a table."""
    held = []
    for at, (place, part) in enumerate(sheets):
        content = parts.read(part)
        extent, shared = sheet_extent(content)
        if extent.rows or extent.unsaved:
            held.append(_Read(at, place, part, content, extent, shared))
            if extent.may_be_table:
                break
    if not held:
        raise Refused("none of its sheets holds anything.")
    return held


class _Read(NamedTuple):
    """A sheet that holds something."""

    at: int
    place: int
    part: str
    content: bytes
    extent: Extent
    shared: int


def sheet_extent(content: bytes) -> tuple[Extent, int]:
    """What a sheet asks for, and how many of its cells call for a shared text, at most.

    Empty cells count where nothing is the worse for it.
    """
    extent = _plain_extent(content) if parse(content) else None
    if extent is None or extent.rows * extent.columns > MOST_CELLS:
        return exact_extent(content)
    return extent, content.count(b't="s"')


def _plain_extent(content: bytes) -> Extent | None:
    """The extent of a well-formed sheet as most programs write it, None for any other.

    Each cell begins `<c r="A1"`; none has a formula or an error. In `content` each `<` begins or
    ends an element.
    """
    import numpy as np

    if any(sign in content for sign in _UNUSUAL):
        return None
    if not any(sign in content for sign in _HELD):
        return None
    octets = np.frombuffer(content, np.uint8)
    extent = Extent()
    for start in range(0, len(octets), _BLOCK):
        at = np.flatnonzero(octets[start : start + _BLOCK] == ord("<")) + start
        second, third = (octets.take(at + beside, mode="clip") for beside in (1, 2))
        named = np.isin(third, _BEHIND_NAME)
        cells = (second == ord("c")) & named
        if (second[named] == ord("f")).any() or (third[cells] != ord(" ")).any():
            return None
        last = _last_of(octets, at[cells] + len("<c "))
        if last is None:
            return None
        extent.rows, extent.columns = max(extent.rows, last[0]), max(extent.columns, last[1])
    return extent


def _last_of(octets: "NDArray[np.uint8]", at: "NDArray[np.intp]") -> tuple[int, int] | None:
    """The greatest row and column of references `r="A1"` at these places, None if one is other."""
    import numpy as np

    def octet(place: "NDArray[np.intp]") -> "NDArray[np.uint8]":
        return octets.take(place, mode="clip")

    if any((octet(at + place) != sign).any() for place, sign in enumerate(b'r="')):
        return None
    at = at + len('r="')
    counted = []
    for base, first, least, length in ((26, "A", 1, 3), (10, "0", 0, 7)):
        number, inside = np.zeros(len(at), np.int64), np.ones(len(at), np.bool_)
        for _ in range(length):
            value = octet(at) - np.uint8(ord(first))  # less than nought turns into much
            inside &= value < base
            if not inside.any():
                break
            number[inside] = number[inside] * base + value[inside] + least
            at = at + inside
        counted.append(number)
    columns, rows = counted
    if not (columns.all() and rows.all() and (octet(at) == ord('"')).all()):
        return None
    return int(rows.max(initial=0)), int(columns.max(initial=0))


def exact_extent(content: bytes) -> tuple[Extent, int]:
    """As `sheet_extent`, by the cells that hold something."""
    cells = _Cells()
    parse(content, cells.start)
    cells.settle()
    cells.extent.columns = max(map(column_number, cells.columns), default=0)
    return cells.extent, cells.shared


class _Cells:
    """Follows the elements of a sheet.

    A cell without a reference stands right of the one before it, a row without a number below.
    """

    def __init__(self) -> None:
        self.extent = Extent()
        self.columns: set[str] = set()
        self.shared = 0
        self._kinds = Kinds()
        self._row = 0
        self._reference = self._anchor = ""
        self._beside = 0  # how many cells without a reference stand right of the anchor
        self._waiting = False  # for the result of a formula

    def start(self, name: str, attributes: dict[str, str]) -> None:
        kind = self._kinds[name]
        if kind == "c":
            self._cell(attributes)
        elif kind in ("v", "is"):
            self._waiting = False
            row = self._reference.lstrip(string.ascii_uppercase)
            self.columns.add(self._reference[: len(self._reference) - len(row)])
            self.extent.rows = max(self.extent.rows, _row_number(row))
        elif kind == "row":
            self._row = _row_number(attributes["r"]) if "r" in attributes else self._row + 1
            self._anchor, self._beside = "", 0
        elif kind == "f":
            self._waiting = True

    def _cell(self, attributes: dict[str, str]) -> None:
        self.settle()
        self._reference = attributes.get("r", "")
        if self._reference:
            self._anchor, self._beside = self._reference, 0
        else:
            self._beside += 1
            column = column_number(self._anchor.rstrip(string.digits)) + self._beside
            self._reference = f"{column_letters(column)}{self._row}"
        kind = attributes.get("t")
        self.shared += kind == "s"
        if kind == "e":
            self.extent.failed.append(self._reference)

    def settle(self) -> None:
        """Note a formula that has got no result."""
        if self._waiting:
            self.extent.unsaved.append(self._reference)
        self._waiting = False


def _row_number(digits: str) -> int:
    if not (digits.isascii() and digits.isdigit() and len(digits) <= _MOST_DIGITS):
        raise ValueError(digits)
    return int(digits)


def _seen_first(sheets: Sequence[Attributes]) -> Iterator[tuple[int, Attributes]]:
    """Sheets with their places among all, hidden ones last."""
    yield from sorted(enumerate(sheets), key=lambda each: "idden" in each[1].get("state", ""))


def _part_of(sheet: Attributes, targets: Mapping[str, str]) -> str:
    return targets.get(next((sheet[key] for key in sheet if key.endswith(":id")), ""), "")


def _target(relation: Attributes) -> str:
    """The part that a relation of the workbook leads to."""
    return posixpath.normpath(posixpath.join("/xl", relation.get("Target", "")))[1:]


def _text_lengths(content: bytes) -> list[int]:
    """The length of each shared text, none in another part; stated counts are believed by none."""
    lengths: list[int] = []
    kinds = Kinds()

    def start(name: str, attributes: dict[str, str]) -> None:
        for stated in ("count", "uniqueCount"):
            if not 0 <= int(attributes.get(stated) or 0) <= MOST_CELLS:
                raise Refused(f"a part of it says that it holds {attributes[stated]:.20} items.")
        if kinds[name] == "si":
            lengths.append(0)

    def text(part: str) -> None:
        if lengths:
            lengths[-1] += len(part)

    parse(content, start, text=text)
    return lengths


def _shared_text(content: bytes, lengths: Sequence[int]) -> int:
    """How much text the cells of a sheet call for from the shared ones."""
    total, calls, index = 0, False, ""
    kinds = Kinds()

    def start(name: str, attributes: dict[str, str]) -> None:
        nonlocal calls, index
        if kinds[name] == "c":
            calls = attributes.get("t") == "s"
        index = ""

    def text(part: str) -> None:
        nonlocal index
        index += part

    def end(name: str) -> None:
        nonlocal total
        if calls and kinds[name] == "v" and int(index) < len(lengths):
            total += lengths[int(index)]

    parse(content, start, end, text)
    return total
