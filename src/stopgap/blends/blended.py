"""A blend as it was found: its colours, what is laid for each, and the steps between them."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from stopgap.blends.graph import DEFAULT_LIMIT, over_limit
from stopgap.blends.path import Path
from stopgap.difference import delta_E
from stopgap.errors import Note, UsageError
from stopgap.swatches import Lab, LaidStack, Replaced, Swatch

if TYPE_CHECKING:
    from stopgap.blends.filing.assignment import Family
    from stopgap.layering import Recipe


@dataclass(frozen=True, slots=True)
class Point:
    """A colour of a blend: what is laid for it, or a bare colour where `laid` is None.

    `progress` is 0 at the start of the path and 1 at its end; `stray` is the distance from the path
    or from its chord in units of CAM16-UCS, 0 in a family, which is its own path. `recipe` says
    more about layers that were asked for along the path.
    """

    lab: Lab
    laid: LaidStack | None
    progress: float
    stray: float
    recipe: "Recipe | None" = None

    @property
    def swatch(self) -> Swatch | None:
        """The pencil, where it is one laid as in its swatch."""
        return None if self.laid is None or self.laid.recipe else self.laid.swatches[0]

    @property
    def layered(self) -> bool:
        """Whether it is anything but one pencil laid as in its swatch, or a bare colour."""
        return self.laid is not None and self.laid.recipe


@dataclass(frozen=True, slots=True)
class Blend:
    """A chain of colours and the ΔE00 `steps` between neighbours.

    `path` is what it follows, and `candidates` are the pencils it was chosen from; a family, which
    is its own path, has neither. `replaced` are ends and stops that were asked for and lay badly.
    """

    name: str
    points: tuple[Point, ...]
    steps: tuple[float, ...]
    limit: float
    path: Path | None = field(default=None, repr=False, compare=False)
    candidates: tuple[Swatch, ...] = field(default=(), repr=False, compare=False)
    notes: tuple[Note, ...] = ()
    replaced: tuple[Replaced, ...] = ()

    def named(self, name: str) -> "Blend":
        """The same blend under a name."""
        return replace(self, name=name)

    @property
    def swatches(self) -> tuple[Swatch, ...]:
        """The pencils of the chain that are laid as in their swatches, in order."""
        return tuple(point.swatch for point in self.points if point.swatch is not None)

    @property
    def largest_step(self) -> float:
        """The largest step, ΔE00."""
        return max(self.steps)

    @property
    def over_limit(self) -> tuple[int, ...]:
        """Places of the steps over the limit: step i lies between points i and i + 1."""
        return tuple(np.flatnonzero(over_limit(self.steps, self.limit)).tolist())

    @property
    def closed(self) -> bool:
        """Whether no step passes the limit."""
        return not self.over_limit

    @property
    def largest_stray(self) -> float:
        """How far the chain strays from the path, in units of CAM16-UCS."""
        return max(point.stray for point in self.points)


def blend_of_family(family: "Family", *, limit: float = DEFAULT_LIMIT) -> Blend:
    """A family from its lightest to its darkest, as the blend that all of its swatches make.

    Raises
    ------
    UsageError
        For a family of one swatch, or a limit of zero or below.
    """
    check_limit(limit)
    if len(family.filed) < 2:
        raise UsageError(f"family {family.name}: one swatch alone makes no blend.")
    swatches = [each.swatch for each in family.filed]
    points = tuple(
        Point(swatch.lab, LaidStack.of(swatch), progress, 0.0)
        for swatch, progress in zip(swatches, np.linspace(0.0, 1.0, len(swatches)).tolist())
    )
    return Blend(family.name, points, steps_between(points), limit)


def check_limit(limit: float) -> None:
    """Raise UsageError unless the limit of a step is above zero."""
    if not limit > 0.0:
        raise UsageError(f"a step must be allowed more than 0, found {limit}.", argument="limit")


def steps_between(points: Sequence[Point]) -> tuple[float, ...]:
    """The ΔE00 between neighbours."""
    lab = np.array([point.lab for point in points])
    return tuple(delta_E(lab[:-1], lab[1:]).tolist())
