"""Layered swatches of the user's own from a spreadsheet."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from stopgap.colorimetry import parse_colour
from stopgap.errors import InputError, ProblemsInFile, StopgapError
from stopgap.library.tables.formats import Row, read_table
from stopgap.library.targets import find_swatch
from stopgap.swatches import Swatch

_REQUIRED = ("first", "first_pressure", "l", "a", "b")
_OPTIONAL = ("second", "second_pressure", "over")

Lab = tuple[float, float, float]


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
    table = read_table(path)
    places = {title.casefold(): place for place, title in enumerate(table.header.cells)}
    lacking = [name for name in _REQUIRED if name not in places]
    if lacking:
        raise InputError(
            f"{path.name}: row {table.header.number}: no column is headed {', '.join(lacking)}. "
            f"Expected {', '.join((*_REQUIRED, *_OPTIONAL))}."
        )
    if not table.rows:
        raise InputError(f"{path.name}: there is no layered swatch below the header.")
    reader = _Reader(places, swatches, pressures)
    rows = [reader.read(row) for row in table.rows]
    if reader.problems:
        raise ProblemsInFile(f"{path.name}: nothing was learnt or stored.", reader.problems)
    return [row for row in rows if row is not None]


class _Reader:
    """Rows one after the other, every problem noted instead of raised."""

    def __init__(
        self, places: Mapping[str, int], swatches: Sequence[Swatch], pressures: Sequence[str]
    ) -> None:
        self.problems: list[str] = []
        self._places = places
        self._swatches = swatches
        self._pressures = pressures

    def read(self, row: Row) -> LayeredRow | None:
        """One row, None where a problem was noted."""
        before = len(self.problems)
        numbers = " ".join(self._cell(row, name).replace(",", ".") for name in ("l", "a", "b"))
        lab = self._colour(row, "L, a, b", f"lab({numbers})")
        first, first_pressure = self._swatch(row, "first"), self._pressure(row, "first_pressure")
        second = second_pressure = over = None
        if self._cell(row, "second"):
            second = self._swatch(row, "second")
            second_pressure = self._pressure(row, "second_pressure")
        if self._cell(row, "over"):
            over = self._colour(row, "over", self._cell(row, "over"))
        if len(self.problems) > before or first is None or lab is None:
            return None
        return LayeredRow(first, first_pressure, second, second_pressure, lab, over)

    def _cell(self, row: Row, name: str) -> str:
        place = self._places.get(name)
        return row.cells[place] if place is not None and place < len(row.cells) else ""

    def _problem(self, row: Row, column: str, why: str) -> None:
        self.problems.append(f"row {row.number}, column {column}: {why}")

    def _swatch(self, row: Row, name: str) -> Swatch | None:
        try:
            return find_swatch(self._cell(row, name), self._swatches)
        except StopgapError as error:
            self._problem(row, name, str(error))
            return None

    def _pressure(self, row: Row, name: str) -> str:
        stated = self._cell(row, name).casefold()
        if stated not in self._pressures:
            expected = ", ".join(self._pressures)
            self._problem(row, name, f"found {stated!r:.40}; expected {expected}.")
        return stated

    def _colour(self, row: Row, name: str, text: str) -> Lab | None:
        try:
            lab = parse_colour(text)
        except InputError as error:
            self._problem(row, name, str(error))
            return None
        if lab is None:
            self._problem(row, name, f"found {text!r:.40}; expected #rrggbb or lab(L a b).")
            return None
        L, a, b = (float(value) for value in lab)
        return (L, a, b)
