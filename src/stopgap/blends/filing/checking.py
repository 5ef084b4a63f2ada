"""A filing looked at again: what may want another look, what a new order gains; never rulings."""

from collections.abc import Sequence
from enum import StrEnum
from itertools import pairwise
from math import inf
from typing import NamedTuple

import numpy as np

from stopgap.arrays import median
from stopgap.blends.filing.assignment import Family, Filed
from stopgap.blends.filing.belonging import distances_to_family, distances_within_family
from stopgap.blends.filing.joining import joining
from stopgap.blends.filing.light_to_dark import order
from stopgap.blends.filing.places import FittingPlace, places_for
from stopgap.defaults import LIGHTER, STEP
from stopgap.difference import delta_E
from stopgap.swatches import Arrangement, Finish, Selection, Swatch, key_of, reorder

ODD_BY = 1.5
"""How many times nearer another family is than its own, of an odd pencil."""
LEAST_ODD = 1.0
"""No pencil is odd that is nearer its own family than this ΔE00: this project's choice."""
ODD_SPREAD = 3.0
"""Nor one within that many times the median of its family."""
OFFERED = 3


class DoubtKind(StrEnum):
    """What kind of another look."""

    ODD = "odd"
    STEP = "step"
    BACK = "back"
    LABEL = "label"
    JOIN = "join"


class FilingDoubt(NamedTuple):
    """One thing to look at: pencils of a family in its order, and a ΔE00 or a lightness [L*].

    `amount` is how far an odd pencil is from its family, the step over the limit, how much lighter
    the second pencil is than one before it, or how far two families are apart; infinite where
    nothing tells. `word` is the colour that a label claims, or the family that `joining` pencils
    would join to this one.
    """

    kind: DoubtKind
    family: str
    pencils: tuple[Swatch, ...]
    amount: float = inf
    word: str = ""
    offers: tuple[FittingPlace, ...] = ()
    joining: tuple[Swatch, ...] = ()


def check_filing(
    found: Sequence[Family],
    arrangement: Arrangement,
    swatches: Sequence[Swatch],
    limit: float = STEP,
    tolerance: float = LIGHTER,
) -> tuple[FilingDoubt, ...]:
    """What may want another look in families, kind by kind.

    Parameters
    ----------
    found
        The families as they are shown; those that wait are left out.
    arrangement
        Where all of `swatches` are filed, for the places that are offered.
    swatches
        All that the library holds; those not shown may join families.
    limit
        The largest step ΔE00 that melts.
    tolerance
        How much lighter [L*] a pencil may be than one before it.
    """
    shown = [family for family in found if family.filed and not family.waiting]
    doubts = _odd(_odd_ones(shown), arrangement, swatches, tolerance)
    for family in shown:
        doubts += _steps(family, limit)
        doubts += _going_back(family, tolerance)
        doubts += _labels(family)
    doubts += _to_join(shown, swatches, limit)
    kinds = list(DoubtKind)
    return tuple(sorted(doubts, key=lambda doubt: kinds.index(doubt.kind)))


def _odd(
    odd: Sequence[tuple[str, Filed, float]],
    arrangement: Arrangement,
    swatches: Sequence[Swatch],
    tolerance: float,
) -> list[FilingDoubt]:
    offers = places_for(arrangement, [filed.swatch for _, filed, _ in odd], swatches, tolerance)
    return [
        FilingDoubt(
            DoubtKind.ODD, family, (filed.swatch,), far, filed.misleading or "", places[:OFFERED]
        )
        for (family, filed, far), places in zip(odd, offers, strict=True)
    ]


def _odd_ones(shown: Sequence[Family]) -> list[tuple[str, Filed, float]]:
    """Plain pencils that another family would fit much better, or that the tool's fits badly.

    Each with its distance from its own, infinite where it is alone there.
    """
    filed = [
        (number, each)
        for number, family in enumerate(shown)
        for each in family.filed
        if each.swatch.finish is Finish.PLAIN
    ]
    if len(filed) < 2:
        return []
    family = np.array([number for number, _ in filed])
    lab = np.array([each.swatch.lab for _, each in filed])
    own, usual = np.full(len(filed), np.inf), np.zeros(len(filed))
    for number in set(family.tolist()):
        rows = np.flatnonzero(family == number)
        own[rows] = distances_within_family(lab[rows])
        usual[rows] = median(own[rows])
    far = np.isfinite(own)
    far &= own > np.maximum(LEAST_ODD, ODD_SPREAD * np.where(np.isfinite(usual), usual, 0.0))
    perhaps = np.flatnonzero(far)
    other = np.full(len(perhaps), np.inf)
    for number in set(family.tolist()):
        elsewhere = np.flatnonzero(family[perhaps] != number)
        to_this = distances_to_family(lab[perhaps[elsewhere]], lab[family == number])
        other[elsewhere] = np.minimum(other[elsewhere], to_this)
    odd = np.array([each.odd for _, each in filed])
    odd[perhaps] |= own[perhaps] > ODD_BY * other
    return [
        (shown[filed[row][0]].name, filed[row][1], float(own[row]))
        for row in np.flatnonzero(odd)[np.argsort(-own[odd], kind="stable")]
    ]


