"""A range to a file that stopgap reads back to the same swatches: CSV, CGATS or CxF."""

from collections.abc import Sequence

from stopgap.errors import InputError
from stopgap.library.tables.columns import CONDITIONS, KNOWN
from stopgap.library.tables.formats import FORMATS, Row, Table
from stopgap.swatches import Swatch, stated_conditions

_COLUMNS = (*KNOWN[:2], "L", "a", "b", *KNOWN[2:])


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
    return write(range_table(swatches))


def export_csv(swatches: Sequence[Swatch]) -> str:
    """Swatches as CSV text; as `export_range`."""
    return export_range(swatches).decode("utf-8")


def range_table(swatches: Sequence[Swatch]) -> Table:
    """The columns of a range file; only those conditions and wavelengths that some swatch has."""
    extra = list(dict.fromkeys(title for swatch in swatches for title in swatch.extra))
    grid = sorted({at for swatch in swatches for at in _spectrum(swatch)})
    measured = [_conditions(swatch) for swatch in swatches]
    conditions = [title for title in CONDITIONS if any(title in stated for stated in measured)]
    rows = []
    for number, (swatch, stated) in enumerate(zip(swatches, measured), start=2):
        factors = _spectrum(swatch)
        cells = (
            *_cells(swatch),
            *(stated.get(title, "") for title in conditions),
            *(repr(factors[at]) if at in factors else "" for at in grid),
            *(swatch.extra.get(title, "") for title in extra),
        )
        rows.append(Row(number, cells))
    titles = (*_COLUMNS, *conditions, *(f"nm{at:g}" for at in grid), *extra)
    return Table(Row(1, titles), tuple(rows), {})


def _spectrum(swatch: Swatch) -> dict[float, float]:
    spectrum = swatch.reflectance
    return dict(zip(spectrum.wavelengths, spectrum.values)) if spectrum else {}


def _conditions(swatch: Swatch) -> dict[str, str]:
    stated = stated_conditions(swatch.measurement)
    if not swatch.measurement.assumed:
        stated |= {"illuminant": "D50", "observer": "2"}
    else:
        stated = {
            title: text for title, text in stated.items() if title not in ("illuminant", "observer")
        }
    return stated


def _cells(swatch: Swatch) -> list[str]:
    rating = swatch.lightfastness
    return [
        swatch.code,
        swatch.name,
        *(repr(value) for value in swatch.lab),
        str(swatch.status),
        "yes" if swatch.owned else "no",
        str(swatch.finish),
        str(swatch.core or ""),
        rating.grade if rating else "",
        str(rating.scale) if rating else "",
        "" if swatch.price is None else repr(swatch.price),
        "" if swatch.laydown is None else str(swatch.laydown),
        repr(swatch.uncertainty),
        swatch.paper,
        swatch.note,
    ]
