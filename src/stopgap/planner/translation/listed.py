"""A list file translated: its colours looked up, the pencils chosen, recipes made where wanted."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from operator import itemgetter
from typing import TYPE_CHECKING, Any

from stopgap.defaults import JOBS, TIME_LIMIT
from stopgap.errors import Note, NothingFoundError, Remedy, StopgapError
from stopgap.library import (
    Known,
    Listed,
    NameIndex,
    StoredShift,
    find_target,
    shift_notes,
    spread,
)
from stopgap.planner.comparison.shift import measured_as
from stopgap.planner.laying import Ground
from stopgap.planner.materials import RecipeSource
from stopgap.planner.solver import Clock
from stopgap.planner.translation.answer import Asked, Translation
from stopgap.planner.translation.assignment import translate
from stopgap.swatches import LayingConditions, Selection, Swatch, departure_notes, mark_notes

if TYPE_CHECKING:
    from stopgap.layering.recipe_search import Progress
    from stopgap.planner.recipes.cache import RecipeCache


def translate_list(
    listed: Sequence[Listed | Asked],
    known: Known,
    *,
    selection: Selection,
    layers: LayingConditions | None = None,
    distinct: bool = True,
    keep_order: bool = False,
    within_stages: bool = True,
    time_limit: float | None = TIME_LIMIT,
    jobs: int | None = JOBS,
    cache: "RecipeCache | None" = None,
    progress: "Progress | None" = None,
) -> Translation:
    """What to use for each row of a list; see `translate`.

    Pencils are those of `selection`; where it names ranges, owned or not. With `layers` they are
    laid over each other under these conditions as well.

    Raises
    ------
    InputError
        As `translate` does.
    NothingFoundError
        If the selection leaves no pencil.
    """
    if selection.ranges:
        selection = selection._replace(owned=False)
    index = NameIndex.of(known)
    candidates = selection.of(index.swatches)
    if not candidates:
        raise NothingFoundError("There is no pencil to use.", remedy=Remedy.ANY_PENCIL)
    clock, missed = Clock(time_limit), list[Note]()
    recipes: RecipeSource = ()
    notes = departure_notes(candidates)
    if layers is not None:
        from stopgap.planner.recipes.for_lists import (
            FOR_RECIPES,
            layered_stacks,
            without_recipes_note,
        )
        from stopgap.planner.recipes.kept import not_layered_notes

        recipes = layered_stacks(
            layers,
            keep_hue=True,
            cache=cache,
            jobs=jobs,
            progress=progress,
            clock=clock.part(FOR_RECIPES),
            missed=lambda some, total: missed.append(without_recipes_note(some, total)),
        )
        notes = (*not_layered_notes(layers, candidates), *notes)
    found = translate(
        asked_of(listed, index, for_laydown=selection.for_laydown),
        candidates,
        distinct=distinct,
        keep_order=keep_order,
        within_stages=within_stages,
        recipes=recipes,
        time_limit=clock.left,
        jobs=jobs,
    )
    if missed:  # of what was not tried nothing is known
        found = replace(found, gap=max(found.gap, found.total))
    used = (swatch for row in found.rows if row.given is not None for swatch in row.given.swatches)
    return replace(found, notes=(*missed, *found.notes, *notes, *mark_notes(used)))


def pairs_laid(
    listed: Sequence[Listed], ground: Ground, *, cache: "RecipeCache | None" = None
) -> list[tuple[Swatch, Swatch]]:
    """The two pencils that would be laid over each other for each colour of a list, first first.

    Nothing for a colour that one pencil alone does best.
    """
    found = translate_list(
        listed,
        ground.answering,
        selection=Selection(owned=True),
        layers=ground.conditions,
        distinct=False,
        cache=cache,
    )
    given = (row.given.swatches for row in found.rows if row.given is not None)
    return [(laid[0], laid[1]) for laid in given if len(laid) > 1]


def translate_on_papers(
    parts: Sequence[tuple[Ground, Sequence[Listed]]],
    *,
    layers: bool = True,
    shifts: Sequence[StoredShift] = (),
    remove_shift: bool = False,
    **wanted: Any,
) -> Translation:
    """The rows of one list, each on its paper, in the order of the file; see `translate_list`.

    What is laid on one paper need not differ from what is laid on another. `shifts` are those that
    the library knows of; they are told, or taken out: then all is as if it had been measured like
    the range that most colours of the list are of.
    """
    found = _on_papers(_measured_alike(parts, shifts) if remove_shift else parts, layers, wanted)
    notes = shift_notes(shifts, found.ranges)
    if remove_shift:
        notes = [note._replace(text=f"{note.text} It is taken out here.") for note in notes]
    return replace(found, notes=(*found.notes, *notes))


_Parts = Sequence[tuple[Ground, Sequence[Listed]]]


def _measured_alike(parts: _Parts, shifts: Sequence[StoredShift]) -> _Parts:
    rows = [row for ground, listed in parts for row in asked_of(listed, ground.answering)]
    asked = sorted(row.target.range for row in rows if isinstance(row.target, Swatch))
    if not (asked and shifts):
        return parts
    reference = max(asked, key=asked.count)
    return [
        (ground._replace(swatches=measured_as(ground.swatches, reference, shifts)), listed)
        for ground, listed in parts
    ]


def _on_papers(parts: _Parts, layers: bool, wanted: Mapping[str, Any]) -> Translation:
    clock = Clock(wanted.get("time_limit", TIME_LIMIT))
    found = [
        translate_list(
            rows,
            ground.answering,
            layers=ground.conditions if layers else None,
            **{**wanted, "time_limit": clock.left},
        )
        for ground, rows in parts
    ]
    if len(found) == 1:
        return found[0]
    numbered = []
    for (ground, listed), one in zip(parts, found, strict=True):
        lost = set(map(id, one.impossible))
        for listing, row in zip(spread(listed, ground.answering), one.rows, strict=True):
            told = replace(row, asked=replace(row.asked, paper=ground.on))
            numbered.append((listing.row, told, id(row) in lost))
    numbered.sort(key=itemgetter(0))
    return Translation(
        tuple(row for _, row, _ in numbered),
        tuple(row for _, row, is_lost in numbered if is_lost),
        sum(one.gap for one in found),
        tuple({str(note): note for one in found for note in one.notes}.values()),
    )


def asked_of(
    listed: Sequence[Listed | Asked], known: Known, *, for_laydown: bool = False
) -> list[Asked]:
    """The rows of a list looked up; what nobody knows stays in the list and says why."""
    index = NameIndex.of(known)
    return [
        asked
        for row in listed
        for asked in (
            [replace(row, for_laydown=for_laydown)]
            if isinstance(row, Asked)
            else [_asked(each, index, for_laydown) for each in spread([row], index)]
        )
    ]


def _asked(row: Listed, index: NameIndex, for_laydown: bool) -> Asked:
    try:
        target = find_target(row.colour, index)
    except StopgapError as error:
        label = row.colour or f"row {row.row}"
        return Asked(label, None, row.weight, error.sentence, row.label, stage=row.stage)
    asked = Asked.of(target, row.weight, for_laydown=for_laydown)
    return replace(asked, label=row.colour, caption=row.label, stage=row.stage)
