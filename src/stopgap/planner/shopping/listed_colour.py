"""A listed colour as a choice among the ways to lay it."""

from dataclasses import dataclass

import numpy as np

from stopgap.arrays import Booleans, Floats
from stopgap.difference import DifferenceFunction
from stopgap.planner.materials import labs_of
from stopgap.planner.sameness import differences
from stopgap.planner.shopping.answer import Laid
from stopgap.planner.shopping.needs import ColourNeed
from stopgap.planner.shopping.supply import Supply, available
from stopgap.swatches import LaidStack

NOTHING_AT_ALL = 100.0
"""What a colour counts as long as nothing at all can be laid for it: black against white."""


@dataclass(frozen=True, slots=True)
class Choice:
    """The ways of the supply with their `delta_E` from the colour, nearest first."""

    need: ColourNeed
    ways: tuple[LaidStack, ...]
    missing: tuple[tuple[int, ...], ...]
    delta_E: Floats

    def laid(self, bought: Booleans) -> Laid | None:
        """The nearest way once the offers marked in `bought` are there."""
        there = np.flatnonzero(available(self.missing, bought))
        if not len(there):
            return None
        place = int(there[0])
        return Laid(self.ways[place], float(self.delta_E[place]), self.need.tolerance)

    def shortfall(self, bought: Booleans) -> float:
        """What the nearest way has over the tolerance."""
        laid = self.laid(bought)
        return NOTHING_AT_ALL if laid is None else max(0.0, laid.delta_E - laid.tolerance)


def choice_of(need: ColourNeed, supply: Supply, metric: str | DifferenceFunction) -> Choice:
    """Every way of the supply, nearest first; equally near ones in the order of addresses."""
    delta_E = differences(np.array([need.lab], dtype=np.float64), labs_of(supply.ways), metric)[0]
    order = np.argsort(delta_E, kind="stable")
    return Choice(
        need,
        tuple(supply.ways[place] for place in order),
        tuple(supply.missing[place] for place in order),
        delta_E[order],
    )
