"""How one hand lays pencils on one paper: what a calibration finds and every prediction needs."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import NamedTuple

DEFAULT_PAPER_LAB = (96.0, 0.0, 2.0)
"""Taken for a paper that nobody measured: white drawing paper (common practice, no source)."""


class Tooth(StrEnum):
    """How rough a paper is, which is how much of a pencil it takes."""

    SMOOTH = "smooth"
    DRAWING = "drawing"
    ROUGH = "rough"


class Paper(NamedTuple):
    """Lab of a paper under D50, 2 degree observer; `measured` is False for the default white."""

    lab: tuple[float, float, float] = DEFAULT_PAPER_LAB
    measured: bool = False


class Scattering(NamedTuple):
    """S of one pencil laid heavily: what is predicted with, and between which it lies evenly."""

    middle: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class LayingConditions:
    """The paper's colour and tooth, the loads of the pressures, the opacity of pencils.

    `swatch_paper` is the paper that the single swatches lie on, `paper` the one drawn on, both as
    Lab. `tooth` is the n of the paper; `tooth_spread` and `load_spread` are the standard
    uncertainties of the logarithms of n and of the loads. `loads` maps light, medium and heavy to
    the share of the swatch's own colour that they lay; `opacity` is what was learnt of the
    scattering power S by address, which is expected of other pencils (`layering.estimates`).
    Recipes lay the lower of two pencils light or medium unless `heavy_first`.
    `samples` is the number of layered swatches it was learnt from, 0 for estimates.
    """

    tooth: float
    tooth_spread: float
    load_spread: float
    loads: Mapping[str, float]
    opacity: Mapping[str, Scattering] = field(default_factory=dict)
    paper: tuple[float, float, float] = DEFAULT_PAPER_LAB
    swatch_paper: tuple[float, float, float] = DEFAULT_PAPER_LAB
    samples: int = 0
    heavy_first: bool = False
