"""What a workbook may ask for, counted before anything is expanded: a gate in front of calamine.

calamine allocates the rectangle from A1 to a sheet's last cell, writes out repeated cells and runs
of spaces, copies a shared text for every cell that calls for it and believes stated counts, so a
file of a kilobyte can ask for gigabytes. Every XML part that it is to see therefore passes expat
first: well-formed, in UTF-8, without a document type, and within a budget. What passed is packed
anew, so that it sees these parts and no others.
"""

import io
import zipfile
import zlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from xml.parsers import expat

from stopgap.errors import InputError

Attributes = Mapping[str, str]

MOST_CELLS = 2_000_000
"""Cells of a sheet that are read, of whatever file, empty ones before the last included."""
MOST_TEXT = 64 * 2**20
"""Characters of a sheet's text, shared and repeated ones written out."""
MOST_UNPACKED = 128 * 2**20
"""Bytes that the parts of a workbook may unpack to."""
_MOST_PARTS = 10_000
_CHUNK = 2**20
_LISTED = b"PK\x01\x02"  # begins what a ZIP archive says of one part (APPNOTE.TXT 4.3.12)


_DAMAGED = (
    *(EOFError, KeyError, NotImplementedError, OSError, ValueError),
    *(expat.ExpatError, zipfile.BadZipFile, zlib.error),
)


class Refused(Exception):
    """Why a workbook does not pass, as the second half of a sentence."""


@dataclass(slots=True)
class Extent:
    """What one sheet asks for: its last row and column that hold something, and what is missing.

    `unsaved` are cells with a formula whose result the file does not have, `failed` those whose
    value is an error such as #N/A.
    """

    rows: int = 0
    columns: int = 0
    text: int = 0
    unsaved: list[str] = field(default_factory=list)
    failed: list[str] = field(default_factory=list)

    @property
    def may_be_table(self) -> bool:
        """Whether it has more than one row and one column, as a sheet of notes has not."""
        return self.rows > 1 and self.columns > 1

    def check(self) -> None:
        """Raise Refused beyond the budget."""
        if self.rows * self.columns > MOST_CELLS:
            raise Refused(
                f"its sheet reaches to column {column_letters(self.columns)}, row {self.rows}; "
                f"that makes {self.rows * self.columns:,} cells, and {MOST_CELLS:,} are read at "
                "most. Delete what stands far off the table."
            )
        if self.text > MOST_TEXT:
            raise Refused(
                f"its cells hold more than {MOST_TEXT // 2**20} MB of text. Keep the swatches in a "
                "smaller file."
            )


@dataclass(frozen=True, slots=True)
class Passed:
    """A workbook packed anew; `sheet` is the place of the one to read among all of them.

    `others` is how many more hold something.
    """

    package: bytes
    sheet: int
    extent: Extent
    others: int = 0


class Parts:
    """The parts of an archive, unpacked one by one within one budget."""

    def __init__(self, archive: zipfile.ZipFile) -> None:
        self._archive = archive
        self._left = MOST_UNPACKED
        self.names = frozenset(archive.namelist())

    def read(self, part: str) -> bytes:
        """A part's bytes; Refused once the budget is spent."""
        member = self._archive.getinfo(part)
        if member.flag_bits & 1:
            raise Refused("it is protected by a password. Save a copy without one.")
        if member.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
            raise zipfile.BadZipFile(part)
        self._left -= member.file_size
        if self._left < 0:
            raise Refused(
                f"it unpacks to more than {MOST_UNPACKED // 2**20} MB. Keep the swatches in a "
                "smaller file."
            )
        with self._archive.open(member) as stream:  # ends at the size that was charged for
            return b"".join(iter(lambda: stream.read(_CHUNK), b""))

    def may_hold(self, part: str, signs: Sequence[bytes]) -> bool:
        """Whether a part that is not to be read on holds one of these, or cannot be looked into."""
        try:
            content = self.read(part)
        except (Refused, *_DAMAGED):
            return True
        return any(sign in content for sign in signs)


