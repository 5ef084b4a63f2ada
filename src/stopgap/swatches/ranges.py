"""One maker's line of pencils."""

from dataclasses import dataclass, field

from stopgap.swatches.conditions import Paper
from stopgap.swatches.swatch import Swatch


@dataclass(frozen=True, slots=True)
class ColourRange:
    """A named line of pencils, its swatches in the order of the file they came from.

    `shift` is what the user had added to every L*, a*, b* that the file states.
    """

    name: str
    swatches: tuple[Swatch, ...]
    white: str = "D50"
    observer: int = 2
    white_assumed: bool = True
    origin: str = ""
    """The file the range was imported from, empty where it was entered by hand."""
    paper: Paper = field(default_factory=Paper)
    shift: tuple[float, float, float] = (0.0, 0.0, 0.0)
