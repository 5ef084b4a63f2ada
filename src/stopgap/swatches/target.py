"""What a question is asked about: a swatch, or a colour of its own."""

from dataclasses import dataclass

from stopgap.swatches.swatch import Swatch


@dataclass(frozen=True, slots=True)
class FreeColour:
    """A colour that belongs to no pencil: `label` as it was written, Lab under D50, 2 degree."""

    label: str
    lab: tuple[float, float, float]


Target = Swatch | FreeColour
