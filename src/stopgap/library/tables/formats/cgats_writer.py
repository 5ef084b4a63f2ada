"""A range's columns as CGATS text (ISO 28178:2009, CGATS.17)."""

from collections.abc import Mapping, Sequence
from types import MappingProxyType

from stopgap.library.tables.cells import UNSEEN, TextTable, guard_twice, is_wavelength
from stopgap.library.tables.formats.cgats_tables import ESCAPES, conditions_of, escape

_FIELDS: Mapping[str, str] = MappingProxyType(
    {"code": "SAMPLE_ID", "name": "SAMPLE_NAME", "L": "LAB_L", "a": "LAB_A", "b": "LAB_B"}
)
_KEYWORDS: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        "illuminant": ("WEIGHTING_FUNCTION", "ILLUMINANT, {}"),
        "observer": ("WEIGHTING_FUNCTION", "OBSERVER, {} degree"),
        "mode": ("MEASUREMENT_SOURCE", "{}"),
        "geometry": ("MEASUREMENT_GEOMETRY", "{}"),
        "instrument": ("INSTRUMENTATION", "{}"),
        "backing": ("SAMPLE_BACKING", "{}"),
        "date": ("CREATED", "{}"),
    }
)
"""Conditions that all samples share stand in the header, others in a field of their own."""


def write_cgats(table: TextTable) -> bytes:
    """One table; fields that the standard does not know are declared by KEYWORD.

    Lines of text are broken where CGATS breaks its own, so where a text breaks, ESCAPES says that
    backslashes stand for what does.
    """
    titles = table.header.cells
    columns = {title: [row.cells[at] for row in table.rows] for at, title in enumerate(titles)}
    shared = _shared(columns)
    fields = [title for title in columns if title not in shared]
    lines = [
        "CGATS.17",
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
    if any(UNSEEN.search(line) or len(line.splitlines()) > 1 for line in lines):
        head = [f'KEYWORD "{ESCAPES}"', f'{ESCAPES} "backslash"']
        lines = [*lines[:1], *head, *map(escape, lines[1:])]
    return ("\n".join(lines) + "\n").encode("utf-8")


def _header(shared: Mapping[str, str], fields: Sequence[str]) -> list[str]:
    own = [title for title in fields if title not in _FIELDS and not is_wavelength(title)]
    return [
        'ORIGINATOR "stopgap"',
        *(f"{keyword} {_quoted(text)}" for keyword, text in _stated(shared)),
        *(f"KEYWORD {_quoted(guard_twice(title))}" for title in own),
    ]


def _shared(columns: Mapping[str, Sequence[str]]) -> dict[str, str]:
    """Conditions of all samples, none where the header would say something else of them."""
    shared = {
        title: guard_twice(cells[0]) for title, cells in columns.items() if _is_shared(title, cells)
    }
    return shared if conditions_of(_keywords(shared)) == shared else {}


def _stated(shared: Mapping[str, str]) -> list[tuple[str, str]]:
    """Keywords with what they say of all samples; one of them may stand twice."""
    return [
        (_KEYWORDS[title][0], _KEYWORDS[title][1].format(cell)) for title, cell in shared.items()
    ]


def _keywords(shared: Mapping[str, str]) -> dict[str, str]:
    """The same as the reader gathers them."""
    keywords: dict[str, str] = {}
    for keyword, text in _stated(shared):
        keywords[keyword] = f"{keywords.get(keyword, '')} {text}".strip()
    return keywords


def _is_shared(title: str, cells: Sequence[str]) -> bool:
    return title in _KEYWORDS and len(set(cells)) == 1 and bool(cells[0])


def _field(title: str) -> str:
    if is_wavelength(title):
        return f"SPECTRAL_NM{title.removeprefix('nm')}"
    return _FIELDS.get(title) or (title if title.isidentifier() else _quoted(guard_twice(title)))


def _cell(text: str) -> str:
    try:
        float(text)
    except ValueError:
        return _quoted(guard_twice(text))
    return text if text.isascii() and not any(map(str.isspace, text)) else _quoted(text)


def _quoted(text: str) -> str:
    doubled = text.replace('"', '""')
    return f'"{doubled}"'
