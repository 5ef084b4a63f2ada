"""Papers, and how one hand lays pencils on one: what a calibration finds and predictions need."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from types import MappingProxyType
from typing import NamedTuple

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


@dataclass(frozen=True, slots=True)
class LayingConditions:
    """The paper's colour and tooth, the loads of the pressures, the opacity of each range.

    `swatch_paper` is the paper that the single swatches lie on, `paper` the one drawn on, both as
    Lab. `tooth` is the n of the paper; `tooth_spread` and `load_spread` are the standard
    uncertainties of the logarithms of n and of the loads. `loads` maps light, medium and heavy to
    the share of the swatch's own colour that they lay; `opacity` is the scattering power S by
    range, 0 where a range is not named. `samples` is the number of layered swatches it was learnt
    from, 0 for estimates.
    """

    tooth: float
    tooth_spread: float
    load_spread: float
    loads: Mapping[str, float]
    opacity: Mapping[str, float] = field(default_factory=dict)
    paper: tuple[float, float, float] = DEFAULT_PAPER_LAB
    swatch_paper: tuple[float, float, float] = DEFAULT_PAPER_LAB
    samples: int = 0
