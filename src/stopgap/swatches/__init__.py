"""What a pencil leaves on paper, as plain immutable values without any input or output."""

from typing import TYPE_CHECKING

from stopgap.lazy import on_first_use

if TYPE_CHECKING:
    from stopgap.swatches.hand import Hand
    from stopgap.swatches.lightfastness import Lightfastness, LightfastnessScale
    from stopgap.swatches.measurement import (
        Bandpass,
        Covariance,
        MeasurementConditions,
        MeasurementMode,
        Readings,
        differing_conditions,
        several_conditions,
        stated_conditions,
    )
    from stopgap.swatches.paper import DEFAULT_PAPER_LAB, Paper
    from stopgap.swatches.ranges import ColourRange
    from stopgap.swatches.selection import Selection
    from stopgap.swatches.stack import AS_SWATCHED, LaidStack, Layer, Stack
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
    "AS_SWATCHED",
    "DEFAULT_PAPER_LAB",
    "SOURCE_UNCERTAINTY",
    "Bandpass",
    "ColourRange",
    "Core",
    "Covariance",
    "Finish",
    "FreeColour",
    "Hand",
    "LaidStack",
    "Layer",
    "Lightfastness",
    "LightfastnessScale",
    "MeasurementConditions",
    "MeasurementMode",
    "Paper",
    "Readings",
    "Reflectance",
    "Selection",
    "Source",
    "Stack",
    "Status",
    "Swatch",
    "Target",
    "differing_conditions",
    "several_conditions",
    "stated_conditions",
]

__getattr__ = on_first_use(
    __name__,
    {
        "hand": "Hand",
        "lightfastness": "Lightfastness LightfastnessScale",
        "measurement": "Bandpass Covariance MeasurementConditions MeasurementMode Readings "
        "differing_conditions several_conditions stated_conditions",
        "paper": "DEFAULT_PAPER_LAB Paper",
        "ranges": "ColourRange",
        "selection": "Selection",
        "stack": "AS_SWATCHED LaidStack Layer Stack",
        "swatch": "SOURCE_UNCERTAINTY Core Finish Reflectance Source Status Swatch",
        "target": "FreeColour Target",
    },
)
