"""One pencil's colour as laid on paper, and a bare colour; a question may be about either."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import hypot
from typing import NamedTuple

from stopgap.swatches.fields import PencilFields, Source, Status, Stock
from stopgap.swatches.measurement import (
    Covariance,
    MeasurementConditions,
    Readings,
    is_colour,
)


class Reflectance(NamedTuple):
    """A measured spectrum: reflectance factor (perfect diffuser = 1) at rising wavelengths [nm]."""

    wavelengths: tuple[float, ...]
    values: tuple[float, ...]


class Covering(NamedTuple):
    """How a colour on another paper may be off since it is not known how well the pencil covers.

    Lab of its mean over all that is held of that, and of where it covers one standard deviation
    better. It is nearly a line: the clearer a pencil is, the more of the paper it takes on.
    """

    mean: tuple[float, ...]
    better: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Swatch(PencilFields):
    """One swatch: `lab` is CIE L*a*b* under D50, 2 degree observer, on the paper named.

    Where `lab` is NO_COLOUR it is a name: what is known of a pencil that waits for its colour.

    Beside the fields of the table it has what was measured: `covariance` says the uncertainty in
    L*, a*, b* where readings tell its directions, and is None where it is the same in every
    direction of ΔE00. `extra` holds the columns of the user's file that stopgap does not know.
    `layered_as` is the same pencil on the paper that swatches lie on, which layers are reckoned
    from, where this is its colour on another, and `ground_uncertainty` what is not known then of
    how pencils cover that paper: a part in ΔE00, mostly shared with all that are predicted on it,
    of which `covering` says which way it goes.
    """

    reflectance: Reflectance | None = None
    measurement: MeasurementConditions = field(default_factory=MeasurementConditions)
    readings: Readings | None = None
    covariance: Covariance | None = None
    extra: Mapping[str, str] = field(default_factory=dict)
    layered_as: "Swatch | None" = None
    ground_uncertainty: float = 0.0
    covering: Covering | None = None

    @property
    def coloured(self) -> bool:
        """Whether it has a colour; without one it is but the name of a pencil."""
        return is_colour(self.lab)

    @property
    def total_uncertainty(self) -> float:
        """Standard uncertainty of the colour in ΔE00: its own part and those that it shares."""
        return hypot(self.uncertainty_there, self.ground_uncertainty)

    @property
    def uncertainty_there(self) -> float:
        """The same beside others on this paper, such as recipes of it, which share the rest."""
        return hypot(self.uncertainty, self.shared_uncertainty)

    @property
    def error_group(self) -> tuple[str, str, str]:
        """What swatches with the same shared error have in common: a scan, else range and source.

        A scan is known by its instrument and date.
        """
        measured = self.measurement
        if self.source is Source.SCANNED and measured.instrument:
            return (self.source, measured.instrument, measured.date)
        return (self.source, self.range.casefold(), "")

    @property
    def ground_group(self) -> str | None:
        """What swatches that are predicted on one paper have in common; None where this is not."""
        return self.paper.casefold() if self.covering else None

    @property
    def address(self) -> str:
        """The swatch as a target: `RANGE:CODE`."""
        return f"{self.range}:{self.code}"

    @property
    def discontinued(self) -> bool:
        """Whether the maker no longer sells the shade."""
        return self.status is Status.DISCONTINUED

    @property
    def at_hand(self) -> bool:
        """Whether it is owned and something is left of it, so that it can be laid."""
        return self.owned and self.stock not in (Stock.EMPTY, Stock.NONE)

    @property
    def to_buy(self) -> bool:
        """Whether buying it is worth a thought: it is not at hand, and not avoided."""
        return not (self.at_hand or self.avoid)

    @property
    def lays_badly(self) -> bool:
        """Whether the user's own judgement is that it lays badly."""
        return self.laydown is not None and self.laydown <= LAYS_BADLY

    @property
    def fades_soon(self) -> bool:
        """Whether its rating is weak on its own scale."""
        return self.lightfastness is not None and self.lightfastness.weak

    @property
    def to_be_replaced(self) -> bool:
        """Whether it is asked for to be replaced, and so is never the answer itself."""
        return self.discontinued or self.stock is Stock.EMPTY or bool(self.avoid)


LAYS_BADLY = 2
"""A pencil lays badly by the user's judgement up to this, of 1 to 5."""


def as_layered(swatch: Swatch) -> Swatch:
    """The swatch that layers of a pencil are reckoned from."""
    return swatch.layered_as or swatch


class FreeColour(NamedTuple):
    """A colour that belongs to no pencil: `label` as it was written, Lab under D50, 2 degree."""

    label: str
    lab: tuple[float, float, float]


Target = Swatch | FreeColour


def is_target(swatch: Swatch, target: Target) -> bool:
    """Whether a swatch is the pencil that is asked for; a bare colour is none."""
    return isinstance(target, Swatch) and swatch.address == target.address
