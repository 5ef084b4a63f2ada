"""What a pencil leaves on paper, as plain immutable values without any input or output."""

from stopgap.swatches.lightfastness import Lightfastness, LightfastnessScale
from stopgap.swatches.ranges import ColourRange
from stopgap.swatches.swatch import (
    SOURCE_UNCERTAINTY,
    Core,
    Finish,
    Reflectance,
    Source,
    Status,
    Swatch,
)

__all__ = [
    "SOURCE_UNCERTAINTY",
    "ColourRange",
    "Core",
    "Finish",
    "Lightfastness",
    "LightfastnessScale",
    "Reflectance",
    "Source",
    "Status",
    "Swatch",
]
