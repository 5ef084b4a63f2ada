"""A range to a CSV file that stopgap reads back to the same swatches."""

import csv
import io
from collections.abc import Sequence

from stopgap.library.formats.formulas import guard
from stopgap.swatches import Swatch

_COLUMNS = (
    "code",
    "name",
    "L",
    "a",
    "b",
    "status",
    "owned",
    "finish",
    "core",
    "lightfastness",
    "lightfastness_scale",
    "price",
    "laydown",
    "uncertainty",
    "paper",
    "note",
)


def export_csv(swatches: Sequence[Swatch]) -> str:
    """Swatches as CSV: Lab under D50, 2 degree; the spectrum too where every swatch has one.

    Numbers are written so that they read back to the last bit. Text that a spreadsheet could take
    for a formula is guarded by an apostrophe, which an import takes away again.
    """
    extra = list(dict.fromkeys(title for swatch in swatches for title in swatch.extra))
    grid = _common_wavelengths(swatches)
    stream = io.StringIO(newline="")
    writer = csv.writer(stream, lineterminator="\n")
    titles = [f"nm{wavelength:g}" for wavelength in grid]
    writer.writerow([*_COLUMNS, *titles, *(guard(title) for title in extra)])
    for swatch in swatches:
        reflectances = swatch.reflectance.values if swatch.reflectance and grid else ()
        writer.writerow(
            [
                *_cells(swatch),
                *(repr(value) for value in reflectances),
                *(guard(swatch.extra.get(title, "")) for title in extra),
            ]
        )
    return stream.getvalue()


def _common_wavelengths(swatches: Sequence[Swatch]) -> tuple[float, ...]:
    grids = {swatch.reflectance.wavelengths if swatch.reflectance else () for swatch in swatches}
    return grids.pop() if len(grids) == 1 else ()


def _cells(swatch: Swatch) -> list[str]:
    rating = swatch.lightfastness
    return [
        guard(swatch.code),
        guard(swatch.name),
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
        guard(swatch.paper),
        guard(swatch.note),
    ]
