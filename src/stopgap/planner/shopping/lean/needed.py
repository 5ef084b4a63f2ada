"""What no list can lack: a list of nothing else is the best, and there is no other like it."""

from collections.abc import Sequence

import numpy as np

from stopgap.arrays import Booleans
from stopgap.planner.shopping.offers import Sale
from stopgap.planner.shopping.question import available
from stopgap.planner.shopping.steps import leads
from stopgap.planner.shopping.wanted import WantedBlend, WantedColour


def serving_routes(blend: WantedBlend, there: Booleans) -> list[bool]:
    """Which routes have a chain of what is there that falls short as little as can be."""
    near = zip(blend.near, blend.nearest_steps, strict=True)
    return [leads(steps, route.available(there)) for route, steps in near]


def served(need: WantedBlend | WantedColour, there: Booleans) -> bool:
    """Whether nothing else for sale would bring a need nearer than the offers that are there."""
    if isinstance(need, WantedColour):
        return bool(available(need.missing[need.nearest], there).any())
    return not need.lacking(there) and (need.has_chain or any(serving_routes(need, there)))


def all_needed(needs: Sequence[WantedBlend | WantedColour], sale: Sale, bought: Booleans) -> bool:
    """Whether a purchase serves the needs, and without any thing of it nothing does.

    Then whatever serves them holds all of it.
    """
    for thing in np.flatnonzero(bought).tolist():
        others = np.ones_like(bought)
        others[thing] = False
        there = sale.there(others)
        concerned = (need for need in needs if not there[need.offers].all())
        if all(served(need, there) for need in concerned):
            return False
    there = sale.there(bought)
    return all(served(need, there) for need in needs)
