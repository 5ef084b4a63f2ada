"""List files: colours that somebody calls for, pencils somebody owns, blends somebody wants."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from stopgap.errors import InputError, ProblemsInFile, StopgapError
from stopgap.library.tables.formats import Row, read_table
from stopgap.library.tables.formulas import unguard
from stopgap.library.targets import find_swatch
from stopgap.swatches import Swatch


@dataclass(frozen=True, slots=True)
class Listed:
    """One row of a list: the colour as text, not yet looked up."""

    file: str
    row: int
    colour: str
    label: str = ""
    weight: float = 1.0


@dataclass(frozen=True, slots=True)
class ListedBlend:
    """One row of a blends file: its ends as text, not yet looked up."""

    file: str
    row: int
    name: str
    start: str
    end: str
    step: float | None = None


def read_list(path: Path) -> list[Listed]:
    """The rows of a list file, which must have a column `colour`.

    Raises
    ------
    InputError
        If the file cannot be read, has no such column, or no row.
    ProblemsInFile
        With every weight that is no number above 0.
    """
    rows = _Rows(path, required=("colour",))
    listed = [
        Listed(
            path.name,
            row.number,
            rows.text(row, "colour"),
            rows.text(row, "label"),
            rows.positive(row, "weight", "a weight above 0") or 1.0,
        )
        for row in rows.rows
    ]
    rows.raise_problems()
    return listed


def read_blends(path: Path) -> list[ListedBlend]:
    """The rows of a blends file, which must have the columns `name`, `from`, `to`.

    Raises
    ------
    InputError
        If the file cannot be read, lacks a column, or has no row.
    ProblemsInFile
        With every step that is no number above 0.
    """
    rows = _Rows(path, required=("name", "from", "to"))
    listed = [
        ListedBlend(
            path.name,
            row.number,
            rows.text(row, "name"),
            rows.text(row, "from"),
            rows.text(row, "to"),
            rows.positive(row, "step", "a step above 0 in ΔE00"),
        )
        for row in rows.rows
    ]
    rows.raise_problems()
    return listed


@contextmanager
def located(listed: Listed | ListedBlend) -> Iterator[None]:
    """Say in which row of which file something went wrong."""
    try:
        yield
    except StopgapError as error:
        raise InputError(f"{listed.file}: row {listed.row}: {error}") from error


def find_swatches(
    wanted: Sequence[str] | Sequence[Listed], swatches: Sequence[Swatch], file_name: str = ""
) -> list[Swatch]:
    """The swatch for each text or row, all that cannot be found reported together.

    Raises
    ------
    ProblemsInFile
        With one sentence for each that is unknown or the name of several.
    """
    found, problems = [], []
    for item in wanted:
        text = item.colour if isinstance(item, Listed) else item
        try:
            found.append(find_swatch(text, swatches))
        except StopgapError as error:
            place = f"row {item.row}, column colour: " if isinstance(item, Listed) else ""
            problems.append(f"{place}{error}")
    if problems:
        where = f"{file_name}: " if file_name else ""
        if len(problems) == 1 and not file_name:
            raise InputError(problems[0])
        raise ProblemsInFile(f"{where}nothing was changed.", problems)
    return found


class _Rows:
    """The rows of a list file by column title, problems gathered."""

    def __init__(self, path: Path, required: tuple[str, ...]) -> None:
        table = read_table(path)
        self._name = path.name
        self._places = {cell.casefold(): place for place, cell in enumerate(table.header.cells)}
        self._problems: list[str] = []
        self.rows = table.rows
        lacking = [title for title in required if title not in self._places]
        if lacking:
            found = ", ".join(map(repr, table.header.cells))
            raise InputError(
                f"{path.name}: row {table.header.number}: no column is headed "
                f"{' or '.join(map(repr, lacking))}. Found {found:.300}."
            )
        if not table.rows:
            raise InputError(f"{path.name}: the list is empty. Expected rows below the header.")

    def text(self, row: Row, title: str) -> str:
        """The text under a title, empty where there is none."""
        place = self._places.get(title)
        if place is None or place >= len(row.cells):
            return ""
        return unguard(row.cells[place])

    def positive(self, row: Row, title: str, expected: str) -> float | None:
        """The number under a title, None where the cell is empty or a problem was noted."""
        stated = self.text(row, title)
        if not stated:
            return None
        try:
            value = float(stated.replace(",", "."))
        except ValueError:
            value = 0.0
        if not 0.0 < value < float("inf"):
            self._problems.append(
                f"row {row.number}, column {title}: found {stated!r:.40}; expected {expected}."
            )
            return None
        return value

    def raise_problems(self) -> None:
        """Raise what was gathered."""
        if self._problems:
            raise ProblemsInFile(f"{self._name}: nothing was done.", self._problems)
