"""Layered swatches of the user's own from a spreadsheet."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from stopgap.colorimetry import parse_colour
from stopgap.errors import InputError, StopgapError
from stopgap.library.ranges.colours import lab_of
from stopgap.library.tables.reader import Cells, read_sheet
from stopgap.library.targets import find_swatch
from stopgap.swatches import Lab, Swatch

_REQUIRED = ("first", "first_pressure", "L", "a", "b")
_OPTIONAL = ("second", "second_pressure", "over")


@dataclass(frozen=True, slots=True)
class LayeredRow:
    """One layered swatch; `second` is None for one pencil alone, `over` the colour beneath."""

    first: Swatch
    first_pressure: str
    second: Swatch | None
    second_pressure: str | None
    lab: Lab
    over: Lab | None


def read_layered(
    path: Path, swatches: Sequence[Swatch], pressures: Sequence[str]
) -> list[LayeredRow]:
    """The layered swatches in a file, their pencils looked up among `swatches`.

    Raises
    ------
    InputError
        If the file cannot be read, lacks a column, or has no row.
    ProblemsInFile
        With every cell that is not as expected.
    """
    sheet = read_sheet(path, (*_REQUIRED, *_OPTIONAL), _REQUIRED, "layered swatch")
    rows = [_layered(cells, swatches, pressures) for cells in sheet.rows]
    sheet.raise_problems("nothing was learnt or stored.")
    return [row for row in rows if row is not None]


def _layered(
    cells: Cells, swatches: Sequence[Swatch], pressures: Sequence[str]
) -> LayeredRow | None:
    """One row, None where a problem was noted."""
    lab = lab_of(cells)
    first = _swatch(cells, "first", swatches)
    first_pressure = _pressure(cells, "first_pressure", pressures)
    second = second_pressure = over = None
    if cells.text("second"):
        second = _swatch(cells, "second", swatches)
        second_pressure = _pressure(cells, "second_pressure", pressures)
    if cells.text("over"):
        over = _colour(cells, "over")
    if cells.problems or first is None:
        return None
    return LayeredRow(first, first_pressure, second, second_pressure, lab, over)


def _swatch(cells: Cells, title: str, swatches: Sequence[Swatch]) -> Swatch | None:
    try:
        return find_swatch(cells.text(title), swatches)
    except StopgapError as error:
        cells.trouble(title, str(error))
        return None


def _pressure(cells: Cells, title: str, pressures: Sequence[str]) -> str:
    stated = cells.text(title).casefold()
    if stated not in pressures:
        cells.problem(title, stated, ", ".join(pressures))
    return stated


def _colour(cells: Cells, title: str) -> Lab | None:
    stated = cells.text(title)
    try:
        lab = parse_colour(stated.replace("−", "-"))
    except InputError as error:
        cells.trouble(title, str(error))
        return None
    if lab is None:
        cells.problem(title, stated, "#rrggbb or lab(L a b)")
        return None
    L, a, b = (float(value) for value in lab)
    return (L, a, b)
