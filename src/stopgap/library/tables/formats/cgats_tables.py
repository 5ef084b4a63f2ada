"""CGATS text: keywords and what they say, fields and lines of data, table by table."""

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from stopgap.errors import InputError, Problem, ProblemsInFile, nearest_spellings
from stopgap.library.tables.cells import UNSEEN, TextRow

_STANDARD = """
ORIGINATOR FILE_DESCRIPTOR DESCRIPTOR CREATED MANUFACTURER MANUFACTURE_DATE PROD_DATE SERIAL
MATERIAL INSTRUMENTATION MEASUREMENT_SOURCE MEASUREMENT_GEOMETRY DIFFUSE_GEOMETRY FILTER
POLARIZATION WEIGHTING_FUNCTION COMPUTATIONAL_PARAMETER SAMPLE_BACKING PRINT_CONDITIONS TARGET_TYPE
CHISQ_DOF DEVCALSTD CROSS_REFERENCE PROCESS_COLOR_ID NUMBER_OF_FIELDS NUMBER_OF_SETS KEYWORD
BEGIN_DATA END_DATA BEGIN_DATA_FORMAT END_DATA_FORMAT
"""
_WIDESPREAD = """
ILLUMINANT OBSERVER ILLUMINATION_NAME OBSERVER_ANGLE MEASUREMENT_CONDITION MEASUREMENT_DATE
COPYRIGHT COLOR_REP DEVICE_CLASS
"""
KEYWORDS: frozenset[str] = frozenset((_STANDARD + _WIDESPREAD).split())
"""The standard's (ISO 28178:2009, CGATS.17; from memory), and such as are widely written although
it wants them declared by KEYWORD."""

_ILLUMINANT = re.compile(
    r"(?:^|[\s,;=])(ID50|ID65|D\d\d|F(?:L)?\d{1,2}(?:\.\d{1,2})?|LED-\w+|HP\d|[A-CE])(?=$|[\s,;/])",
    re.IGNORECASE,
)
_OBSERVER = re.compile(r"(?<![\d.])(2|10|1931|1964)\s*(?:°|-|_|deg|M-|$|[,;\s])", re.IGNORECASE)
_MODE = re.compile(r"\bM\s?([0-3])\b(?!-)", re.IGNORECASE)
_SOURCE_PART = re.compile(r"(illuminati?on|illuminant|observer)\w*\s*=\s*(\S+)", re.IGNORECASE)
_PROSE_ILLUMINANT = re.compile(r"\b(D50|D55|D65|D75)\b")
_PROSE_OBSERVER = re.compile(r"\b(2|10)\s*(?:°|deg)", re.IGNORECASE)
_PROSE_GEOMETRY = re.compile(r"\b(45[/:]0|0[/:]45|d[/:]8|8[/:]d)\b", re.IGNORECASE)
_YEARS = {"1931": "2", "1964": "10"}


def conditions_of(keywords: Mapping[str, str]) -> dict[str, str]:
    """What the keywords state, under the titles of a range file's columns."""
    prose = [keywords.get("INSTRUMENTATION", "")]
    stated = {
        "illuminant": _stated(_ILLUMINANT, _texts(keywords, "illumin")).upper()
        or _first(_PROSE_ILLUMINANT, prose),
        "observer": _stated(_OBSERVER, _texts(keywords, "observer"))
        or _first(_PROSE_OBSERVER, prose),
        "mode": _first(
            _MODE,
            (keywords.get(word, "") for word in ("MEASUREMENT_CONDITION", "MEASUREMENT_SOURCE")),
        )
        or _first(_MODE, [keywords.get("FILTER", "")]),
        "geometry": keywords.get("MEASUREMENT_GEOMETRY", "") or _first(_PROSE_GEOMETRY, prose),
        "instrument": keywords.get("INSTRUMENTATION", ""),
        "backing": keywords.get("SAMPLE_BACKING", ""),
        "date": keywords.get("MEASUREMENT_DATE", "") or keywords.get("CREATED", ""),
    }
    stated["observer"] = _YEARS.get(stated["observer"], stated["observer"])
    stated["mode"] = stated["mode"] and f"M{stated['mode']}"
    return {title: text for title, text in stated.items() if text}


def _texts(keywords: Mapping[str, str], about: str) -> Iterator[str]:
    """Where an illuminant or an observer may be stated, most explicit first."""
    for part in re.split(r"(?=ILLUMINANT|OBSERVER)", keywords.get("WEIGHTING_FUNCTION", "")):
        kind, _, value = part.partition(",")
        if kind.strip().casefold().startswith(about):
            yield value.strip(" ,")
    for keyword in ("ILLUMINANT", "ILLUMINATION_NAME", "OBSERVER", "OBSERVER_ANGLE"):
        if keyword.casefold().startswith(about):
            yield keywords.get(keyword, "")
    for kind, value in _SOURCE_PART.findall(keywords.get("MEASUREMENT_SOURCE", "")):
        if kind.casefold().startswith(about):
            yield value


def _stated(pattern: re.Pattern[str], texts: Iterable[str]) -> str:
    """What is found, else the text as it stands, so that it is refused and not passed over."""
    found = [text for text in texts if text]
    return _first(pattern, found) or next(iter(found), "")


def _first(pattern: re.Pattern[str], texts: Iterable[str]) -> str:
    return next((found[1] for text in texts if (found := pattern.search(text))), "")


