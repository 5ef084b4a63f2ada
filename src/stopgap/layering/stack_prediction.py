"""Pencils laid over each other in a given order: the colour, how sure, and what to mind.

The limits of the cautions are common practice and this project's estimates; they have no source.
"""

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from stopgap.arrays import FloatsLike
from stopgap.errors import InputError, Note
from stopgap.layering.estimates import (
    DEFAULT_TOOTH,
    NOTHING_LEARNT,
    OPACITIES,
    PRESSURES,
    SPREADS,
    TO_COVER,
    TRAPPING,
    Opacities,
    heaviest,
    loads_of,
    opacities_of,
    passes_held,
    swatch_loads,
    tooth_holds,
    tooth_value,
)
from stopgap.layering.intervals import uncertainty
from stopgap.layering.models import DEFAULT_MODEL, Model, ModelFunction
from stopgap.layering.optics import measured_spectra
from stopgap.layering.prediction import predict
from stopgap.swatches import (
    Core,
    Finish,
    Lab,
    Opacity,
    Pressure,
    Replaced,
    Scattering,
    Spreads,
    Stack,
    Swatch,
    mark_sentences,
)

PREDICTED = "A prediction: try it on a scrap of the same paper first."

_HIDING = OPACITIES[Opacity.COVERS][0]  # S from which a pencil covers
_BURNISHES = 1.0 - 1e-9  # load from which a layer closes the tooth
_WHITE = 90.0  # L* from which a pencil is a white,
_COLOURLESS = 8.0  # where its C*ab is not above this


class Layered(NamedTuple):
    """A predicted colour, and that of the opposite order, nearly the same where none covers.

    Half of those who lay it come within `typical` (ΔE00) of it, nine in ten within `ninety`.
    `replaced` are the layers that were asked for and lay badly; `notes` say so in words.
    """

    stack: Stack
    lab: Lab
    reversed_lab: Lab
    typical: float
    ninety: float
    cautions: tuple[str, ...]
    notes: tuple[Note, ...] = ()
    replaced: tuple[Replaced, ...] = ()


def layered(
    layers: Sequence[Swatch],
    paper_lab: FloatsLike,
    pressures: Sequence[str] | None = None,
    *,
    loads: Mapping[str, float] = PRESSURES,
    model: str | Model | ModelFunction = DEFAULT_MODEL,
    tooth: str | float = DEFAULT_TOOTH,
    trapping: float = TRAPPING,
    opacity: float | Mapping[str, Scattering] = NOTHING_LEARNT,
    swatch_paper_lab: FloatsLike | None = None,
    spreads: Spreads = SPREADS,
) -> Layered:
    """What `layers` look like, the first laid first.

    Parameters
    ----------
    pressures
        One name of `loads` a layer; the heaviest for all where None.
    loads, tooth, trapping, opacity, spreads
        The defaults, or those of a Calibration, whose loads are its `pressures`;
        `opacity` is as in `palette_of`.
    model, swatch_paper_lab
        As in `predict`.

    Raises
    ------
    InputError
        Without any layer, and as `predict` does.
    """
    if not layers:
        raise InputError("layers: expected at least one pencil.")
    names = [heaviest(loads)] * len(layers) if pressures is None else list(pressures)
    laid = loads_of(names, loads)
    if len(laid) != len(layers):
        raise InputError(f"pressures: shape {laid.shape} does not go with {len(layers)} layers.")
    swatched = swatch_loads(layers, loads)
    heavy = opacities_of(layers, opacity)
    power = Opacities(*(part * swatched for part in heavy))
    lab = np.array([swatch.lab for swatch in layers], dtype=np.float64)
    spectra = measured_spectra(layers)

    def colour(order: slice) -> Lab:
        found = predict(
            paper_lab,
            lab[order],
            (laid / swatched)[order],
            model=model,
            tooth=tooth,
            trapping=trapping,
            opacity=power.middle[order],
            swatch_paper_lab=swatch_paper_lab,
            spectra=spectra[order],
        )
        return float(found[0]), float(found[1]), float(found[2])

    as_asked = colour(slice(None))
    spread = uncertainty(
        paper_lab,
        lab,
        laid / swatched,
        sigma=[swatch.total_uncertainty for swatch in layers],
        model=model,
        tooth=tooth,
        trapping=trapping,
        opacity=power,
        swatch_paper_lab=swatch_paper_lab,
        spectra=spectra,
        spreads=spreads,
    )
    return Layered(
        stack=Stack.of(*layers, pressures=names),
        lab=as_asked,
        reversed_lab=colour(slice(None, None, -1)) if len(layers) > 1 else as_asked,
        typical=float(spread.typical),
        ninety=float(spread.ninety),
        cautions=cautions(
            layers, laid.tolist(), tooth=tooth_value(tooth), opacity=heavy.low.tolist()
        ),
    )


