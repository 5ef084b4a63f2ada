"""What a question is asked about: a swatch, or a colour of its own."""

from typing import NamedTuple

from stopgap.swatches.swatch import Swatch


class FreeColour(NamedTuple):
    """A colour that belongs to no pencil: `label` as it was written, Lab under D50, 2 degree."""

    label: str
    lab: tuple[float, float, float]


Target = Swatch | FreeColour
