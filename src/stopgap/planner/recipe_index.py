"""Everything that can be laid with some pencils, asked at once: an index over all their recipes.

The colours of all tints and pairs are worked out once (`layering.catalogue_colours`), which takes
as long as one search; from then on a question takes milliseconds. The answers are those of
`layering.search`, rows, order and ties: the index gives the nearest recipes in rising order, of
which the useless ones and those of pairs that have had their turn are passed over, until no recipe
that was not seen can be among the answers.
"""

from collections.abc import Callable, Collection, Mapping, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from stopgap.arrays import Booleans, Floats, FloatsLike, Integers, as_lab, renumbered
from stopgap.difference import DEFAULT_METRIC, DifferenceFunction, difference_function
from stopgap.errors import InputError, Note
from stopgap.layering.conditions import LOAD_SPREAD, TOOTH_SPREAD
from stopgap.layering.recipe_search import Found
from stopgap.neighbours import SwatchIndex, nearest_in_batches
from stopgap.swatches import Swatch

if TYPE_CHECKING:
    from stopgap.layering import Catalogue, Pencils, Recipe
    from stopgap.layering.alternatives import Alternatives
    from stopgap.layering.recipe_search import Progress

    Ready = Callable[[Integers], tuple[Pencils, Integers, Alternatives | None]]
    Boxes = Callable[[Integers], tuple[Pencils, Alternatives | None]]

_SEEN = 64  # recipes asked of the index at least; each doubling costs about as much again
_PER_ANSWER = 8  # recipes asked for each answer: most pairs have one or two among the nearest
_GROWTH = 4
_MOST_NAMED = 8
_SLACK = 1e-9  # above what compiled differences are off numpy's


