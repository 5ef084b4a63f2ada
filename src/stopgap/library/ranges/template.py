"""An empty sheet to fill in: the columns of a range file, and below each what it takes."""

from collections.abc import Mapping
from functools import cache
from types import MappingProxyType

from stopgap.library.tables.formats import FORMATS, TextRow, TextTable
from stopgap.swatches import FIELDS, Number

_FIRST = ("code", "name", "L", "a", "b", "hex", "owned", "status", "price")
_OWN_WORDS: Mapping[str, str] = MappingProxyType(
    {
        "code": "what stands on the pencil; each once",
        "name": "what it is called",
        "L": "lightness, 0 to 100",
        "a": "green below 0 to red above",
        "b": "blue below 0 to yellow above",
        "hex": "#rrggbb, where you have no L, a, b",
        "price": "a number",
        "lightfastness": "I to V, or 1 to 8",
        "lightfastness_scale": "ASTM, or BWS for 1 to 8",
        "note": "whatever you like",
    }
)


@cache
def explained() -> Mapping[str, str]:
    """The columns of the sheet, each with what it takes in the row below."""
    titles = [title for row in FIELDS.values() if row.formats for title in row.titles]
    said = {
        row.titles[0]: row.kind.expected if not isinstance(row.kind, Number) else row.about
        for row in FIELDS.values()
    }
    order = [*_FIRST, *(title for title in titles if title not in _FIRST)]
    return MappingProxyType(
        {title: _OWN_WORDS.get(title) or said.get(title) or "a text" for title in order}
    )


def is_explanation(cells: tuple[str, ...]) -> bool:
    """Whether a row is the one that explains the columns, as far as it was left standing."""
    filled = [cell for cell in cells if cell]
    return len(filled) > 1 and set(filled) <= set(explained().values())


def template(form: str = "XLSX") -> bytes:
    """The sheet in a format that is written: its headings, and a row that explains them.

    The row may stay: it is told from pencils when the sheet is read.
    """
    write = FORMATS[form].write
    if write is None:  # pragma: no cover (no caller can name such a format)
        raise ValueError(form)
    columns = explained()
    header, row = TextRow(1, tuple(columns)), TextRow(2, tuple(columns.values()))
    return write(TextTable(header, (row,), {}))
