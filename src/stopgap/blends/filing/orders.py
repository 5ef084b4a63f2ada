"""Orders from light to dark that are asked for again and again: each is searched once."""

from collections.abc import Callable
from functools import lru_cache

import numpy as np

from stopgap.blends.filing.light_to_dark import Order, least_largest_step, order
from stopgap.difference import delta_E

Lab = tuple[float, float, float]
Ordering = Callable[[tuple[Lab, ...], float], Order]
"""How colours are brought from light to dark, within a tolerance."""


@lru_cache(maxsize=256)
def order_once(labs: tuple[Lab, ...], tolerance: float) -> Order:
    """What `light_to_dark.order` finds, kept: a process that stays is asked for the same often."""
    return order(np.array(labs, dtype=np.float64).reshape(-1, 3), tolerance)


@lru_cache(maxsize=256)
def least_largest_step_once(labs: tuple[Lab, ...]) -> float:
    """What `light_to_dark.least_largest_step` finds, kept."""
    return least_largest_step(labs) if labs else 0.0


def by_lightness(labs: tuple[Lab, ...]) -> Order:
    """Straight from light to dark, to be shown until an order is searched."""
    colours = np.array(labs, dtype=np.float64).reshape(-1, 3)
    rows = np.argsort(-colours[:, 0], kind="stable")
    steps = delta_E(colours[rows[:-1]], colours[rows[1:]])
    return Order(tuple(rows.tolist()), tuple(steps.tolist()), exact=False)
