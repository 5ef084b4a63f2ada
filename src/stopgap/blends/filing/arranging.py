"""The user's own arrangement begun from the proposal, and a place in it for every new pencil.

An order that was seen stays: a pencil without a place is put where the squares of the steps grow
least among the places that keep light before dark, and nobody else moves. Each new pencil is
looked at by itself, so that one more of them changes the place of none.
"""

from collections.abc import Collection, Mapping, Sequence
from itertools import groupby
from types import MappingProxyType
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Floats
from stopgap.blends.filing.assignment import file_swatches
from stopgap.blends.filing.belonging import distances_to_families
from stopgap.blends.filing.boundaries import FAMILIES
from stopgap.blends.filing.orders import order_once
from stopgap.defaults import LIGHTER, STEP
from stopgap.difference import delta_E
from stopgap.swatches import (
    ArrangedFamily,
    Arrangement,
    Finish,
    OwnPlace,
    Swatch,
    key_of,
    move_pencils,
    place_beside,
    serve_also,
    without_pencils,
)

Earlier = Mapping[str, tuple[str, str | None]]
NOTHING_EARLIER: Earlier = MappingProxyType({})


class FittingPlace(NamedTuple):
    """A place for a pencil: its family, the neighbours there, and the ΔE00 steps to them."""

    family: str
    after: Swatch | None
    before: Swatch | None
    steps: tuple[float, ...]

    @property
    def largest_step(self) -> float:
        """The larger of its steps; 0 in an empty family."""
        return max(self.steps, default=0.0)


def propose(
    swatches: Sequence[Swatch],
    earlier: Earlier = NOTHING_EARLIER,
    tolerance: float = LIGHTER,
) -> Arrangement:
    """The tool's families as an arrangement without a name, each from light to dark.

    `earlier` says by address where the user filed swatches before there were arrangements: into a
    family, straight after another of it where one is named and they do not go round in a circle.
    """
    own = {key_of(pencil): place for pencil, place in earlier.items()}
    members: dict[str, list[Swatch]] = {name: [] for name in FAMILIES}
    for filed in file_swatches(swatches):
        family, _ = own.get(key_of(filed.swatch.address), (filed.family, None))
        members[family].append(filed.swatch)
    return Arrangement(
        "", tuple(_proposed(name, members[name], own, tolerance) for name in FAMILIES)
    )


def complete(
    arrangement: Arrangement,
    swatches: Sequence[Swatch],
    tolerance: float = LIGHTER,
) -> Arrangement:
    """With every swatch that lacks a place at its cheapest, if the arrangement fills its places.

    Its family is the tool's that it fits best where there is one of that name, else that whose hue
    it has, of those with a member within one melting step; where there is none, it waits.
    """
    known = arrangement.by_pencil()
    new = [swatch for swatch in swatches if key_of(swatch.address) not in known]
    if not (new and arrangement.fills):
        return arrangement
    homes = _homes(arrangement, swatches)
    taken: dict[str, list[tuple[int, float, Swatch]]] = {}
    for swatch, home in zip(new, _homes_for(new, homes), strict=True):
        if home is not None:
            at = home.stored_place(cheapest_place(home.lab, swatch.lab, tolerance))
            own = (at, -swatch.lab[0], swatch)
            taken.setdefault(home.family.name, []).append(own)
    families = (_taking_in(family, taken.get(family.name, [])) for family in arrangement.families)
    return arrangement._replace(families=tuple(families))


