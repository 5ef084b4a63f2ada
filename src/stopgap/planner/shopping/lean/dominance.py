"""Pencils that no best list holds, since another that costs no more serves wherever they serve.

With p and q for sale singly, q cheaper, or of the same price and earlier in the order of addresses:
where q serves every colour that p serves, with no more shortfall and no other core where p has its
own, a list that holds p is bettered by one with q in its place, or without p where q is there. That
holds with a budget, beside sets, and for needs that stay open, for each aim in turn: shortfall,
another core, cost, number and order. Who undercuts and is undercut is no rival: whoever undercuts
it undercuts the same. It is said of no pencil that a blend misses, since there it counts in a
chain by its toll as well, nor, where the toll is minded, of one that a blend could take at all, nor
of one that serves together with others for sale.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Integers
from stopgap.planner.shopping.lean.programme import useful
from stopgap.planner.shopping.offers import Sale
from stopgap.planner.shopping.wanted import WantedBlend, WantedColour

_AT_MOST = 1_000_000  # ways looked at: beyond, this would take longer than it spares


class _Serves(NamedTuple):
    """How a pencil serves a colour: its shortfall, and whether it is of another core."""

    shortfall: float
    second_best: bool

    def no_worse(self, other: "_Serves | None") -> bool:
        return (
            other is not None
            and self.shortfall <= other.shortfall
            and self.second_best <= other.second_best
        )


def undercut(
    blends: Sequence[WantedBlend],
    colours: Sequence[WantedColour],
    sale: Sale,
    *,
    may_stay_open: bool,
    mind_toll: bool,
    held: Booleans | None = None,
) -> Integers:
    """The things for sale, pencils sold singly, that no best purchase holds.

    Where another list is sought, which must lack something of those before it, what they `held`
    takes no other's place.
    """
    if sum(len(one.rows) for one in colours) > _AT_MOST:
        return np.empty(0, dtype=np.intp)
    serves, kept = _serving(colours, may_stay_open)
    for blend in blends:
        kept |= set((blend.every_offer if mind_toll else blend.offers).tolist())
    place = {offer: thing for thing, offer in enumerate(sale.singles.tolist())}
    offered = sorted(serves.keys() & place.keys(), key=lambda one: (sale.prices[place[one]], one))
    no_rivals = set() if held is None else {one for one in offered if held[place[one]]}
    out = _covered({offer: serves[offer] for offer in offered}, no_rivals) - kept
    return np.array(sorted(place[offer] for offer in out), dtype=np.intp)


def _covered(serves: dict[int, dict[int, _Serves]], no_rivals: set[int]) -> set[int]:
    """The pencils that one before them covers, which is none of `no_rivals`."""
    rivals: dict[int, list[int]] = {}  # by colour; of those alike the first alone
    alike: set[frozenset[tuple[int, _Serves]]] = set()
    out: set[int] = set()
    for offer, its in serves.items():
        others = min((rivals.get(colour, []) for colour in its), key=len)
        same = frozenset(its.items())
        if same in alike or any(_covers(serves[other], its) for other in others):
            out.add(offer)
        elif offer not in no_rivals:
            alike.add(same)
            for colour in its:
                rivals.setdefault(colour, []).append(offer)
    return out


def _covers(one: dict[int, _Serves], other: dict[int, _Serves]) -> bool:
    """Whether one serves every colour that the other serves, no worse."""
    return all(colour in one and one[colour].no_worse(its) for colour, its in other.items())


def _serving(
    colours: Sequence[WantedColour], may_stay_open: bool
) -> tuple[dict[int, dict[int, _Serves]], set[int]]:
    """By pencil how it serves each colour by itself; and those that serve with others too, or one
    colour in two ways.
    """
    serves: dict[int, dict[int, _Serves]] = {}
    kept: set[int] = set()
    for number, colour in enumerate(colours):
        ways = np.flatnonzero(useful(colour, may_stay_open=may_stay_open))
        second = np.zeros(len(ways)) if colour.second_best is None else colour.second_best[ways]
        every = zip(colour.missing[ways].tolist(), colour.over[ways].tolist(), second.tolist())
        for missing, over, is_second in every:
            taken = [offer for offer in missing if offer >= 0]
            if len(taken) == 1 and number not in serves.setdefault(taken[0], {}):
                serves[taken[0]][number] = _Serves(over, bool(is_second))
            else:
                kept.update(taken)
    return serves, kept