def _steps(family: Family, limit: float) -> list[FilingDoubt]:
    return [
        FilingDoubt(DoubtKind.STEP, family.name, (one.swatch, other.swatch), step)
        for one, other, step in zip(family.filed, family.filed[1:], family.steps, strict=False)
        if step > limit
    ]


def _going_back(family: Family, tolerance: float) -> list[FilingDoubt]:
    """Pencils lighter than one before them by more than the tolerance, each with the darkest."""
    doubts = []
    darkest = family.filed[0].swatch
    for swatch in (filed.swatch for filed in family.filed):
        back = swatch.lab[0] - darkest.lab[0]
        if back > tolerance:
            doubts.append(FilingDoubt(DoubtKind.BACK, family.name, (darkest, swatch), back))
        darkest = min(darkest, swatch, key=lambda one: one.lab[0])
    return doubts


def _labels(family: Family) -> list[FilingDoubt]:
    return [
        FilingDoubt(DoubtKind.LABEL, family.name, (filed.swatch,), word=filed.misleading)
        for filed in family.filed
        if filed.misleading
    ]


def _to_join(
    shown: Sequence[Family], swatches: Sequence[Swatch], limit: float
) -> list[FilingDoubt]:
    """Families further than a step from the nearest other that at most two more pencils would join.

    Those pencils are plain, current ones that are not shown.
    """
    there = {filed.swatch.address for family in shown for filed in family.filed}
    spare = [swatch for swatch in Selection().of(swatches) if swatch.address not in there]
    lines = [np.array([filed.swatch.lab for filed in family.filed]) for family in shown]
    doubts = []
    for one in joining(lines, np.array([swatch.lab for swatch in spare]), limit):
        family, other = shown[one.family].name, shown[one.other].name
        pencils = tuple(spare[row] for row in one.rows)
        doubts.append(FilingDoubt(DoubtKind.JOIN, family, (), one.gap, other, (), pencils))
    return doubts


WORTH_IT = 0.10
"""The share of the largest step or of the sum from which a new order is worth the trouble."""


class Tidied(NamedTuple):
    """A family, the order that a new search finds, and the ΔE00 steps before and then."""

    family: str
    order: tuple[Swatch, ...]
    before: tuple[float, ...]
    after: tuple[float, ...]

    @property
    def gain(self) -> float:
        """The larger share that the largest step or the sum of steps loses; below 0 is a loss."""
        ways = ((max(self.before), max(self.after)), (sum(self.before), sum(self.after)))
        return max((1.0 - then / now if now else 0.0) for now, then in ways)


def tidied(
    arrangement: Arrangement,
    swatches: Sequence[Swatch],
    names: Sequence[str] = (),
    tolerance: float = LIGHTER,
) -> tuple[Tidied, ...]:
    """What a new search from light to dark finds for families of two or more, all if none is named.

    Raises
    ------
    UnknownSwatchError
        If a name is no family's.
    """
    by_key = {key_of(swatch.address): swatch for swatch in swatches}
    wanted = [arrangement.family(name) for name in names] or arrangement.families
    found = []
    for family in wanted:
        keys = (key_of(place.pencil) for place in family.places)
        line = [by_key[key] for key in keys if key in by_key]
        if len(line) < 2:
            continue
        lab = np.array([swatch.lab for swatch in line])
        searched = order(lab, tolerance)
        steps = tuple(float(delta_E(one, other)) for one, other in pairwise(lab))
        new = tuple(line[row] for row in searched.rows)
        found.append(Tidied(family.name, new, steps, searched.steps))
    return tuple(found)


def sort_families(
    arrangement: Arrangement, swatches: Sequence[Swatch], names: Sequence[str] = ()
) -> Arrangement:
    """With families from light to dark by a new search; places by hand stay the user's families."""
    for found in tidied(arrangement, swatches, names):
        arrangement = reorder(arrangement, found.family, [swatch.address for swatch in found.order])
    return arrangement
