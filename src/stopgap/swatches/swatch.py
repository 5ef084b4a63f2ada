"""One pencil's colour as laid on paper, and what is known about the pencil."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from types import MappingProxyType
from typing import NamedTuple

from stopgap.swatches.lightfastness import Lightfastness
from stopgap.swatches.measurement import Covariance, MeasurementConditions, Readings


class Status(StrEnum):
    """Whether the maker still sells the shade."""

    CURRENT = "current"
    DISCONTINUED = "discontinued"


class Finish(StrEnum):
    """Plain colour, or one of the finishes whose look a single Lab value cannot tell."""

    PLAIN = "plain"
    METALLIC = "metallic"
    FLUORESCENT = "fluorescent"


class Core(StrEnum):
    """What binds the pigment."""

    WAX = "wax"
    OIL = "oil"
    WATER_SOLUBLE = "water-soluble"


class Source(StrEnum):
    """How the colour was had."""

    MEASURED = "measured"
    SCANNED = "scanned"
    TYPED = "typed"


SOURCE_UNCERTAINTY: Mapping[Source, float] = MappingProxyType(
    {Source.MEASURED: 0.5, Source.SCANNED: 2.0, Source.TYPED: 5.0}
)
"""Standard uncertainty (one sigma, ΔE00) of a swatch by its source: this project's defaults."""


class Reflectance(NamedTuple):
    """A measured spectrum: reflectance factor (perfect diffuser = 1) at rising wavelengths [nm]."""

    wavelengths: tuple[float, ...]
    values: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Swatch:
    """One swatch: `lab` is CIE L*a*b* under D50, 2 degree observer, on the paper named.

    `uncertainty` is one standard uncertainty in ΔE00; `covariance` says it in L*, a*, b* where
    readings tell its directions, and is None where it is the same in every direction of ΔE00;
    `price` is in the unit the user thinks in; `laydown` is the user's own judgement from 1 (lays
    badly) to 5; `extra` holds the columns of the user's file that stopgap does not know.
    """

    range: str
    code: str
    lab: tuple[float, float, float]
    name: str = ""
    owned: bool = False
    status: Status = Status.CURRENT
    finish: Finish = Finish.PLAIN
    core: Core | None = None
    lightfastness: Lightfastness | None = None
    price: float | None = None
    laydown: int | None = None
    source: Source = Source.TYPED
    uncertainty: float = SOURCE_UNCERTAINTY[Source.TYPED]
    paper: str = ""
    note: str = ""
    reflectance: Reflectance | None = None
    measurement: MeasurementConditions = field(default_factory=MeasurementConditions)
    readings: Readings | None = None
    covariance: Covariance | None = None
    extra: Mapping[str, str] = field(default_factory=dict)

    @property
    def address(self) -> str:
        """The swatch as a target: `RANGE:CODE`."""
        return f"{self.range}:{self.code}"

    @property
    def discontinued(self) -> bool:
        """Whether the maker no longer sells the shade."""
        return self.status is Status.DISCONTINUED
