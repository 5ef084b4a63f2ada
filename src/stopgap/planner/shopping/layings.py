"""What can be laid at all, and of it what counts for a colour: a few ways of many, nearest first.

Of thousands of ways some dozens lie within the tolerance of a colour. These alone are kept, a row
of a sparse table each; what is farther off is looked up where nothing nearer is there.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers
from stopgap.difference import delta_E
from stopgap.neighbours import SwatchIndex
from stopgap.neighbours.within import Near, nearest_within
from stopgap.planner.materials import labs_of
from stopgap.planner.shopping.question import ColourNeed, Supply, available, table_of
from stopgap.swatches import LaidStack


@dataclass(frozen=True, eq=False)
class Layings:
    """Each pencil of a supply alone, and recipes: n ways, in the order of keys."""

    supply: Supply
    recipes: Sequence[LaidStack] = ()

    @cached_property
    def laid(self) -> Sequence[LaidStack]:
        """Single ones first, as keys have it."""
        if not self.recipes:
            return self.supply.alone
        return (*self.supply.alone, *sorted(self.recipes, key=lambda one: one.key))

    @cached_property
    def missing(self) -> Integers:
        """What each takes, a table (n, most), filled up with -1."""
        supply, recipes = self.supply, self.laid[len(self.supply.alone) :]
        of_recipes = table_of([supply.missing_for(one.addresses) or () for one in recipes])
        wide = max(1, of_recipes.shape[1])
        table = np.full((len(self.laid), wide), -1, dtype=np.intp)
        table[: len(supply.alone), :1] = supply.missing_alone
        table[len(supply.alone) :, : of_recipes.shape[1]] = of_recipes
        return table

    def near(self, needs: Sequence[ColourNeed], *, as_far_as_free: bool) -> Iterator[Near]:
        """Of what may serve each need what lies within its tolerance, or the nearest where nothing
        does; if wanted, all that is no farther than what is there without a purchase.
        """
        usual = [need for need in needs if not need.replaced]
        found = self._near(usual, None, as_far_as_free)
        for need in needs:
            if need.replaced:
                yield from self._near([need], self._serving(need), as_far_as_free)
            else:
                yield next(found)

    def nearest_there(self, need: ColourNeed, bought: Booleans) -> tuple[int, float] | None:
        """Row and ΔE of the nearest that may serve a need once the offers marked in `bought` are
        there, None if nothing is.
        """
        there = available(self.missing, bought)
        rows = np.flatnonzero(there & self._serving(need) if need.replaced else there)
        if not len(rows):
            return None
        apart = delta_E(need.lab, self._labs[rows])
        return int(rows[apart.argmin()]), float(apart.min())

    def _near(
        self, needs: Sequence[ColourNeed], allowed: Booleans | None, as_far_as_free: bool
    ) -> Iterator[Near]:
        aims = np.array([need.lab for need in needs], dtype=np.float64).reshape(-1, 3)
        reach = np.array([need.tolerance for need in needs], dtype=np.float64)
        if as_far_as_free:
            free = self.free if allowed is None else self.free & allowed
            nearest = self._index.nearest(aims, 1, allowed=free)[0]
            reach = np.maximum(reach, nearest.min(axis=1, initial=np.inf))
        return nearest_within(self._index, aims, reach, allowed)

    def _serving(self, need: ColourNeed) -> Booleans:
        """Which may serve a shade that is to be replaced."""
        return np.array([need.served_by(one) for one in self.laid], dtype=np.bool_)

    @cached_property
    def free(self) -> Booleans:
        """What is there without a purchase."""
        return np.asarray((self.missing < 0).all(axis=1), dtype=np.bool_)

    @cached_property
    def _labs(self) -> Floats:
        return labs_of(self.laid)

    @cached_property
    def _index(self) -> SwatchIndex:
        return SwatchIndex(self._labs)
