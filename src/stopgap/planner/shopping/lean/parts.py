"""Needs that nothing for sale serves in common: each such part has its best list by itself.

Every aim is a sum over the needs or over what is bought. Where no thing can be of use in two parts,
the best list of all is made of the best of each, aim after aim, and nothing else is as good: what
one part fell short of its own best no other could make up for. A budget couples all needs; but
where the best list without one costs no more than it, it has no say.
"""

from collections.abc import Sequence

import numpy as np

from stopgap.arrays import Integers, connected, distinct
from stopgap.planner.shopping.lean.programme import useful
from stopgap.planner.shopping.wanted import WantedBlend, WantedColour


def coupled(uses: Sequence[Integers]) -> list[list[int]]:
    """Who uses something in common, directly or through others; in the order of the first of each.

    `uses` are the things that each may use.
    """
    first: dict[int, int] = {}
    ties = [
        (one, first.setdefault(thing, one))
        for one, things in enumerate(uses)
        for thing in things.tolist()
    ]
    groups: dict[int, list[int]] = {}
    ones, others = np.array(ties, dtype=np.intp).reshape(-1, 2).T
    for one, head in enumerate(connected(len(uses), ones, others).tolist()):
        groups.setdefault(head, []).append(one)
    return list(groups.values())


def of_use(need: WantedBlend | WantedColour) -> Integers:
    """The offers that can bring a need as near as can be; the toll is not minded."""
    if isinstance(need, WantedColour):
        taken = [need.missing[useful(need, may_stay_open=False)].ravel()]
    elif need.has_chain:
        taken = [need.offers]
    else:
        on_steps = [steps.any(axis=0) for steps in need.nearest_steps]
        near = zip(need.near, on_steps, strict=True)
        taken = [route.missing[there].ravel() for route, there in near]
        taken += [end.serving.ravel() for end in need.ends]
    every = np.concatenate(taken)
    return distinct(every[every >= 0])
