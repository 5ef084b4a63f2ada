"""A kept order searched anew: what that would gain, before anything is changed."""

from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from stopgap.blends.filing.light_to_dark import DEFAULT_TOLERANCE, order
from stopgap.difference import delta_E
from stopgap.swatches import Arrangement, Swatch, key_of, reorder

WORTH_IT = 0.10
"""The share of the largest step or of the sum from which a new order is worth the trouble."""


class Tidied(NamedTuple):
    """A family, the order that a new search finds, and the ΔE00 steps before and then."""

    family: str
    order: tuple[Swatch, ...]
    before: tuple[float, ...]
    after: tuple[float, ...]

    @property
    def gain(self) -> float:
        """The larger share that the largest step or the sum of steps loses; below 0 is a loss."""
        ways = ((max(self.before), max(self.after)), (sum(self.before), sum(self.after)))
        return max((1.0 - then / now if now else 0.0) for now, then in ways)


def tidied(
    arrangement: Arrangement,
    swatches: Sequence[Swatch],
    names: Sequence[str] = (),
    tolerance: float = DEFAULT_TOLERANCE,
) -> tuple[Tidied, ...]:
    """What a new search from light to dark finds for families of two or more, all if none is named.

    Raises
    ------
    UnknownSwatchError
        If a name is no family's.
    """
    by_key = {key_of(swatch.address): swatch for swatch in swatches}
    wanted = [arrangement.family(name) for name in names] or arrangement.families
    found = []
    for family in wanted:
        keys = (key_of(place.pencil) for place in family.places)
        line = [by_key[key] for key in keys if key in by_key]
        if len(line) < 2:
            continue
        lab = np.array([swatch.lab for swatch in line])
        searched = order(lab, tolerance)
        steps = tuple(float(delta_E(one, other)) for one, other in pairwise(lab))
        new = tuple(line[row] for row in searched.rows)
        found.append(Tidied(family.name, new, steps, searched.steps))
    return tuple(found)


def sort_families(
    arrangement: Arrangement, swatches: Sequence[Swatch], names: Sequence[str] = ()
) -> Arrangement:
    """With families from light to dark by a new search; places by hand stay the user's families."""
    for found in tidied(arrangement, swatches, names):
        arrangement = reorder(arrangement, found.family, [swatch.address for swatch in found.order])
    return arrangement
