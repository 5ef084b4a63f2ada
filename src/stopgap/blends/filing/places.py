"""A place in a line from light to dark for one more colour, and in every family for a pencil."""

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Floats, Integers, blocks
from stopgap.defaults import LIGHTER
from stopgap.difference import delta_E
from stopgap.swatches import ArrangedFamily, Arrangement, Finish, Swatch, key_of

_AT_ONCE = 2**16  # pairs of colours, to bound the memory


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


def cheapest_place(
    line: Floats, lab: tuple[float, float, float], tolerance: float = LIGHTER
) -> int:
    """Where in a line of colours (n, 3) another is put: before which of them, n for the end.

    Among the places where light comes before dark, give or take `tolerance`, the one where the sum
    of the squared steps ΔE00 grows least, and of equal ones the better for lightness; where there
    is no such place, those that come nearest to it.
    """
    return int(cheapest_places(line, np.array([lab]), tolerance)[0][0])


def cheapest_places(
    line: Floats, labs: Floats, tolerance: float = LIGHTER
) -> tuple[Integers, Floats]:
    """The `cheapest_place` of each of some colours (m, 3) by itself, and its steps to the one
    before it and the one after it (m, 2), where there is none nan.
    """
    at, steps = np.zeros(len(labs), dtype=np.intp), np.full((len(labs), 2), np.nan)
    if not len(line):
        return at, steps
    between = np.concatenate([[0.0], delta_E(line[:-1], line[1:]) ** 2, [0.0]])
    darkest_before = np.minimum.accumulate(np.concatenate([[np.inf], line[:, 0]]))
    lightest_after = np.maximum.accumulate(np.concatenate([line[:, 0], [-np.inf]])[::-1])[::-1]
    for some in blocks(len(labs), max(1, _AT_ONCE // len(line))):
        lightness = labs[some, :1]
        apart = np.pad(
            delta_E(line, labs[some, np.newaxis]), ((0, 0), (1, 1)), constant_values=np.nan
        )
        squares = np.nan_to_num(apart) ** 2
        growth = squares[:, :-1] + squares[:, 1:] - between
        back = np.maximum(lightness - darkest_before, lightest_after - lightness)
        over = np.maximum(back - tolerance, 0.0)
        at[some] = _first_least(over, growth.round(9), back)
        rows = np.arange(len(apart))
        steps[some] = np.stack([apart[rows, at[some]], apart[rows, at[some] + 1]], axis=-1)
    return at, steps


def _first_least(*keys: Floats) -> Integers:
    """Where each row is least by the first key, of those by the second, and so on."""
    best = np.ones(keys[0].shape, dtype=np.bool_)
    for key in keys:
        value = np.where(best, key, np.inf)
        best = value == value.min(axis=1, keepdims=True)
    first: Integers = best.argmax(axis=1)
    return first


def places_for(
    arrangement: Arrangement,
    sought: Sequence[Swatch],
    swatches: Sequence[Swatch],
    tolerance: float = LIGHTER,
) -> list[tuple[FittingPlace, ...]]:
    """For each swatch the cheapest place in every family that has another member, smallest steps
    first; O(families, and members for each swatch).

    Of families whose members are special finishes, or not, those that are alike in it.
    """
    offers: list[list[tuple[bool, FittingPlace]]] = [[] for _ in sought]
    keys = [key_of(each.address) for each in sought]
    for home in homes_of(arrangement, swatches):
        at_home = {key_of(each.address) for each in home.members}
        elsewhere = [row for row, key in enumerate(keys) if key not in at_home]
        asked = [(elsewhere, home)]
        asked += [([row], home.without(key)) for row, key in enumerate(keys) if key in at_home]
        for rows, others in asked:
            for row, one in zip(rows, others.offered([sought[row] for row in rows], tolerance)):
                offers[row].append(one)
    return [_smallest_steps_first(own) for own in offers]


def _smallest_steps_first(
    offers: Sequence[tuple[bool, FittingPlace]],
) -> tuple[FittingPlace, ...]:
    fit = [place for takes, place in offers if takes] or [place for _, place in offers]
    return tuple(sorted(fit, key=lambda offer: (offer.largest_step, sum(offer.steps))))


class Home(NamedTuple):
    """A family with those of its pencils that are in the library, in order."""

    family: ArrangedFamily
    members: tuple[Swatch, ...]
    lab: Floats

    def stored_places(self, at: Sequence[int]) -> list[int]:
        """The places among all that are kept, for those among what is in the library."""
        stored = {key_of(place.pencil): row for row, place in enumerate(self.family.places, 1)}
        after = [0, *(stored[key_of(each.address)] for each in self.members)]
        return [after[place] for place in at]

    def without(self, key: str) -> "Home":
        """The same without the member of that `key_of`."""
        rows = [row for row, each in enumerate(self.members) if key_of(each.address) != key]
        return self._replace(members=tuple(self.members[row] for row in rows), lab=self.lab[rows])

    def offered(
        self, sought: Sequence[Swatch], tolerance: float
    ) -> Iterator[tuple[bool, FittingPlace]]:
        """The cheapest place for each of some others, and whether it belongs here, if any does."""
        if not (sought and self.members):
            return
        takes = {finish: self.takes(finish) for finish in {each.finish for each in sought}}
        labs = np.array([each.lab for each in sought])
        found = (each.tolist() for each in cheapest_places(self.lab, labs, tolerance))
        for swatch, at, steps in zip(sought, *found, strict=True):
            beside = [self.members[at - 1] if at else None, *self.members[at : at + 1], None][:2]
            near = (step for step, each in zip(steps, beside, strict=True) if each is not None)
            place = FittingPlace(self.family.name, beside[0], beside[1], tuple(near))
            yield takes[swatch.finish], place

    def takes(self, finish: Finish) -> bool:
        """Whether pencils of that finish belong here: most of the members are alike in it."""
        plain = sum(each.finish is Finish.PLAIN for each in self.members)
        if finish is Finish.PLAIN:
            return 2 * plain >= len(self.members)
        return 2 * sum(each.finish is finish for each in self.members) > len(self.members)


def homes_of(arrangement: Arrangement, swatches: Sequence[Swatch]) -> list[Home]:
    """The families of an arrangement with those of `swatches` that are in them."""
    by_key = {key_of(swatch.address): swatch for swatch in swatches}
    return [home_of(family, by_key) for family in arrangement.families]


def home_of(family: ArrangedFamily, by_key: Mapping[str, Swatch]) -> Home:
    """A family with those of its pencils that are among swatches by their `key_of`."""
    keys = (key_of(place.pencil) for place in family.places)
    members = tuple(by_key[key] for key in keys if key in by_key)
    return Home(family, members, np.array([each.lab for each in members]).reshape(-1, 3))
