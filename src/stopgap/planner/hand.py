"""The hand that lays: before anything was learnt of it, and with its pencils made ready."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from stopgap.layering.conditions import DEFAULT_TOOTH, LOAD_SPREAD, PRESSURES, TOOTH, TOOTH_SPREAD
from stopgap.swatches import Hand, Swatch

if TYPE_CHECKING:
    from stopgap.layering import Pencils
    from stopgap.layering.optics import Optics


def estimated_hand() -> Hand:
    """The hand before any calibration: this project's estimates on white drawing paper."""
    return Hand(
        tooth=TOOTH[DEFAULT_TOOTH],
        tooth_spread=TOOTH_SPREAD,
        load_spread=LOAD_SPREAD,
        loads=PRESSURES,
    )


def make_box(hand: Hand, swatches: Sequence[Swatch], known: "Optics | None" = None) -> "Pencils":
    """Pencils ready to be layered by that hand, as `layering.pencils` makes them."""
    from stopgap.layering import pencils

    return pencils(
        swatches,
        hand.paper,
        pressures=hand.loads,
        tooth=hand.tooth,
        opacity=hand.opacity,
        swatch_paper_lab=hand.swatch_paper,
        known=known,
    )
