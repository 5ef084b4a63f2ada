"""Recipes of many pencils for a few targets, asked as an index is, without an index of all."""

from collections.abc import Collection, Iterable, Sequence
from math import floor, inf
from time import monotonic
from typing import TYPE_CHECKING

import numpy as np

from stopgap.arrays import Booleans, Floats, FloatsLike, as_lab
from stopgap.difference import DifferenceFunction, delta_E_ciede2000
from stopgap.difference.bounds.boxes import Bounded
from stopgap.errors import Note
from stopgap.layering.estimates import scattering_of
from stopgap.layering.pruning.many_targets import search_each
from stopgap.layering.pruning.preparing import prepare_search
from stopgap.layering.pruning.pruned_search import PrunedSearch
from stopgap.layering.recipe_search import Found
from stopgap.neighbours import SwatchIndex
from stopgap.planner.nearness import HUE_KEEPING
from stopgap.planner.recipes.held import make_palette
from stopgap.planner.recipes.shown import Prepared, described, of_their_pencils, unattained_notes
from stopgap.swatches import BARE_PAPER, Lab, LayingConditions, Stack, Swatch

if TYPE_CHECKING:
    from stopgap.layering import Palette, Recipe
    from stopgap.layering.optics import Optics
    from stopgap.layering.recipe_search import Progress


LONGEST = 20.0
"""How long recipes are searched for one colour [s], also where hue ranks after ΔE00: this project's
choice. Longest takes what nearly all are about as far from, as greys are from a vivid colour."""

_ALL = inf, inf, inf
_ONE_BY_ONE = 4  # targets, which takes no longer than all at once


