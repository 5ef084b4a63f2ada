"""Cells of one row to values, every problem noted with its row and column instead of raised."""

import re
from enum import StrEnum
from typing import TypeVar

from stopgap.library.tables.columns import Columns
from stopgap.library.tables.formats import Row
from stopgap.library.tables.formulas import unguard

Choice = TypeVar("Choice", bound=StrEnum)

_NUMBER = re.compile(r"[-+]?(\d+\.?\d*|\.\d+)([eE][-+]?\d{1,3})?")
_YES = ("yes", "y", "true", "1", "x")
_NO = ("no", "n", "false", "0")


class Cells:
    """One row, asked cell by cell; `problems` gathers what was wrong with it."""

    def __init__(self, row: Row, columns: Columns, *, decimal_comma: bool) -> None:
        self.row = row
        self.columns = columns
        self.problems: list[str] = []
        self._decimal_comma = decimal_comma

    def raw(self, name: str) -> str:
        """The cell under a header as it stands, empty where there is none."""
        index = self.columns.place.get(name)
        return self.at(index) if index is not None else ""

    def at(self, index: int) -> str:
        """The cell in a column, empty where the row is short."""
        return self.row.cells[index] if index < len(self.row.cells) else ""

    def text(self, name: str) -> str:
        """A text, without the guard that an export put before it."""
        return unguard(self.raw(name))

    def problem(self, column: str, found: str, expected: str) -> None:
        """Note that a cell is not as expected."""
        stated = f"found {found!r:.60}" if found else "the cell is empty"
        self.problems.append(
            f"row {self.row.number}, column {column}: {stated}; expected {expected}."
        )

    def number(self, name: str, low: float, high: float, expected: str) -> float | None:
        """A number within limits, None where the cell is empty."""
        return self.number_in(name, self.raw(name), low, high, expected)

    def number_in(
        self, column: str, cell: str, low: float, high: float, expected: str
    ) -> float | None:
        """The number in `cell`, None where it is empty or a problem was noted."""
        if not cell:
            return None
        plain = cell.replace("−", "-")
        plain = plain.replace(",", ".") if self._decimal_comma else plain
        value = float(plain) if _NUMBER.fullmatch(plain) else None
        if value is None or not low <= value <= high:
            self.problem(column, cell, expected)
            return None
        return value

    def yes(self, name: str) -> bool:
        """A yes or no; an empty cell is a no."""
        cell = self.raw(name).casefold()
        if cell and cell not in _YES + _NO:
            self.problem(name, cell, "yes or no")
        return cell in _YES

    def choice(self, name: str, choices: type[Choice]) -> Choice | None:
        """One of a few words, None where the cell is empty."""
        cell = self.raw(name).casefold()
        words = [str(choice) for choice in choices]
        if cell and cell not in words:
            self.problem(name, cell, f"{', '.join(words[:-1])} or {words[-1]}")
        return choices(cell) if cell in words else None
