"""Where one's pencils leave holes: a map of colours, how near each is reached, what would fill it.

The map has a cell for each hue and lightness in two bands of chroma. A cell that no pencil comes
near, neither one's own nor one for sale, is no hole: nothing known reaches it.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from stopgap.arrays import Floats, Integers
from stopgap.defaults import HOLES, TOLERANCE
from stopgap.difference import GRADES, delta_E_ciede2000
from stopgap.errors import Note, NothingFoundError, Remedy
from stopgap.neighbours import SwatchIndex
from stopgap.planner.kits.kit import free_colours
from stopgap.planner.kits.reach import Reach
from stopgap.planner.materials import labs_of, unique_swatches
from stopgap.planner.nearness import SAME_TO_THE_EYE
from stopgap.planner.recipes.kept import not_layered_notes, recipes_under
from stopgap.swatches import Lab, LaidStack, LayingConditions, Selection, Swatch, Swatches

if TYPE_CHECKING:
    from stopgap.layering.recipe_search import Progress
    from stopgap.planner.recipes.cache import RecipeCache

HUES = tuple(range(0, 360, 15))
"""h_ab of the rows of the map, degrees."""
LIGHTNESSES = tuple(range(90, 10, -10))
"""L* of its columns."""
CHROMAS = (15, 45)
"""C*ab of its two parts, the middles of the bands 0 to 30 and 30 to 60."""

NEAR = GRADES["noticeable"]
"""ΔE00 within which a pencil has to come for a cell to count, or to fill it."""


@dataclass(frozen=True, slots=True)
class Cell:
    """A colour of the map, and what of one's pencils comes nearest: alone, then with layers.

    `layered` is None where layers were not asked for. `counts` says whether any pencil comes near;
    `hole` is the number of the hole whose worst cell it is.
    """

    chroma: int
    hue: int
    lightness: int
    lab: Lab
    alone: LaidStack
    alone_delta_E: float
    layered: LaidStack | None
    layered_delta_E: float | None
    counts: bool
    hole: int | None = None

    @property
    def reached(self) -> LaidStack:
        """The nearest there is."""
        return self.layered or self.alone

    @property
    def delta_E(self) -> float:
        """How far off that is, ΔE00."""
        return self.alone_delta_E if self.layered_delta_E is None else self.layered_delta_E


@dataclass(frozen=True, slots=True)
class Hole:
    """The worst cell that one pencil fills best; laid alone, it comes to `then` [ΔE00] there.

    `cells` is how many cells of the map it brings nearer by more than the eye lets pass.
    """

    number: int
    cell: Cell
    fill: Swatch
    then: float
    cells: int

    @property
    def nearer(self) -> float:
        """By how much the pencil brings it nearer, ΔE00."""
        return self.cell.delta_E - self.then


@dataclass(frozen=True, slots=True)
class Holes:
    """The map, and its holes, the worst first.

    `found` is how many holes there are, `owned` how many pencils reach the map, `for_sale` how many
    could fill it. How sure recipes are takes as long as all else, and what `weigh` gives of each
    cell is to be had by `weighed`; until then they count as sure.
    """

    cells: tuple[Cell, ...]
    holes: tuple[Hole, ...]
    found: int
    owned: int
    for_sale: int
    notes: tuple[Note, ...] = ()
    weigh: "Callable[[Sequence[int]], Sequence[LaidStack]] | None" = field(
        default=None, repr=False, compare=False
    )

    def weighed(self, *, holes: bool = False) -> "Holes":
        """The same with how sure the recipes are that reach each cell, or each of the `holes`."""
        if self.weigh is None:
            return self
        rows = [row for row, cell in enumerate(self.cells) if cell.hole or not holes]
        cells = list(self.cells)
        for row, laid in zip(rows, self.weigh(rows), strict=True):
            cells[row] = replace(cells[row], layered=laid)
        numbered = {cell.hole: cell for cell in cells}
        worst = tuple(replace(hole, cell=numbered[hole.number]) for hole in self.holes)
        left = self.weigh if holes else None
        return replace(self, cells=tuple(cells), holes=worst, weigh=left)

    @property
    def counting(self) -> list[Cell]:
        """The cells that some pencil comes near."""
        return [cell for cell in self.cells if cell.counts]

    @property
    def reached(self) -> int:
        """How many of them one's own come within TOLERANCE of."""
        return sum(cell.delta_E <= TOLERANCE for cell in self.counting)

    @property
    def mean_delta_E(self) -> float:
        """Mean ΔE00 of what is reached over the cells that count, 0 where there is none."""
        every = [cell.delta_E for cell in self.counting]
        return sum(every) / len(every) if every else 0.0


def map_labs() -> Floats:
    """The colours of the cells, shape (2 · hues · lightnesses, 3), in the order of the map."""
    C, h, L = (
        axis.ravel() for axis in np.meshgrid(CHROMAS, np.radians(HUES), LIGHTNESSES, indexing="ij")
    )
    return np.stack([L, C * np.cos(h), C * np.sin(h)], axis=-1).round(6)


