"""Laying conditions: before anything was learnt of them, and pencils made ready for them."""

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np

from stopgap.arrays import Floats
from stopgap.layering.conditions import DEFAULT_TOOTH, LOAD_SPREAD, PRESSURES, TOOTH, TOOTH_SPREAD
from stopgap.layering.opacities import scattering_of
from stopgap.swatches import LayingConditions, Swatch

if TYPE_CHECKING:
    from stopgap.layering import Palette
    from stopgap.layering.optics import Optics


def estimated_conditions() -> LayingConditions:
    """Laying conditions before any calibration: this project's estimates on white drawing paper."""
    return LayingConditions(
        tooth=TOOTH[DEFAULT_TOOTH],
        tooth_spread=TOOTH_SPREAD,
        load_spread=LOAD_SPREAD,
        loads=PRESSURES,
    )


def make_palette(
    conditions: LayingConditions, swatches: Sequence[Swatch], known: "Optics | None" = None
) -> "Palette":
    """Pencils ready to be layered under those conditions, as `layering.palette_of` makes them."""
    from stopgap.layering import palette_of

    return palette_of(
        swatches,
        conditions.paper,
        pressures=conditions.loads,
        tooth=conditions.tooth,
        opacity=conditions.opacity,
        swatch_paper_lab=conditions.swatch_paper,
        known=known,
    )


def numbers_of(conditions: LayingConditions, swatches: Sequence[Swatch]) -> Floats:
    """All numbers (m,) that the colours of recipes depend on, in an order that leaves no doubt.

    Names and uncertainties of swatches are not among them: they are looked up when asked for.
    """
    return np.array(list(_numbers_of(conditions, swatches)), dtype=np.float64)


def _numbers_of(conditions: LayingConditions, swatches: Sequence[Swatch]) -> Iterator[float]:
    yield from (len(conditions.loads), *conditions.loads.values(), conditions.tooth)
    yield from (*conditions.paper, *conditions.swatch_paper)
    for swatch in swatches:
        yield from (*swatch.lab, scattering_of(swatch, conditions.opacity).middle)
        measured = swatch.reflectance
        yield 0 if measured is None else len(measured.values)
        if measured is not None:
            yield from (*measured.wavelengths, *measured.values)