def cheapest_place(
    line: Floats, lab: tuple[float, float, float], tolerance: float = LIGHTER
) -> int:
    """Where in a line of colours (n, 3) another is put: before which of them, n for the end.

    Among the places where light comes before dark, give or take `tolerance`, the one where the sum
    of the squared steps ΔE00 grows least, and of equal ones the better for lightness; where there
    is no such place, those that come nearest to it.
    """
    if not len(line):
        return 0
    squares = np.concatenate([[0.0], delta_E(line, lab) ** 2, [0.0]])
    between = np.concatenate([[0.0], delta_E(line[:-1], line[1:]) ** 2, [0.0]])
    growth = squares[:-1] + squares[1:] - between
    darkest_before = np.minimum.accumulate(np.concatenate([[np.inf], line[:, 0]]))
    lightest_after = np.maximum.accumulate(np.concatenate([line[:, 0], [-np.inf]])[::-1])[::-1]
    back = np.maximum(lab[0] - darkest_before, lightest_after - lab[0])
    over = np.maximum(back - tolerance, 0.0)
    return int(np.lexsort((back, growth.round(9), over))[0])


def places_for(
    arrangement: Arrangement,
    swatch: Swatch,
    swatches: Sequence[Swatch],
    tolerance: float = LIGHTER,
) -> tuple[FittingPlace, ...]:
    """The cheapest place for a swatch in every family that has a member, smallest steps first.

    Of families whose members are special finishes, or not, those that are alike in it.
    """
    others = [each for each in swatches if key_of(each.address) != key_of(swatch.address)]
    offers = []
    homes = [home for home in _homes(arrangement, others) if home.members]
    for home in [home for home in homes if home.takes(swatch.finish)] or homes:
        at = cheapest_place(home.lab, swatch.lab, tolerance)
        beside = [home.members[at - 1] if at else None, *home.members[at : at + 1], None][:2]
        steps = (float(delta_E(each.lab, swatch.lab)) for each in beside if each is not None)
        offers.append(FittingPlace(home.family.name, beside[0], beside[1], tuple(steps)))
    return tuple(sorted(offers, key=lambda offer: (offer.largest_step, sum(offer.steps))))


def put(
    arrangement: Arrangement,
    swatches: Sequence[Swatch],
    pencils: Sequence[str],
    to: str,
    *,
    before: str | None = None,
    after: str | None = None,
    first: bool = False,
) -> Arrangement:
    """With pencils by hand in a family: beside another or first, else each at its cheapest place.

    One that has no colour, or whose family has none, goes to the end.

    Raises
    ------
    InputError
        If the one beside it is not in that family, or moves itself.
    UnknownSwatchError
        If there is no such family.
    """
    beside = after if before is None else before
    if beside is not None:
        at = place_beside(arrangement, pencils, to, beside, after=before is None)
        return move_pencils(arrangement, pencils, to, at)
    if first:
        return move_pencils(arrangement, pencils, to, 0)
    by_key = {key_of(swatch.address): swatch for swatch in swatches}
    arrangement = without_pencils(arrangement, pencils)
    for pencil in pencils:
        family = arrangement.family(to)
        home = _home_of(family, by_key)
        swatch = by_key.get(key_of(pencil))
        at = len(family.places)
        if swatch is not None and home.members:
            at = home.stored_place(cheapest_place(home.lab, swatch.lab))
        arrangement = move_pencils(arrangement, [pencil], to, at)
    return arrangement


def let_go(
    arrangement: Arrangement, swatches: Sequence[Swatch], pencils: Sequence[str]
) -> Arrangement:
    """With pencils placed by hand where their colour puts them, serving no second family."""
    freed = serve_also(without_pencils(arrangement, pencils), pencils, None)
    return complete(freed, swatches)


class _Home(NamedTuple):
    """A family with those of its pencils that are in the library, in order."""

    family: ArrangedFamily
    members: tuple[Swatch, ...]
    lab: Floats

    def stored_place(self, at: int) -> int:
        """The place among all that are kept, for one among those in the library."""
        if not at:
            return 0
        before = key_of(self.members[at - 1].address)
        keys = [key_of(place.pencil) for place in self.family.places]
        return keys.index(before) + 1

    def takes(self, finish: Finish) -> bool:
        """Whether pencils of that finish belong here: most of the members are alike in it."""
        plain = sum(each.finish is Finish.PLAIN for each in self.members)
        if finish is Finish.PLAIN:
            return 2 * plain >= len(self.members)
        return 2 * sum(each.finish is finish for each in self.members) > len(self.members)


