"""A range to a file that stopgap reads back to the same swatches: CSV, CGATS or CxF."""

from collections.abc import Mapping, Sequence

from stopgap.errors import InputError
from stopgap.library.tables.columns import folded
from stopgap.library.tables.formats import FORMATS, TextRow, TextTable
from stopgap.swatches import CONDITIONS, FIELDS, Field, Swatch, stated_conditions

_WHITE = ("illuminant", "observer")


def export_range(swatches: Sequence[Swatch], form: str = "CSV") -> bytes:
    """Swatches in a format of FORMATS that can be written: Lab under D50, 2 degree, and spectra.

    Numbers are written so that they read back to the last bit; CGATS has no line breaks within text
    and XML no control characters, there they become spaces. Illuminant and observer are left
    open where they were assumed, so that they stay an assumption.

    Raises
    ------
    InputError
        If the format is not one that is written, or cannot hold these swatches.
    """
    write = FORMATS[form].write if form in FORMATS else None
    if write is None:
        written = ", ".join(name for name, row in FORMATS.items() if row.write)
        raise InputError(f"format {form!r}: expected one of {written}.")
    return write(range_table(swatches, form))


def export_csv(swatches: Sequence[Swatch]) -> str:
    """Swatches as CSV text; as `export_range`."""
    return export_range(swatches).decode("utf-8")


def range_table(swatches: Sequence[Swatch], form: str) -> TextTable:
    """The columns of a range file; only those conditions and wavelengths that some swatch has.

    Of FIELDS those that travel in that format, code and name first. A column that was kept when
    stopgap did not know its heading yet is headed otherwise, so that no heading stands twice.
    """
    named = sorted(FIELDS.values(), key=lambda row: row.name not in ("code", "name"))
    fields = [row for row in named if form in row.formats]
    written = [_fields(swatch, fields) | _measured(swatch) for swatch in swatches]
    titles = (*(title for row in fields for title in row.titles), *_measured_titles(written))
    extra = tuple(dict.fromkeys(title for swatch in swatches for title in swatch.extra))
    taken = set(map(folded, titles))
    headed = (f"{title} (kept)" if folded(title) in taken else title for title in extra)
    rows = (
        (*(cells.get(title, "") for title in titles), *(swatch.extra.get(t, "") for t in extra))
        for swatch, cells in zip(swatches, written)
    )
    numbered = tuple(TextRow(number, cells) for number, cells in enumerate(rows, start=2))
    return TextTable(TextRow(1, (*titles, *headed)), numbered, {})


def _fields(swatch: Swatch, fields: Sequence[Field]) -> dict[str, str]:
    cells = ((row.titles, row.written(getattr(swatch, row.name))) for row in fields)
    return {title: cell for titles, texts in cells for title, cell in zip(titles, texts)}


def _measured(swatch: Swatch) -> dict[str, str]:
    return _conditions(swatch) | _spectrum(swatch)


def _measured_titles(written: Sequence[Mapping[str, str]]) -> list[str]:
    """Conditions in their order, wavelengths rising: those that some swatch has."""
    had = {title for cells in written for title in cells}
    wavelengths = (title for title in had if title.startswith("nm"))
    return [
        *(title for title in CONDITIONS if title in had),
        *sorted(wavelengths, key=lambda title: float(title[2:])),
    ]


def _spectrum(swatch: Swatch) -> dict[str, str]:
    spectrum = swatch.reflectance
    if spectrum is None:
        return {}
    return {f"nm{at:g}": repr(value) for at, value in zip(spectrum.wavelengths, spectrum.values)}


def _conditions(swatch: Swatch) -> dict[str, str]:
    stated = stated_conditions(swatch.measurement)
    white = {} if swatch.measurement.assumed else dict(zip(_WHITE, ("D50", "2")))
    return {title: cell for title, cell in stated.items() if title not in _WHITE} | white
