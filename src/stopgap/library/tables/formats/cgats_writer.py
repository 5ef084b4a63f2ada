"""A range's columns as CGATS text (ISO 28178:2009, CGATS.17)."""

from collections.abc import Mapping, Sequence
from types import MappingProxyType

from stopgap.library.tables.formats.table import TextTable
from stopgap.library.tables.formulas import guard_twice

_FIELDS: Mapping[str, str] = MappingProxyType(
    {"code": "SAMPLE_ID", "name": "SAMPLE_NAME", "L": "LAB_L", "a": "LAB_A", "b": "LAB_B"}
)
_KEYWORDS: Mapping[str, str] = MappingProxyType(
    {
        "illuminant": 'WEIGHTING_FUNCTION "ILLUMINANT, {}"',
        "observer": 'WEIGHTING_FUNCTION "OBSERVER, {} degree"',
        "mode": 'MEASUREMENT_SOURCE "{}"',
        "geometry": 'MEASUREMENT_GEOMETRY "{}"',
        "instrument": 'INSTRUMENTATION "{}"',
        "backing": 'SAMPLE_BACKING "{}"',
        "date": 'CREATED "{}"',
    }
)
"""Conditions that all samples share stand in the header, others in a field of their own."""


def write_cgats(table: TextTable) -> bytes:
    """One table; fields that the standard does not know are declared by KEYWORD."""
    titles = table.header.cells
    columns = {title: [row.cells[at] for row in table.rows] for at, title in enumerate(titles)}
    shared = {title: cells[0] for title, cells in columns.items() if _is_shared(title, cells)}
    fields = [title for title in columns if title not in shared]
    lines = [
        *_header(shared, fields),
        f"NUMBER_OF_FIELDS {len(fields)}",
        "BEGIN_DATA_FORMAT",
        "\t".join(map(_field, fields)),
        "END_DATA_FORMAT",
        f"NUMBER_OF_SETS {len(table.rows)}",
        "BEGIN_DATA",
        *("\t".join(map(_cell, row)) for row in zip(*(columns[title] for title in fields))),
        "END_DATA",
    ]
    return ("\n".join(lines) + "\n").encode("utf-8")


def _header(shared: Mapping[str, str], fields: Sequence[str]) -> list[str]:
    own = [title for title in fields if title not in _FIELDS and not _is_spectral(title)]
    return [
        "CGATS.17",
        'ORIGINATOR "stopgap"',
        *(_KEYWORDS[title].format(_one_line(cell)) for title, cell in shared.items()),
        *(f"KEYWORD {_quoted(title)}" for title in own),
    ]


def _is_shared(title: str, cells: Sequence[str]) -> bool:
    return title in _KEYWORDS and len(set(cells)) == 1 and bool(cells[0])


def _field(title: str) -> str:
    if _is_spectral(title):
        return f"SPECTRAL_NM{title.removeprefix('nm')}"
    return _FIELDS.get(title) or (title if title.isidentifier() else _quoted(title))


def _is_spectral(title: str) -> bool:
    return title.startswith("nm") and title[2:3].isdigit()


def _cell(text: str) -> str:
    try:
        float(text)
    except ValueError:
        return _quoted(guard_twice(text))
    return text if text.isascii() and not any(map(str.isspace, text)) else _quoted(text)


def _quoted(text: str) -> str:
    doubled = _one_line(text).replace('"', '""')
    return f'"{doubled}"'


def _one_line(text: str) -> str:
    return " ".join(text.splitlines())
