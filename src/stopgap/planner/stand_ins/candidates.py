"""What may stand in for a target at all."""

from bisect import bisect_left
from collections.abc import Sequence
from typing import NamedTuple

from stopgap.errors import Note, NothingFoundError, Remedy
from stopgap.planner.nearness import better_laying
from stopgap.swatches import Selection, Swatch, Swatches, Target, is_target


class Candidates(NamedTuple):
    """What may stand in at all, by address; the target, which may be among them in the row `own`,
    counts for nothing. `told` is to be said of what may not.
    """

    swatches: Sequence[Swatch]
    own: int | None = None
    told: tuple[Note, ...] = ()


def candidates_for(target: Target, swatches: Sequence[Swatch], selection: Selection) -> Candidates:
    """What may stand in for a target; raises NothingFoundError where nothing may."""
    offered = selection.of(swatches)
    if not isinstance(offered, Swatches):
        offered = Swatches(each for each in offered if not is_target(each, target))
    order = offered.once("order", lambda: _order(offered), however_owned=True)
    candidates = offered.once("by address", lambda: Swatches([offered[at] for at in order]))
    own = bisect_left(candidates, _key(target), key=_key) if isinstance(target, Swatch) else None
    if own is not None and not (own < len(candidates) and is_target(candidates[own], target)):
        own = None
    if len(candidates) == (own is not None):
        raise nothing_found(swatches, selection)
    if selection.for_laydown and isinstance(target, Swatch):
        better, told = better_laying(target, candidates)
        return Candidates(better, None, told)
    return Candidates(candidates, own)


def _order(swatches: Sequence[Swatch]) -> list[int]:
    """The places of swatches by address."""
    return sorted(range(len(swatches)), key=[*map(_key, swatches)].__getitem__)


def _key(swatch: Swatch) -> tuple[str, str]:
    return swatch.range, swatch.code


def nothing_found(swatches: Sequence[Swatch], selection: Selection) -> NothingFoundError:
    """The error where a selection leaves no candidate of all the swatches."""
    if not swatches:
        return NothingFoundError("The library holds no swatch yet.", remedy=Remedy.IMPORT_RANGE)
    asked = [
        *(["owned"] if selection.owned else []),
        *([f"from {' or '.join(selection.ranges)}"] if selection.ranges else []),
        *([f"of finish {' or '.join(selection.finishes)}"]),
        *([] if selection.include_discontinued else ["still made or owned"]),
        *([f"rated {' or '.join(map(str, selection.lightfast))}"] if selection.lightfast else []),
    ]
    return NothingFoundError(f"No other swatch of the library is {', '.join(asked)}. Ask for less.")
