"""What there is to lay colours with: owned pencils, pencils for sale, and recipes of both."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stopgap.arrays import Booleans, Floats
from stopgap.planner.materials import RecipeSource, recipes_from
from stopgap.planner.shopping.offers import Offer
from stopgap.swatches import LaidStack, Swatch


@dataclass(frozen=True, slots=True)
class Supply:
    """`ways` are sorted; `missing[i]` are the numbers of the offers that `ways[i]` takes."""

    owned: tuple[Swatch, ...]
    offers: tuple[Offer, ...]
    ways: tuple[LaidStack, ...]
    missing: tuple[tuple[int, ...], ...]

    def missing_for(self, way: LaidStack) -> tuple[int, ...] | None:
        """The numbers of the offers that a way takes; None if it can be neither had nor bought."""
        owned = {swatch.address for swatch in self.owned}
        number = {offer.swatch.address: place for place, offer in enumerate(self.offers)}
        wanted = way.addresses - owned
        if not wanted <= number.keys():
            return None
        return tuple(sorted(number[address] for address in wanted))


def supply_of(
    owned: Sequence[Swatch], offers: Sequence[Offer], source: RecipeSource, aims: Floats
) -> Supply:
    """Every pencil laid alone and every recipe that the pencils allow."""
    pencils = [*owned, *(offer.swatch for offer in offers)]
    ways = [LaidStack.of(pencil) for pencil in pencils] + recipes_from(source, pencils, aims)
    ways.sort(key=lambda way: way.key)
    bare = Supply(tuple(owned), tuple(offers), (), ())
    missing = tuple(bare.missing_for(way) or () for way in ways)
    return Supply(bare.owned, bare.offers, tuple(ways), missing)


def available(missing: Sequence[tuple[int, ...]], bought: Booleans) -> Booleans:
    """Which of the ways can be laid once the offers marked in `bought` are there."""
    return np.array([all(bought[offer] for offer in offers) for offers in missing], dtype=bool)
