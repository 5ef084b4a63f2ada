"""Everything that can be laid with some pencils, asked at once: an index over all their recipes.

The colours of all tints and pairs are worked out once (`layering.catalogue_colours`), which takes
as long as one search; from then on a question takes milliseconds. The answers are those of
`layering.search`, rows, order and ties: the index gives the nearest recipes in rising order, of
which the useless ones and those of pairs that have had their turn are passed over, until no recipe
that was not seen can be among the answers.
"""

from collections.abc import Callable, Collection, Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np

from stopgap.arrays import Booleans, Floats, FloatsLike, as_lab
from stopgap.difference import DEFAULT_METRIC, DifferenceFunction
from stopgap.errors import InputError, Note
from stopgap.layering.estimates import SPREADS
from stopgap.layering.recipe_search import Found
from stopgap.neighbours import SwatchIndex
from stopgap.planner.recipes.nearest import RowSearch
from stopgap.planner.recipes.shown import Prepared, described, unattained_notes
from stopgap.swatches import Lab, Spreads, Swatch

if TYPE_CHECKING:
    from stopgap.layering import Catalogue, Palette, Recipe
    from stopgap.layering.recipe_search import Progress

_SEEN, _PER_ANSWER, _GROWTH = 64, 8, 4  # recipes looked at in a scan at first, and for each answer


