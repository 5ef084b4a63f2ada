"""What could be laid for each need, and which needs a purchase meets, in the time that there is."""

from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats
from stopgap.blends.blending import along
from stopgap.blends.recipes import RecipesAlong, aims_along, asked_for_each, taken_of_each
from stopgap.difference import over_words
from stopgap.errors import Note
from stopgap.neighbours.within import Near
from stopgap.planner.nearness import core_first, of_core, second_best
from stopgap.planner.shopping.answer import TIME_CAME_FIRST, LaidBlend, LaidColour
from stopgap.planner.shopping.layings import Layings
from stopgap.planner.shopping.question import BlendNeed, ColourNeed, Need, Supply, table_of
from stopgap.planner.shopping.routes import Route
from stopgap.planner.shopping.wanted import WantedBlend, WantedColour
from stopgap.planner.solver import Clock, OutOfTime

Wanted = WantedBlend | WantedColour

_TOGETHER = 4
"""Of how many blends recipes are asked for at once, which takes less, before the clock is looked at
again: this project's choice."""


class ExaminedNeed(NamedTuple):
    """What could be laid for a need, None where there was no time to look."""

    need: Need
    wanted: Wanted | None


def look(
    needs: Sequence[Need],
    supply: Supply,
    clock: Clock,
    *,
    may_stay_open: bool = False,
    partial: bool = False,
) -> list[ExaminedNeed]:
    """Each need with what could be laid for it, in their order.

    Where needs may stay open, what is beyond their tolerance counts too; with `partial` those count
    that nothing can meet in full.
    """
    listed = [need for need in needs if isinstance(need, ColourNeed)]
    colours = iter(wanted_colours(listed, supply, clock, as_far_as_free=may_stay_open))
    asked = _recipes_along([need for need in needs if isinstance(need, BlendNeed)], supply, clock)
    looked = []
    for need in needs:
        wanted: Wanted | None = None
        if isinstance(need, BlendNeed):
            recipes = next(asked)
            with suppress(OutOfTime):
                blend = wanted_blend(need, supply, recipes, clock)
                wanted = _with_steps(blend, clock, partial=partial)
        else:
            wanted = next(colours, None)
        looked.append(ExaminedNeed(need, wanted))
    return looked


def _recipes_along(
    needs: Sequence[BlendNeed], supply: Supply, clock: Clock
) -> Iterator[RecipesAlong | None]:
    """What is asked for each blend, None where nothing is, or is left to ask for in time."""
    for begin in range(0, len(needs), _TOGETHER):
        some = needs[begin : begin + _TOGETHER]
        if supply.recipes_along is None or clock.left == 0.0:
            yield from [None] * len(some)
        else:
            ways = [(along(need.route()), need.step) for need in some]
            yield from asked_for_each(supply.recipes_along, ways)


def wanted_blend(
    need: BlendNeed, supply: Supply, asked: RecipesAlong | None, clock: Clock
) -> WantedBlend:
    """The graphs of a blend over everything that the supply can lay and the recipes that were asked
    for, without their steps.

    Raises
    ------
    OutOfTime
        If the clock runs out before they are made.
    """
    clock.check()
    paths = along(need.route())
    colours = supply.colours(need, paths, asked)
    routes = []
    for path in paths:
        graph = colours.graph(path, limit=need.step, corridor=need.width)
        laid = [colours.laid[row].addresses if row >= 0 else None for row in graph.rows.tolist()]
        missing = [() if each is None else supply.missing_for(each) or () for each in laid]
        routes.append(Route(graph, table_of(missing)))
    layings = Layings(supply, [one for one in colours.laid if one.recipe])
    near = layings.near(need.ends, as_far_as_free=False)
    ends = tuple(_nearest_first(each, layings, its) for each, its in zip(need.ends, near))
    return WantedBlend(need, colours, tuple(routes), ends)


def aims_of(need: BlendNeed) -> Floats:
    """The colours (n, 3) that recipes are asked for along a blend."""
    return aims_along(along(need.route()), need.step)


def wanted_colours(
    needs: Sequence[ColourNeed], supply: Supply, clock: Clock, *, as_far_as_free: bool
) -> list[WantedColour]:
    """What the supply can lay near them, nearest first; equally near ones in the order of keys.

    Recipes are made for all the colours at once, and each may be laid with those of the others. A
    shade that is to be replaced does not serve itself, and for one that lays badly the same core
    comes first. Only as many as half of the time that recipes leave suffices for.
    """
    if not needs:
        return []
    aims = np.array([need.lab for need in needs], dtype=np.float64).reshape(-1, 3)
    layings = Layings(supply, supply.made_for(np.array(sorted(aims.tolist())).reshape(-1, 3)))
    near = layings.near(needs, as_far_as_free=as_far_as_free)
    # with the first all that can be laid is sorted, whatever time there is
    found = [_nearest_first(needs[0], layings, next(near))]
    clock = clock.half()
    while len(found) < len(needs) and clock.left != 0.0:
        found.append(_nearest_first(needs[len(found)], layings, next(near)))
    return found


