"""How near is near: what is promised, what stands first, and what is the same to the eye.

A pencil promises the ΔE00 of its swatch, a recipe the upper end of its interval. So the word beside
a recipe that stands above the pencils is never worse than the best of theirs.

"The same to the eye" is not transitive: a may be the same as b and b the same as c while a and c
can be told apart. Groups are therefore formed by complete linkage: the two groups whose farthest
members are nearest are joined, again and again, as long as the farthest members stay within the
limit. So any two colours of one group are the same to the eye, which is what matters; two colours
that are the same may end in different groups where a third stands between them.
"""

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats, FloatsLike, Integers, as_lab
from stopgap.difference import (
    DEFAULT_METRIC,
    GRADES,
    DifferenceFunction,
    Promise,
    delta_E,
    delta_E_ciede2000,
    grade,
    linked_within,
    promise,
)
from stopgap.difference.bounds.boxes import Bounded
from stopgap.difference.bounds.ciede2000 import bound_ciede2000
from stopgap.errors import Note, NothingFoundError
from stopgap.planner.materials import labs_of
from stopgap.swatches import LAYS_BADLY, Core, Lab, LaidStack, Replaced, Swatch, Target

if TYPE_CHECKING:
    from stopgap.layering import Recipe


SAME_TO_THE_EYE = GRADES["same"]
"""The ΔE00 up to which two colours are graded the same."""

FAR = 10.0
"""ΔE00 of the nearest beyond which what is offered keeps hue first: this project's choice."""

BY_HUE = "hue"
"""What ranks then, as answers say it."""

KEPT_CHROMA, KEPT_SHARE = 15.0, 0.25
"""C*ab along the target's hue below which its hue is lost, or the share of its own where less."""
HUE_LOST = 30.0
"""What that costs: more than lightness and chroma cost among pencils of that hue."""
HUE_WEIGHT = 2.0
"""How many times as much hue counts as in ΔE00."""

_WORTH_TRYING = GRADES["close"]  # where nobody told how a pencil lays: this project's choice
_MOST_NAMED = 3

_LAST_WORD = sorted(GRADES.values())[-2]  # beyond it no core is preferred

_BLOCK = 250_000  # differences computed at once, to bound the memory


