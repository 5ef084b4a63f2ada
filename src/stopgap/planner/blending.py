"""Blends of what is at hand, and the gaps they leave, from names to an answer."""

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any, NamedTuple

from stopgap.blends import (
    Blend,
    Gap,
    blend,
    blend_of_family,
    families,
    find_gaps,
    layer_families,
)
from stopgap.defaults import PATH, PREFER, STEP
from stopgap.errors import Note, NothingFoundError, Remedy
from stopgap.library import (
    Askable,
    Known,
    ListedBlend,
    NameIndex,
    find_target,
    find_targets,
    located,
)
from stopgap.swatches import (
    Arrangement,
    Lab,
    LayingConditions,
    Lightfastness,
    Replaced,
    Selection,
    Swatch,
    Target,
    departure_notes,
    mark_notes,
    rated_or_colour,
    unrated_notes,
)

if TYPE_CHECKING:
    from stopgap.blends.recipes import Recipes
    from stopgap.layering.recipe_search import Progress
    from stopgap.planner.recipes.cache import RecipeCache


class AtHand(NamedTuple):
    """What blends may be made of: pencils, and recipes where layers count; and what to say of it.

    `known` are all of the library, among which ends are looked up. With `for_laydown` an end that
    lays badly is replaced by what lays better.
    """

    known: NameIndex
    pencils: tuple[Swatch, ...]
    recipes: "Recipes | None" = None
    notes: tuple[Note, ...] = ()
    for_laydown: bool = False
    lightfast: tuple[Lightfastness, ...] = ()

    @property
    def to_buy_among(self) -> Selection:
        """What may close a gap, as lightfast and laying as well as what is at hand."""
        return Selection(for_laydown=self.for_laydown, lightfast=self.lightfast)

    def blend(self, named: Sequence[Target], **wanted: Any) -> Blend:
        """The blend from the first target to the last, through those between, with what is to be
        said of them; `wanted` is as `blends.blend` takes it.

        Of a pencil that is not rated as asked only the colour counts.

        Raises
        ------
        NothingFoundError
            If one lays badly and nothing at hand that lays better is near it.
        """
        replaced: tuple[Replaced, ...] = ()
        notes: tuple[Note, ...] = ()
        if self.for_laydown:
            from stopgap.planner.stand_ins.replacing import laying_well

            named, replaced, notes = laying_well(named, self.pencils)
        start, *stops, end = (end_of(rated_or_colour(one, self.lightfast)) for one in named)
        found = blend(start, end, self.pencils, stops=stops, recipes=self.recipes, **wanted)
        notes = (*notes, *unrated_notes(named, self.lightfast), *found.notes)
        return replace(found, notes=notes, replaced=replaced)


class GapsFound(NamedTuple):
    """Blends as they can be made, and their gaps, those that hurt most first.

    `alone` are the same blends of pencils alone, whose gaps those are, where layers count; None
    where they do not, and `blends` are of pencils alone themselves.
    """

    blends: tuple[Blend, ...]
    gaps: tuple[Gap, ...]
    notes: tuple[Note, ...] = ()
    alone: tuple[Blend, ...] | None = None

    @property
    def replaced(self) -> tuple[Replaced, ...]:
        """What stands in the place of ends and stops that lay badly, each pencil once."""
        every = (each for one in self.blends for each in one.replaced)
        return tuple({each.asked.address: each for each in every}.values())


def look_at_hand(
    known: Known,
    selection: Selection,
    *,
    layers: LayingConditions | None = None,
    cache: "RecipeCache | None" = None,
    progress: "Progress | None" = None,
) -> AtHand:
    """The pencils of a selection, and with `layers` what is owned in layers laid so.

    Where nothing at all is marked as owned yet, everything counts as owned, and a note says so.

    Raises
    ------
    NothingFoundError
        If the selection leaves no pencil.
    """
    known = NameIndex.of(known)
    pencils, notes = selection.at_hand(known.swatches)
    if not pencils:
        raise NothingFoundError("There is no pencil to blend with.", remedy=Remedy.ANY_PENCIL)
    notes = (*notes, *departure_notes(pencils))
    layered, _ = selection.at_home.at_hand(known.swatches)
    rule = (selection.for_laydown, selection.lightfast)
    if layers is None or not layered:
        return AtHand(known, pencils, None, notes, *rule)
    from stopgap.planner.recipes.along import RecipesOfIndex
    from stopgap.planner.recipes.kept import recipes_for_list

    index = recipes_for_list(layers, layered, cache=cache, progress=progress)
    recipes = RecipesOfIndex(index)
    return AtHand(known, pencils, recipes, (*notes, *index.notes), *rule)


