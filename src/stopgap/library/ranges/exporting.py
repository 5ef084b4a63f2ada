"""A range to a file that stopgap reads back to the same swatches: CSV, XLSX, CGATS or CxF."""

from collections.abc import Callable, Mapping, Sequence
from itertools import chain, count
from pathlib import Path

from stopgap.errors import InputError, NothingFoundError
from stopgap.library.tables.cells import kept, unkept
from stopgap.library.tables.columns import folded
from stopgap.library.tables.formats import FORMATS, TextRow, TextTable
from stopgap.swatches import (
    CONDITIONS,
    FIELDS,
    WRITTEN_FORMATS,
    Colour,
    Field,
    Number,
    Swatch,
    stated_conditions,
)

_ONLY_READ = ("ods", "xls", "xlsm", "xlsb")
_HOLD_NAMES = ("CSV", "XLSX")
_WHITE = ("illuminant", "observer")


def export_range(swatches: Sequence[Swatch], form: str = "CSV") -> bytes:
    """Swatches in a format of FORMATS that can be written: Lab under D50, 2 degree, and spectra.

    Numbers are written so that they read back to the last bit. CxF cannot hold control characters,
    there they become spaces; neither it nor CGATS holds a pencil without a colour (`held`).
    Illuminant and observer are left open where they were assumed, so that they stay an assumption.

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


def held(swatches: Sequence[Swatch], form: str) -> list[Swatch]:
    """Those that a format can hold: a row of CGATS and an object of CxF are a colour.

    Raises
    ------
    NothingFoundError
        If it can hold none.
    """
    kept = [swatch for swatch in swatches if swatch.coloured or form in _HOLD_NAMES]
    if swatches and not kept:
        raise NothingFoundError(
            f"No pencil has a colour yet, and {form} holds nothing else. Expected one of "
            f"{', '.join(_HOLD_NAMES)}."
        )
    return kept


def format_of_name(path: Path) -> str:
    """The format that a file's ending calls for, CSV where it calls for none.

    Raises
    ------
    InputError
        If it calls for one that is read and not written.
    """
    ending = path.suffix.casefold().lstrip(".")
    if ending in _ONLY_READ:
        written = ", ".join(WRITTEN_FORMATS)
        raise InputError(
            f"{path}: {ending.upper()} is not written. Expected a name that ends as one of "
            f"{written}."
        )
    return next((form for form in WRITTEN_FORMATS if form.casefold() == ending), "CSV")


def export_csv(swatches: Sequence[Swatch]) -> str:
    """Swatches as CSV text; as `export_range`."""
    return export_range(swatches).decode("utf-8")


def range_table(swatches: Sequence[Swatch], form: str) -> TextTable:
    """The columns of a range file; only those conditions and wavelengths that some swatch has.

    Of FIELDS those that travel in that format, code and name first. A column of the user's own
    whose heading means something there travels under another, which is undone when it is read.
    """
    named = sorted(FIELDS.values(), key=lambda row: row.name not in ("code", "name"))
    fields = [row for row in named if form in row.formats]
    written = [_fields(swatch, fields) | _measured(swatch) for swatch in swatches]
    titles = (*chain.from_iterable(row.titles for row in fields), *_measured_titles(written))
    extra = tuple(dict.fromkeys(chain.from_iterable(swatch.extra for swatch in swatches)))
    headed = _own_headings(extra, FORMATS[form].knows)
    rows = (
        (*(cells.get(title, "") for title in titles), *(swatch.extra.get(t, "") for t in extra))
        for swatch, cells in zip(swatches, written)
    )
    numbered = tuple(TextRow(number, cells) for number, cells in enumerate(rows, start=2))
    return TextTable(
        TextRow(1, (*titles, *headed)),
        numbered,
        {},
        numbers=frozenset(filter(_holds_numbers, titles)),
        chips=tuple(_chips(swatches)) if form == "XLSX" else (),
    )


def _own_headings(titles: Sequence[str], knows: Callable[[str], bool]) -> list[str]:
    """Headings for columns of the user's own: each stands once and means nothing else."""
    from stopgap.library.ranges.understanding.vocabulary import means_something

    headings: dict[str, str] = {}
    for title in titles:
        for heading in chain([title], (kept(title, number) for number in count(1))):
            name = folded(heading)
            if name in headings or means_something(heading) or knows(heading):
                continue
            if unkept(heading) == title:
                headings[name] = heading
                break
    return list(headings.values())


def _holds_numbers(title: str) -> bool:
    """Whether the cells of a column of ours are numbers."""
    kinds = (row.kind for row in FIELDS.values() if title in row.titles)
    return title.startswith("nm") or any(isinstance(kind, Number | Colour) for kind in kinds)


def _chips(swatches: Sequence[Swatch]) -> list[str]:
    """The colour of each swatch, as a screen shows it."""
    from stopgap.colorimetry import lab_to_hexes

    labs = [swatch.lab for swatch in swatches if swatch.coloured]
    found = iter(lab_to_hexes(labs) if labs else ())
    return [next(found) if swatch.coloured else "" for swatch in swatches]


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