def _nearest_first(need: ColourNeed, layings: Layings, near: Near) -> WantedColour:
    wanted = WantedColour(need, layings, *near)
    if need.laid_badly is None:
        return wanted
    laid = [layings.laid[row].swatches for row in near.rows.tolist()]
    return _core_first(wanted, of_core(need.laid_badly, laid))


def _core_first(wanted: WantedColour, alike: Booleans) -> WantedColour:
    """Of what lies within the tolerance, and of the same word, what is of the same core first.

    What is of another core is but second best where something as near as that word is of the same.
    """
    near = wanted.delta_E <= wanted.need.tolerance
    ranked = np.where(near, core_first(wanted.delta_E, alike), wanted.delta_E)
    order = np.lexsort((ranked, ~near))
    second = ~wanted.free
    second[near] &= second_best(wanted.delta_E[near], alike[near])
    second &= near
    return replace(
        wanted,
        rows=wanted.rows[order],
        delta_E=wanted.delta_E[order],
        second_best=second[order],
    )


def _with_steps(blend: WantedBlend, clock: Clock, *, partial: bool) -> WantedBlend:
    """The same, once its chains and the steps of its graphs are there, which one that is not asked
    for, or whose chain is there, does without; raises OutOfTime if they cannot be.
    """
    blend.find_chains(clock)
    if not blend.has_chain and (partial or blend.can_be_met):
        blend.find_steps(clock)
    return blend


def asked_for(
    looked: Sequence[ExaminedNeed], n_offers: int, clock: Clock, *, partial: bool
) -> tuple[list[Wanted], list[Need]]:
    """The needs that a purchase meets, or with `partial` brings nearer, sorted; and those that
    there was no time for, and that may be such.
    """
    nothing, everything = np.zeros(n_offers, dtype=bool), np.ones(n_offers, dtype=bool)
    asked, unseen = [], []
    for need, one in sorted(looked, key=lambda one: one.need.key):
        if one is None or clock.left == 0.0:
            unseen.append(need)
            continue
        if one.met(nothing):
            continue
        nearer = partial and one.shortfall(nothing) > one.shortfall(everything)
        if nearer or one.met(everything):
            asked.append(one)
    return asked, unseen


def weigh_together(wanted: Sequence[Wanted | None], bought: Booleans) -> None:
    """Work out how sure all recipes are that blends take once the offers marked in `bought` are
    there, before each is told: at once, which takes less.
    """
    every, places = [], []
    for each in wanted:
        if isinstance(each, WantedBlend) and each.colours.asked is not None:
            which, chain = each.chain(bought)
            every.append(each.colours.asked)
            places.append(each.colours.places(each.routes[which].graph, chain))
    taken_of_each(every, places)


def why_open(
    need: Need, with_everything: LaidBlend | LaidColour | None, budget: float | None
) -> Note:
    """Why a need stays open, from how it would stand if everything for sale were bought."""
    if with_everything is None:
        badly = need.laid_badly if isinstance(need, ColourNeed) else None
        known = f"nothing is known to lay better than {badly.address}" if badly else ""
        return Note(known or "nothing is owned and nothing is for sale")
    if with_everything.met:
        return Note(TIME_CAME_FIRST if budget is None else f"over the budget of {budget:g}")
    if isinstance(with_everything, LaidColour):
        nearest = f"the nearest there is, {with_everything.laid.label}, is"
        return Note(f"{nearest} {_too_far(with_everything)}", plain=f"{nearest} not near enough")
    told = _ends_lacking(with_everything) or _gaps_left(with_everything)
    figures, plain = ("; ".join(words) for words in zip(*told, strict=True))
    even = "even with everything for sale"
    return Note(f"{even}, {figures}", plain=f"{even}, {plain}")


def _ends_lacking(laid: LaidBlend) -> list[tuple[str, str]]:
    """Of every end that nothing is near, what is nearest: with figures, and plainly."""
    told = []
    for name, one in laid.ends:
        if one is None:
            told.append((f"nothing can be laid for {name}",) * 2)
        elif not one.met:
            near = f"nothing is near {name}"
            told.append((f"{near}: {one.laid.label} is {_too_far(one)}", near))
    return told


def _too_far(laid: LaidColour) -> str:
    away = over_words(laid.delta_E, laid.tolerance)
    return f"{away} away, over the tolerance of {laid.tolerance:g}"


def _gaps_left(laid: LaidBlend) -> list[tuple[str, str]]:
    """Every step that is a gap: with figures, and plainly."""
    labels, blend = laid.labels, laid.blend
    gaps = [(f"{labels[place]} to {labels[place + 1]} is a", place) for place in blend.over_limit]
    return [
        (
            f"{gap} step of {over_words(blend.steps[place], blend.limit)}, over {blend.limit:g}",
            f"{gap} gap",
        )
        for gap, place in gaps
    ]