def find_blend(
    at_hand: AtHand,
    start: Askable,
    end: Askable,
    *,
    stops: Sequence[Askable] = (),
    limit: float = STEP,
    path: str = PATH,
    prefer: str = PREFER,
    by_lightness: bool = False,
    max_pencils: int | None = None,
) -> Blend:
    """The blend between two targets; raises as `blends.blend` and `find_target` do."""
    found = at_hand.blend(
        [find_target(text, at_hand.known) for text in (start, *stops, end)],
        limit=limit,
        path=path,
        prefer=prefer,
        by_lightness=by_lightness,
        max_pencils=max_pencils,
    )
    notes = (*found.notes, *at_hand.notes, *mark_notes(_laid_in([found])))
    return replace(found, notes=notes)


def find_blends(
    at_hand: AtHand, listed: Sequence[ListedBlend], *, step: float = STEP, path: str = PATH
) -> list[Blend]:
    """The blends that the rows of a blends file ask for; errors say which row."""
    blends = []
    for row, named in zip(listed, find_targets(listed, at_hand.known), strict=True):
        with located(row):
            start, end, *stops = named
            one = at_hand.blend(
                [start, *stops, end],
                path=path,
                by_lightness=row.by_lightness,
                limit=step if row.step is None else row.step,
            )
        blends.append(one.named(row.name))
    return blends


def gaps_at_hand(
    at_hand: AtHand,
    listed: Sequence[ListedBlend] | None = None,
    *,
    step: float = STEP,
    path: str = PATH,
    arrangement: Arrangement | None = None,
) -> GapsFound:
    """Where the blends of a file break, or those of every family; and what would close the gaps.

    Pencils to buy come from all ranges. `arrangement` holds the user's own families.
    """
    layered = at_hand.recipes is not None
    if listed is not None:
        alone = find_blends(at_hand._replace(recipes=None), listed, step=step, path=path)
        shown = find_blends(at_hand, listed, step=step, path=path) if layered else alone
    else:
        alone, shown = _families(at_hand, arrangement, step)
    used = {swatch.address for swatch in at_hand.pencils}
    buyable = [
        swatch
        for swatch in at_hand.to_buy_among.of(at_hand.known.swatches)
        if swatch.address not in used and swatch.to_buy
    ]
    gaps = find_gaps(alone, buyable, layered=shown)
    named = [note._replace(text=f"{one.name}: {note}") for one in shown for note in one.notes]
    notes = (*at_hand.notes, *named, *mark_notes(_laid_in(shown)))
    return GapsFound(tuple(shown), tuple(gaps), notes, tuple(alone) if layered else None)


Part = tuple[str, AtHand, Sequence[ListedBlend] | None]
"""The blends that are for one paper, what it is called, and what they may be made of there."""


def blends_on_papers(
    parts: Sequence[Part], *, step: float = STEP, path: str = PATH
) -> tuple[Blend, ...]:
    """The blends of one file, each on its paper, which its name then says where there are several;
    raises as `find_blends`.
    """
    found = [find_blends(at_hand, rows or (), step=step, path=path) for _, at_hand, rows in parts]
    return tuple(found[0]) if len(found) == 1 else _in_order(parts, found)


def gaps_on_papers(parts: Sequence[Part], **wanted: Any) -> GapsFound:
    """The same of the blends of one file, each on its paper."""
    found = [gaps_at_hand(at_hand, rows, **wanted) for _, at_hand, rows in parts]
    if len(found) == 1:
        return found[0]
    gaps = [
        replace(gap, blend=f"{gap.blend}, on {paper}")
        for (paper, _, _), one in zip(parts, found, strict=True)
        for gap in one.gaps
    ]
    alone = [one.alone for one in found if one.alone is not None]
    return GapsFound(
        _in_order(parts, [one.blends for one in found]),
        tuple(sorted(gaps, key=lambda gap: -gap.hurt)),
        tuple({str(note): note for one in found for note in one.notes}.values()),
        _in_order(parts, alone) if alone else None,
    )


def _in_order(parts: Sequence[Part], found: Sequence[Sequence[Blend]]) -> tuple[Blend, ...]:
    """The blends of all papers in the order of their rows."""
    order = sorted(
        (row.row, part, place)
        for part, (_, _, rows) in enumerate(parts)
        for place, row in enumerate(rows or ())
    )
    every = ((found[part][place], parts[part][0]) for _, part, place in order)
    return tuple(one.named(f"{one.name}, on {paper}") for one, paper in every)


def _families(
    at_hand: AtHand, arrangement: Arrangement | None, step: float
) -> tuple[list[Blend], list[Blend]]:
    """Every family as a blend: of pencils alone, and with the recipes that there are."""
    filed = families(at_hand.pencils, arrangement)
    several = [one for one in filed if len(one.filed) > 1 and not one.waiting]
    alone = [blend_of_family(one, limit=step) for one in several]
    if at_hand.recipes is None:
        return alone, alone
    return alone, layer_families(alone, at_hand.recipes)


def _laid_in(blends: Sequence[Blend]) -> list[Swatch]:
    """The pencils that blends lean on, in layers too."""
    laid = (point.laid for one in blends for point in one.points if point.laid is not None)
    return [swatch for one in laid for swatch in one.swatches]


def end_of(target: Target) -> Swatch | Lab:
    """A target as the end of a blend."""
    return target if isinstance(target, Swatch) else target.lab
