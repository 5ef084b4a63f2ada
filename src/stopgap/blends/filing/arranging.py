"""The user's own arrangement begun from the proposal, and a place in it for every new pencil.

An order that was seen stays: a pencil without a place is put where the squares of the steps grow
least among the places that keep light before dark, and nobody else moves. Each new pencil is
looked at by itself, so that one more of them changes the place of none.
"""

from collections.abc import Collection, Mapping, Sequence
from itertools import groupby
from types import MappingProxyType

import numpy as np

from stopgap.blends.filing.assignment import file_swatches
from stopgap.blends.filing.belonging import distances_to_family
from stopgap.blends.filing.boundaries import FAMILIES
from stopgap.blends.filing.orders import order_once
from stopgap.blends.filing.places import (
    Home,
    cheapest_place,
    cheapest_places,
    home_of,
    homes_of,
)
from stopgap.defaults import LIGHTER, STEP
from stopgap.neighbours import SwatchIndex
from stopgap.neighbours.within import nearest_within
from stopgap.swatches import (
    ArrangedFamily,
    Arrangement,
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
    homes = homes_of(arrangement, swatches)
    coming: dict[str, list[Swatch]] = {home.family.name: [] for home in homes}
    for swatch, found in zip(new, _homes_for(new, homes), strict=True):
        if found is not None:
            coming[found.family.name].append(swatch)
    families = (_taking_in(home, coming[home.family.name], tolerance) for home in homes)
    return arrangement._replace(families=tuple(families))


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
        home = home_of(family, by_key)
        swatch = by_key.get(key_of(pencil))
        at = len(family.places)
        if swatch is not None and home.members:
            (at,) = home.stored_places([cheapest_place(home.lab, swatch.lab)])
        arrangement = move_pencils(arrangement, [pencil], to, at)
    return arrangement


def let_go(
    arrangement: Arrangement, swatches: Sequence[Swatch], pencils: Sequence[str]
) -> Arrangement:
    """With pencils placed by hand where their colour puts them, serving no second family."""
    freed = serve_also(without_pencils(arrangement, pencils), pencils, None)
    return complete(freed, swatches)


def _homes_for(new: Sequence[Swatch], homes: Sequence[Home]) -> list[Home | None]:
    """The family that each of some swatches belongs to; see `complete`."""
    named = {key_of(home.family.name): home for home in homes}
    found = [named.get(filed.family) for filed in file_swatches(new)]
    rest = [row for row, home in enumerate(found) if home is None]
    nearest = _nearest_homes([new[row] for row in rest], [home for home in homes if home.members])
    for row, home in zip(rest, nearest, strict=True):
        found[row] = home
    return found


def _nearest_homes(new: Sequence[Swatch], homes: Sequence[Home]) -> list[Home | None]:
    """The family of those within a step whose hue each swatch has, or None where there is none."""
    if not (new and homes):
        return [None] * len(new)
    lab = np.array([swatch.lab for swatch in new])
    family = np.repeat(np.arange(len(homes)), [len(home.members) for home in homes])
    near = np.zeros((len(new), len(homes)), dtype=np.bool_)
    members = SwatchIndex(np.concatenate([home.lab for home in homes]))
    for row, beside in enumerate(nearest_within(members, lab, np.full(len(new), STEP))):
        near[row, family[beside.rows[beside.delta_E <= STEP]]] = True
    far = np.full(near.shape, np.inf)
    finishes = [swatch.finish for swatch in new]
    for at, home in enumerate(homes):
        takes = {finish: home.takes(finish) for finish in set(finishes)}
        rows = np.flatnonzero(near[:, at] & [takes[finish] for finish in finishes])
        far[rows, at] = distances_to_family(lab[rows], home.lab)
    return [homes[int(np.argmin(own))] if np.isfinite(own).any() else None for own in far]


def _taking_in(home: Home, coming: Sequence[Swatch], tolerance: float) -> ArrangedFamily:
    """The family with new pencils each at its cheapest place, light to dark where they share it."""
    family = home.family
    if not coming:
        return family
    at, _ = cheapest_places(home.lab, np.array([one.lab for one in coming]), tolerance)
    stored = home.stored_places(at.tolist())
    taken = sorted(zip(stored, coming), key=lambda one: (one[0], -one[1].lab[0], one[1].address))
    places: list[OwnPlace] = []
    start = 0
    for place, several in groupby(taken, key=lambda one: one[0]):
        places += family.places[start:place]
        places += [OwnPlace(swatch.address) for _, swatch in several]
        start = place
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
