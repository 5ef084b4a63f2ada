"""The hand that lays: before anything was learnt of it, and with its pencils made ready."""

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


def estimated_hand() -> LayingConditions:
    """The hand before any calibration: this project's estimates on white drawing paper."""
    return LayingConditions(
        tooth=TOOTH[DEFAULT_TOOTH],
        tooth_spread=TOOTH_SPREAD,
        load_spread=LOAD_SPREAD,
        loads=PRESSURES,
    )


def make_palette(
    hand: LayingConditions, swatches: Sequence[Swatch], known: "Optics | None" = None
) -> "Palette":
    """Pencils ready to be layered by that hand, as `layering.palette_of` makes them."""
    from stopgap.layering import palette_of

    return palette_of(
        swatches,
        hand.paper,
        pressures=hand.loads,
        tooth=hand.tooth,
        opacity=hand.opacity,
        swatch_paper_lab=hand.swatch_paper,
        known=known,
    )


def numbers_of(hand: LayingConditions, swatches: Sequence[Swatch]) -> Floats:
    """All numbers (m,) that the colours of recipes depend on, in an order that leaves no doubt.

    Names and uncertainties of swatches are not among them: they are looked up when asked for.
    """
    return np.array(list(_numbers_of(hand, swatches)), dtype=np.float64)


def _numbers_of(hand: LayingConditions, swatches: Sequence[Swatch]) -> Iterator[float]:
    yield from (len(hand.loads), *hand.loads.values(), hand.tooth)
    yield from (*hand.paper, *hand.swatch_paper)
    for swatch in swatches:
        yield from (*swatch.lab, scattering_of(swatch, hand.opacity).middle)
        measured = swatch.reflectance
        yield 0 if measured is None else len(measured.values)
        if measured is not None:
            yield from (*measured.wavelengths, *measured.values)
