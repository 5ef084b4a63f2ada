"""What a pencil leaves on paper, as plain immutable values without any input or output."""

from stopgap.swatches.hand import DRAWING_PAPER, Hand
from stopgap.swatches.lightfastness import Lightfastness, LightfastnessScale
from stopgap.swatches.ranges import ColourRange
from stopgap.swatches.selection import Selection
from stopgap.swatches.swatch import (
    SOURCE_UNCERTAINTY,
    Core,
    Finish,
    Reflectance,
    Source,
    Status,
    Swatch,
)
from stopgap.swatches.target import FreeColour, Target

__all__ = [
    "DRAWING_PAPER",
    "SOURCE_UNCERTAINTY",
    "ColourRange",
    "Core",
    "Finish",
    "FreeColour",
    "Hand",
    "Lightfastness",
    "LightfastnessScale",
    "Reflectance",
    "Selection",
    "Source",
    "Status",
    "Swatch",
    "Target",
]
