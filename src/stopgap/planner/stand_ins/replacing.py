"""Replacing a pencil: which are never the answer, and what lays better than one that lays badly."""

from collections.abc import Sequence
from typing import NamedTuple

from stopgap.difference import GRADES, delta_E_ciede2000
from stopgap.errors import Note, NothingFoundError, UsageError
from stopgap.planner.materials import labs_of
from stopgap.planner.stand_ins.answer import StandIn, StandIns
from stopgap.swatches import LAYS_BADLY, Swatch, Target

_NEAR = GRADES["close"]
"""ΔE00 within which a pencil is worth telling how it lays: this project's choice."""
_MOST_NAMED = 3


def to_answer_with(
    swatches: Sequence[Swatch], asked: Target, *, instead: str = ""
) -> tuple[Swatch, ...]:
    """The swatches without the pencil asked for, where it is to be replaced: where `instead` names
    the argument that says so, or it is discontinued, empty or avoided.

    Raises
    ------
    UsageError
        If a colour of its own is to be replaced.
    """
    if not isinstance(asked, Swatch):
        if instead:
            raise UsageError(
                "expected a pencil, RANGE:CODE, not a colour of its own.", argument=instead
            )
        return tuple(swatches)
    if not (instead or asked.to_be_replaced):
        return tuple(swatches)
    return tuple(each for each in swatches if each.address != asked.address)


class BetterLaying(NamedTuple):
    """The pencils that lay better than one, and what is to be said of those nobody told of."""

    pencils: tuple[Swatch, ...]
    notes: tuple[Note, ...]


def better_laying(asked: Swatch, offered: Sequence[Swatch]) -> BetterLaying:
    """Those of the pencils offered that are known to lay better than the one asked for.

    Where nobody told how that lays, it is those that do not lay badly. Near ones of unknown laydown
    are named, nearest first: to try them is worth the while.

    Raises
    ------
    NothingFoundError
        If no pencil is known to lay better.
    """
    least = LAYS_BADLY if asked.laydown is None else asked.laydown
    others = [each for each in offered if each.address != asked.address]
    better = tuple(each for each in others if (each.laydown or 0) > least)
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
    text = f"How {asked.address} lays was not told: {least + 1} of 5 or better counts."
    return BetterLaying(better, (Note(text), *near))


def _near_untold(asked: Swatch, untold: Sequence[Swatch]) -> tuple[Note, ...]:
    """Which near pencils nobody told of, the nearest first."""
    apart = delta_E_ciede2000(asked.lab, labs_of(untold)).tolist()
    near = sorted((d, each.address) for d, each in zip(apart, untold, strict=True) if d <= _NEAR)
    if not near:
        return ()
    named = ", ".join(f"{address} ({d:.1f} away)" for d, address in near[:_MOST_NAMED])
    more = f" and {len(near) - _MOST_NAMED} more" if len(near) > _MOST_NAMED else ""
    return (Note(f"Nobody told how these lay, which are close too: {named}{more}."),)


def by_laydown(answer: StandIns, found: BetterLaying) -> StandIns:
    """An answer of pencils that lay better: of the same word for nearness those of the same core
    first, and what each has beside its colour.
    """
    asked = answer.target
    core = asked.core if isinstance(asked, Swatch) else None
    grades = list(GRADES)

    def key(match: StandIn) -> tuple[int, bool]:
        alike = core is None or match.swatch.core is core
        return grades.index(match.grade), not (alike or match.grade == grades[-1])

    matches = (
        match._replace(besides=_besides(match.swatch, core))
        for match in sorted(answer.matches, key=key)
    )
    return answer._replace(matches=tuple(matches), notes=(*found.notes, *answer.notes))


def _besides(swatch: Swatch, core: str | None) -> str:
    """How it lays, and its core beside that of the pencil it replaces."""
    lays = f"lays {swatch.laydown} of 5"
    if core is None:
        return lays
    if swatch.core is None:
        return f"{lays}; its core was not told"
    return f"{lays}; {swatch.core}{' too' if swatch.core == core else f', not {core}'}"
