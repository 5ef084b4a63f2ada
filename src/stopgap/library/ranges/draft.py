"""A range as its file states it, before the library has it."""

import json
from collections import Counter
from typing import NamedTuple

from stopgap.errors import InputError, Note, Problem
from stopgap.library.ranges.conversion import Convention
from stopgap.library.ranges.repeats import Taken
from stopgap.swatches import Paper, Swatch, colour_of


class RangeDraft(NamedTuple):
    """A range as a file states it, not yet in the library; the swatches of a pencil together.

    `doubtful` are problems of rows that were left out for them.
    """

    name: str
    origin: str
    pencils: tuple[tuple[Taken, ...], ...]
    convention: Convention
    details: dict[str, str]
    notes: tuple[Note, ...]
    paper: Paper = Paper()
    doubtful: tuple[Problem, ...] = ()

    @property
    def swatches(self) -> tuple[Taken, ...]:
        """All swatches, each with its colour as entered."""
        return tuple(taken for pencil in self.pencils for taken in pencil)

    @property
    def colours(self) -> list[Swatch]:
        """Of each pencil the swatch that is its colour, where it has one."""
        found = (colour_of([swatch for swatch, _ in group]) for group in self.pencils)
        return [swatch for swatch in found if swatch is not None]

    @property
    def white(self) -> tuple[str, int, bool]:
        """Illuminant and observer of most of the entries, and whether some were assumed."""
        stated = Counter(
            (swatch.measurement.illuminant, swatch.measurement.observer)
            for swatch, _ in self.swatches
            if swatch.measurement.illuminant
        )
        default = (self.convention.white, self.convention.observer)
        illuminant, observer = stated.most_common(1)[0][0] if stated else default
        assumed = any(swatch.measurement.assumed for swatch, _ in self.swatches)
        return illuminant, observer or 2, assumed

    @property
    def as_kept(self) -> tuple[str, int, int, str, str | None]:
        """White, observer, if some were assumed, origin and paper, as a library keeps them."""
        white, observer, assumed = self.white
        paper = json.dumps(self.paper.lab) if self.paper.measured else None
        return white, observer, int(assumed), self.origin, paper


def check_range_name(name: str) -> None:
    """Refuse a range name that could not be asked for again.

    Raises
    ------
    InputError
        If it is empty, too long, or holds a colon or a control character.
    """
    if not name.strip() or ":" in name or len(name) > 100 or not name.isprintable():
        raise InputError(
            f"range name {name!r:.60}: expected 1 to 100 printable characters without a colon, "
            "which parts the range from the code."
        )