def _homes(arrangement: Arrangement, swatches: Sequence[Swatch]) -> list[_Home]:
    by_key = {key_of(swatch.address): swatch for swatch in swatches}
    return [_home_of(family, by_key) for family in arrangement.families]


def _home_of(family: ArrangedFamily, by_key: Mapping[str, Swatch]) -> _Home:
    keys = (key_of(place.pencil) for place in family.places)
    members = tuple(by_key[key] for key in keys if key in by_key)
    return _Home(family, members, np.array([each.lab for each in members]).reshape(-1, 3))


def _homes_for(new: Sequence[Swatch], homes: Sequence[_Home]) -> list[_Home | None]:
    """The family that each of some swatches belongs to; see `complete`."""
    named = {key_of(home.family.name): home for home in homes}
    found = [named.get(filed.family) for filed in file_swatches(new)]
    rest = [row for row, home in enumerate(found) if home is None]
    nearest = _nearest_homes([new[row] for row in rest], [home for home in homes if home.members])
    for row, home in zip(rest, nearest, strict=True):
        found[row] = home
    return found


def _nearest_homes(new: Sequence[Swatch], homes: Sequence[_Home]) -> list[_Home | None]:
    """The family of those within a step whose hue each swatch has, or None where there is none."""
    if not (new and homes):
        return [None] * len(new)
    lab = np.array([swatch.lab for swatch in new])
    family = np.repeat(np.arange(len(homes)), [len(home.members) for home in homes])
    members = np.concatenate([home.lab for home in homes])
    far = distances_to_families(lab, members, family, len(homes))
    for at, home in enumerate(homes):
        near = delta_E(lab[:, None], home.lab).min(axis=1) <= STEP
        far[~(near & [home.takes(swatch.finish) for swatch in new]), at] = np.inf
    return [homes[int(np.argmin(own))] if np.isfinite(own).any() else None for own in far]


def _taking_in(
    family: ArrangedFamily, taken: Sequence[tuple[int, float, Swatch]]
) -> ArrangedFamily:
    """The family with new pencils before the places they found, light to dark where they share."""
    if not taken:
        return family
    places: list[OwnPlace] = []
    start = 0
    ordered = sorted(taken, key=lambda one: (*one[:2], one[2].address))
    for at, several in groupby(ordered, key=lambda one: one[0]):
        places += family.places[start:at]
        places += [OwnPlace(swatch.address) for _, _, swatch in several]
        start = at
    return family._replace(places=(*places, *family.places[start:]))


def _proposed(
    name: str, members: Sequence[Swatch], own: Earlier, tolerance: float
) -> ArrangedFamily:
    here = {key_of(swatch.address): swatch for swatch in members}
    after = _straight_after(here, own)
    free = [swatch for key, swatch in here.items() if key not in after]
    found = order_once(tuple(one.lab for one in free), tolerance)
    line = [key_of(free[row].address) for row in found.rows]
    waiting = [key for key in own if key in after]
    while waiting:
        ready = next(key for key in waiting if after[key] in line)
        line.insert(line.index(after[ready]) + 1, ready)
        waiting.remove(ready)
    return ArrangedFamily(name, tuple(OwnPlace(here[key].address, key in own) for key in line))


def _straight_after(here: Collection[str], own: Earlier) -> dict[str, str]:
    """After which of a family each of it was put, where one is named that is in it too."""
    named = {key: key_of(own[key][1] or "") for key in here if key in own}
    return _without_circles({key: one for key, one in named.items() if one in here})


def _without_circles(after: Mapping[str, str]) -> dict[str, str]:
    """`after` without the swatches of which each stands, in the end, after itself."""
    circling = set()
    for address in after:
        passed: set[str] = set()
        at: str | None = address
        while at is not None and at not in passed:
            passed.add(at)
            at = after.get(at)
        if at == address:
            circling.add(address)
    return {address: before for address, before in after.items() if address not in circling}
