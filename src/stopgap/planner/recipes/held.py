"""All recipes of a box as they are held, in a file or in memory, and grown by a pencil.

Optics belong to each pencil by itself and colours to each two: where few pencils come to a box, or
go, all else stays as it is, and what is grown is what would be made anew, to the last bit
(`arrays.row_by_row`).
"""

from collections.abc import Callable, Mapping, Sequence
from functools import partial
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from stopgap.arrays import Floats, Integers
from stopgap.errors import InputError
from stopgap.layering.estimates import never_beneath, scattering_of
from stopgap.layering.recipe_search import Catalogue, Found, Pairs, catalogue_of
from stopgap.neighbours import SwatchIndex
from stopgap.planner.recipes.index import RecipeIndex
from stopgap.planner.recipes.shelf import Shelf
from stopgap.planner.recipes.shown import Prepared, of_their_pencils
from stopgap.swatches import BARE_PAPER, LayingConditions, Stack, Swatch

if TYPE_CHECKING:
    from stopgap.layering import Palette
    from stopgap.layering.alternatives import Alternatives
    from stopgap.layering.optics import Optics

Arrays = Mapping[str, "np.typing.NDArray[Any]"]

_FATE = "fate"  # of each pencil, one of these
_LAYERED, _LIGHTER, _UNATTAINED = range(3)
_ONE_PAPER = ("papers",)  # what the names of arrays begin with that are no row a pencil
_FEW = 8  # part of a box that may be new, or stand beside its tree
_AT_ONCE = 2**11  # recipes laid at once: what is in between stays in the processor's cache


def make_palette(
    conditions: LayingConditions,
    swatches: Sequence[Swatch],
    known: "Optics | None" = None,
    over: Stack = BARE_PAPER,
) -> "Palette":
    """Pencils ready to be layered under those conditions, as `layering.palette_of` makes them."""
    from stopgap.layering import palette_of

    return palette_of(
        swatches,
        conditions.paper,
        pressures=conditions.loads,
        tooth=conditions.tooth,
        trapping=conditions.trapping,
        opacity=conditions.opacity,
        swatch_paper_lab=conditions.swatch_paper,
        heavy_first=conditions.heavy_first,
        over=over,
        known=known,
    )


