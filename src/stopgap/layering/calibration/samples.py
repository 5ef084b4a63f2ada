"""Layered swatches of the user's own, from which paper, hand and pencils are learnt."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

from stopgap.difference import delta_E
from stopgap.errors import InputError
from stopgap.swatches import Stack

CONTRADICTION = 10.0
"""ΔE00 by which two samples of the same layers may differ before one must be wrong."""


@dataclass(frozen=True, slots=True)
class LayeredSample:
    """One or two layers and their measured colour `lab`.

    `paper_lab` is the colour beneath where it is not the drawing paper: black, to see how well a
    pencil covers.
    """

    stack: Stack
    lab: tuple[float, float, float]
    paper_lab: tuple[float, float, float] | None = None


def check_repeats(samples: Sequence[LayeredSample]) -> None:
    """Refuse samples that show the same layers in different colours.

    Raises
    ------
    InputError
        Naming the two samples, by number from 1.
    """
    for (i, one), (j, other) in combinations(enumerate(samples, 1), 2):
        if (one.stack.key, one.paper_lab) != (other.stack.key, other.paper_lab):
            continue
        apart = float(delta_E(one.lab, other.lab))
        if apart > CONTRADICTION:
            raise InputError(
                f"samples {i} and {j} are the same layers, but {apart:.0f} (ΔE00) apart; "
                "measure them again or leave one out."
            )
