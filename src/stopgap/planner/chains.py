"""Chains through colours that are sorted along a way, as arrays: the best one, and a lean graph.

Colours 0 to n-1 are sorted by their progress, 0 is the start and n-1 the end. `steps` of shape
(n, n) holds the ΔE of each step that makes progress, infinity elsewhere; it is upper triangular,
so that every optimum below is one sweep of dynamic programming (R. Bellman, 1958, "On a routing
problem", Quarterly of Applied Mathematics 16(1), 87-90).
"""

import numpy as np

from stopgap.arrays import Booleans, Floats

ROUNDING = 1e-9


def excess(steps: Floats, limit: float) -> Floats:
    """What each step has over the limit, 0 for steps within it."""
    return np.maximum(steps - limit, 0.0)


def least_sums(cost: Floats) -> tuple[Floats, Floats]:
    """Least sum of `cost` from the start to each colour and from each colour to the end."""
    n = len(cost)
    from_start, to_end = np.full(n, np.inf), np.full(n, np.inf)
    from_start[0] = to_end[-1] = 0.0
    for i in range(1, n):
        from_start[i] = (from_start[:i] + cost[:i, i]).min()
        to_end[n - 1 - i] = (cost[n - 1 - i, n - i :] + to_end[n - i :]).min()
    return from_start, to_end


def least_largest(steps: Floats) -> float:
    """The smallest largest step of any chain from start to end, infinity where there is none."""
    n = len(steps)
    largest = np.full(n, np.inf)
    largest[0] = 0.0
    for i in range(1, n):
        largest[i] = np.maximum(largest[:i], steps[:i, i]).min()
    return float(largest[-1])


def best_chain(
    steps: Floats, limit: float, available: Booleans, burden: Floats | None = None
) -> list[int]:
    """The places of the best chain through available colours, the ends always among them.

    Least sum of what steps have over the limit; then least sum of `burden`, shape (n,), where it is
    given; then smallest largest step; then fewest colours; then least sum of squared steps; then
    the earliest colours. Start to end in one step is always possible.
    """
    usable = available.copy()
    usable[[0, -1]] = True
    left = np.where(usable[:, np.newaxis] & usable, steps, np.inf)
    left = _on_best_chains(left, excess(left, limit))
    if burden is not None:
        left = _least(left, burden)
    left = np.where(left <= least_largest(left), left, np.inf)
    left = _least(left, np.ones(len(left)))
    return _first_chain(_on_best_chains(left, left**2))


def _first_chain(steps: Floats) -> list[int]:
    """From the start always on to the earliest place that a finite step leads to."""
    chain = [0]
    while chain[-1] != len(steps) - 1:
        chain.append(int(np.isfinite(steps[chain[-1]]).argmax()))
    return chain


def cheapest_chain(steps: Floats, limit: float, price: Floats) -> list[int]:
    """The places of the chain of least sum of `price`, shape (n,), among those of least excess."""
    left = _on_best_chains(steps, excess(steps, limit))
    return _first_chain(_least(left, price))


def _least(steps: Floats, value: Floats) -> Floats:
    """`steps` with infinity where a step is on no chain whose colours have the least `value`."""
    return _on_best_chains(steps, np.where(np.isfinite(steps), value, np.inf))


def _on_best_chains(steps: Floats, cost: Floats) -> Floats:
    """`steps` with infinity where a step is on no chain of least `cost`."""
    from_start, to_end = least_sums(cost)
    through = from_start[:, np.newaxis] + cost + to_end
    return np.where(through <= to_end[0] + ROUNDING * (1.0 + to_end[0]), steps, np.inf)


def needless(steps: Floats, limit: float, free: Booleans) -> Booleans:
    """Steps that can be made in two through a colour that is there anyway, at no disadvantage.

    Neither of the two is larger, and together they have no more over the limit. Leaving all of
    them out loses nothing, since the two are shorter in progress and so on down to steps kept.
    """
    over = excess(steps, limit)
    out = np.zeros(steps.shape, dtype=bool)
    for via in np.flatnonzero(free):
        first, second = steps[:via, via, np.newaxis], steps[via, via + 1 :]
        over_both = over[:via, via, np.newaxis] + over[via, via + 1 :]
        direct = steps[:via, via + 1 :]
        out[:via, via + 1 :] |= (np.maximum(first, second) <= direct) & (
            over_both <= over[:via, via + 1 :]
        )
    return out & np.isfinite(steps)


def on_some_chain(steps: Floats) -> Booleans:
    """Which finite steps lie on a chain from start to end."""
    reach = np.where(np.isfinite(steps), 0.0, np.inf)
    from_start, to_end = least_sums(reach)
    return np.isfinite(from_start[:, np.newaxis] + reach + to_end)
