"""CSV and its cousins: delimiter, decimal mark, encoding and byte order mark are found out."""

import codecs
import csv
import io
import re
from collections import Counter
from collections.abc import Iterator
from contextlib import suppress
from itertools import islice

from stopgap.errors import InputError, Problem, ProblemsInFile
from stopgap.library.tables.cells import COMMA_NUMBER, TextRow, TextTable, guard, written_out

DELIMITERS = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar"}
_POINT_NUMBER = re.compile(r"[-+−]?\d*\.\d+")
_PLAIN_NUMBER = re.compile(r"-?\d+(\.\d+)?(e[-+]?\d+)?")
_UTF16_MARKS = (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)
_SEPARATOR_LINE = re.compile(r"sep=([,;\t|])", re.IGNORECASE)  # as a spreadsheet program writes it
_WESTERN = "cp1252 (Western European)"
_EIGHT_BIT = (
    ("cp1252", _WESTERN),
    ("mac_roman", "Mac Roman"),
    ("cp850", "cp850 (DOS)"),
    ("cp437", "cp437 (DOS)"),
)
_LETTERS = frozenset("äöüßÄÖÜéèêëáàâãåçíìîïñóòôõøúùûœæÉÈÊÁÀÂÅÇÍÑÓÔØÚÛŒÆ")
_OPENING, _CLOSING = frozenset("‘“„«"), frozenset("’”“»…™®")
_JOINING, _VOWELS = frozenset("–—·×\u00a0"), frozenset("aeiouáéíóúü")
_SIGNS = frozenset("ºª§€£–—’‘“”„«»°±·•…™®©½²³\u00a0✓−×")


def read_delimited(data: bytes, name: str) -> TextTable:
    """The table in `data` as it stands; `name` is the file's, for messages.

    Raises
    ------
    InputError
        If the data is not text or has no row.
    """
    text, encoding = decode(data, name)
    delimiter, skipped = _find_delimiter(text, name)
    try:
        records = list(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True))
    except csv.Error as error:
        raise InputError(
            f"{name}: the quotes of a cell do not close, or a cell is too long ({error})."
        ) from error
    rows = [
        TextRow(number, tuple(cell.strip() for cell in record))
        for number, record in enumerate(records, start=1)
        if number > skipped and any(cell.strip() for cell in record)
    ]
    if not rows:  # spaces of other kinds
        raise _empty(name)
    header, body = rows[0], tuple(rows[1:])
    decimal_comma = _first_with(COMMA_NUMBER, body) is not None
    details = {
        "format": "CSV",
        "encoding": encoding,
        "delimiter": DELIMITERS[delimiter],
        "decimal mark": "comma" if decimal_comma else "point",
    }
    return TextTable(header, body, details, decimal_comma)


def refuse_uneven(table: TextTable, name: str) -> None:
    """Refuse a table of delimited text whose rows are of several widths or decimal marks.

    Raises
    ------
    InputError
        Naming each row that has more cells than the header, or one alone; or the rows whose marks
        differ.
    """
    _check_widths(table, name)
    comma, point = (_first_with(mark, table.rows) for mark in (COMMA_NUMBER, _POINT_NUMBER))
    if comma and point:
        raise InputError(
            f"{name}: numbers have a decimal comma in row {comma.number} and a decimal point in "
            f"row {point.number}. Use one of them throughout."
        )


def write_delimited(table: TextTable) -> bytes:
    """CSV in UTF-8; text that a spreadsheet could take for a formula is guarded."""
    stream = io.StringIO(newline="")
    writer = csv.writer(stream, lineterminator="\n")
    for row in (table.header, *table.rows):
        writer.writerow(
            cell if _PLAIN_NUMBER.fullmatch(cell) else guard(written_out(cell))
            for cell in row.cells
        )
    return stream.getvalue().encode("utf-8")


def decode(data: bytes, name: str) -> tuple[str, str]:
    """The text in `data` and the encoding it was in; one of TRUSTED where nothing was guessed."""
    if data.startswith(_UTF16_MARKS):
        candidates = [("utf-16", "UTF-16 with byte order mark")]
    elif data.startswith(codecs.BOM_UTF8):
        candidates = [("utf-8-sig", "UTF-8 with byte order mark")]
    elif data[1:4:2] == b"\0\0":
        candidates = [("utf-16-le", "UTF-16 without its mark")]
    elif data[0:4:2] == b"\0\0":
        candidates = [("utf-16-be", "UTF-16 without its mark")]
    else:
        candidates = [("utf-8", "UTF-8")]
    for codec, called in candidates:
        with suppress(UnicodeDecodeError):
            text = data.decode(codec)
            if "\0" not in text:
                return text, called
    found = None if b"\0" in data else _eight_bit(data)
    if found is None:
        raise InputError(
            f"{name}: this is not a text file. Expected CSV in UTF-8 or cp1252, or a workbook "
            "(.xlsx, .ods)."
        )
    return found


TRUSTED = ("UTF-8", "UTF-8 with byte order mark", "UTF-16 with byte order mark", _WESTERN)
"""Encodings that are told by their bytes, and the one that a spreadsheet program has otherwise."""


