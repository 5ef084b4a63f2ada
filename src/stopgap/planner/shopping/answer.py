"""A shopping list and everything a person needs to check it, also why a need stays open."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from stopgap.blends.blended import Blend
from stopgap.difference import Promise, delta_E
from stopgap.errors import Note
from stopgap.planner.doubt import grade_probabilities
from stopgap.planner.materials import labs_of
from stopgap.planner.nearness import SAME_TO_THE_EYE, promise_of
from stopgap.planner.shopping.question import Need, Offer, Supply
from stopgap.swatches import FreeColour, Lab, LaidStack, Swatch, Target, makes_needless, mark_notes


@dataclass(frozen=True, slots=True)
class LaidBlend:
    """A blend as it can be laid.

    `ends` is what start and end are called, `lacking` which of ends and stops are pencils that are
    not there.
    """

    blend: Blend
    ends: tuple[str, str]
    lacking: tuple[str, ...] = ()

    @property
    def met(self) -> bool:
        """Whether ends and stops are there and no step is over the limit."""
        return not self.lacking and self.blend.closed

    @property
    def labels(self) -> tuple[str, ...]:
        """What each colour of it is called."""
        inner = (point.laid.label for point in self.blend.points[1:-1] if point.laid is not None)
        return (self.ends[0], *inner, self.ends[1])

    @property
    def stacks(self) -> tuple[LaidStack, ...]:
        """What is laid along it."""
        return tuple(point.laid for point in self.blend.points if point.laid is not None)


@dataclass(frozen=True, slots=True)
class LaidColour:
    """A listed colour, `lab`, as it can be laid."""

    lab: Lab
    laid: LaidStack
    delta_E: float
    tolerance: float
    target: Target | None = None

    @property
    def grade(self) -> str:
        """The grade of what is promised."""
        return self.promise.grade

    @property
    def grade_probability(self) -> float | None:
        """How surely it earns the grade that is promised, as in any answer."""
        target = self.target or FreeColour("", self.lab)
        (chance,) = grade_probabilities([target], [self.laid])
        return chance

    @property
    def likely_probability(self) -> float | None:
        """The same of the likely grade, which is that of a pencil anyhow."""
        return self.promise.likely_probability if self.laid.recipe else self.grade_probability

    @property
    def promise(self) -> Promise:
        """How near it is said to be, in ΔE00, whatever the metric."""
        return promise_of(self.lab, self.laid)

    @property
    def met(self) -> bool:
        """Whether it lies within the tolerance."""
        return self.delta_E <= self.tolerance

    @property
    def stacks(self) -> tuple[LaidStack, ...]:
        """What is laid."""
        return (self.laid,)


@dataclass(frozen=True, slots=True)
class NeedAnswer:
    """One need, how it stands before and after the purchase, and why it stays open if it does."""

    need: Need
    before: LaidBlend | LaidColour | None
    after: LaidBlend | LaidColour | None
    reason: str = ""

    @property
    def met(self) -> bool:
        """Whether the need is met after the purchase."""
        return self.after is not None and self.after.met


@dataclass(frozen=True, slots=True)
class Purchase:
    """A pencil to buy; `purposes` are the labels of the needs it is used for.

    `assumed` says that the price is the stated default. `same_as` are owned pencils that are the
    same to the eye and do as well: it then helps by a hair only.
    """

    swatch: Swatch
    price: float
    assumed: bool
    purposes: tuple[str, ...]
    same_as: tuple[Swatch, ...] = ()


@dataclass(frozen=True, slots=True)
class Alternative:
    """Another list that lacks something of the best one; `shortfall` as in ShoppingList."""

    swatches: tuple[Swatch, ...]
    cost: float
    shortfall: float


class Aim(NamedTuple):
    """One aim of the lexicographic optimum, its value, the proved bound, and whether they agree."""

    name: str
    value: float
    bound: float
    proved: bool


@dataclass(frozen=True, slots=True)
class DoNotBuy:
    """A pencil for sale that is the same to the eye as one that is owned and does as well."""

    swatch: Swatch
    owned: Swatch
    delta_E: float


@dataclass(frozen=True, slots=True)
class ShoppingList:
    """What to buy and why.

    `status` is "optimal" (proved), "time limit" (the best found; see `bound`) or "infeasible"
    (needs are open and no purchase can meet any of them). `cost` is the price of `buy`; `bound` a
    proved lower bound of the cost of any list as good; `gap` their relative distance. `shortfall`
    is what the needs that were bought for have over their limits after the purchase, in ΔE, times
    their weights. `currency` is what all prices are in, empty where nobody says;
    `guessed` says that some price of what is for sale is not known. `needs` are in the
    order asked. `because` says why there is nothing to buy, where there is nothing.
    """

    status: str
    buy: tuple[Purchase, ...]
    cost: float
    bound: float
    shortfall: float
    aims: tuple[Aim, ...]
    needs: tuple[NeedAnswer, ...]
    alternatives: tuple[Alternative, ...]
    not_to_buy: tuple[DoNotBuy, ...]
    because: str = ""
    currency: str = ""
    guessed: bool = False
    pencil_notes: tuple[Note, ...] = ()

    @property
    def gap(self) -> float:
        """(cost - bound) / cost, 0 where nothing is bought."""
        return max(0.0, self.cost - self.bound) / self.cost if self.cost else 0.0

    @property
    def proved(self) -> bool:
        """Whether every aim was proved optimal."""
        return all(aim.proved for aim in self.aims)

    @property
    def notes(self) -> tuple[Note, ...]:
        """What is to be said of the blends as they are laid then, and of the pencils."""
        laid = [one.after for one in self.needs if isinstance(one.after, LaidBlend)]
        named = [
            note._replace(text=f"{one.blend.name}: {note}")
            for one in laid
            for note in one.blend.notes
        ]
        after = [one.after for one in self.needs if one.after is not None]
        used = (swatch for one in after for laid in one.stacks for swatch in laid.swatches)
        return (*named, *mark_notes(used), *self.pencil_notes)

    @property
    def unfilled(self) -> tuple[NeedAnswer, ...]:
        """The needs that stay open."""
        return tuple(answer for answer in self.needs if not answer.met)


TIME_CAME_FIRST = "the time limit came first"
NOT_LOOKED_AT = "not looked at before the time limit; how it stands is not known"


def why_open(with_everything: LaidBlend | LaidColour | None, budget: float | None) -> str:
    """Why a need stays open, from how it would stand if everything for sale were bought."""
    if with_everything is None:
        return "nothing is owned and nothing is for sale"
    if with_everything.met:
        return TIME_CAME_FIRST if budget is None else f"over the budget of {budget:g}"
    if isinstance(with_everything, LaidColour):
        return (
            f"the nearest there is, {with_everything.laid.label}, is {with_everything.delta_E:.1f} "
            f"away, over the tolerance of {with_everything.tolerance:g}"
        )
    if with_everything.lacking:
        return (
            f"{' and '.join(with_everything.lacking)} can be neither had nor bought; "
            "give the colour in its place to plan without that pencil"
        )
    labels, blend = with_everything.labels, with_everything.blend
    return "even with everything for sale, " + "; ".join(
        f"{labels[place]} to {labels[place + 1]} "
        f"is a step of {blend.steps[place]:.1f}, over {blend.limit:g}"
        for place in blend.over_limit
    )


def purchase_of(offer: Offer, answers: Sequence[NeedAnswer], same: Sequence[DoNotBuy]) -> Purchase:
    """Why an offer is bought, and what is owned already that is the same to the eye."""
    twins = tuple(one.owned for one in same if one.swatch is offer.swatch)
    purposes = purposes_of(offer.swatch, answers)
    return Purchase(offer.swatch, offer.price, offer.assumed, purposes, twins)


def purposes_of(swatch: Swatch, answers: Sequence[NeedAnswer]) -> tuple[str, ...]:
    """The labels of the needs that are laid with the pencil."""
    return tuple(
        answer.need.label
        for answer in answers
        if answer.after is not None
        and any(swatch.address in stack.addresses for stack in answer.after.stacks)
    )


_LIGHTNESS_WEIGHT = 1.75
"""S_L of ΔE00 is below it (ISO/CIE 11664-6), so ΔE00 is no less than the step in L* over it."""

_ROWS = 1000  # offers at once


def same_as_owned(supplies: Sequence[Supply]) -> tuple[DoNotBuy, ...]:
    """Each offer that is the same to the eye, whatever the paper, as an owned pencil that makes it
    needless.
    """
    offers, owned = supplies[0].offers, supplies[0].owned
    if not offers or not owned:
        return ()
    labs = [(labs_of([each.swatch for each in one.offers]), labs_of(one.owned)) for one in supplies]
    theirs, ours = labs[0]
    found = []
    for begin in range(0, len(offers), _ROWS):
        apart = np.abs(theirs[begin : begin + _ROWS, 0, np.newaxis] - ours[:, 0])
        rows, places = np.nonzero(apart <= _LIGHTNESS_WEIGHT * SAME_TO_THE_EYE)
        rows += begin
        far = np.max([delta_E(their[rows], our[places]) for their, our in labs], axis=0)
        alike = far <= SAME_TO_THE_EYE
        alike[alike] = [
            makes_needless(owned[place], offers[row].swatch)
            for row, place in zip(rows[alike].tolist(), places[alike].tolist())
        ]
        rows, places, far = rows[alike], places[alike], far[alike]
        order = np.lexsort((places, far, rows))
        first = order[np.diff(rows[order], prepend=-1) != 0]
        found += [
            DoNotBuy(offers[row].swatch, owned[place], difference)
            for row, place, difference in zip(
                rows[first].tolist(), places[first].tolist(), far[first].tolist()
            )
        ]
    return tuple(found)