class Held(NamedTuple):
    """What is known of a box of swatches: the `fate` (n,) of each, the index of the `colours` of
    all recipes of those that can be layered, and `alternatives` to each of these as arrays. In
    memory also what `recipes` these are, and the layers on the `shelf`, once somebody asked.
    """

    fate: Integers
    colours: SwatchIndex
    alternatives: Arrays
    recipes: Catalogue | None = None
    shelf: Shelf | None = None

    @classmethod
    def made(cls, box: "Palette", swatches: Sequence[Swatch], index: SwatchIndex) -> "Held":
        """Of swatches, of which a box was made, and the index of its recipes."""
        return cls(fates_of(box, swatches), index, alternatives_to(box))

    @classmethod
    def of_arrays(cls, arrays: Arrays, count: int) -> "Held | None":
        """What `to_arrays` gave of so many swatches; None where it cannot have."""
        fate = arrays.get(_FATE)
        if fate is None or fate.shape != (count,) or fate.dtype.kind != "i":
            return None
        if not all(each.dtype.kind != "f" or np.isfinite(each).all() for each in arrays.values()):
            return None
        try:
            index = SwatchIndex.from_arrays(arrays)
        except InputError:
            return None
        others = arrays.keys() - index.to_arrays().keys() - {_FATE}
        return cls(fate, index, {name: arrays[name] for name in others})

    def to_arrays(self) -> Arrays:
        """As arrays to be kept; raises InputError for what was grown."""
        return {_FATE: self.fate, **self.colours.to_arrays(), **self.alternatives}

    def planted_anew(self) -> "Held":
        """The same with a tree over all its colours, as what is made anew has it."""
        return self._replace(colours=SwatchIndex(self.colours.lab))

    def used(self, swatches: Sequence[Swatch]) -> list[Swatch]:
        """Those of the swatches that can be layered."""
        return [swatch for swatch, its in zip(swatches, self.fate) if its == _LAYERED]

    def unattained(self, swatches: Sequence[Swatch]) -> list[Swatch]:
        """Those whose colour no surface has."""
        return [swatch for swatch, its in zip(swatches, self.fate) if its == _UNATTAINED]

    def catalogue(self, conditions: LayingConditions, used: Sequence[Swatch]) -> Catalogue:
        """The recipes of those that are used."""
        return self.recipes if self.recipes is not None else catalogue_under(conditions, used)

    def with_catalogue(self, conditions: LayingConditions, swatches: Sequence[Swatch]) -> "Held":
        """The same, its recipes looked up."""
        return self._replace(recipes=self.catalogue(conditions, self.used(swatches)))

    def with_shelf(self, conditions: LayingConditions, swatches: Sequence[Swatch]) -> "Held":
        """The same, its layers made ready for what may come to it."""
        used = self.used(swatches)
        if self.shelf is not None or not used:
            return self
        return self._replace(shelf=Shelf.of(self._palette(conditions, used)))

    def _palette(self, conditions: LayingConditions, used: Sequence[Swatch]) -> "Palette":
        from stopgap.layering.alternatives import Alternatives

        known = Alternatives.from_arrays(self.alternatives, len(used)).optics
        return make_palette(conditions, used, known)

    def shown(self, conditions: LayingConditions, swatches: Sequence[Swatch]) -> RecipeIndex | None:
        """The recipes of these swatches; None where they are not those that it was made of."""
        used = self.used(swatches)
        recipes = self.catalogue(conditions, used)
        prepare = partial(prepared_anew, conditions, used, self.alternatives)
        unattained = self.unattained(swatches)
        try:
            return RecipeIndex(used, conditions.loads, recipes, self.colours, prepare, unattained)
        except InputError:
            return None

    def grown(
        self,
        conditions: LayingConditions,
        held: Sequence[Swatch],
        swatches: Sequence[Swatch],
        before: Integers,
    ) -> "Held | None":
        """The same of other `swatches` (n,): of each the place `before` among those `held`, rising,
        -1 where it is new. None where making it anew takes no longer.
        """
        if not grows_to(before):
            return None
        new = [swatch for swatch, at in zip(swatches, before) if at < 0]
        alternatives, shelf, its_fate = self.alternatives, self.shelf, self.fate[:0]
        if new:
            its_box = make_palette(conditions, new)
            its = Held.made(its_box, new, self.colours)
            shelf = None if shelf is None else shelf.beside(Shelf.of(its_box))
            its_fate, alternatives = its.fate, joined(alternatives, its.alternatives)
        fate, chosen = self.changed(before, its_fate)
        alternatives = {
            name: each if name.startswith(_ONE_PAPER) else each[chosen]
            for name, each in alternatives.items()
        }
        shelf = None if shelf is None else shelf.of_pencils(chosen)
        grown = Held(fate, self.colours, alternatives, shelf=shelf)
        used, was_used = grown.used(swatches), self.used(held)
        if not used:
            return None
        recipes = grown.catalogue(conditions, used)
        pencils = np.where(chosen < len(was_used), chosen, -1)
        rows = _rows_in(self.catalogue(conditions, was_used), recipes, pencils)
        lab = self.colours.lab.take(rows, axis=0)
        if (fresh := np.flatnonzero(rows < 0)).size:
            if shelf is None:
                box = grown._palette(conditions, used)
                lay_fresh(lab, fresh, recipes, box.colours)
                grown = grown._replace(shelf=Shelf.of(box))
            else:
                lay_fresh(lab, fresh, recipes, shelf.colours)
        return grown._replace(colours=self.colours.rearranged(lab, rows), recipes=recipes)

    def changed(self, before: Integers, of_new: Integers) -> tuple[Integers, Integers]:
        """The fate (n,) of other swatches, each at the place `before` here, or new and of the fate
        `of_new`; and of those that can be layered their places among such here, then new ones.
        """
        new, fate = before < 0, self.fate[before]
        fate[new] = of_new
        place = np.cumsum(np.append(self.fate, of_new) == _LAYERED) - 1
        before = np.where(new, len(self.fate) + np.cumsum(new) - 1, before)
        return fate, place[before[fate == _LAYERED]]


def catalogue_under(
    conditions: LayingConditions, used: Sequence[Swatch], of: Pairs = None
) -> Catalogue:
    """The recipes of swatches that can be layered, with all pairs or those `of` some."""
    lightness = np.array([swatch.lab[0] for swatch in used])
    power = [scattering_of(swatch, conditions.opacity).middle for swatch in used]
    never_first = never_beneath(conditions.loads, heavy_first=conditions.heavy_first)
    covers = np.array(power) > 0.0
    return catalogue_of(lightness, covers, len(conditions.loads), never_first, of)