def _eight_bit(data: bytes) -> tuple[str, str] | None:
    """Text of one byte a letter in the encoding that makes most sense of it; None where none does.

    The usual one needs no more than to be possible and not to be beaten.
    """
    best: tuple[float, str, str] | None = None
    for codec, called in _EIGHT_BIT:
        try:
            text = data.decode(codec)
        except UnicodeDecodeError:
            continue
        score = plausible(text)
        if called != _WESTERN and score <= 0:
            continue
        if best is None or score > best[0]:
            best = (score, text, called)
    return None if best is None else best[1:]


def plausible(text: str) -> float:
    """How many letters beyond ASCII stand where six languages have them, less those that do not."""
    return 0.0 if text.isascii() else sum(_scores(text))


def out_of_place(text: str) -> bool:
    """Whether some letter or sign beyond ASCII stands where it cannot be meant."""
    return not text.isascii() and any(score < 0.0 for score in _scores(text))


def _scores(text: str) -> Iterator[float]:
    beside = zip(f" {text}", text, f"{text[1:]} ")
    return (_plausible(*each) for each in beside if not each[1].isascii())


def _plausible(before: str, char: str, after: str) -> float:
    """How much speaks for a letter or sign beyond ASCII between two others."""
    if char in "¿¡":
        return 1.0 if after.isalpha() and not before.isalnum() else -1.0
    if char in _LETTERS:
        return 1.0 if _in_word(before, char, after) else -1.0
    return _sign(before, char, after) if char in _SIGNS else -1.0


def _in_word(before: str, char: str, after: str) -> bool:
    """Whether a letter stands where words have it; ñ before a vowel."""
    if char in "ñÑ" and after.isalpha() and after.lower() not in _VOWELS:
        return False
    capital_within = before.islower() and after.islower() and char.isupper()
    small_first = not before.isalpha() and after.isupper() and char.islower()
    beside = any(other.isascii() and other.isalpha() for other in (before, after))
    return beside and not (capital_within or small_first)


def _sign(before: str, char: str, after: str) -> float:
    """The same of a sign: quotes about a word, a mark at its end; not within it, as in Wei§."""
    if char in _OPENING and not before.isalnum() and after.isalnum():
        return 1.0
    if char in _CLOSING and not after.isalnum() and not before.isspace():
        return 1.0
    if (before.isalpha() or char == "€") and (after.isalpha() or char == "§"):
        return 1.0 if char == "’" else 0.25 if char in _JOINING else -1.0
    return 0.25


def _find_delimiter(text: str, name: str) -> tuple[str, int]:
    """What parts the cells, and how many first lines only say so.

    It is what parts the largest share of the first hundred rows into equally many cells; then into
    most. Shares, not counts, since a cell of two lines is two rows by a mark that parts nothing.
    """
    lines = list(filter(_says, text.splitlines()))
    if not lines:
        raise _empty(name)
    stated = _SEPARATOR_LINE.fullmatch(lines[0].strip('"'))
    if stated and len(lines) > 1:
        return stated[1], text.splitlines().index(lines[0]) + 1

    def evidence(delimiter: str) -> tuple[float, int]:
        records = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
        with suppress(csv.Error):
            first = [record for record in islice(records, 100) if any(map(_says, record))]
            counts = Counter(len(record) for record in first if len(record) > 1)
            if counts:
                width, alike = counts.most_common(1)[0]
                return alike / len(first), width
        return 0.0, 0

    return max(DELIMITERS, key=evidence), 0


def _says(text: str) -> bool:
    """Whether it holds more than spaces, quotes and what may part cells."""
    return bool(text.strip(' ;,\t|"'))


def _empty(name: str) -> InputError:
    return InputError(
        f"{name}: the file is empty. Expected a first row that names the columns, such as "
        "'code' and a colour, then one row for each pencil."
    )


def _check_widths(table: TextTable, name: str) -> None:
    header, delimiters = table.header, {called: mark for mark, called in DELIMITERS.items()}
    delimiter = delimiters[table.details["delimiter"]]
    problems = []
    for row in table.rows:
        if len(row.cells) > len(header.cells) and any(row.cells[len(header.cells) :]):
            excess = len(row.cells)
        elif len(row.cells) == 1 < len(header.cells):
            excess = 1
        else:
            continue
        others = [
            called
            for other, called in DELIMITERS.items()
            if other != delimiter and any(other in cell for cell in row.cells)
        ]
        hint = f"; it may be separated by {others[0]}s instead" if excess == 1 and others else ""
        reason = (
            f"{excess} cells, but the header has {len(header.cells)}, separated by "
            f"{DELIMITERS[delimiter]}s{hint}."
        )
        problems.append(Problem(row.number, reason=reason))
    if problems:
        raise ProblemsInFile(
            f"{name}: nothing was imported; mend these rows and try again.", problems
        )


def _first_with(pattern: re.Pattern[str], rows: tuple[TextRow, ...]) -> TextRow | None:
    """The first row that has such a cell."""
    return next((row for row in rows if any(map(pattern.fullmatch, row.cells))), None)
