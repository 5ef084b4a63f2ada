"""Least sums along chains from a first node to a last, of what each step costs, (n, n)."""

import numpy as np

from stopgap.arrays import Booleans, Floats


def least_sums(cost: Floats) -> tuple[Floats, Floats]:
    """Least sum of `cost` from the first node to each, and from each to the last.

    Steps only lead on, so that each node's sum is known once all before it are.
    """
    from_start, to_end = np.full((2, len(cost)), np.inf)
    from_start[0] = to_end[-1] = 0.0
    for node in range(1, len(cost)):
        from_start[node] = (from_start[:node] + cost[:node, node]).min()
        to_end[-1 - node] = (cost[-1 - node, -node:] + to_end[-node:]).min()
    return from_start, to_end


def least_through(cost: Floats) -> Floats:
    """Least sum of `cost` of a chain from first to last node that takes the step from i to j."""
    from_start, to_end = least_sums(cost)
    return from_start[:, np.newaxis] + cost + to_end


def on_chains(cost: Floats, most: float = np.inf) -> Booleans:
    """Which steps lie on a chain from first to last node with a sum of `cost` of at most `most`."""
    through = least_through(cost)
    return np.asarray(np.isfinite(through) & (through <= most), dtype=np.bool_)
