"""Chains from a first node to a last: their least sums, and which steps and nodes none needs.

Steps are arrays (n, n) of nodes in the order of progress: `cost`, or `shortfall` and `toll`, of the
step from i to j, infinite where there is none, and so upper triangular. A step, or a node, may be
left out where something that is there at no more cost takes its place with no more shortfall and
no more toll: every aim that a purchase is judged by is then reached without it as well.
"""

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers
from stopgap.planner.solver import Clock

_NEIGHBOURS = 8


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


def on_the_way(there: Booleans) -> Booleans:
    """Which of the steps that are there (n, n) lie on a chain from first to last node."""
    reached, leads = np.zeros((2, len(there)), dtype=np.bool_)
    reached[0] = leads[-1] = True
    for node in range(1, len(there)):
        reached[node] = there[:node, node][reached[:node]].any()
        leads[-1 - node] = there[-1 - node, -node:][leads[-node:]].any()
    return there & reached[:, np.newaxis] & leads


def leads(steps: Booleans, there: Booleans) -> bool:
    """Whether some of the steps (n, n) lead from first to last node by what is there (n,)."""
    left, front = there.copy(), np.zeros(1, dtype=np.intp)
    while len(front) and left[-1]:
        front = np.flatnonzero(steps[front].any(axis=0) & left)
        left[front] = False
    return bool(there[-1] and not left[-1])


def needless_steps(
    shortfall: Floats, toll: Floats | None, free: Booleans, clock: Clock | None = None
) -> Booleans:
    """Steps that can be made in two through a node that is there anyway, at no disadvantage.

    Leaving all of them out loses nothing, since the two are shorter in progress and so on down to
    steps kept. Without `toll` only the shortfall is minded.
    """
    out = np.zeros(shortfall.shape, dtype=bool)
    for via in np.flatnonzero(free).tolist():
        if clock is not None:
            clock.check()
        before, after = slice(0, via), slice(via + 1, None)
        no_worse = _in_two(shortfall, via) <= shortfall[before, after]
        if toll is not None:
            no_worse &= _in_two(toll, via) <= toll[before, after]
        out[before, after] |= no_worse
    return out & np.isfinite(shortfall)


def _in_two(cost: Floats, via: int) -> Floats:
    """Sum of the step to `via` and that from it, for each node before and each after."""
    return cost[:via, via, np.newaxis] + cost[via, np.newaxis, via + 1 :]


def dominated(
    shortfall: Floats, toll: Floats | None, free: Booleans, clock: Clock | None = None
) -> Booleans:
    """Nodes in whose place every chain can take one that is there anyway, at no disadvantage.

    Without `toll` only the shortfall is minded.
    Only the few free nodes next in progress are tried: others would take the place of little more.
    """
    out = np.zeros(len(free), dtype=bool)
    there = np.flatnonzero(free[:-1])[1:]
    for node in np.flatnonzero(~free).tolist():
        if clock is not None:
            clock.check()
        near = there[np.argsort(np.abs(there - node), kind="stable")[:_NEIGHBOURS]]
        out[node] = _can_replace(shortfall, toll, node, near)
    return out


def _can_replace(shortfall: Floats, toll: Floats | None, node: int, others: Integers) -> bool:
    """Whether one of `others` takes the place of the node on every chain.

    For each step to the node and each from it, the same way through the other one, or straight past
    both, has no more shortfall and no more toll. A step from the other one to itself costs nothing,
    so that chains through both are covered.
    """
    before = np.flatnonzero(np.isfinite(shortfall[:, node]))
    after = np.flatnonzero(np.isfinite(shortfall[node]))
    replaced = np.ones((1 + len(others), len(before), len(after)), dtype=bool)
    for cost in (shortfall,) if toll is None else (shortfall, toll):
        limit = cost[before, node, np.newaxis] + cost[node, after]
        to = np.where(before == others[:, np.newaxis], 0.0, cost[before][:, others].T)
        onward = np.where(after == others[:, np.newaxis], 0.0, cost[others][:, after])
        replaced[0] &= cost[np.ix_(before, after)] <= limit
        replaced[1:] &= to[:, :, np.newaxis] + onward[:, np.newaxis, :] <= limit
    return bool((replaced[0] | replaced).all(axis=(1, 2)).any())