class RecipeIndex:
    """All recipes of one or two pencils at some pressures. Threads may ask at once.

    Memory: about 80 bytes a recipe, of which there are 9 for each pair of clear pencils at three
    pressures, so 90 MB for 500 pencils; twice that where all cover.

    Parameters
    ----------
    swatches, pressures, recipes, index
        The pencils, the load of each pressure, what is laid with them, and its colours.
    prepare
        What was found made ready to be laid once more.
    unattained
        Pencils that are in no recipe because no surface has their colour.
    shown
        What stands in described recipes in the place of the pencils, by address.

    Raises InputError where there are not as many colours as recipes.
    """

    def __init__(
        self,
        swatches: Sequence[Swatch],
        pressures: Mapping[str, float],
        recipes: "Catalogue",
        index: SwatchIndex,
        prepare: Callable[[Found], Prepared],
        unattained: Sequence[Swatch] = (),
        shown: Sequence[Swatch] = (),
    ) -> None:
        if len(index) != len(recipes):
            raise InputError(f"index: {len(index)} colours for {len(recipes)} recipes.")
        self.swatches, self.pressures, self.index = tuple(swatches), pressures, index
        self.unattained = tuple(unattained)
        self._catalogue, self._prepare, self._shown = recipes, prepare, shown

    def showing(self, swatches: Sequence[Swatch]) -> "RecipeIndex":
        """The same with these swatches, by their addresses, in the recipes that it describes."""
        by_address = {swatch.address: swatch for swatch in swatches}
        used = [by_address[swatch.address] for swatch in self.swatches]
        parts = self.pressures, self._catalogue, self.index, self._prepare, self.unattained
        return RecipeIndex(used, *parts, swatches)

    @property
    def notes(self) -> tuple[Note, ...]:
        """What is to be said of pencils that are in no recipe."""
        return unattained_notes(self.unattained)

    def __len__(self) -> int:
        """How many recipes there are."""
        return len(self._catalogue)

    def search(
        self,
        targets_lab: FloatsLike,
        *,
        limit: int = 5,
        per_pair: int = 1,
        without: Collection[str] = (),
        jobs: int | None = 1,
    ) -> list[Found]:
        """For each of `targets_lab` (m, 3) what `layering.search` finds.

        Pencils whose address is in `without` are passed over as if they were not in the box;
        `jobs` is as in `nearest_in_batches`.

        Raises
        ------
        InputError
            For targets of another shape, or a number below 1.
        """
        targets = as_lab(targets_lab, "targets_lab")
        if targets.ndim != 2:
            raise InputError(f"targets_lab: expected shape (m, 3), found {targets.shape}.")
        if limit < 1 or per_pair < 1:
            raise InputError("limit, per_pair: expected at least 1.")
        if not len(targets):
            return []
        barred = self.barred(without)
        return self.search_but(targets, barred, limit=limit, per_pair=per_pair, jobs=jobs)

    def barred(self, without: Collection[str]) -> Booleans:
        """Which pencils (n,) have an address that is in `without`."""
        return np.array([swatch.address in without for swatch in self.swatches], dtype=np.bool_)

    def search_but(
        self,
        targets: Floats,
        barred: Booleans,
        *,
        limit: int,
        per_pair: int = 1,
        jobs: int | None = 1,
    ) -> list[Found]:
        """The same, pencils that are `barred` (n,) passed over."""
        allowed = ~self._catalogue.using(barred) if barred.any() else None
        search = RowSearch(self.index, self._catalogue, allowed, limit, per_pair)
        return search.found(targets, jobs)

    def scan(
        self,
        target_lab: Lab,
        difference: Callable[[Lab, Floats], Floats],
        *,
        limit: int,
        without: Collection[str] = (),
    ) -> Found:
        """What `search` finds, ranked by a difference that the index was not made for.

        `difference` takes the target and all colours (n, 3); `delta_E` are in the index's own
        metric. The cost is that of one difference to every recipe.
        """
        found, colours = self.scan_but(target_lab, difference, self.barred(without), limit=limit)
        return Found(found.layings, self.index.difference(target_lab, colours))

    def scan_but(
        self,
        target_lab: Lab,
        difference: Callable[[Lab, Floats], Floats],
        barred: Booleans,
        *,
        limit: int,
    ) -> tuple[Found, Floats]:
        """The same by that difference, pencils that are `barred` (n,) passed over, and what they
        look like (m, 3).
        """
        lab = self.index.lab
        apart = difference(target_lab, lab)
        if barred.any():
            apart[self._catalogue.using(barred)] = np.inf
        order = np.argsort(apart, kind="stable")
        order = order[np.isfinite(apart[order])]
        many = max(_SEEN, _PER_ANSWER * limit)
        while True:
            rows = order[:many]
            near = apart[rows]
            (found,) = self._catalogue.best(rows[None], near[None], limit=limit, per_pair=1)
            if len(rows) == len(order) or (
                len(found.delta_E) == limit and found.delta_E[-1] < near[-1]
            ):
                break
            many *= _GROWTH
        places = {tuple(one): row for one, row in zip(self._catalogue.layings(rows).tolist(), rows)}
        return found, lab[[places[tuple(one)] for one in found.layings.tolist()]]

    def recipes(
        self,
        targets_lab: FloatsLike,
        *,
        limit: int = 5,
        without: Collection[str] = (),
        jobs: int | None = 1,
    ) -> "list[list[Recipe]]":
        """For each of `targets_lab` (m, 3) what `layering.best_recipes` gives; see `search`."""
        return self.described(self.search(targets_lab, limit=limit, without=without, jobs=jobs))

    def described(
        self, found: Sequence[Found], *, sure: bool = True, most: Sequence[Floats] | None = None
    ) -> "list[list[Recipe]]":
        """The recipes that `search` found, all worked out together; unless `sure`, without how sure
        they are, which takes nearly all of the time. Some are left out of those whose standard
        uncertainty is above the `most` of each, by a bound that costs far less.
        """
        return described(found, self._prepare, self._shown, sure=sure, most=most)


def index_recipes(
    box: "Palette",
    *,
    metric: str | DifferenceFunction = DEFAULT_METRIC,
    spreads: Spreads = SPREADS,
    progress: "Progress | None" = None,
) -> RecipeIndex:
    """All recipes of a box, worked out; arguments are those of `layering.best_recipes`."""
    from stopgap.layering import catalogue, catalogue_colours

    def prepare(found: Found) -> Prepared:
        return Prepared(found, box, None, spreads)

    index = SwatchIndex(catalogue_colours(box, progress=progress), metric)
    recipes = catalogue(box)
    return RecipeIndex(box.swatches, box.pressures, recipes, index, prepare, box.unattained)