def differences(
    labs_1: Floats, labs_2: Floats, metric: str | DifferenceFunction = DEFAULT_METRIC
) -> Floats:
    """ΔE of each of `labs_1` (n, 3) to each of `labs_2` (m, 3): shape (n, m), block by block."""
    table = np.empty((len(labs_1), len(labs_2)))
    rows = max(1, _BLOCK // max(1, len(labs_2)))
    for first in range(0, len(labs_1), rows):
        block = labs_1[first : first + rows, np.newaxis]
        table[first : first + rows] = delta_E(block, labs_2, metric)
    return table


def hue_keeping_difference(target: FloatsLike, labs: FloatsLike) -> Floats:
    """What ranks so far out that ΔE00 would take a grey for a vivid colour: (3,), (n, 3) -> (n,).

    ΔE00 with hue at twice its weight, and more by 30 where next to nothing of the target's hue is
    left. Weights are this project's choice, by what then stands first for vivid colours of sRGB.
    """
    asked, colours = as_lab(target), as_lab(labs)
    apart: Floats = _hue_first(asked, colours) + HUE_LOST * _hue_is_lost(asked, colours)
    return apart


def _hue_first(asked: Floats, colours: Floats) -> Floats:
    return np.asarray(delta_E_ciede2000(asked, colours, k_H=1.0 / HUE_WEIGHT))


def _hue_is_lost(asked: Floats, colours: Floats) -> Booleans:
    along, least = _hue_of(asked)
    return np.asarray(colours[..., 1:] @ along < least)


def _hue_of(asked: Floats) -> tuple[Floats, float]:
    """a* and b* of one unit of the hue of a colour (3,), and of how many on it is kept."""
    chroma = float(np.hypot(asked[1], asked[2]))
    return asked[1:] / max(chroma, 1e-9), min(KEPT_CHROMA, KEPT_SHARE * chroma)


def _hue_part(*, lost: bool) -> Bounded:
    more, end = (HUE_LOST, np.minimum) if lost else (0.0, np.maximum)

    def difference(asked: Floats, colours: Floats) -> Floats:
        told = _hue_is_lost(asked, colours) == lost
        return np.where(told, _hue_first(asked, colours) + more, np.inf)

    def bound(target: Floats, boxes: Floats) -> Floats:
        (a, b), least = _hue_of(target)
        kept = end(a * boxes[..., 2], a * boxes[..., 3]) + end(b * boxes[..., 4], b * boxes[..., 5])
        some = kept <= least + 1e-9 if lost else kept >= least - 1e-9
        apart = np.full(kept.shape, np.inf)
        apart[some] = bound_ciede2000(target, boxes[some], k_H=1.0 / HUE_WEIGHT) + more
        return apart

    return Bounded(difference, bound)


HUE_KEEPING = _hue_part(lost=False), _hue_part(lost=True)
"""Of colours that keep the hue, and of those that lost it: one is `hue_keeping_difference`."""


def same_to_the_eye(labs: Floats, limit: float = SAME_TO_THE_EYE) -> Integers:
    """Group number of each colour: shape (n, 3) -> (n,), groups numbered in order of appearance.

    Independent of the order of the rows, but for the numbers.
    """
    distinct, member_of = np.unique(labs, axis=0, return_inverse=True)  # sorted: ties by Lab
    numbers = linked_within(distinct, limit)[member_of.ravel()]
    _, first, inverse = np.unique(numbers, return_index=True, return_inverse=True)
    return np.argsort(np.argsort(first))[inverse.ravel()].astype(np.intp)


def promise_of(target: Lab, laid: LaidStack) -> Promise:
    """How near what is laid is said to be to a colour, in ΔE00."""
    (promised,) = promises_of([target], [laid])
    return promised


def promises_of(targets: Sequence[Lab], laid: Sequence[LaidStack]) -> list[Promise]:
    """The same of what is laid for each of many colours, in one call."""
    if not laid:
        return []
    apart: list[float] = delta_E_ciede2000(targets, [one.lab for one in laid]).tolist()
    return [
        promise(delta_E, one.uncertainty if one.recipe else 0.0)
        for delta_E, one in zip(apart, laid, strict=True)
    ]


def by_promise(recipes: "Sequence[Recipe]", nearest: float) -> "tuple[Recipe, ...]":
    """Recipes for one target: those that promise more than every pencil, then by the word for what
    they promise, and among equals the one that is expected to be nearest; `nearest` as below.
    """

    def key(recipe: "Recipe") -> tuple[bool, float, float]:
        promised = recipe.promise
        return promised.bound >= nearest, GRADES[promised.grade], promised.delta_E

    return tuple(sorted(recipes, key=key))


def recipes_lead(recipes: "Sequence[Recipe]", nearest: float) -> bool:
    """Whether some recipe promises more than every pencil, or is near where none of them is;
    `nearest` is their least ΔE00.
    """
    return any(
        recipe.promise.bound < nearest or recipe.delta_E <= FAR < nearest for recipe in recipes
    )


def recipes_lead_by_hue(target: Lab, recipes: "Sequence[Recipe]", nearest: float) -> bool:
    """The same so far out that hue ranks; `nearest` is the least `hue_keeping_difference`."""
    apart = hue_keeping_difference(target, [recipe.lab for recipe in recipes] or np.empty((0, 3)))
    further = (recipe.promise.bound - recipe.delta_E for recipe in recipes)
    return any(own + more < nearest for own, more in zip(apart.tolist(), further))


def apart_to_the_eye(ranked: Sequence[Swatch], count: int) -> list[Swatch]:
    """The first `count` of swatches of which no two are the same to the eye."""
    chosen: list[Swatch] = []
    for swatch in ranked:
        if len(chosen) == count:
            break
        apart = (delta_E_ciede2000(swatch.lab, other.lab) for other in chosen)
        if all(delta_E > SAME_TO_THE_EYE for delta_E in apart):
            chosen.append(swatch)
    return chosen


def lays_better(asked: Swatch, pencils: Iterable[Swatch]) -> bool:
    """Whether each of some pencils is known to lay better than the one asked for, and not badly."""
    least = max(LAYS_BADLY, asked.laydown or 0)
    return all((each.laydown or 0) > least for each in pencils)


def core_first(delta_E: FloatsLike, alike: Booleans) -> Floats:
    """What ranks what replaces a pencil that lays badly: (n,), (n,) -> (n,).

    Of the same word for nearness what is of the same core, `alike`, comes first: it has the nearer
    half of what the word spans, all else the farther half. Beyond the last word nothing changes.
    """
    apart = np.asarray(delta_E, dtype=np.float64)
    limits = np.array([0.0, *GRADES.values()])
    word = np.searchsorted(limits[1:-1], apart)
    low, high = limits[word], limits[word + 1]
    ranked: Floats = np.where(np.isinf(high), apart, (apart + np.where(alike, low, high)) / 2.0)
    return ranked


def second_best(delta_E: FloatsLike, alike: Booleans) -> Booleans:
    """What is of another core although something of the same core is as near by its word: (n,)."""
    ranked = core_first(delta_E, alike)
    best = ranked[alike].min(initial=np.inf)
    second: Booleans = ~alike & (ranked > best) & bool(best < _LAST_WORD)
    return second


def of_core(asked: Swatch, laid: Sequence[Iterable[Swatch]]) -> Booleans:
    """Which of n things are laid with that pencil's core alone, all where that was not told."""
    core: Core | None = asked.core
    alike = [core is None or all(each.core is core for each in one) for one in laid]
    return np.array(alike, dtype=np.bool_)


class BetterLaying(NamedTuple):
    """The pencils that lay better than one, and what is to be said of those nobody told of."""

    pencils: tuple[Swatch, ...]
    notes: tuple[Note, ...]


def better_laying(asked: Swatch, offered: Sequence[Swatch]) -> BetterLaying:
    """Those of the pencils offered that are known to lay better than the one asked for.

    Near ones of unknown laydown are named, nearest first: to try them is worth the while.

    Raises
    ------
    NothingFoundError
        If no pencil is known to lay better.
    """
    others = [each for each in offered if each.address != asked.address]
    better = tuple(each for each in others if lays_better(asked, [each]))
    near = _near_untold(asked, [each for each in others if each.laydown is None])
    if not better:
        known = "not told" if asked.laydown is None else f"{asked.laydown} of 5"
        raise NothingFoundError(
            " ".join(
                [
                    f"No pencil that may be offered is known to lay better than {asked.address} "
                    f"({known}).",
                    *map(str, near),
                ]
            )
        )
    if asked.laydown is not None:
        return BetterLaying(better, near)
    text = f"How {asked.address} lays was not told: {LAYS_BADLY + 1} of 5 or better counts."
    return BetterLaying(better, (Note(text), *near))


def _near_untold(asked: Swatch, untold: Sequence[Swatch]) -> tuple[Note, ...]:
    """Which near pencils nobody told of, the nearest first."""
    apart = delta_E_ciede2000(asked.lab, labs_of(untold)).tolist()
    near = sorted(
        (d, each.address) for d, each in zip(apart, untold, strict=True) if d <= _WORTH_TRYING
    )
    if not near:
        return ()
    named = ", ".join(f"{address} ({d:.1f} away)" for d, address in near[:_MOST_NAMED])
    more = f" and {len(near) - _MOST_NAMED} more" if len(near) > _MOST_NAMED else ""
    few = ", ".join(one for _, one in near[:_MOST_NAMED])
    nobody = "Nobody told how these lay, which are close too:"
    return (Note(f"{nobody} {named}{more}.", plain=f"{nobody} {few}{more}."),)


def laid_besides(asked: Target, *swatches: Swatch) -> str:
    """How what is laid lays, and its cores beside that of the pencil it replaces."""
    lays = f"lays {min(each.laydown or 0 for each in swatches)} of 5"
    if not isinstance(asked, Swatch) or asked.core is None:
        return lays
    others = [each.core for each in swatches if each.core is not asked.core]
    if None in others:
        return f"{lays}; its core was not told"
    if not others:
        return f"{lays}; {asked.core} too"
    return f"{lays}; {others[0]}, not {asked.core}"


def instead_note(put: Replaced) -> Note:
    """That a pencil lays badly, and what stands in its place."""
    asked, by = put.asked, put.by
    said = f"{asked.address} lays badly ({asked.laydown} of 5): {by.label} instead,"
    besides = laid_besides(asked, *by.swatches)
    return Note(
        f"{said} ΔE00 {put.delta_E:.1f} away ({besides}).",
        plain=f"{said} {grade(put.delta_E)} ({besides}).",
    )
