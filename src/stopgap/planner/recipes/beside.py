"""Recipes of a box right after a pencil came to it or went: what was known is asked as it lies.

The pairs with the new pencils are few: they are searched beside all that was known, of which what
has gone is passed over. Of both answers the nearest are what the grown box says, to the last bit:
whether a pair counts hangs on its own two pencils alone, and equal ones go by their layings, whose
order stays. The box itself is grown when nobody waits for it.
"""

from collections.abc import Collection, Sequence
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from stopgap.arrays import Booleans, Floats, FloatsLike, Integers, as_lab
from stopgap.difference import DifferenceFunction
from stopgap.layering.recipe_search import Found, Pairs, first_found
from stopgap.neighbours import SwatchIndex
from stopgap.planner.recipes.held import (
    Held,
    alternatives_to,
    catalogue_under,
    fates_of,
    grows_to,
    joined,
    known_of,
    lay_fresh,
    make_palette,
    prepared_of,
)
from stopgap.planner.recipes.index import RecipeIndex
from stopgap.planner.recipes.shelf import Shelf
from stopgap.swatches import Lab, LayingConditions, Swatch

if TYPE_CHECKING:
    from stopgap.layering import Recipe
    from stopgap.layering.alternatives import Alternatives

_FEW = 8  # part of a box that may be gone and yet be looked through


class RecipesBeside:
    """What the index of a grown box says, of what was `known` and what is `fresh`.

    Parameters
    ----------
    known
        All recipes of the box as it was.
    fresh
        Of all pencils as they are, each alone and the pairs with a new one.
    places
        Of each pencil of `known` its number (n,) in `fresh`, rising, -1 where it is gone.
    """

    def __init__(self, known: RecipeIndex, fresh: RecipeIndex, places: Integers) -> None:
        self.swatches, self.pressures, self.notes = fresh.swatches, fresh.pressures, fresh.notes
        self._known, self._fresh, self._places = known, fresh, places

    def showing(self, swatches: Sequence[Swatch]) -> "RecipesBeside":
        """The same with these swatches, by their addresses, in the recipes that it describes."""
        return RecipesBeside(self._known, self._fresh.showing(swatches), self._places)

    def search(
        self, targets_lab: FloatsLike, *, limit: int = 5, without: Collection[str] = ()
    ) -> list[Found]:
        """As `RecipeIndex.search`."""
        found = self._fresh.search(targets_lab, limit=limit, without=without)
        targets, barred = as_lab(targets_lab, "targets_lab"), self._barred(without)
        known = self._known.search_but(targets, barred, limit=limit)
        return [
            _nearest(new, self._pairs(old), limit) for new, old in zip(found, known, strict=True)
        ]

    def scan(
        self,
        target_lab: Lab,
        difference: DifferenceFunction,
        *,
        limit: int,
        without: Collection[str] = (),
    ) -> Found:
        """As `RecipeIndex.scan`."""
        barred = self._fresh.barred(without)
        new, lab = self._fresh.scan_but(target_lab, difference, barred, limit=limit)
        old, its = self._known.scan_but(target_lab, difference, self._barred(without), limit=limit)
        pairs = self._pairs(old)
        found = _nearest(new, pairs, limit)
        every = np.concatenate([new.layings, pairs.layings]).tolist()
        colours = np.concatenate([lab, its[old.layings[:, 1] >= 0]])
        places = {tuple(one): place for place, one in enumerate(every)}
        chosen = [places[tuple(one)] for one in found.layings.tolist()]
        return Found(found.layings, self._fresh.index.difference(target_lab, colours[chosen]))

    def described(
        self, found: Sequence[Found], *, sure: bool = True, most: Sequence[Floats] | None = None
    ) -> "list[list[Recipe]]":
        """As `RecipeIndex.described`."""
        return self._fresh.described(found, sure=sure, most=most)

    def _barred(self, without: Collection[str]) -> Booleans:
        """Which pencils that were known are gone, or have an address that is in `without`."""
        return np.append(self._fresh.barred(without), True)[self._places]

    def _pairs(self, known: Found) -> Found:
        """Of what was found of what was known the pairs, their pencils as they are numbered now;
        each pencil alone is found afresh.
        """
        p, paired = len(self.pressures), known.layings[:, 1] >= 0
        layings = known.layings[paired]
        return Found(self._places[layings // p] * p + layings % p, known.delta_E[paired])


def recipes_beside(
    conditions: LayingConditions,
    were: Sequence[Swatch],
    held: Held,
    swatches: Sequence[Swatch],
    before: Integers,
) -> RecipesBeside | None:
    """Recipes of `swatches` (n,) beside those `held` of what they were, each at the place `before`
    (n,) there, rising, -1 where it is new. None where many have changed, or layers are not ready to
    be laid with more.
    """
    known, shelf = held.shown(conditions, were), held.shelf
    gone = len(were) - np.count_nonzero(before >= 0)
    if known is None or shelf is None or not grows_to(before) or gone * _FEW > len(were):
        return None
    new = [swatch for swatch, at in zip(swatches, before) if at < 0]
    box = make_palette(conditions, new) if new else None
    fate, chosen = held.changed(before, fates_of(box, new) if box else held.fate[:0])
    shelf = shelf.beside(Shelf.of(box)) if box else shelf
    now = held._replace(fate=fate)
    used = now.used(swatches)
    if shelf is None or not used:
        return None
    count, p = len(known.swatches), len(conditions.loads)
    fresh = chosen >= count
    recipes = catalogue_under(conditions, used, _pairs_with(fresh))
    old, lab = np.repeat(~fresh, p), np.empty((len(recipes), 3))
    lab[: recipes.tints][old] = known.index.lab[_layings(chosen[~fresh], p)]
    laid_now = np.append(np.flatnonzero(~old), np.arange(recipes.tints, len(recipes)))
    lay_fresh(lab, laid_now, recipes, shelf.of_pencils(chosen).colours)

    def alternatives(pencils: Integers) -> "Alternatives | None":
        there = chosen[pencils]
        if box is None or (there < count).all():  # recovering others takes longer than all else
            return known_of(held.alternatives, count, there)
        every = joined(held.alternatives, alternatives_to(box))
        return known_of(every, count + len(box.swatches), there)

    prepare = partial(prepared_of, conditions, used, alternatives)
    unattained = now.unattained(swatches)
    index = RecipeIndex(used, conditions.loads, recipes, SwatchIndex(lab), prepare, unattained)
    places = np.full(count, -1)
    places[chosen[~fresh]] = np.flatnonzero(~fresh)
    return RecipesBeside(known, index, places)


def _nearest(one: Found, other: Found, limit: int) -> Found:
    """The nearest of two answers that have nothing in common."""
    layings = np.concatenate([one.layings, other.layings])
    return first_found(layings, np.concatenate([one.delta_E, other.delta_E]), limit)


def _pairs_with(new: Booleans) -> Pairs:
    """All pairs with one or two new ones of pencils (n,), the earlier of each and the later."""
    chosen, every = np.flatnonzero(new)[:, np.newaxis], np.arange(len(new))
    once = ~new | (every > chosen)
    one, other = (each[once & (every != chosen)] for each in np.broadcast_arrays(chosen, every))
    return np.minimum(one, other), np.maximum(one, other)


def _layings(pencils: Integers, pressures: int) -> Integers:
    """Every laying of pencils (n,), one after the other."""
    return (pencils[:, np.newaxis] * pressures + np.arange(pressures)).ravel()