def alternatives_to(box: "Palette") -> Arrays:
    """Alternatives to all pencils of a box, as they are kept."""
    from stopgap.layering.palette import alternatives_of

    count = len(box.swatches)
    return alternatives_of(box, np.arange(count)).to_arrays() if count else {}


def fates_of(box: "Palette", swatches: Sequence[Swatch]) -> Integers:
    """The fate (n,) of each of the swatches that a box was made of."""
    fate = dict.fromkeys((swatch.address for swatch in box.left_out), _LIGHTER)
    fate |= dict.fromkeys((swatch.address for swatch in box.unattained), _UNATTAINED)
    return np.array([fate.get(swatch.address, _LAYERED) for swatch in swatches], dtype=np.intp)


def grows_to(before: Integers) -> bool:
    """Whether few are new of those that were at the places `before` (n,), -1 where they are."""
    return int(np.count_nonzero(before < 0)) * _FEW <= len(before)


def joined(one: Arrays, other: Arrays) -> Arrays:
    """The arrays of pencils of one box and then of another."""
    return {
        name: np.concatenate([each, other[name]])
        if name in other and not name.startswith(_ONE_PAPER)
        else each
        for name, each in one.items()
    }


def _rows_in(known: Catalogue, recipes: Catalogue, pencils: Integers) -> Integers:
    """Of each of the recipes (m,) its row among those known, -1 where it is new; `pencils` (n,) are
    the numbers there of the pencils, rising, -1 of a new one. Two are laid alike wherever they are.
    """
    first = np.full((known.pencils + 1, known.pencils + 1), -1)
    begin, parts = known.tints, np.split(known.pairs, np.cumsum(known.counts)[:-1])
    for (one, other), laid in zip((part.T for part in parts), known.options, strict=True):
        first[one, other] = begin + len(laid) * np.arange(len(one))
        begin += len(laid) * len(one)
    starts = [(np.where(pencils < 0, -1, pencils * known.pressures), known.pressures)]
    for part, laid in zip(np.split(recipes.pairs, np.cumsum(recipes.counts)[:-1]), recipes.options):
        starts.append((first[*pencils[part].T], len(laid)))
    rows = [np.where(row < 0, -1, row)[:, np.newaxis] + np.arange(many) for row, many in starts]
    new = [np.repeat(row < 0, many) for row, many in starts]
    return np.where(np.concatenate(new), -1, np.concatenate([each.ravel() for each in rows]))


def lay_fresh(
    lab: Floats, fresh: Integers, recipes: Catalogue, colours: Callable[..., Floats]
) -> None:
    """Put in `lab` (m, 3) the `colours` of the recipes that are `fresh`, rising."""
    for some in np.split(fresh, range(_AT_ONCE, len(fresh), _AT_ONCE)):
        alone = some[some < recipes.tints]
        lab[alone] = colours(alone)
        pairs = some[len(alone) :]
        lab[pairs] = colours(*recipes.layings(pairs).T)


def prepared_anew(
    conditions: LayingConditions, swatches: Sequence[Swatch], arrays: "Arrays", found: Found
) -> Prepared:
    """Recipes of a box that has only the pencils they use, with what is kept of these, if it is."""
    return prepared_of(conditions, swatches, partial(known_of, arrays, len(swatches)), found)


def prepared_of(
    conditions: LayingConditions,
    swatches: Sequence[Swatch],
    known: "Callable[[Integers], Alternatives | None]",
    found: Found,
) -> Prepared:
    """The same with what is `known` of the pencils (k,) that they use."""
    chosen, laid = of_their_pencils(found, len(conditions.loads))
    some, its = [swatches[pencil] for pencil in chosen.tolist()], known(chosen)
    box = make_palette(conditions, some, None if its is None else its.optics)
    return Prepared(laid, box, its, conditions.spreads)


def known_of(arrays: Arrays, count: int, chosen: Integers) -> "Alternatives | None":
    """Alternatives to the pencils (k,) that are chosen of so many; None where none are kept."""
    from stopgap.layering.alternatives import Alternatives

    try:
        return Alternatives.from_arrays(arrays, count).rows(chosen)
    except InputError:
        return None
