"""Kinds of fields: how a value is written in a file and read back, stored, and told in an answer.

Cells come without a guard against formulas, numbers with a decimal point and an ASCII minus; what
is not as `expected` raises ValueError. `titles` are the columns of a file, `columns` those of the
library's table.
"""

import math
import re
from collections.abc import Mapping
from enum import StrEnum
from types import MappingProxyType
from typing import Any

from stopgap.errors import InputError
from stopgap.swatches.lightfastness import Lightfastness, LightfastnessScale
from stopgap.swatches.measurement import NO_COLOUR, is_colour

PLAIN_NUMBER = re.compile(r"[-+]?(\d+\.?\d*|\.\d+)([eE][-+]?\d{1,3})?", re.ASCII)
"""A number as a file states it: no thousands, a point before decimals."""
_YES = ("yes", "y", "true", "1", "x")
_NO = ("no", "n", "false", "0")


class FieldKind:
    """Reads and writes as a text does; the kinds differ in what they override."""

    expected = "a text"
    as_stored = True
    """Whether the library keeps the very value, so that no row needs to be converted."""

    told_as: Mapping[str, Any] = MappingProxyType({"type": "string"})
    """The JSON Schema of what is told."""

    def titles(self, name: str) -> tuple[str, ...]:
        """The columns of a file that hold a field of that name."""
        return (name,)

    def columns(self, name: str) -> tuple[str, ...]:
        """The columns of the library's table that hold it."""
        return self.titles(name)

    def read(self, *cells: str) -> Any:
        """The value in cells, the first of which is not empty."""
        return cells[0]

    def written(self, value: Any) -> tuple[str, ...]:
        """The cells of a value that is there; they are read back to the last bit."""
        return (str(value),)

    def stored(self, value: Any) -> tuple[Any, ...]:
        """The value under each of `columns`; None is what is not known."""
        return (value,)

    def restored(self, *stored: Any) -> Any:
        """The value that was stored; KeyError or ValueError where it is none."""
        return stored[0]

    def told(self, value: Any) -> Any:
        """The value as an answer in JSON or CSV has it."""
        return value


class Text(FieldKind):
    """Any text."""


class Reason(Text):
    """Why something is so: yes for no reason in particular, and no where it is not so."""

    def read(self, *cells: str) -> Any:
        """The reason; empty for a no."""
        word = cells[0].casefold()
        if word in _NO:
            return ""
        return "yes" if word in _YES else cells[0]


class Number(FieldKind):
    """A number from `low` to `high`; None is no limit."""

    told_as = MappingProxyType({"type": ["number", "null"]})

    def __init__(self, low: float | None, high: float | None, expected: str) -> None:
        self.low, self.high, self.expected = low, high, expected

    def read(self, *cells: str) -> Any:
        """The number; whatever is not finite or not within the limits is refused."""
        value = float(cells[0]) if PLAIN_NUMBER.fullmatch(cells[0]) else math.nan
        low = -math.inf if self.low is None else self.low
        high = math.inf if self.high is None else self.high
        if not (math.isfinite(value) and low <= value <= high):
            raise ValueError(cells[0])
        return value

    def written(self, value: Any) -> tuple[str, ...]:
        """The shortest text that is this very number."""
        return (repr(value),)


class WholeNumber(Number):
    """A whole number within limits."""

    def read(self, *cells: str) -> Any:
        """The number; 2.0 is one, 2.5 is none."""
        value = super().read(*cells)
        if value != int(value):
            raise ValueError(cells[0])
        return int(value)


class YesOrNo(FieldKind):
    """A yes or a no."""

    expected = "yes or no"
    as_stored = False
    told_as = MappingProxyType({"type": "boolean"})

    def read(self, *cells: str) -> Any:
        """True or False, from any of the usual words."""
        word = cells[0].casefold()
        if word not in _YES + _NO:
            raise ValueError(cells[0])
        return word in _YES

    def written(self, value: Any) -> tuple[str, ...]:
        """One of the two words."""
        return ("yes" if value else "no",)

    def stored(self, value: Any) -> tuple[Any, ...]:
        """As SQLite has it."""
        return (int(value),)

    def restored(self, *stored: Any) -> Any:
        """True or False."""
        return bool(stored[0])