class PrunedRecipes:
    """What a `RecipeIndex` says of a few targets, to the last bit. Threads may ask at once.

    It is of one question: the clock of a colour runs from its first search.

    Parameters
    ----------
    conditions, layered, prepared
        How pencils are laid, all that were asked for, and these ready to be searched.
    swatches
        Pencils as recipes show them.
    progress
        Told by each search of how many pairs of how many it knows.
    """

    def __init__(
        self,
        conditions: LayingConditions,
        layered: Sequence[Swatch],
        prepared: PrunedSearch,
        swatches: Sequence[Swatch],
        progress: "Progress | None" = None,
    ) -> None:
        by_address = {swatch.address: swatch for swatch in swatches}
        self.swatches = tuple(by_address[swatch.address] for swatch in prepared.swatches)
        self.pressures = conditions.loads
        self._bounds: list[float | None] = []  # none is known where hue ranked
        self._until: dict[tuple[float, ...], float] = {}
        self._wanted: dict[tuple[float, ...], tuple[float, float, float]] = {}
        self._conditions, self._prepared, self._progress = conditions, prepared, progress
        self._layered = tuple(layered)

    @property
    def notes(self) -> tuple[Note, ...]:
        """What is said of pencils that no recipe uses, and of searches that were cut short."""
        return (*unattained_notes(self._prepared.unattained), *self.cut_short)

    @property
    def cut_short(self) -> tuple[Note, ...]:
        """What is said of searches that were cut short, if any were."""
        if not self._bounds:
            return ()
        known = [one for one in self._bounds if one is not None]
        least = floor(10.0 * min(known)) / 10.0 if known else 0.0
        no_other = f"; no other can be nearer than ΔE00 {least:.1f}" if known else ""
        so_far = (
            f"Recipes were searched for {LONGEST:g} seconds and not to the end: they are the best "
            "found so far"
        )
        return (Note(f"{so_far}{no_other}.", plain=f"{so_far}, and others may come nearer."),)

    @property
    def nbytes(self) -> int:
        """How many bytes it takes."""
        return self._prepared.nbytes

    def is_of(self, conditions: LayingConditions, layered: Sequence[Swatch]) -> bool:
        """Whether these very pencils were made ready, under these conditions."""
        return self._conditions == conditions and self._layered == tuple(layered)

    def showing(
        self, swatches: Sequence[Swatch], progress: "Progress | None" = None
    ) -> "PrunedRecipes":
        """The same for another question, with the pencils as recipes show them."""
        return PrunedRecipes(self._conditions, self._layered, self._prepared, swatches, progress)

    def want(self, target_lab: Lab, within: float, by_hue: float, unless: float) -> None:
        """Of recipes for this colour find from now on only those up to `within` ΔE00, and where
        none is up to `unless`, none of these; ranked by another difference, those up to `by_hue`.
        """
        self._wanted[_key(target_lab)] = within, by_hue, unless

    def search(
        self,
        targets_lab: FloatsLike,
        *,
        limit: int = 5,
        without: Collection[str] = (),
    ) -> list[Found]:
        """For each of `targets_lab` (m, 3) what `layering.search` finds that is wanted, pencils
        whose address is in `without` passed over.

        Raises
        ------
        InputError
            For targets of another shape, or a number below 1.
        """
        barred, targets = self._barred(without), as_lab(targets_lab, "targets_lab")
        if len(targets) > _ONE_BY_ONE and not self._wanted:
            return search_each(
                self._prepared,
                targets,
                lambda lab: SwatchIndex(lab).nearest,
                limit=limit,
                barred=barred,
                progress=self._progress,
            )
        found = []
        for one in targets:
            within, _, unless = self._wanted.get(_key(one), _ALL)
            found.append(
                self._prepared.search(
                    one,
                    limit=limit,
                    barred=barred,
                    within=within,
                    unless=unless,
                    seconds=self._left(_key(one)),
                    cut=self._bounds.append,
                    progress=self._progress,
                )
            )
        return found

    def scan(
        self,
        target_lab: Lab,
        difference: DifferenceFunction,
        *,
        limit: int,
        without: Collection[str] = (),
        parts: Sequence[Bounded] = HUE_KEEPING,
    ) -> Found:
        """The same ranked by another difference, the least of `parts` that have a bound."""
        found = self._prepared.search(
            target_lab,
            limit=limit,
            barred=self._barred(without),
            difference=difference,
            parts=parts,
            within=self._wanted.get(_key(target_lab), _ALL)[1],
            seconds=self._left(_key(target_lab)),
            cut=lambda _: self._bounds.append(None),
            progress=self._progress,
        )
        colours = self._prepared.colours(found.layings)
        return Found(found.layings, delta_E_ciede2000(target_lab, colours))

    def described(
        self, found: Sequence[Found], *, sure: bool = True, most: Sequence[Floats] | None = None
    ) -> "list[list[Recipe]]":
        """As `RecipeIndex.described`."""
        return described(found, self._prepare, self.swatches, sure=sure, most=most)

    def _prepare(self, found: Found) -> Prepared:
        """What was found, with a palette of the pencils that it takes."""
        used, laid = of_their_pencils(found, len(self.pressures))
        return Prepared(laid, self._prepared.palette(used), None, self._conditions.spreads)

    def _left(self, key: tuple[float, ...]) -> float:
        """How many seconds are left for a colour."""
        now = monotonic()
        return self._until.setdefault(key, now + LONGEST) - now

    def _barred(self, without: Collection[str]) -> Booleans:
        return np.array([swatch.address in without for swatch in self.swatches], dtype=np.bool_)


def _key(target: Iterable[float]) -> tuple[float, ...]:
    return tuple(map(float, target))


def pruned_recipes(
    conditions: LayingConditions,
    layered: Sequence[Swatch],
    swatches: Sequence[Swatch],
    progress: "Progress | None" = None,
    *,
    over: Stack = BARE_PAPER,
) -> PrunedRecipes | None:
    """Pencils ready to be asked, as they are `layered` and as recipes show them, laid over what
    lies there; None where only a search of all is possible.
    """

    def lay(some: Sequence[Swatch], known: "Optics | None") -> "Palette":
        return make_palette(conditions, some, known, over)

    scattering = np.array([scattering_of(one, conditions.opacity).middle for one in layered])
    prepared = prepare_search(layered, scattering, lay, progress=progress)
    if prepared is None:
        return None
    return PrunedRecipes(conditions, layered, prepared, swatches, progress)
