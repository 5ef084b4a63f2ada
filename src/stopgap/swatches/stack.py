"""Pencils laid over each other: which, in what order, and how hard."""

from collections.abc import Iterable
from typing import NamedTuple, Self

from stopgap.swatches.fields import Pressure
from stopgap.swatches.swatch import Swatch


class Layer(NamedTuple):
    """One pencil, laid once with a `pressure`: a name such as light, medium or heavy."""

    swatch: Swatch
    pressure: str = str(Pressure.HEAVY)


class Stack(tuple[Layer, ...]):
    """Layers over each other, the first laid first; at least one where it stands for a colour.

    >>> Stack.of(Swatch("Shore", "7", (50.0, 0.0, 0.0))).single
    True
    """

    __slots__ = ()

    @classmethod
    def of(cls, *swatches: Swatch, pressures: Iterable[str] | None = None) -> Self:
        """These pencils in that order, each as in its swatch unless `pressures` say otherwise.

        Raises
        ------
        ValueError
            If there are not as many pressures as pencils.
        """
        if pressures is None:
            return cls(Layer(swatch, str(swatch.pressure)) for swatch in swatches)
        return cls(Layer(*pair) for pair in zip(swatches, pressures, strict=True))

    @property
    def swatches(self) -> tuple[Swatch, ...]:
        """The pencils, in the order they are laid."""
        return tuple(layer.swatch for layer in self)

    @property
    def pressures(self) -> tuple[str, ...]:
        """The pressures, in the same order."""
        return tuple(layer.pressure for layer in self)

    @property
    def addresses(self) -> frozenset[str]:
        """The addresses of the pencils it takes."""
        return frozenset(layer.swatch.address for layer in self)

    @property
    def single(self) -> bool:
        """Whether it is one pencil laid as in its swatch; all else is a recipe."""
        return len(self) == 1 and self[0].pressure == self[0].swatch.pressure

    @property
    def label(self) -> str:
        """Its pencils' addresses, of a recipe with their pressures, in the order they are laid."""
        if self.single:
            return self[0].swatch.address
        return ", then ".join(f"{layer.swatch.address} {layer.pressure}" for layer in self)

    @property
    def key(self) -> tuple[object, ...]:
        """What stacks are sorted by, so that the order of rows never decides: single ones first."""
        return not self.single, len(self), tuple(s.address for s in self.swatches), self.pressures


class LaidStack(NamedTuple):
    """A stack and what it looks like.

    `lab` is CIE L*a*b* (D50, 2 degree observer), known for a pencil as in its swatch and predicted
    for a recipe; `uncertainty` is one standard uncertainty of it in ΔE00, that of the swatches
    included.
    """

    stack: Stack
    lab: tuple[float, float, float]
    uncertainty: float = 0.0

    @classmethod
    def of(cls, swatch: Swatch) -> "LaidStack":
        """The pencil laid as in its swatch."""
        return cls(Stack.of(swatch), swatch.lab, swatch.uncertainty)

    @property
    def recipe(self) -> bool:
        """Whether it is anything but one pencil laid as in its swatch."""
        return not self.stack.single

    @property
    def swatches(self) -> tuple[Swatch, ...]:
        """The pencils, in the order they are laid."""
        return self.stack.swatches

    @property
    def addresses(self) -> frozenset[str]:
        """The addresses of the pencils it takes."""
        return self.stack.addresses

    @property
    def label(self) -> str:
        """Its pencils' addresses, of a recipe with their pressures, in the order they are laid."""
        return self.stack.label

    @property
    def key(self) -> tuple[object, ...]:
        """What they are sorted by, so that the order of rows never decides: single ones first."""
        return (*self.stack.key, self.lab)
