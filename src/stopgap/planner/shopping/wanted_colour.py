"""A listed colour that is asked for: everything it can be laid with."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stopgap.arrays import Booleans, Floats
from stopgap.planner.materials import labs_of
from stopgap.planner.sameness import differences
from stopgap.planner.shopping.answer import LaidColour
from stopgap.planner.shopping.needs import ColourNeed
from stopgap.planner.shopping.supply import Missing, Supply, available
from stopgap.swatches import LaidStack

NOTHING_AT_ALL = 100.0
"""What a colour counts as long as nothing at all can be laid for it: black against white."""


@dataclass(frozen=True, slots=True, eq=False)
class WantedColour:
    """What can be `laid` with its `delta_E` from the colour, nearest first, and what it takes."""

    need: ColourNeed
    laid: tuple[LaidStack, ...]
    missing: tuple[Missing, ...]
    delta_E: Floats

    @property
    def least_shortfall(self) -> float:
        """What the nearest of all has over the tolerance."""
        return max(0.0, float(self.delta_E[0]) - self.need.tolerance)

    def met(self, bought: Booleans) -> bool:
        """Whether the nearest lies within the tolerance."""
        return self.shortfall(bought) == 0.0

    def shortfall(self, bought: Booleans) -> float:
        """What the nearest has over the tolerance."""
        answer = self.answer(bought)
        return NOTHING_AT_ALL if answer is None else max(0.0, answer.delta_E - answer.tolerance)

    def answer(self, bought: Booleans) -> LaidColour | None:
        """The nearest once the offers marked in `bought` are there."""
        there = np.flatnonzero(available(self.missing, bought))
        if not len(there):
            return None
        place = int(there[0])
        return LaidColour(self.laid[place], float(self.delta_E[place]), self.need.tolerance)


def wanted_colours(needs: Sequence[ColourNeed], supply: Supply) -> list[WantedColour]:
    """Everything that the supply can lay, nearest first; equally near ones in the order of keys.

    Recipes are made for all the colours at once, and each may be laid with those of the others.
    """
    aims = np.array([need.lab for need in needs], dtype=np.float64).reshape(-1, 3)
    laid = supply.laid(np.array(sorted(aims.tolist())).reshape(-1, 3))
    missing = [supply.missing_for(one.addresses) or () for one in laid]
    found = []
    for need, delta_E in zip(needs, differences(aims, labs_of(laid))):
        order = np.argsort(delta_E, kind="stable")
        sorted_so = tuple(laid[row] for row in order), tuple(missing[row] for row in order)
        found.append(WantedColour(need, *sorted_so, delta_E[order]))
    return found
