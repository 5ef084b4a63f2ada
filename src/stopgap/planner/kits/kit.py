"""A box to take along: the few of one's pencils that lose least, and what they lose."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from stopgap.arrays import Floats
from stopgap.colorimetry import lab_text
from stopgap.defaults import TIME_LIMIT, TOLERANCE
from stopgap.errors import InputError, Note, NothingFoundError, Remedy
from stopgap.neighbours import in_cells
from stopgap.planner.kits.packing import pack
from stopgap.planner.kits.reach import reached
from stopgap.planner.kits.task import Packing
from stopgap.planner.materials import labs_of, to_take, unique_swatches
from stopgap.planner.nearness import SAME_TO_THE_EYE
from stopgap.planner.recipes.for_lists import FOR_RECIPES, recipes_in_time
from stopgap.planner.recipes.kept import not_layered_notes, recipes_under
from stopgap.planner.solver import Clock, OutOfTime
from stopgap.planner.translation.answer import Asked
from stopgap.swatches import (
    FreeColour,
    LaidStack,
    LayingConditions,
    Selection,
    Swatch,
    departure_notes,
    mark_notes,
)

if TYPE_CHECKING:
    from stopgap.layering.recipe_search import Progress
    from stopgap.planner.recipes.cache import RecipeCache


_WITHOUT_LAYERS = Note("The time ran out before layers were counted: this kit is of pencils alone.")

_ALIKE_AS_ONE = Note(
    "There are so many colours and pencils that colours alike count as one, by how many they are."
)

_REACH_CELL = 12.0
"""Edge [ΔE*ab] of the cells that all colours that layers reach are told by: some hundreds."""
_PAIRS = 2**23
"""How many colours times pencils are weighed one by one at most: 64 MB for what each costs."""


@dataclass(frozen=True, slots=True)
class KitColour:
    """A colour, what of the kit comes nearest to it, and what of all pencils does."""

    asked: Asked
    given: LaidStack
    delta_E: float
    of_all: LaidStack
    of_all_delta_E: float

    @property
    def lost(self) -> float:
        """How much farther off it is than with all pencils, in ΔE00."""
        return max(self.delta_E - self.of_all_delta_E, 0.0)


@dataclass(frozen=True, slots=True)
class Kit:
    """The pencils to take along, by address, and what becomes of each colour.

    No other choice of as many loses less than `bound` in the weighted mean, or at the most where
    `largest`; `proved` says that this one does not either. `among` is how many there were.
    """

    pencils: tuple[Swatch, ...]
    colours: tuple[KitColour, ...]
    among: int
    largest: bool
    bound: float
    proved: bool
    notes: tuple[Note, ...] = ()

    @property
    def lost(self) -> list[KitColour]:
        """The colours of which something is lost that can be seen, the worst first."""
        seen = [colour for colour in self.colours if colour.lost > SAME_TO_THE_EYE]
        return sorted(seen, key=lambda colour: -colour.lost)

    @property
    def mean_delta_E(self) -> float:
        """Weighted mean ΔE00 of the colours."""
        return self._mean([colour.delta_E for colour in self.colours])

    @property
    def mean_lost(self) -> float:
        """Weighted mean of what the colours lose, ΔE00."""
        return self._mean([colour.lost for colour in self.colours])

    @property
    def largest_delta_E(self) -> float:
        """The largest ΔE00 of a colour."""
        return max(colour.delta_E for colour in self.colours)

    @property
    def largest_lost(self) -> float:
        """The most that a colour loses, ΔE00."""
        return max(colour.lost for colour in self.colours)

    def within(self, *, of_all: bool = False) -> int:
        """How many colours come within TOLERANCE, with the kit or with all pencils."""
        return sum(
            (one.of_all_delta_E if of_all else one.delta_E) <= TOLERANCE for one in self.colours
        )

    def serves(self, pencil: Swatch) -> int:
        """To how many colours it comes nearest of the kit, alone or with another."""
        return sum(pencil.address in colour.given.addresses for colour in self.colours)

    def _mean(self, values: Sequence[float]) -> float:
        weights = np.array([colour.asked.weight for colour in self.colours])
        return float(weights @ np.array(values) / weights.sum())


def pack_kit(
    asked: Sequence[Asked],
    candidates: Sequence[Swatch],
    size: int,
    *,
    keep: Sequence[Swatch] = (),
    largest: bool = False,
    layers: LayingConditions | None = None,
    time_limit: float | None = TIME_LIMIT,
    cache: "RecipeCache | None" = None,
    progress: "Progress | None" = None,
) -> Kit:
    """At most `size` of the candidates that lose least of the colours asked for.

    What is lost is ΔE00 to a colour beyond what all candidates come to: least in the weighted
    mean, or with `largest` in the worst colour first. The pencils of `keep` are taken in any case.
    With `layers`, tints and recipes of two pencils, laid so, count as well. After `time_limit`
    seconds the best found is given, with what is proved. Of more than _PAIRS of colours and
    candidates colours in one cell of Lab are one, their mean, and a note says so.

    Raises
    ------
    NothingFoundError
        If there is no candidate, or no colour.
    InputError
        If `size` is below 1 or below what is to be kept.
    """
    pencils = unique_swatches((*candidates, *keep), "candidates")
    known = [entry for entry in asked if entry.lab is not None]
    if not pencils:
        raise NothingFoundError("There is no pencil to choose from.", remedy=Remedy.ANY_PENCIL)
    if not known:
        raise NothingFoundError("There is no colour to choose pencils for.")
    addresses = [pencil.address for pencil in pencils]
    kept = sorted({addresses.index(swatch.address) for swatch in keep})
    if size < max(1, len(kept)):
        raise InputError(f"size: expected at least {max(1, len(kept))} pencils, found {size}.")
    known, alike = _few_enough(known, len(pencils))
    clock = Clock(time_limit)
    box, best, of_all, telling = reached(known, pencils, layers, clock, cache, progress)
    weights = np.array([entry.weight for entry in known])
    chosen, bound, proved = np.arange(len(pencils)), 0.0, True
    if size < len(pencils):
        task = Packing(
            len(pencils),
            size,
            weights / weights.sum(),
            kept,
            lambda written: box.options(written, of_all),
            lambda columns: np.maximum(box.nearest(columns)[1] - of_all, 0.0),
        )
        chosen, bound, proved = pack(task, clock.less(telling), largest=largest)
    given, delta_E = box.nearest(chosen)
    notes: tuple[Note, ...] = ()
    if layers is not None and box.made is None:
        # of what layers would reach nothing is known
        notes, bound, proved = (_WITHOUT_LAYERS,), 0.0, False
    elif layers is not None:
        notes = not_layered_notes(layers, pencils)
    colours = map(
        KitColour, known, box.stacks(given), delta_E.tolist(), box.stacks(best), of_all.tolist()
    )
    taken = [pencils[column] for column in chosen]
    return Kit(
        tuple(taken),
        tuple(colours),
        len(pencils),
        largest,
        bound,
        proved,
        (*alike, *notes, *departure_notes(taken), *mark_notes(taken)),
    )


def find_kit(
    asked: Sequence[Asked] | None,
    swatches: Sequence[Swatch],
    selection: Selection,
    size: int,
    *,
    keep: Sequence[Swatch] = (),
    largest: bool = False,
    layers: LayingConditions | None = None,
    time_limit: float | None = TIME_LIMIT,
    cache: "RecipeCache | None" = None,
    progress: "Progress | None" = None,
) -> Kit:
    """The kit of those of `swatches` that a selection leaves at hand, as `pack_kit` finds it.

    Where no colours are asked for it is for all that these pencils reach. Raises as `to_take` and
    `pack_kit` do.
    """
    clock = Clock(time_limit)
    candidates, notes = to_take(selection, swatches, keep)
    if asked is None:
        asked = reach_of(candidates, layers=layers, cache=cache, progress=progress, clock=clock)
    found = pack_kit(
        asked,
        candidates,
        size,
        keep=keep,
        largest=largest,
        layers=layers,
        time_limit=clock.left,
        cache=cache,
        progress=progress,
    )
    return replace(found, notes=(*notes, *found.notes))


def reach_of(
    swatches: Sequence[Swatch],
    *,
    layers: LayingConditions | None = None,
    cache: "RecipeCache | None" = None,
    progress: "Progress | None" = None,
    clock: Clock | None = None,
) -> list[Asked]:
    """All colours that pencils reach: their own, and with `layers` those of their recipes besides,
    where there is time for these.

    What lies in one cell of Lab is one colour then, its mean; each counts as much.
    """
    own = [own_colour(one) for one in swatches]
    if layers is None or not own:
        return own
    try:
        share = (clock or Clock(None)).part(FOR_RECIPES)
        made = recipes_in_time(recipes_under, layers, swatches, share, cache, progress)
    except OutOfTime:
        return own
    labs = np.concatenate([labs_of(swatches), made.index.lab])
    return free_colours(in_cells(labs, np.ones(len(labs)), _REACH_CELL)[0])


def _few_enough(known: list[Asked], pencils: int) -> tuple[list[Asked], tuple[Note, ...]]:
    """Colours that can all be weighed against so many pencils, and what is to be said of them."""
    if len(known) * pencils <= _PAIRS:
        return known, ()
    labs, weights = (np.array(each) for each in zip(*((one.lab, one.weight) for one in known)))
    return free_colours(*in_cells(labs, weights, _REACH_CELL)), (_ALIKE_AS_ONE,)


def own_colour(swatch: Swatch) -> Asked:
    """The colour of a pencil that is not to be replaced, not even where it is discontinued."""
    return Asked(swatch.address, FreeColour(swatch.address, swatch.lab), caption=swatch.name)


def free_colours(labs: Floats, weights: Iterable[float] | None = None) -> list[Asked]:
    """Colours (n, 3) as entries of a list."""
    triples = [(float(L), float(a), float(b)) for L, a, b in labs]
    shares = [1.0] * len(triples) if weights is None else map(float, weights)
    return [
        Asked.of(FreeColour(lab_text(lab), lab), share)
        for lab, share in zip(triples, shares, strict=True)
    ]