class RecipeIndex:
    """All recipes of one or two pencils of `box`. Threads may ask at once.

    Memory: about 80 bytes a recipe, of which there are 9 for each pair of clear pencils at three
    pressures, so 90 MB for 500 pencils; twice that where all cover.

    Parameters
    ----------
    metric
        As in `search`.
    progress
        Told how many recipes of how many are worked out.
    """

    def __init__(
        self,
        box: "Pencils",
        *,
        metric: str | DifferenceFunction = DEFAULT_METRIC,
        progress: "Progress | None" = None,
    ) -> None:
        from stopgap.layering import catalogue, catalogue_colours

        index = SwatchIndex(catalogue_colours(box, progress=progress), metric)
        self._hold(box.swatches, box.pressures, catalogue(box), index, metric, box.unattained)
        self._made_ready: Ready = lambda layings: (box, layings, None)

    @classmethod
    def kept(
        cls,
        swatches: Sequence[Swatch],
        pressures: Mapping[str, float],
        recipes: "Catalogue",
        index: SwatchIndex,
        boxes: "Boxes",
        unattained: Sequence[Swatch] = (),
    ) -> "RecipeIndex":
        """One whose colours were worked out before, in ΔE00; `boxes` makes some pencils ready.

        Raises
        ------
        InputError
            Where there are not as many colours as recipes.
        """
        if len(index) != len(recipes):
            raise InputError(
                f"index: {len(index)} colours are not those of {len(recipes)} recipes."
            )
        made = cls.__new__(cls)
        made._hold(tuple(swatches), pressures, recipes, index, DEFAULT_METRIC, tuple(unattained))
        made._made_ready = lambda layings: _only_used(layings, len(pressures), boxes)
        return made

    def _hold(
        self,
        swatches: tuple[Swatch, ...],
        pressures: Mapping[str, float],
        recipes: "Catalogue",
        index: SwatchIndex,
        metric: str | DifferenceFunction,
        unattained: tuple[Swatch, ...],
    ) -> None:
        self.unattained = unattained
        self.swatches, self.pressures, self.index = swatches, pressures, index
        self._catalogue, self._difference = recipes, difference_function(metric)

    @property
    def notes(self) -> tuple[Note, ...]:
        """Which pencils are in no recipe because no surface has their colour, where there are."""
        return unattained_notes(self.unattained)

    def __len__(self) -> int:
        """How many recipes there are."""
        return len(self._catalogue)

    @property
    def nbytes(self) -> int:
        """Memory of the colours and of the tree [bytes]."""
        return self.index.nbytes

    def prepare(self) -> None:
        """Do now what would be done once questions are many; see `SwatchIndex.prepare`."""
        self.index.prepare()

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
        allowed = None
        barred = np.array([swatch.address in without for swatch in self.swatches])
        if barred.any():
            allowed = ~self._catalogue.using(barred)
        many = max(_SEEN, _PER_ANSWER * limit)
        _, rows = nearest_in_batches(self.index, targets, many, allowed=allowed, jobs=jobs)
        return [
            self._settled(target, seen, many, allowed, limit=limit, per_pair=per_pair)
            for target, seen in zip(targets, rows)
        ]

    def recipes(
        self,
        targets_lab: FloatsLike,
        *,
        limit: int = 5,
        without: Collection[str] = (),
        jobs: int | None = 1,
        tooth_spread: float = TOOTH_SPREAD,
        load_spread: float = LOAD_SPREAD,
    ) -> "list[list[Recipe]]":
        """For each of `targets_lab` (m, 3) what `layering.best_recipes` gives; see `search`."""
        found = self.search(targets_lab, limit=limit, without=without, jobs=jobs)
        return self.described(found, tooth_spread=tooth_spread, load_spread=load_spread)

    def described(
        self,
        found: Sequence[Found],
        *,
        tooth_spread: float = TOOTH_SPREAD,
        load_spread: float = LOAD_SPREAD,
    ) -> "list[list[Recipe]]":
        """The recipes that `search` found, all worked out together."""
        if not any(len(one.delta_E) for one in found):
            return [[] for _ in found]
        together = Found(
            np.concatenate([one.layings for one in found]),
            np.concatenate([one.delta_E for one in found]),
        )
        from stopgap.layering import recipes_of

        box, layings, known = self._made_ready(together.layings)
        recipes = recipes_of(
            Found(layings, together.delta_E),
            box,
            known=known,
            tooth_spread=tooth_spread,
            load_spread=load_spread,
        )
        ends = np.cumsum([0, *(len(one.delta_E) for one in found)]).tolist()
        return [recipes[start:end] for start, end in pairwise(ends)]

    def _settled(
        self,
        target: Floats,
        rows: Integers,
        many: int,
        allowed: Booleans | None,
        *,
        limit: int,
        per_pair: int,
    ) -> Found:
        """The answer for one target, from its nearest `many` rows, or from more where need be."""
        lab, tints = self.index.lab, self._catalogue.tints
        alone = self._difference(target, lab[:tints])
        simpler = alone.reshape(-1, self._catalogue.pressures).min(axis=1)
        last = rows
        while True:
            delta_E = self._difference(target, lab[rows])
            found = self._catalogue.best(rows, delta_E, simpler, limit=limit, per_pair=per_pair)
            reach = float(self._difference(target, lab[last]).max(initial=0.0)) - _SLACK
            if len(last) < many or (len(found.delta_E) == limit and found.delta_E[-1] < reach):
                return found
            # of pencils that alone come within reach no other pair can be useful
            useful = ~self._catalogue.using(simpler <= reach)
            useful[:tints] = True
            if allowed is not None:
                useful &= allowed
            many *= _GROWTH
            last = self.index.nearest(target, many, allowed=useful)[1][0]
            rows = _union(rows, last)


def unattained_notes(swatches: Sequence[Swatch]) -> tuple[Note, ...]:
    """One sentence that names pencils which no recipe can use, none where there is none."""
    if not swatches:
        return ()
    named = [swatch.address for swatch in swatches[:_MOST_NAMED]]
    more = len(swatches) - len(named)
    names = ", ".join([*named, *([f"{more} more"] if more else [])])
    use, their = ("uses", "its") if len(swatches) == 1 else ("use", "their")
    return (
        Note(
            f"No recipe {use} {names}: no surface has {their} colour as it stands; check the "
            "values."
        ),
    )


def _union(one: Integers, other: Integers) -> Integers:
    """Rows of either, once; np.union1d would import numpy.ma, which takes 6 ms."""
    rows = np.sort(np.concatenate([one, other]))
    return rows[np.diff(rows, prepend=-1) > 0]


def _only_used(
    layings: Integers, p: int, boxes: "Boxes"
) -> "tuple[Pencils, Integers, Alternatives | None]":
    """A box of the pencils that `layings` (m, 2) use, and these as layings of that box."""
    used, pencils = renumbered(np.where(layings < 0, layings[:, :1], layings) // p)
    again = np.where(layings < 0, layings, pencils * p + layings % p)
    box, known = boxes(used)
    return box, again, known