class Kinds(dict[str, str]):
    """Names of elements and attributes without their prefix, looked up once each."""

    def __missing__(self, name: str) -> str:
        self[name] = kind = name.rpartition(":")[2]
        return kind


def parts_of(data: bytes) -> frozenset[str]:
    """Names of the parts in a ZIP archive, none where `data` is no whole one."""
    if _has_too_many(data):
        return frozenset()
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            return frozenset(archive.namelist())
    except (zipfile.BadZipFile, ValueError, OSError, NotImplementedError, EOFError):
        return frozenset()


def _has_too_many(data: bytes) -> bool:
    return data.count(_LISTED) > _MOST_PARTS


def told(select: Callable[[Parts], Passed], data: bytes, name: str, called: str) -> Passed:
    """What `select` makes of the parts of a workbook, its refusals as sentences.

    Raises
    ------
    InputError
        If a part is damaged, protected or asks for too much.
    """
    try:
        if _has_too_many(data):
            raise Refused(f"the archive holds more than {_MOST_PARTS:,} files.")
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            return select(Parts(archive))
    except Refused as refused:
        raise InputError(f"{name}: the {called} workbook is not read: {refused}") from refused
    except _DAMAGED as error:
        raise damaged(name) from error


def damaged(name: str) -> InputError:
    """That a workbook is not whole, so that its kind may be unknown too, and what to do."""
    return InputError(
        f"{name}: the workbook cannot be read; it may be damaged, cut off or protected by a "
        "password. Open it in its program and save it again, or export it as CSV."
    )


def packed(parts: Mapping[str, bytes]) -> bytes:
    """Parts as a ZIP archive."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_STORED) as archive:
        for part, content in parts.items():
            archive.writestr(zipfile.ZipInfo(part), content)
    return stream.getvalue()


def parse(
    content: bytes,
    start: Callable[[str, dict[str, str]], None] | None = None,
    end: Callable[[str], None] | None = None,
    text: Callable[[str], None] | None = None,
) -> bool:
    """Run a part through expat; ExpatError where it is not well-formed.

    Whether each `<` in it begins or ends an element: it has no comment, no CDATA section and no
    processing instruction, so that elements may be looked for in its bytes.
    """
    plain = True

    def other(*_: object) -> None:
        nonlocal plain
        plain = False

    def declared(_version: str, encoding: str | None, _standalone: int) -> None:
        if encoding and encoding.casefold() not in ("utf-8", "us-ascii"):
            raise Refused(f"a part of it is written in {encoding!r:.40}. Save it again.")

    def refuse(*_: object) -> None:
        raise Refused(
            "its XML declares a document type, which can make a program fetch files or fill its "
            "memory; a workbook needs none."
        )

    parser = expat.ParserCreate("utf-8")
    parser.XmlDeclHandler = declared
    parser.StartDoctypeDeclHandler = refuse
    parser.StartElementHandler = start
    parser.EndElementHandler = end
    parser.CharacterDataHandler = text
    parser.CommentHandler = parser.StartCdataSectionHandler = other
    parser.ProcessingInstructionHandler = other
    parser.buffer_text = True
    parser.Parse(content, True)  # noqa: FBT003 (takes no keyword)
    return plain


def elements_of(content: bytes, wanted: str) -> list[Attributes]:
    """The attributes of every element of that name."""
    found: list[Attributes] = []
    kinds = Kinds()

    def start(name: str, attributes: dict[str, str]) -> None:
        if kinds[name] == wanted:
            found.append(attributes)

    parse(content, start)
    return found


def column_letters(column: int) -> str:
    """A column, 1 being A, as a spreadsheet program heads it.

    >>> column_letters(1), column_letters(27), column_letters(16384)
    ('A', 'AA', 'XFD')
    """
    letters = ""
    while column > 0:
        column, letter = divmod(column - 1, 26)
        letters = chr(ord("A") + letter) + letters
    return letters


def column_number(letters: str) -> int:
    """A column by its letters, A being 1.

    >>> column_number("XFD")
    16384
    """
    number = 0
    for letter in letters:
        number = 26 * number + ord(letter) - ord("A") + 1
    return number
