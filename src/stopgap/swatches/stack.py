"""What is laid: pencils over each other, in what order and how hard, and on which paper."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from types import MappingProxyType
from typing import NamedTuple, Self

from stopgap.swatches.fields import Pressure
from stopgap.swatches.swatch import Swatch

DEFAULT_PAPER_LAB = (96.0, 0.0, 2.0)
"""Taken for a paper that nobody measured: white drawing paper (common practice, no source)."""


class Tooth(StrEnum):
    """How rough a paper is, which is how much of a pencil it takes."""

    SMOOTH = "smooth"
    DRAWING = "drawing"
    ROUGH = "rough"


class Grain(StrEnum):
    """The word for its tooth that a paper is sold under (common practice, no source)."""

    FINE = "fine"
    MEDIUM = "medium"
    ROUGH = "rough"


GRAINS: Mapping[str, Tooth] = MappingProxyType(
    {Grain.FINE: Tooth.SMOOTH, Grain.MEDIUM: Tooth.DRAWING, Grain.ROUGH: Tooth.ROUGH}
)
"""The tooth of a paper by the word for its grain."""

PAPER_COLOURS: Mapping[str, tuple[float, float, float]] = MappingProxyType(
    {
        "white": DEFAULT_PAPER_LAB,
        "cream": (92.0, 1.0, 12.0),
        "tan": (74.0, 6.0, 20.0),
        "grey": (65.0, 0.0, 2.0),
        "black": (20.0, 0.0, 0.0),
    }
)
"""What a paper's colour is taken for where only a word says it: this project's values."""


class Paper(NamedTuple):
    """A paper: Lab under D50, 2 degree observer, and what it is called, empty where nobody did.

    `measured` is False where a word or the default stands for its colour. `grain` is a word of
    GRAINS, empty where nobody said it. `former` are names it had, by which files may still call
    it; `default` says that it is the one drawn on where nobody says otherwise.
    """

    lab: tuple[float, float, float] = DEFAULT_PAPER_LAB
    measured: bool = False
    name: str = ""
    grain: str = ""
    former: tuple[str, ...] = ()
    default: bool = False

    @property
    def names(self) -> frozenset[str]:
        """Everything it is or was called, in lower case."""
        return frozenset(name.casefold() for name in (self.name, *self.former) if name)


class Scattering(NamedTuple):
    """S of one pencil laid heavily: what is predicted with, and between which it lies evenly."""

    middle: float
    low: float
    high: float


class Spreads(NamedTuple):
    """Standard uncertainties of ln n, of the trapping κ, and of ln load other than the heaviest.

    Layers of one's own were `misfit` times as far off as is expected before any were laid.
    """

    tooth: float
    trapping: float
    load: float
    misfit: float = 1.0


@dataclass(frozen=True, slots=True)
class LayingConditions:
    """The paper's colour, tooth and trapping, the loads of the pressures, the opacity of pencils.

    `swatch_paper` is the paper that the single swatches lie on, `paper` the one drawn on, both as
    Lab. `tooth` is the n of the paper, `trapping` its κ. `loads` maps light, medium and heavy to
    the share of the swatch's own colour that they lay; `opacity` is what was learnt of the
    scattering power S by address, which is expected of other pencils (`layering.estimates`).
    Recipes lay the lower of two pencils light or medium unless `heavy_first`.
    `samples` is the number of layered swatches it was learnt from, 0 for estimates.
    """

    tooth: float
    trapping: float
    spreads: Spreads
    loads: Mapping[str, float]
    opacity: Mapping[str, Scattering] = field(default_factory=dict)
    paper: tuple[float, float, float] = DEFAULT_PAPER_LAB
    swatch_paper: tuple[float, float, float] = DEFAULT_PAPER_LAB
    samples: int = 0
    heavy_first: bool = False


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


BARE_PAPER = Stack()
"""Nothing that lies on the work already."""


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
        return cls(Stack.of(swatch), swatch.lab, swatch.total_uncertainty)

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


class Replaced(NamedTuple):
    """A pencil that lays badly, what stands in its place, and the ΔE00 from one to the other."""

    asked: Swatch
    by: LaidStack
    delta_E: float
