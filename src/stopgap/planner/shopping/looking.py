"""What could be laid for each need, and which needs a purchase meets, in the time that there is."""

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers
from stopgap.blends.blending import along
from stopgap.difference import over_words
from stopgap.errors import Note
from stopgap.planner.materials import labs_of
from stopgap.planner.nearness import core_first, differences, of_core, second_best
from stopgap.planner.shopping.answer import TIME_CAME_FIRST, LaidBlend, LaidColour
from stopgap.planner.shopping.question import BlendNeed, ColourNeed, Need, Supply, table_of
from stopgap.planner.shopping.wanted import Route, WantedBlend, WantedColour
from stopgap.planner.solver import Clock, OutOfTime
from stopgap.swatches import LaidStack, Swatch

Wanted = WantedBlend | WantedColour

_COLOURS = 0.5  # of the time is for colours at most, the rest for blends


class ExaminedNeed(NamedTuple):
    """What could be laid for a need, None where there was no time to look."""

    need: Need
    wanted: Wanted | None


def look(needs: Sequence[Need], supply: Supply, clock: Clock) -> list[ExaminedNeed]:
    """Each need with what could be laid for it, in their order."""
    listed = [need for need in needs if isinstance(need, ColourNeed)]
    colours = iter(wanted_colours(listed, supply, clock.part(_COLOURS)))
    looked = []
    for need in needs:
        wanted: Wanted | None = None
        if isinstance(need, BlendNeed):
            with suppress(OutOfTime):
                wanted = _with_steps(wanted_blend(need, supply, clock), supply)
        else:
            wanted = next(colours, None)
        looked.append(ExaminedNeed(need, wanted))
    return looked


def wanted_blend(need: BlendNeed, supply: Supply, clock: Clock) -> WantedBlend:
    """The graphs of a blend over everything that the supply can lay, without their steps.

    Raises
    ------
    OutOfTime
        If the clock runs out before they are made.
    """
    clock.check()
    paths = along(need.route())
    colours = supply.colours(paths, need.step, need.fixed)
    taken = [supply.missing_for(one.addresses) or () for one in colours.laid]
    routes = []
    for path in paths:
        graph = colours.graph(path, limit=need.step, corridor=need.width)
        missing = [taken[row] if row >= 0 else () for row in graph.rows.tolist()]
        routes.append(Route(graph, table_of(missing), clock))
    at_ends = {each.address for each in need.fixed if isinstance(each, Swatch)}
    laid = [*colours.laid, *(LaidStack.of(one) for one in supply.pencils if one.address in at_ends)]
    layings = _Layings.of(sorted(laid, key=lambda one: one.key), supply)
    ends = tuple(_nearest_first(each, layings) for each in need.ends)
    return WantedBlend(need, colours, tuple(routes), ends)


def wanted_colours(needs: Sequence[ColourNeed], supply: Supply, clock: Clock) -> list[WantedColour]:
    """Everything that the supply can lay, nearest first; equally near ones in the order of keys.

    Recipes are made for all the colours at once, and each may be laid with those of the others. A
    shade that is to be replaced does not serve itself, and for one that lays badly the same core
    comes first. Only as many as there is time for.
    """
    if not needs:
        return []
    aims = np.array([need.lab for need in needs], dtype=np.float64).reshape(-1, 3)
    layings = _Layings.of(supply.laid(np.array(sorted(aims.tolist())).reshape(-1, 3)), supply)
    found = []
    for need in needs:
        if clock.left == 0.0:
            break
        found.append(_nearest_first(need, layings))
    return found


class _Layings(NamedTuple):
    """What can be laid, in the order of keys, its colours (n, 3), and what each takes."""

    laid: Sequence[LaidStack]
    labs: Floats
    missing: Integers

    @classmethod
    def of(cls, laid: Sequence[LaidStack], supply: Supply) -> "_Layings":
        """Of what is in the order of keys."""
        return cls(laid, labs_of(laid), supply.taken(laid))


def _nearest_first(need: ColourNeed, layings: _Layings) -> WantedColour:
    laid, labs, missing = layings
    delta_E = differences(np.array([need.lab]), labs)[0]
    order = np.argsort(delta_E, kind="stable")
    if need.replaced:
        served = [need.served_by(laid[row]) for row in order.tolist()]
        order = order[np.array(served, dtype=np.bool_)]
    found = tuple(laid[row] for row in order)
    nearest_first = WantedColour(need, found, missing[order], delta_E[order])
    if need.laid_badly is None:
        return nearest_first
    return _core_first(nearest_first, of_core(need.laid_badly, [one.swatches for one in found]))


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
        laid=tuple(wanted.laid[row] for row in order.tolist()),
        missing=wanted.missing[order],
        delta_E=wanted.delta_E[order],
        second_best=second[order],
    )


def _with_steps(blend: WantedBlend, supply: Supply) -> WantedBlend:
    """The same, once the steps of its graphs are there, of which one that is met needs none; raises
    OutOfTime if they cannot be.
    """
    if not blend.met(np.zeros(len(supply.offers), dtype=np.bool_)):
        tuple(route.steps for route in blend.routes)
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
