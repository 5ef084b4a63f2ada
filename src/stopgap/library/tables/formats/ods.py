"""ODS (ISO/IEC 26300): which sheet of the spreadsheet is read, and what its cells ask for."""

import re
from collections.abc import Callable, Sequence
from itertools import groupby

from stopgap.library.tables.formats.gate import (
    MOST_CELLS,
    Extent,
    Parts,
    Passed,
    Refused,
    column_letters,
    packed,
    parse,
)

CONTENT = "content.xml"
_MANIFEST = (
    b'<manifest:manifest xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0"/>'
)
_BREAKS = ((b"<text:tab/>", b"\t"), (b"<text:line-break/>", b"\n"))  # calamine passes over both
_REPEATED = "table:number-columns-repeated"
_SHORTER = (
    (b' office:value-type="float" office:value="', b' _t="" _v="'),
    (b"table:table-cell", b"_c"),
)
"""What cells are written with, and what stands for it while they are counted."""
_CELLS = (b"<_c", b"<table:covered-")
_MOST_REPEATS = 2_000_000_000
_SHEET, _SHEET_END = re.compile(rb"<table:table(?=[\s/>])"), b"</table:table>"
_ROW, _ROW_END = re.compile(rb"<table:table-row(?=[\s/>])"), b"</table:table-row>"
_ALIKE = (
    b'<table:table-row table:number-rows-repeated="%d">'
    b'<_c table:number-columns-repeated="%d"%s/></table:table-row>'
)
_SEVERAL = b"number-columns-repeated"
_EMPTY = re.compile(
    rb'<_c(?: table:style-name="[^"]*")? table:number-columns-repeated="([0-9]{1,7})"'
    rb"/>(</table:table-row>)?"
)
# what makes more of a row than its cells as they stand
_COUNTED = (
    *(b"number-rows-repeated", _SEVERAL, b"table:formula", b"<text:s", b'value-type="error"'),
)
_HOLDS = (b"_t=", b"office:value-type", b"<text:p")


def select_ods(parts: Parts) -> Passed:
    """The first sheet that may be a table, else that holds something.

    calamine expands all of them, so all are counted.

    Raises
    ------
    Refused
        If there is none, or they ask for too much.
    """
    content = parts.read(CONTENT)
    extents = sheet_extents(content)
    for extent in extents:
        extent.check()
    both = Extent(sum(extent.rows * extent.columns for extent in extents), 1)
    both.text = sum(extent.text for extent in extents)
    both.check()
    held = [place for place, extent in enumerate(extents) if extent.rows or extent.unsaved]
    if not held:
        raise Refused("none of its sheets holds anything.")
    read = next((place for place in held if extents[place].may_be_table), held[0])
    for element, stands_for in _BREAKS:
        content = content.replace(element, stands_for)
    package = packed(
        {
            "mimetype": b"application/vnd.oasis.opendocument.spreadsheet",
            "META-INF/manifest.xml": _MANIFEST,
            CONTENT: content,
        }
    )
    return Passed(package, read, extents[read], len(held) - 1)


def sheet_extents(content: bytes) -> list[Extent]:
    """What each sheet asks for; empty cells count where they do no harm."""
    content = _shorter(content)
    if parse(content):
        extents = _extents(_condensed(content))
        if sum(extent.rows * extent.columns for extent in extents) <= MOST_CELLS:
            return extents
    return _extents(content)


def exact_extents(content: bytes) -> list[Extent]:
    """As `sheet_extents`, by the cells that hold something."""
    return _extents(_shorter(content))


def _extents(shorter: bytes) -> list[Extent]:
    counter = _Counter()
    parse(shorter, counter.start, counter.end, counter.written)
    return counter.extents


def _shorter(content: bytes) -> bytes:
    """A spreadsheet with shorter words for what its cells are written with.

    These words are most of its bytes, which expat goes by. A name stands for a name and attributes
    for as many attributes, so that both are well-formed or neither is, but for an attribute that a
    cell has twice and a tag that bears the shorter name, which are left to calamine.
    """
    for words, stand_for in _SHORTER:
        content = content.replace(words, stand_for)
    return content


def _condensed(content: bytes) -> bytes:
    """A spreadsheet with its plain rows written as one that stands as many times.

    To follow each element through Python costs several times what expat does. In `content` each `<`
    begins or ends an element. What is not laid out as programs do is left as it is.
    """
    counted = [sign for sign in _COUNTED if sign in content]
    cells = [sign for sign in _CELLS if sign in content]
    condensed = [b"<sheets>"]
    for part in _SHEET.split(content)[1:]:
        sheet, end, behind = part.partition(_SHEET_END)
        head, *rows = _ROW.split(sheet)
        if not end or _SHEET_END in behind or any(sign in head for sign in cells):
            return content
        alike = _alike(rows, counted, cells)
        if alike is None:
            return content
        condensed += [b"<table:table>", *alike, _SHEET_END]
    return b"".join((*condensed, b"</sheets>"))


