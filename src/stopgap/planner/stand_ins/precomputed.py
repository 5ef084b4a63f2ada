"""Stand-ins and recipes of every swatch, worked out before anybody asks; carried to the shop."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import inf
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from stopgap.arrays import Floats, Integers
from stopgap.defaults import METRIC, POCKET_RECIPES, POCKET_STAND_INS
from stopgap.difference import delta_E_ciede2000
from stopgap.errors import InputError, Note, NothingFoundError, Remedy
from stopgap.layering import Recipe
from stopgap.layering.recipe_search import Progress
from stopgap.neighbours import SwatchIndex
from stopgap.planner.doubt import reach_of_rivals
from stopgap.planner.draws import Expected
from stopgap.planner.materials import labs_of
from stopgap.planner.nearness import BY_HUE, FAR, recipes_lead
from stopgap.planner.recipes.questions import BestPencil, LayerQuestion, recipes_for_each
from stopgap.planner.stand_ins.answer import without_lookalikes
from stopgap.planner.stand_ins.carried import CarriedStandIn, carried
from stopgap.planner.stand_ins.ranking import BY_DELTA_E, Ranked, Ranking, rank
from stopgap.swatches import Arrangement, LayingConditions, Selection, Swatch, Swatches, Target

if TYPE_CHECKING:
    from stopgap.blends import Family
    from stopgap.planner.recipes.cache import RecipeCache

_AT_ONCE = 1024  # targets
_RECIPES_AT_ONCE = 4096  # targets that share what is laid
_MANY = 2000  # those for which loading what is compiled takes no longer than it saves
_RIVALS, _GROWTH = 48, 2  # candidates that are looked at for a target at first, and then times


@dataclass(frozen=True, slots=True)
class PrecomputedStandIns:
    """What stands in for one swatch: `owned` pencils, `others` to buy, and recipes.

    `layers_first` says that some recipe promises more than every owned pencil.
    """

    swatch: Swatch
    owned: tuple[CarriedStandIn, ...]
    others: tuple[CarriedStandIn, ...]
    recipes: tuple[Recipe, ...]
    layers_first: bool = False


class _Single(NamedTuple):
    """The nearest single pencils of one target, what ranks them, and recipes beside them."""

    target: Target
    matches: tuple[CarriedStandIn, ...] = ()
    ranked_by: str = BY_DELTA_E
    layers: tuple[Recipe, ...] = ()
    layers_first: bool = False


class CarriedLibrary(NamedTuple):
    """Stand-ins of every swatch, the families in their order, and what must be said."""

    stand_ins: "tuple[PrecomputedStandIns, ...]"
    families: "tuple[Family, ...]"
    notes: tuple[Note, ...] = ()


def carry_library(
    swatches: Sequence[Swatch],
    *,
    layers: LayingConditions | None = None,
    selection: Selection | None = None,
    arrangement: Arrangement | None = None,
    cache: "RecipeCache | None" = None,
    progress: "Progress | None" = None,
) -> CarriedLibrary:
    """What the page for the phone holds: stand-ins of `selection`, and with `layers` recipes of
    what is owned, laid so.

    Raises
    ------
    NothingFoundError
        If there is no swatch.
    """
    if not swatches:
        raise NothingFoundError("The library holds no swatch yet.", remedy=Remedy.IMPORT_RANGE)
    from stopgap.blends import families_named

    selection = selection or Selection()
    owned = selection.at_home.of(swatches)
    question: LayerQuestion | None = None
    notes: tuple[Note, ...] = ()
    if layers is not None and owned:
        question = LayerQuestion(layers, owned, limit=POCKET_RECIPES, cache=cache)
        recipes = question.index()
        question, notes = replace(question, made=recipes), recipes.notes
    found = precompute_stand_ins(
        swatches, layering=question, selection=selection, progress=progress
    )
    return CarriedLibrary(tuple(found), families_named(swatches, (), arrangement), notes)


def precompute_stand_ins(
    swatches: Sequence[Swatch],
    *,
    limit: int = POCKET_STAND_INS,
    layering: LayerQuestion | None = None,
    selection: Selection | None = None,
    progress: Progress | None = None,
) -> list[PrecomputedStandIns]:
    """For each swatch up to `limit` stand-ins of either kind, and recipes worth offering.

    Pencils of `selection` are offered: plain ones, discontinued ones only where they are owned. A
    recipe is worth offering where it comes nearer than the best owned pencil by more than both
    uncertainties; where one promises more than every owned pencil, fewer of those are listed.
    The cost grows with the square of the number of pencils to layer, once for all swatches.

    Raises
    ------
    InputError
        If `limit` is below 1.
    """
    if limit < 1:
        raise InputError(f"limit: expected 1 or more, found {limit}.")
    if not swatches:
        return []
    those = (selection or Selection()).of(swatches)
    owned = [swatch for swatch in those if swatch.at_hand]
    others = [swatch for swatch in those if not swatch.at_hand]
    near = _singles(swatches, owned, limit)
    far = _singles(swatches, others, limit)
    if layering := _with_recipes(layering):
        near = _with_layers(near, _Box.of(owned), layering, limit, progress)
    return [
        PrecomputedStandIns(one, own.matches, other.matches, own.layers, own.layers_first)
        for one, own, other in zip(swatches, near, far, strict=True)
    ]


def _with_recipes(question: LayerQuestion | None) -> LayerQuestion | None:
    """The question with its recipes made, which every swatch asks for.

    None where nothing can be layered: pages are written all the same.
    """
    if question is None:
        return None
    try:
        return replace(question, made=question.index())
    except InputError:
        return None


def _with_layers(
    near: Sequence[_Single],
    box: "_Box",
    question: LayerQuestion,
    limit: int,
    progress: Progress | None,
) -> list[_Single]:
    """Pencils of a box with recipes beside them, as `find_stand_ins` has them."""
    index, found = question.index(), []
    for begin in range(0, len(near), _RECIPES_AT_ONCE):
        some = [*near[begin : begin + _RECIPES_AT_ONCE]]
        # so far out that hue ranks, how they rank hangs on the recipes too
        rankings = {
            place: box.ranking(one.target)
            for place, one in enumerate(some)
            if one.ranked_by == BY_HUE
        }
        singles = [_best_pencil(one, box, rankings.get(place)) for place, one in enumerate(some)]
        recipes = recipes_for_each([one.target for one in some], question, index, singles)
        leading, anew = {}, []
        for place, ranking in rankings.items():
            target, ranked = some[place].target, ranking.beside(recipes[place])
            leading[place] = ranked.led_by(recipes[place], target)
            anew.append(box.ranked(target, ranked))
        for place, matches in zip(rankings, carried(anew, box.candidates, limit)):
            some[place] = some[place]._replace(matches=matches)
        for place, (one, laid) in enumerate(zip(some, recipes, strict=True)):
            nearest = one.matches[0].delta_E if one.matches else inf
            first = leading.get(place, recipes_lead(laid, nearest))
            matches = without_lookalikes(one.matches, question.below) if first else one.matches
            found.append(one._replace(matches=matches, layers=laid, layers_first=first))
            if progress is not None:
                progress(begin + place + 1, len(near))
    return found


def _best_pencil(single: _Single, box: "_Box", ranking: Ranking | None) -> BestPencil:
    """The best of a box for one target, as hue may rank where there is a `ranking`."""
    if ranking is not None:
        first = box.candidates[ranking.order[0]]
        by_hue = None if ranking.by_hue is None else float(ranking.by_hue.min())
        return BestPencil(ranking.nearest, first.uncertainty_there, by_hue)
    if not single.matches:
        return BestPencil()
    return BestPencil(single.matches[0].delta_E, single.matches[0].swatch.uncertainty_there)


def _singles(targets: Sequence[Target], candidates: Sequence[Swatch], limit: int) -> list[_Single]:
    """For each target the nearest single pencils as `find_stand_ins` gives them; none where there
    is no candidate but the target itself.
    """
    box, found = _Box.of(candidates), []
    many = len(targets) > _MANY
    if many:
        box.measured.prepare()
        box.there.prepare()
    for begin in range(0, len(targets), _AT_ONCE):
        found += _some_singles(targets[begin : begin + _AT_ONCE], box, limit, many=many)
    return found


class _Box(NamedTuple):
    """Candidates by address, sorted, and indices of them as measured and as expected."""

    candidates: Swatches
    row_of: Mapping[str, int]
    measured: SwatchIndex
    expected: Expected
    there: SwatchIndex

    @classmethod
    def of(cls, candidates: Sequence[Swatch]) -> "_Box":
        every = Swatches(sorted(candidates, key=lambda swatch: (swatch.range, swatch.code)))
        row_of = {swatch.address: row for row, swatch in enumerate(every)}
        expected = Expected.of(every, {None: 0})
        return cls(every, row_of, SwatchIndex(labs_of(every)), expected, SwatchIndex(expected.lab))

    def own_row(self, target: Target) -> int:
        """The row of the target itself, -1 where it is no candidate."""
        return self.row_of.get(target.address, -1) if isinstance(target, Swatch) else -1

    def ranking(self, target: Target) -> Ranking:
        """How all rank for a target."""
        own, lab = self.own_row(target), self.measured.lab
        without = None if own < 0 else own
        return rank(target, self.candidates, METRIC, cautious=False, without=without, lab=lab)

    def ranked(self, target: Target, ranking: Ranking) -> Ranked:
        """All but the target itself, as they rank."""
        count = len(self.candidates) - (self.own_row(target) >= 0)
        return Ranked.of(target, ranking, ranking.order[:count])

    def rivals(self, targets: Sequence[Target], own: Integers, limit: int) -> dict[int, Ranked]:
        """By their places, of the targets that a candidate is within FAR of: all candidates that
        may be the nearest and the `limit` that are, and more, so that many have equally many.

        `own` (m,) is the row of each target itself, -1 where it is no candidate.
        """
        found: dict[int, Ranked] = {}
        most = len(self.candidates) - int((own >= 0).any())
        if most <= _RIVALS:
            return found
        labs, theirs = labs_of(targets), Expected.of(targets, {None: 0})
        near, first = _without(own, *self.measured.nearest(labs, limit + 1))
        many = _RIVALS
        apart, rows = _without(own, *self.there.nearest(theirs.lab, many + 1))
        reach = reach_of_rivals(theirs, self.expected, apart[:, 0])
        pending = np.flatnonzero(near[:, 0] <= FAR)
        apart, rows = apart[pending], rows[pending]
        while len(pending):
            shown = (first[pending, :, np.newaxis] == rows[:, np.newaxis]).any(axis=2).all(axis=1)
            done = ((apart[:, -1] > reach[pending]) & shown) | (many == most)
            measured = delta_E_ciede2000(
                labs[pending[done], np.newaxis], self.measured.lab[rows[done]]
            )
            order = np.lexsort((rows[done], measured))
            for place, at, its, delta in zip(pending[done], order, rows[done], measured):
                found[int(place)] = Ranked(
                    targets[place], its[at], delta[at], delta[at], BY_DELTA_E
                )
            pending, many = pending[~done], min(many * _GROWTH, most)
            if len(pending):
                apart, rows = self.there.nearest(theirs.lab[pending], many + 1)
                apart, rows = _without(own[pending], apart, rows)
        return found


def _without(own: Integers, apart: Floats, rows: Integers) -> tuple[Floats, Integers]:
    """The nearest (m, k) but the target's own row, or else but the last: (m, k - 1)."""
    mine = rows == own[:, np.newaxis]
    mine[~mine.any(axis=1), -1] = True
    return apart[~mine].reshape(len(own), -1), rows[~mine].reshape(len(own), -1)


def _some_singles(targets: Sequence[Target], box: _Box, limit: int, *, many: bool) -> list[_Single]:
    """The same of as many targets as there is memory for."""
    found = [_Single(target) for target in targets]
    own = np.array([box.own_row(target) for target in targets], dtype=np.intp)
    asked = box.rivals(targets, own, limit)
    for place, target in enumerate(targets):
        if place not in asked and len(box.candidates) > int(own[place] >= 0):
            asked[place] = box.ranked(target, box.ranking(target).beside(()))
    shown = carried(list(asked.values()), box.candidates, limit, many=many)
    for (place, one), matches in zip(asked.items(), shown, strict=True):
        found[place] = found[place]._replace(matches=matches, ranked_by=one.ranked_by)
    return found
