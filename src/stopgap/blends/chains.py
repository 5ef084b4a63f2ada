"""The best chain through points that may follow each other only one way.

Smallest largest step first, the bottleneck shortest path (M. Pollack (1960), Operations Research
8(5), 733-736); then, among the chains that reach it, the fewest links or the smoothest chain, whose
sum of squared steps is smallest. Both by relaxing link by link (R. Bellman (1958), Quarterly of
Applied Mathematics 16(1), 87-90), which also serves a limit on the number of links.
"""

from collections.abc import Callable

import numpy as np

from stopgap.arrays import Floats, Integers
from stopgap.blends.graph import Prefer

_HAIR = 1e-9


def chain_within(steps: Floats, limit: float, most_links: int | None = None) -> tuple[int, ...]:
    """The chain with the fewest links among those that keep to `limit`, as their indices.

    Where none keeps to it, the largest link is as small as can be. Of the chains with so many
    links, the one whose largest link, then the sum of squares, is smallest.
    """
    fewest = best_chain(np.maximum(steps, limit), Prefer.FEWEST, most_links)
    return best_chain(steps, Prefer.SMOOTHEST, len(fewest) - 1)


def best_chain(steps: Floats, prefer: Prefer, most_links: int | None = None) -> tuple[int, ...]:
    """The best chain from the first to the last of n points, as their indices.

    Parameters
    ----------
    steps
        Length of the link from point i to point j, (n, n); infinite where j may not follow i. There
        is no way round in a circle, and a link, however long, leads from the first to the last.
    prefer
        `fewest` or `smoothest`; then the sum of squares.
    most_links
        No more links than that; at least 1.
    """
    links = len(steps) - 1 if most_links is None else min(most_links, len(steps) - 1)
    bottleneck = _relax(steps, links, np.maximum)[0][-1][-1]
    squares = np.where(steps <= bottleneck + _HAIR, steps**2, np.inf)
    cost, parents = _relax(squares, links, np.add)
    if prefer is Prefer.FEWEST:
        layer = next(layer for layer, costs in enumerate(cost) if np.isfinite(costs[-1]))
    else:
        layer = len(cost) - 1
    chain = [len(steps) - 1]
    while layer > 0:
        parent = int(parents[layer][chain[-1]])
        layer -= 1
        if parent != chain[-1]:
            chain.append(parent)
    return tuple(reversed(chain))


def _relax(
    steps: Floats, links: int, join: Callable[[Floats, Floats], Floats]
) -> tuple[list[Floats], list[Integers]]:
    """By number of links: the least cost of reaching each point with no more, and from where.

    A point that an additional link does not serve is its own parent.
    """
    n = len(steps)
    cost = np.full(n, np.inf)
    cost[0] = 0.0
    costs, parents = [cost], [np.arange(n)]
    for _ in range(links):
        through = join(cost[:, None], steps)
        parent = np.argmin(through, axis=0)
        reached = through[parent, np.arange(n)]
        better = reached < cost - _HAIR
        if not better.any():
            break
        cost = np.where(better, reached, cost)
        costs.append(cost)
        parents.append(np.where(better, parent, np.arange(n)))
    return costs, parents
