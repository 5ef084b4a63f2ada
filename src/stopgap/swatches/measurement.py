"""How a colour was measured, and what repeated readings say about its spread."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import NamedTuple

Lab = tuple[float, float, float]
NO_COLOUR: Lab = (math.nan, math.nan, math.nan)
"""The Lab of a name: a pencil whose colour nobody knows yet. `is_colour` tells."""

Covariance = tuple[Lab, Lab, Lab]
"""Covariance of L*, a*, b*: rows of a symmetric matrix."""


def is_colour(lab: Sequence[float]) -> bool:
    """Whether L*, a*, b* are a colour, and not NO_COLOUR."""
    return lab[0] == lab[0]  # nothing but nan is unequal to itself


class MeasurementMode(StrEnum):
    """Measurement conditions of ISO 13655:2017, by what lights the sample.

    M0: tungsten light, its ultraviolet unstated. M1: daylight D50. M2: ultraviolet excluded. M3:
    as M2, with polarisers that take away the shine.
    """

    M0 = "M0"
    M1 = "M1"
    M2 = "M2"
    M3 = "M3"


class Bandpass(StrEnum):
    """Who undid the blur of the instrument's bandpass: the instrument, or stopgap at import."""

    INSTRUMENT = "instrument"
    IMPORT = "import"


class MeasurementConditions(NamedTuple):
    """How one colour was measured; None or an empty text is what nobody stated.

    `illuminant` and `observer` are those of Lab or XYZ as entered, `assumed` where nobody stated
    one of them; a spectrum and a hex have none. `geometry` is written as 45/0 or d/8, `date` as
    the instrument wrote it.
    """

    illuminant: str = ""
    observer: int | None = None
    assumed: bool = False
    mode: MeasurementMode | None = None
    geometry: str = ""
    instrument: str = ""
    backing: str = ""
    date: str = ""
    bandpass: Bandpass | None = None


CONDITIONS = tuple(name for name in MeasurementConditions._fields if name != "assumed")
"""What can be stated of a measurement, each a column of a range file."""

COMPARED = ("illuminant", "observer", "mode", "geometry", "instrument", "backing")
"""The conditions that make two measurements comparable; a date does not."""


def differing_conditions(
    one: MeasurementConditions, other: MeasurementConditions
) -> tuple[str, ...]:
    """What both state and state differently, one phrase each: `mode M1, not M0`."""
    return tuple(
        f"{name} {_shown(getattr(one, name))}, not {_shown(getattr(other, name))}"
        for name in COMPARED
        if getattr(one, name)
        and getattr(other, name)
        and str(getattr(one, name)).casefold() != str(getattr(other, name)).casefold()
    )


def several_conditions(measured: Sequence[MeasurementConditions]) -> tuple[str, ...]:
    """Which conditions vary, one phrase each: `mode M0 (12), M1 (100), not stated (8)`.

    A spectrum has no illuminant and observer, so that those are compared where there are any.
    """
    phrases = []
    for name in COMPARED:
        counts: dict[str, int] = {}
        for conditions in measured:
            value = getattr(conditions, name)
            if value or name not in ("illuminant", "observer"):
                counts[_shown(value)] = counts.get(_shown(value), 0) + 1
        if len(counts) > 1:
            listed = ", ".join(f"{shown} ({count})" for shown, count in counts.items())
            phrases.append(f"{name} {listed}")
    return tuple(phrases)


def stated_conditions(conditions: MeasurementConditions) -> dict[str, str]:
    """What is stated, by the field's name, as text."""
    return {
        name: _shown(value)
        for name, value in conditions._asdict().items()
        if name != "assumed" and value
    }


@dataclass(frozen=True, slots=True)
class Readings:
    """Several readings of one swatch, whose mean is its colour.

    `labs` holds every reading under D50, 2 degree observer; `left_out` the places of those that
    lay too far from their siblings; `spread` the covariance of one reading.
    """

    labs: tuple[Lab, ...]
    left_out: tuple[int, ...]
    spread: Covariance

    @property
    def count(self) -> int:
        """How many readings the mean is taken from."""
        return len(self.labs) - len(self.left_out)


def _shown(value: object) -> str:
    return str(value) if value else "not stated"
