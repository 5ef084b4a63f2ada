"""Layered swatches of the user's own, from a spreadsheet or from a chart that was scanned."""

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from stopgap.colorimetry import parse_colour
from stopgap.errors import InputError, NothingFoundError, StopgapError, UnknownSwatchError
from stopgap.library.name_index import NameIndex
from stopgap.library.ranges.colours import lab_of
from stopgap.library.store.editions import of_edition, scanned_layers
from stopgap.library.store.library import Library
from stopgap.library.tables.reader import Cells, read_sheet
from stopgap.library.targets import find_swatch
from stopgap.swatches import Edition, Lab, Layer, Pressure, Stack, Swatch

_REQUIRED = ("first", "first_pressure", "L", "a", "b")
_OPTIONAL = ("second", "second_pressure", "over")


@dataclass(frozen=True, slots=True)
class LayeredRow:
    """One layered swatch, of one pencil or of two; `over` is the colour beneath, where stated."""

    stack: Stack
    lab: Lab
    over: Lab | None


def find_layer(text: str, swatches: Sequence[Swatch]) -> Layer:
    """A pencil and how hard it is laid, such as `Shore:7 medium`; heavy where nothing is said.

    Raises as `find_swatch` does.
    """
    name, _, pressure = text.strip().rpartition(" ")
    if pressure.casefold() in list(Pressure) and name:
        with suppress(UnknownSwatchError):
            return Layer(find_swatch(name, swatches), pressure.casefold())
    return Layer(find_swatch(text, swatches), str(Pressure.HEAVY))


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
    index = NameIndex(swatches)
    rows = [_layered(cells, index, pressures) for cells in sheet.rows]
    sheet.raise_problems("nothing was learnt or stored.")
    return [row for row in rows if row is not None]


def scanned_rows(
    library: Library, edition: Edition, swatches: Sequence[Swatch]
) -> list[LayeredRow]:
    """What was scanned of a chart: its boxes of layers, and fields laid lightly or at medium.

    `swatches` are the pencils' colours, which the layers are reckoned from.

    Raises
    ------
    NothingFoundError
        If there is none.
    """
    known = {swatch.address: swatch for swatch in swatches}
    rows = [
        LayeredRow(
            Stack(map(Layer, map(known.__getitem__, one.pencils), one.pressures)), one.lab, None
        )
        for one in scanned_layers(library, edition)
        if all(address in known for address in one.pencils)
    ]
    rows += [
        LayeredRow(Stack([Layer(known[swatch.address], str(swatch.pressure))]), swatch.lab, None)
        for pencil in library.pencils()
        for swatch in pencil.swatches
        if of_edition(swatch, edition)
        and swatch.pressure is not Pressure.HEAVY
        and swatch.address in known
    ]
    if not rows:
        raise NothingFoundError(
            f"No layers, and nothing laid lightly, was scanned of edition {edition.number}."
        )
    return rows


def _layered(cells: Cells, index: NameIndex, pressures: Sequence[str]) -> LayeredRow | None:
    """One row, None where a problem was noted."""
    lab = lab_of(cells)
    layers = [_layer(cells, "first", index, pressures)]
    if cells.text("second"):
        layers.append(_layer(cells, "second", index, pressures))
    over = None
    if cells.text("over"):
        over = _colour(cells, "over")
    known = [layer for layer in layers if layer is not None]
    if cells.problems or len(known) < len(layers):
        return None
    return LayeredRow(Stack(known), lab, over)


def _layer(cells: Cells, title: str, index: NameIndex, pressures: Sequence[str]) -> Layer | None:
    swatch = _swatch(cells, title, index)
    pressure = _pressure(cells, f"{title}_pressure", pressures)
    return None if swatch is None else Layer(swatch, pressure)


def _swatch(cells: Cells, title: str, index: NameIndex) -> Swatch | None:
    try:
        return find_swatch(cells.text(title), index)
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
