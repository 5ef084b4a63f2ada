"""Orders from light to dark that are asked for again and again: each is searched once.

Where all are arranged by hand none is, and what searches them is not loaded.
"""

from collections.abc import Callable
from functools import lru_cache
from typing import TYPE_CHECKING, TypeAlias

import numpy as np

from stopgap.difference import delta_E

if TYPE_CHECKING:
    from stopgap.blends.filing.light_to_dark import Order

Lab = tuple[float, float, float]
Ordering: TypeAlias = "Callable[[tuple[Lab, ...], float], Order]"
"""How colours are brought from light to dark, within a tolerance."""


@lru_cache(maxsize=256)
def order_once(labs: tuple[Lab, ...], tolerance: float) -> "Order":
    """What `light_to_dark.order` finds, kept: a process that stays is asked for the same often."""
    from stopgap.blends.filing.light_to_dark import order

    return order(np.array(labs, dtype=np.float64).reshape(-1, 3), tolerance)


@lru_cache(maxsize=256)
def least_largest_step_once(labs: tuple[Lab, ...]) -> float:
    """What `light_to_dark.least_largest_step` finds, kept."""
    from stopgap.blends.filing.light_to_dark import least_largest_step

    return least_largest_step(labs) if labs else 0.0


def by_lightness(labs: tuple[Lab, ...]) -> "Order":
    """Straight from light to dark, to be shown until an order is searched."""
    from stopgap.blends.filing.light_to_dark import Order

    colours = np.array(labs, dtype=np.float64).reshape(-1, 3)
    rows = np.argsort(-colours[:, 0], kind="stable")
    steps = delta_E(colours[rows[:-1]], colours[rows[1:]])
    return Order(tuple(rows.tolist()), tuple(steps.tolist()), exact=False)
