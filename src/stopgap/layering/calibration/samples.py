"""Layered swatches of the user's own, from which paper, hand and pencils are learnt."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

from stopgap.difference import delta_E
from stopgap.errors import InputError
from stopgap.swatches import Swatch

CONTRADICTION = 10.0
"""ΔE00 by which two samples of the same layers may differ before one must be wrong."""


@dataclass(frozen=True, slots=True)
class LayeredSample:
    """A layered swatch and its measured colour `lab`; `second` is None for a tint of one pencil.

    `paper_lab` is the colour beneath where it is not the drawing paper: black, to see how well a
    pencil covers.
    """

    first: Swatch
    first_pressure: str
    second: Swatch | None
    second_pressure: str | None
    lab: tuple[float, float, float]
    paper_lab: tuple[float, float, float] | None = None


def check_repeats(samples: Sequence[LayeredSample]) -> None:
    """Refuse samples that show the same layers in different colours.

    Raises
    ------
    InputError
        Naming the two samples, by number from 1.
    """

    def recipe(sample: LayeredSample) -> tuple[object, ...]:
        second = None if sample.second is None else sample.second.address
        beneath = sample.paper_lab
        pressures = sample.first_pressure, sample.second_pressure
        return sample.first.address, second, *pressures, beneath

    for (i, one), (j, other) in combinations(enumerate(samples, 1), 2):
        if recipe(one) != recipe(other):
            continue
        apart = float(delta_E(one.lab, other.lab))
        if apart > CONTRADICTION:
            raise InputError(
                f"samples {i} and {j} are the same layers, but {apart:.0f} (ΔE00) apart; "
                "measure them again or leave one out."
            )
