"""List files: colours that somebody calls for, or pencils somebody owns."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from stopgap.errors import InputError, ProblemsInFile, StopgapError
from stopgap.library.formats import read_table
from stopgap.library.formats.formulas import unguard
from stopgap.library.targets import find_swatch
from stopgap.swatches import Swatch


@dataclass(frozen=True, slots=True)
class Listed:
    """One row of a list: the colour as text, not yet looked up."""

    row: int
    colour: str
    label: str = ""


def read_list(path: Path) -> list[Listed]:
    """The rows of a list file, which must have a column `colour`.

    Raises
    ------
    InputError
        If the file cannot be read, has no such column, or no row.
    """
    table = read_table(path)
    titles = [cell.casefold() for cell in table.header.cells]
    if "colour" not in titles:
        raise InputError(
            f"{path.name}: row {table.header.number}: no column is headed 'colour'. "
            f"Found {', '.join(map(repr, table.header.cells)):.300}."
        )
    colour = titles.index("colour")
    label = titles.index("label") if "label" in titles else None

    def cell(cells: tuple[str, ...], place: int | None) -> str:
        return unguard(cells[place]) if place is not None and place < len(cells) else ""

    rows = [
        Listed(row.number, cell(row.cells, colour), cell(row.cells, label)) for row in table.rows
    ]
    if not rows:
        raise InputError(f"{path.name}: the list is empty. Expected one colour a row.")
    return rows


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
