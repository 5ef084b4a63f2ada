"""Ways to lay a colour: one pencil heavily, one lightly, or two in layers."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from stopgap.arrays import Floats, as_lab
from stopgap.errors import InputError
from stopgap.swatches import Swatch

Lab = tuple[float, float, float]


def one_colour(lab: Lab, name: str) -> None:
    """Raise InputError unless `lab` is three finite numbers."""
    if as_lab(lab, name).shape != (3,):
        raise InputError(f"{name}: expected one colour, L*, a* and b*.")


@dataclass(frozen=True, slots=True)
class Way:
    """One way to lay a colour.

    `lab` is what it looks like (CIE L*a*b*, D50, 2 degree observer); `swatches` are the pencils it
    takes, in the order they are laid; `pressures`, one word a pencil, is empty for a pencil laid as
    in its swatch; `uncertainty` is one standard uncertainty of `lab` in ΔE00, that of the swatches
    included.
    """

    label: str
    lab: Lab
    swatches: tuple[Swatch, ...]
    uncertainty: float = 0.0
    pressures: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        one_colour(self.lab, f"way {self.label!r}")
        if not self.swatches:
            raise InputError(f"way {self.label!r}: name at least one pencil that it takes.")

    @classmethod
    def of(cls, swatch: Swatch) -> "Way":
        """The pencil laid as in its swatch."""
        return cls(swatch.address, swatch.lab, (swatch,), swatch.uncertainty)

    @property
    def recipe(self) -> bool:
        """Whether it is anything but one pencil laid as in its swatch."""
        return bool(self.pressures) or len(self.swatches) > 1

    @property
    def addresses(self) -> frozenset[str]:
        """The addresses of the pencils it takes."""
        return frozenset(swatch.address for swatch in self.swatches)

    @property
    def key(self) -> tuple[object, ...]:
        """What ways are sorted by, so that the order of rows never decides anything."""
        pencils = tuple(swatch.address for swatch in self.swatches)
        return (self.recipe, len(pencils), pencils, self.pressures, self.label, self.lab)


WaySource = Sequence[Way] | Callable[[Sequence[Swatch], Floats], Iterable[Way]]
"""Recipes as they are, or a function that makes them from the pencils there are and from the
colours aimed at, shape (n, 3)."""


def unique_swatches(swatches: Iterable[Swatch], name: str) -> list[Swatch]:
    """`swatches` without repetitions, sorted by address.

    Raises
    ------
    InputError
        If one address is borne by swatches that differ.
    """
    by_address: dict[str, Swatch] = {}
    for swatch in swatches:
        known = by_address.setdefault(swatch.address, swatch)
        if known != swatch:
            raise InputError(
                f"{name}: {swatch.address} occurs twice with different contents; keep one of them."
            )
    for swatch in by_address.values():
        one_colour(swatch.lab, f"{name}: {swatch.address}")
    return [by_address[address] for address in sorted(by_address)]


def recipes_from(source: WaySource, swatches: Sequence[Swatch], aims: Floats) -> list[Way]:
    """The recipes of `source` that can be laid with `swatches`, sorted, without repetitions."""
    offered = source(swatches, aims) if callable(source) else source
    there = {swatch.address for swatch in swatches}
    usable = {way.key: way for way in offered if way.recipe and way.addresses <= there}
    return [usable[key] for key in sorted(usable)]


def labs_of(ways: Sequence[Way] | Sequence[Swatch]) -> Floats:
    """Their colours, shape (n, 3)."""
    return np.array([way.lab for way in ways], dtype=np.float64).reshape(-1, 3)