def map_of_holes(
    owned: Sequence[Swatch],
    for_sale: Sequence[Swatch],
    *,
    layers: LayingConditions | None = None,
    limit: int = HOLES,
    cache: "RecipeCache | None" = None,
    progress: "Progress | None" = None,
) -> Holes:
    """The map of what `owned` pencils reach, and its worst holes with what fills each best.

    A hole is a cell farther than TOLERANCE from all that is reached, which a pencil of `for_sale`
    would bring within NEAR, and nearer by more than the eye lets pass. Cells that one pencil fills
    best are one hole. With `layers`, tints and recipes of two owned pencils reach cells as well.

    Raises
    ------
    NothingFoundError
        If no pencil is owned.
    """
    return _mapped(_alone(owned, for_sale), layers, limit, cache, progress)


class _Alone(NamedTuple):
    """The pencils, what of one's own comes nearest to each cell by itself and its ΔE00, what of
    those for sale is nearest to it and its ΔE00, infinite where there is none.
    """

    own: Sequence[Swatch]
    sale: Sequence[Swatch]
    single: Sequence[LaidStack]
    delta_E: Floats
    best: Integers
    filled: Floats


def _alone(owned: Sequence[Swatch], for_sale: Sequence[Swatch]) -> _Alone:
    own, sale = unique_swatches(owned, "owned"), unique_swatches(for_sale, "for_sale")
    if not own:
        raise NothingFoundError("You own no pencil that has a colour.", remedy=Remedy.ANY_PENCIL)
    labs = map_labs()
    found, delta_E = (reach := Reach(free_colours(labs), own, None)).nearest(np.arange(len(own)))
    filled, best = np.full(len(labs), np.inf), np.zeros(len(labs), dtype=np.intp)
    if sale:
        near, rows = SwatchIndex(labs_of(sale)).nearest(labs)
        filled, best = near[:, 0], rows[:, 0]
    return _Alone(own, sale, reach.stacks(found), delta_E, best, filled)


def _mapped(
    alone: _Alone,
    layers: LayingConditions | None,
    limit: int,
    cache: "RecipeCache | None",
    progress: "Progress | None",
) -> Holes:
    own, sale, single, alone_delta_E, best, filled = alone
    labs = map_labs()
    layered: list[LaidStack | None] = [None] * len(labs)
    delta_E = alone_delta_E
    notes: tuple[Note, ...] = ()
    weigh: Callable[[Sequence[int]], Sequence[LaidStack]] | None = None
    if layers is not None:
        made = recipes_under(layers, own, cache=cache, progress=progress)
        both = Reach(free_colours(labs), own, made)
        laid, delta_E = both.nearest(np.arange(len(own)))
        layered = [*both.stacks(laid, sure=False)]

        def weigh(rows: Sequence[int]) -> Sequence[LaidStack]:
            return both.stacks([laid[row] for row in rows])

        notes = not_layered_notes(layers, own)
    counts = np.minimum(delta_E, filled) <= NEAR
    worst = _worst(delta_E, filled, best)
    numbers = {cell: place for place, (cell, _) in enumerate(worst[:limit], 1)}
    axes = ((C, h, L) for C in CHROMAS for h in HUES for L in LIGHTNESSES)
    cells = [
        Cell(
            *place,
            (float(lab[0]), float(lab[1]), float(lab[2])),
            single[row],
            float(alone_delta_E[row]),
            layered[row],
            None if layers is None else float(delta_E[row]),
            bool(counts[row]),
            numbers.get(row),
        )
        for row, (place, lab) in enumerate(zip(axes, labs, strict=True))
    ]
    holes = [
        Hole(
            number,
            cells[row],
            sale[pencil],
            float(filled[row]),
            int((delta_E - delta_E_ciede2000(labs, sale[pencil].lab) > SAME_TO_THE_EYE).sum()),
        )
        for number, (row, pencil) in enumerate(worst[:limit], 1)
    ]
    counted = len(worst), len(own), len(sale)
    return Holes(tuple(cells), tuple(holes), *counted, notes, weigh)


def _worst(delta_E: Floats, filled: Floats, best: Integers) -> list[tuple[int, int]]:
    """The worst cell of each pencil that fills some best, and that pencil; the worst first.

    `best` is what fills each cell best, and `filled` its ΔE00 there.
    """
    holes = (delta_E > TOLERANCE) & (filled <= NEAR) & (delta_E - filled > SAME_TO_THE_EYE)
    first: dict[int, int] = {}
    for row in np.argsort(-delta_E, kind="stable").tolist():
        if holes[row]:
            first.setdefault(int(best[row]), row)
    return [(row, pencil) for pencil, row in first.items()]


def find_holes(
    swatches: Sequence[Swatch],
    selection: Selection,
    *,
    layers: LayingConditions | None = None,
    limit: int = HOLES,
    cache: "RecipeCache | None" = None,
    progress: "Progress | None" = None,
) -> Holes:
    """The map of what those of `swatches` reach that are at hand, as `map_of_holes` draws it.

    A selection says what is for sale. Raises as `map_of_holes` does.
    """
    own, notes = Selection(owned=True).at_hand(swatches)

    def reckon() -> _Alone:
        return _alone(own, for_sale_beside(selection, swatches, own))

    if isinstance(swatches, Swatches):
        alone: _Alone = swatches.once(("holes", selection), reckon)
    else:
        alone = reckon()
    found = _mapped(alone, layers, limit, cache, progress)
    return replace(found, notes=(*notes, *found.notes))


def for_sale_beside(
    selection: Selection, swatches: Sequence[Swatch], own: Sequence[Swatch]
) -> list[Swatch]:
    """Those of a selection that could be bought beside what is one's own."""
    mine = {one.address for one in own}
    return [one for one in selection.of(swatches) if one.to_buy and one.address not in mine]