_TOKEN = re.compile(r'"((?:[^"]|"")*)"|(#.*)|([^\s"]+)')
_FILE_MARK = re.compile(r"CGATS\.\S+|CTI\d|IT8\.\S+", re.IGNORECASE)
_MOST_PROBLEMS = 20
ESCAPES = "STOPGAP_ESCAPES"
"""The keyword that says that \\u000a in a text stands for the character of that number."""
_ESCAPED = re.compile(r"\\(?:(\\)|u([0-9a-f]{4}))")
_BREAKING = re.compile(  # where str.splitlines parts, and what nobody sees
    rf"[\\\n\r\u2028\u2029]|{UNSEEN.pattern}"
)


@dataclass(frozen=True, slots=True)
class CgatsTable:
    """Keywords that stand so far, names of the fields, and the rows with their line numbers."""

    keywords: Mapping[str, str]
    fields: tuple[str, ...]
    rows: tuple[TextRow, ...]


@dataclass(slots=True)
class _Parser:
    """What has been read so far; keywords and fields stand until a later table changes them."""

    name: str
    keywords: dict[str, str] = field(default_factory=dict)
    declared: set[str] = field(default_factory=set)
    fields: list[str] = field(default_factory=list)
    rows: list[TextRow] = field(default_factory=list)
    tables: list[CgatsTable] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    section: str = ""
    opened: int = 0

    def take(self, number: int, tokens: list[str], *, quoted: bool) -> None:
        """One line that says something; a quoted word at its start is a value and no keyword."""
        if ESCAPES in self.keywords:
            tokens = [*map(unescape, tokens)]
        first = "" if quoted else tokens[0].upper()
        if first == f"END_{self.section}" and self.section:
            self._close(number)
        elif self.section == "DATA":
            self._row(number, tokens)
        elif self.section == "DATA_FORMAT":
            self.fields += tokens
        elif first in ("BEGIN_DATA", "BEGIN_DATA_FORMAT"):
            self.section, self.opened = first.removeprefix("BEGIN_"), number
            if self.section == "DATA_FORMAT":
                self.fields = []
        else:
            self._keyword(number, tokens)

    def _problem(self, number: int, reason: str) -> None:
        self.problems.append(Problem(number, reason=reason, place="line"))

    def _close(self, number: int) -> None:
        section, self.section = self.section, ""
        stated = "NUMBER_OF_FIELDS" if section == "DATA_FORMAT" else "NUMBER_OF_SETS"
        found = len(self.fields if section == "DATA_FORMAT" else self.rows)
        # before their own table's format, fields are counted once it ends
        count = self.keywords.pop(stated, None)
        if count is not None and count != str(found):
            self._problem(
                number, f"{stated} says {count}, but there are {found}; the file may be truncated."
            )
        if section == "DATA":
            self.tables.append(
                CgatsTable(dict(self.keywords), tuple(self.fields), tuple(self.rows))
            )
            self.rows = []

    def _row(self, number: int, tokens: list[str]) -> None:
        if len(tokens) != len(self.fields):
            self._problem(
                number,
                f"{len(tokens)} values, but the data format names {len(self.fields)} fields.",
            )
        self.rows.append(TextRow(number, tuple(token.strip() for token in tokens)))

    def _keyword(self, number: int, tokens: list[str]) -> None:
        keyword, values = tokens[0].upper(), tokens[1:]
        if keyword == "KEYWORD":
            self.declared |= {value.upper() for value in values}
        elif _FILE_MARK.fullmatch(keyword):
            return
        elif keyword not in KEYWORDS and keyword not in self.declared:
            hint = nearest_spellings(keyword, KEYWORDS)
            self._problem(
                number,
                f"{tokens[0]!r:.60} is no keyword of CGATS.17 and no line "
                f'KEYWORD "{tokens[0]:.40}" declares it; the header may be cut off or damaged.'
                f"{hint} Mend, declare or remove it.",
            )
        elif keyword == "WEIGHTING_FUNCTION":
            # may stand twice, once for the illuminant and once for the observer
            earlier = self.keywords.get(keyword, "")
            self.keywords[keyword] = f"{earlier} {' '.join(values)}".strip()
        else:
            self.keywords[keyword] = " ".join(values)


def escape(text: str) -> str:
    r"""A text on one line, as `unescape` reads it.

    >>> escape("two\nlines"), escape("back\\slash")
    ('two\\u000alines', 'back\\\\slash')
    """
    return _BREAKING.sub(
        lambda found: "\\\\" if found[0] == "\\" else f"\\u{ord(found[0]):04x}", text
    )


def unescape(text: str) -> str:
    """The text that `escape` was given."""
    return _ESCAPED.sub(lambda found: found[1] or chr(int(found[2], 16)), text)


def read_tables(text: str, name: str) -> list[CgatsTable]:
    """Every table of the file.

    Raises
    ------
    InputError
        If the file ends within a table or has none.
    ProblemsInFile
        With every line that is not as the standard has it.
    """
    parser = _Parser(name)
    for number, line in enumerate(text.splitlines(), start=1):
        found = [each for each in _TOKEN.findall(line) if not each[1]]
        tokens = [bare or quoted.replace('""', '"') for quoted, _, bare in found]
        if tokens:
            parser.take(number, tokens, quoted=not found[0][2])
    if parser.section:
        raise InputError(
            f"{name}: the file ends within the section that line {parser.opened} begins: "
            f"END_{parser.section} is missing, so the file is probably truncated."
        )
    if parser.problems:
        shown = parser.problems[:_MOST_PROBLEMS]
        more = len(parser.problems) - len(shown)
        raise ProblemsInFile(
            f"{name}: nothing was imported; the file does not keep to CGATS.17 (ISO 28178).",
            [*shown, *([Problem(None, reason=f"… and {more} more.")] if more else [])],
        )
    if not parser.tables:
        raise InputError(
            f"{name}: the file has no data (BEGIN_DATA … END_DATA); it is probably truncated."
        )
    return parser.tables