def _alike(
    rows: Sequence[bytes], counted: Sequence[bytes], cells: Sequence[bytes]
) -> list[bytes] | None:
    """The rows of a sheet condensed; None where they are not laid out as programs do."""
    if not counted:
        most = sum(max([row.count(sign) for row in rows], default=0) for sign in cells)
        return [_ALIKE % (len(rows), most, next(filter(None, map(_held, rows)), b""))]
    condensed = []
    for found, group in groupby(rows, _cell_counter(counted, cells)):
        if found:
            condensed.append(_ALIKE % (sum(1 for _ in group), *found))
            continue
        for row in group:
            inside, end, behind = row.partition(_ROW_END)
            if not end or any(sign in behind for sign in (*cells, b"<text:")):
                return None
            condensed += [b"<table:table-row", inside, _ROW_END]
    return condensed


def _held(part: bytes) -> bytes:
    """What one says of a cell that may hold something."""
    for sign in _HOLDS:
        if sign in part:
            return b' _t=""'
    return b""


def _cell_counter(
    counted: Sequence[bytes], cells: Sequence[bytes]
) -> Callable[[bytes], tuple[int, bytes] | None]:
    """What tells of a plain row how many cells it has, and what one says that may hold something.

    An empty one that is repeated at the end is none of them. None for a row that is not plain.
    """
    unusual = [sign for sign in counted if sign != _SEVERAL]

    def cells_of(row: bytes) -> tuple[int, bytes] | None:
        if not row.endswith(_ROW_END) and not row.rstrip().endswith(_ROW_END):
            return None
        for sign in unusual:
            if sign in row:
                return None
        found = 0
        for sign in cells:
            found += row.count(sign)
        if several := row.count(_SEVERAL):
            empty = _EMPTY.findall(row, row.rfind(b"<", 0, row.find(_SEVERAL)))
            if len(empty) != several or row.count(_ROW_END) != 1:
                return None
            found += sum(int(count) - 1 for count, ends in empty if not ends)
        return found, _held(row)

    return cells_of


class _Counter:
    """Follows the elements of a spreadsheet in its shorter words.

    A sheet within a cell, which no program writes, counts with the one it stands in, so that the
    sum is too large and not too small.
    """

    def __init__(self) -> None:
        self.extents: list[Extent] = []
        self._depth = 0
        self._row = self._rows = 0  # behind this row; how many times it stands
        self._column = self._cells = 0  # behind and with this cell; how many times it stands
        self._repeated = 0  # how many times its text is written out
        self._waiting = ""  # the cell that waits for the result of a formula

    def start(self, name: str, attributes: dict[str, str]) -> None:
        if name == "table:table":
            self._depth += 1
            if self._depth == 1:
                self.extents.append(Extent())
                self._row = self._rows = self._column = self._cells = self._repeated = 0
        elif not self._depth:
            return
        elif name == "_c" or name == "table:covered-table-cell":
            self._cell(attributes)
        elif name == "text:p":
            self._hold()
        elif name == "table:table-row":
            self._settle()
            self._row += self._rows
            self._rows = _repeats(attributes, "table:number-rows-repeated")
            self._column = self._cells = 0
        elif name == "text:s":
            self.extents[-1].text += _repeats(attributes, "text:c") * self._repeated

    def _cell(self, attributes: dict[str, str]) -> None:
        self._settle()
        self._cells = _repeats(attributes, _REPEATED) if _REPEATED in attributes else 1
        self._column += self._cells
        self._repeated = self._cells * self._rows
        if "_t" in attributes or "office:value-type" in attributes:
            self._hold()
        elif "table:formula" in attributes:
            self._waiting = self._place()
        if attributes.get("calcext:value-type") == "error":
            self.extents[-1].failed.append(self._place())

    def _place(self) -> str:
        return f"{column_letters(self._column - self._cells + 1)}{self._row + 1}"

    def _settle(self) -> None:
        if self._waiting:
            self.extents[-1].unsaved.append(self._waiting)
            self._waiting = ""

    def _hold(self) -> None:
        """Note that this cell holds something."""
        self._waiting = ""
        extent = self.extents[-1]
        extent.rows = self._row + self._rows
        extent.columns = max(extent.columns, self._column)

    def written(self, text: str) -> None:
        if self._repeated > 1 and self._depth:
            self.extents[-1].text += len(text) * self._repeated

    def end(self, name: str) -> None:
        if name == "table:table":
            self._settle()
            self._depth -= 1


def _repeats(attributes: dict[str, str], title: str) -> int:
    """How many times something stands; ValueError where it is no number."""
    count = int(attributes.get(title, "1"))
    if not 0 <= count <= _MOST_REPEATS:
        raise Refused(
            f"it repeats something {attributes[title]:.20} times; {MOST_CELLS:,} cells "
            "are read at most."
        )
    return count
