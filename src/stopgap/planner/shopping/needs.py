"""What a shopping list is for: blends without gaps, and colours within a tolerance."""

import math
from dataclasses import dataclass
from numbers import Real

from stopgap.defaults import STEP, TOLERANCE
from stopgap.errors import InputError
from stopgap.planner.materials import Lab, one_colour
from stopgap.swatches import FreeColour, Swatch, Target


@dataclass(frozen=True, slots=True)
class BlendNeed:
    """A blend from one colour to another, no step above `step` [ΔE].

    An end that is a swatch is a pencil that must be owned or bought. An end that is a free colour
    is a place to come from or to reach, without a pencil of its own. `width` is how far a colour
    may lie from the path or from its chord, in units of CAM16-UCS; None is a quarter of the chord,
    but at least 8.
    """

    label: str
    start: Target
    end: Target
    step: float = STEP
    width: float | None = None
    weight: float = 1.0

    def __post_init__(self) -> None:
        for name, value in (("step", self.step), ("weight", self.weight)):
            _above_zero(value, f"blend {self.label!r}: {name}")
        if self.width is not None:
            _above_zero(self.width, f"blend {self.label!r}: width")
        one_colour(self.start.lab, f"blend {self.label!r}: start")
        one_colour(self.end.lab, f"blend {self.label!r}: end")
        if tuple(self.start.lab) == tuple(self.end.lab):
            raise InputError(
                f"blend {self.label!r}: both ends are the same colour; give two different ends."
            )

    @property
    def ends(self) -> tuple[str, str]:
        """What start and end are called."""
        return _called(self.start), _called(self.end)

    @property
    def key(self) -> tuple[object, ...]:
        """What needs are sorted by, so that the order of rows never decides anything."""
        ends = (_name(self.start), _name(self.end))
        return (0, self.label, *ends, self.step, self.width or 0.0, self.weight)


@dataclass(frozen=True, slots=True)
class ColourNeed:
    """A colour, or a stand-in for a named shade: something laid must lie within `tolerance` [ΔE].

    A target that is a swatch means its colour: any pencil may serve, the shade itself too.
    """

    label: str
    target: Target
    tolerance: float = TOLERANCE
    weight: float = 1.0

    def __post_init__(self) -> None:
        for name, value in (("tolerance", self.tolerance), ("weight", self.weight)):
            _above_zero(value, f"colour {self.label!r}: {name}")
        one_colour(self.target.lab, f"colour {self.label!r}")

    @property
    def lab(self) -> Lab:
        """The colour to be met."""
        return self.target.lab

    @property
    def key(self) -> tuple[object, ...]:
        """What needs are sorted by, so that the order of rows never decides anything."""
        return (1, self.label, _name(self.target), self.tolerance, self.weight)


Need = BlendNeed | ColourNeed


def _name(target: Target) -> tuple[object, ...]:
    return (isinstance(target, Swatch), _called(target), target.lab)


def _called(target: Target) -> str:
    return target.label if isinstance(target, FreeColour) else target.address


def _above_zero(value: float, name: str) -> None:
    if not (isinstance(value, Real) and 0.0 < value < math.inf):
        raise InputError(f"{name} must be a number above 0, found {value!r}.")