class OneOf(FieldKind):
    """One of a few words, those of `choices`; `always` one of them, or perhaps none is known."""

    as_stored = False

    def __init__(self, choices: type[StrEnum], *, always: bool = False) -> None:
        self.choices = choices
        words: dict[str | None, StrEnum | None] = {} if always else {None: None}
        self._by_word: Mapping[str | None, StrEnum | None] = MappingProxyType(
            {**words, **{str(choice): choice for choice in choices}}
        )
        self.told_as = MappingProxyType({"enum": [*map(str, choices), None]})
        *first, last = map(str, choices)
        self.expected = f"{', '.join(first)} or {last}"

    def read(self, *cells: str) -> Any:
        """The choice, in any case."""
        return self.choices(cells[0].casefold())

    def stored(self, value: Any) -> tuple[Any, ...]:
        """The word."""
        return (None if value is None else str(value),)

    def restored(self, *stored: Any) -> Any:
        """The choice."""
        return self._by_word[stored[0]]

    def told(self, value: Any) -> Any:
        """The word."""
        return None if value is None else str(value)


class Rating(FieldKind):
    """A lightfastness, with its scale in a column of its own."""

    expected = (
        "I to V with the scale ASTM, or 1 to 8 with the scale BWS in lightfastness_scale, or "
        "a maker's own marks, 2 of 3 or **"
    )
    as_stored = False
    told_as = MappingProxyType({"type": ["string", "null"]})

    def titles(self, name: str) -> tuple[str, ...]:
        """The rating, and beside it the scale."""
        return (name, f"{name}_scale")

    def read(self, *cells: str) -> Any:
        """The rating; a scale may also stand before it in one cell."""
        try:
            return Lightfastness.parse(cells[0], cells[1] or None)
        except InputError as error:
            raise ValueError(cells[0]) from error

    def written(self, value: Any) -> tuple[str, ...]:
        """The rating as its scale writes it, and the scale."""
        return (value.grade, str(value.scale))

    def stored(self, value: Any) -> tuple[Any, ...]:
        """The rating as a number, and the scale, with the most marks where it is a maker's own."""
        if value is None:
            return (None, None)
        return (value.rating, f"{value.scale} {value.most or ''}".rstrip())

    def restored(self, *stored: Any) -> Any:
        """The rating, None where there is no scale."""
        rating, scale = stored
        if not scale:
            return None
        name, _, most = scale.partition(" ")
        return Lightfastness(LightfastnessScale(name), rating, int(most or 0))

    def told(self, value: Any) -> Any:
        """Scale and rating in one text."""
        return None if value is None else str(value)


class Colour(FieldKind):
    """CIE L*a*b* under D50, 2 degree observer; a file may state it otherwise and is converted."""

    expected = "L, a, b or another colour"
    as_stored = False

    def titles(self, name: str) -> tuple[str, ...]:
        """The three coordinates, whatever the field is called."""
        del name
        return ("L", "a", "b")

    def columns(self, name: str) -> tuple[str, ...]:
        """The same; SQLite does not tell `L` from `l`, hence the word."""
        del name
        return ("lightness", "a", "b")

    def read(self, *cells: str) -> Any:
        """The three numbers."""
        coordinate = Number(None, None, self.expected)
        return tuple(coordinate.read(cell) for cell in cells)

    def written(self, value: Any) -> tuple[str, ...]:
        """The shortest texts that are these very numbers, empty where there is no colour."""
        return tuple(map(repr, value)) if is_colour(value) else ("", "", "")

    def stored(self, value: Any) -> tuple[Any, ...]:
        """The three numbers, None each where there is no colour."""
        return tuple(value) if is_colour(value) else (None, None, None)

    def restored(self, *stored: Any) -> Any:
        """The three numbers."""
        return NO_COLOUR if stored[0] is None else stored

    def told(self, value: Any) -> Any:
        """The three numbers as a list, None where there is no colour."""
        return list(value) if is_colour(value) else None