def cautions(
    layers: Sequence[Swatch],
    loads: Sequence[float],
    *,
    tooth: float,
    opacity: Sequence[float] | None = None,
) -> tuple[str, ...]:
    """Cautions for pencils laid in this order with these loads, the general one last.

    `opacity` is the least S that each may have.
    """
    power = [0.0] * len(layers) if opacity is None else opacity
    return (
        *_covering(layers, power),
        *_burnishing(layers, loads),
        *_white_first(layers),
        *_tooth(loads, tooth),
        *_finishes(layers),
        *mark_sentences(layers),
        PREDICTED,
    )


def _covering(layers: Sequence[Swatch], opacity: Sequence[float]) -> list[str]:
    return [
        f"{upper.address} is lighter than {lower.address} beneath and would have to cover; "
        "that needs an opaque pencil."
        for lower, upper, S in zip(layers, layers[1:], opacity[1:])
        if upper.lab[0] > lower.lab[0] + TO_COVER and S < _HIDING
    ]


def _burnishing(layers: Sequence[Swatch], loads: Sequence[float]) -> list[str]:
    """What a heavy layer does to the next, and a heavy white as the last."""
    found = []
    for lower, upper, load in zip(layers, layers[1:], loads):
        if load < _BURNISHES:
            continue
        slides = f"{lower.address} laid heavy burnishes the paper, so that {upper.address}"
        if lower.core is Core.WAX and upper.core is Core.OIL:
            found.append(f"{slides}, oil over burnished wax, may not take at all.")
        else:
            found.append(f"{slides} may slide: lay the lower one lighter.")
    if len(layers) > 1 and loads[-1] >= _BURNISHES and _white(layers[-1]):
        found.append(f"{layers[-1].address} heavy at the end burnishes: nothing much takes on it.")
    return found


def _white_first(layers: Sequence[Swatch]) -> list[str]:
    return [
        f"{lower.address} first, a white beneath a tint, fills the tooth: {upper.address} over it "
        "comes out paler and smoother than on bare paper."
        for lower, upper in pairwise(layers)
        if _white(lower) and not _white(upper)
    ]


def _white(swatch: Swatch) -> bool:
    L, a, b = swatch.lab
    return L >= _WHITE and math.hypot(a, b) <= _COLOURLESS


def _tooth(loads: Sequence[float], tooth: float) -> list[str]:
    if sum(loads) <= tooth_holds(tooth) + 1e-9:
        return []
    heavy, medium, light = (
        f"{passes_held(tooth, PRESSURES[pressure])} {pressure}" for pressure in reversed(Pressure)
    )
    return [
        f"More colour than the tooth of this paper may hold, which is about {heavy} passes, "
        f"{medium} or {light} ones: lay the first layers lighter."
    ]


def _finishes(layers: Sequence[Swatch]) -> list[str]:
    found = []
    for swatch in layers:
        if swatch.finish is Finish.METALLIC:
            found.append(
                f"{swatch.address} is metallic: its look under or over another is a guess."
            )
        if swatch.finish is Finish.FLUORESCENT:
            found.append(f"{swatch.address} is fluorescent: it fades, and its layers are a guess.")
    return found
