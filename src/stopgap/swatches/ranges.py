"""One maker's line of pencils."""

from dataclasses import dataclass, field

from stopgap.swatches.conditions import Paper
from stopgap.swatches.pencil import Pencil
from stopgap.swatches.swatch import Swatch


@dataclass(frozen=True, slots=True)
class ColourRange:
    """A named line of pencils in the order of the file they came from.

    `shift` is what the user had added to every L*, a*, b* that the file states.
    """

    name: str
    pencils: tuple[Pencil, ...]
    white: str = "D50"
    observer: int = 2
    white_assumed: bool = True
    origin: str = ""
    """The file the range was imported from, empty where it was entered by hand."""
    paper: Paper = field(default_factory=Paper)
    shift: tuple[float, float, float] = (0.0, 0.0, 0.0)

    @property
    def swatches(self) -> tuple[Swatch, ...]:
        """Of every pencil the swatch that is its colour; none of a pencil that is only wet."""
        found = (pencil.colour() for pencil in self.pencils)
        return tuple(swatch for swatch in found if swatch is not None)

    @property
    def every_swatch(self) -> tuple[Swatch, ...]:
        """All swatches of all pencils, those of one pencil together."""
        return tuple(swatch for pencil in self.pencils for swatch in pencil.swatches)
