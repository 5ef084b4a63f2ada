"""What is for sale, and what each costs where that is known, or is guessed to."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from numbers import Real
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers, median
from stopgap.defaults import PRICE
from stopgap.errors import InputError, Remedy
from stopgap.planner.materials import unique_swatches
from stopgap.swatches import Swatch


@dataclass(frozen=True, slots=True)
class Offer:
    """A pencil for sale; `assumed` says that its price is the stated default, or guessed.

    `price` is None where it can only be had in a set.
    """

    swatch: Swatch
    price: float | None
    assumed: bool


@dataclass(frozen=True, slots=True)
class SetOffer:
    """A set for sale: `gives` are the places of its pencils among the offers.

    `others` come with it too: owned already, or not such as may be used.
    """

    range: str
    name: str
    price: float
    gives: tuple[int, ...]
    others: tuple[Swatch, ...] = ()

    @property
    def called(self) -> str:
        """The set by its name and range."""
        return f"set {self.name} of {self.range}"

    @property
    def size(self) -> int:
        """How many pencils are in it, as far as is known."""
        return len(self.gives) + len(self.others)


@dataclass(frozen=True, slots=True)
class DoNotBuy:
    """A pencil for sale that is the same to the eye as one that is owned and does as well."""

    swatch: Swatch
    owned: Swatch
    delta_E: float


@dataclass(frozen=True)
class Sale:
    """Everything that can be bought: pencils singly, then sets; a purchase marks some of these.

    What a purchase brings is told by `there`, by the place of a pencil among the offers.
    """

    offers: tuple[Offer, ...]
    sets: tuple[SetOffer, ...] = ()

    @cached_property
    def singles(self) -> Integers:
        """The places of the pencils that are sold singly."""
        every = enumerate(self.offers)
        return np.array([place for place, one in every if one.price is not None], dtype=np.intp)

    @cached_property
    def prices(self) -> Floats:
        """What each thing costs."""
        singly = [one.price for one in self.offers if one.price is not None]
        return np.array([*singly, *(one.price for one in self.sets)], dtype=np.float64)

    @cached_property
    def givers(self) -> tuple[Integers, ...]:
        """By pencil the places of the things that bring it."""
        found: list[list[int]] = [[] for _ in self.offers]
        for thing, pencil in enumerate(self.singles.tolist()):
            found[pencil].append(thing)
        for thing, one in enumerate(self.sets, len(self.singles)):
            for pencil in one.gives:
                found[pencil].append(thing)
        return tuple(np.array(things, dtype=np.intp) for things in found)

    @cached_property
    def cheapest(self) -> Integers:
        """By pencil the cheapest thing that brings it."""
        every = (int(things[self.prices[things].argmin()]) for things in self.givers)
        return np.array([*every], dtype=np.intp)

    @cached_property
    def shares(self) -> Floats:
        """By pencil what no purchase pays less for it: a set's price is shared out evenly."""
        bring = np.ones(len(self.prices))
        bring[len(self.singles) :] = [len(one.gives) for one in self.sets]
        each = self.prices / bring
        return np.array([each[things].min() for things in self.givers], dtype=np.float64)

    def there(self, bought: Booleans) -> Booleans:
        """Which pencils a purchase brings."""
        if not self.sets:
            return bought.copy()
        single, in_sets = bought[: len(self.singles)], bought[len(self.singles) :]
        there = np.zeros(len(self.offers), dtype=np.bool_)
        there[self.singles[single]] = True
        for one, taken in zip(self.sets, in_sets.tolist(), strict=True):
            if taken:
                there[[*one.gives]] = True
        return there

    def sets_bought(self, bought: Booleans) -> tuple[SetOffer, ...]:
        """The sets of a purchase."""
        taken = bought[len(self.singles) :].tolist()
        return tuple(one for one, is_taken in zip(self.sets, taken, strict=True) if is_taken)

    def singly_bought(self, bought: Booleans) -> tuple[Offer, ...]:
        """The pencils of a purchase that are bought by themselves."""
        taken = self.singles[bought[: len(self.singles)]]
        return tuple(self.offers[place] for place in taken.tolist())


class Prices(NamedTuple):
    """What pencils without a price are taken to cost, by range, and of any other."""

    by_range: Mapping[str, float]
    other: float

    @classmethod
    def guessed(cls, swatches: Sequence[Swatch], default_price: float | None) -> "Prices":
        """The default price, or where that is None the median of a range, else of all prices."""
        if default_price is not None:
            check_price(default_price, "default_price")
            return cls({}, float(default_price))
        known: dict[str, list[float]] = {}
        for swatch in swatches:
            if swatch.price is not None:
                check_price(swatch.price, f"price of {swatch.address}")
                known.setdefault(swatch.range, []).append(float(swatch.price))
        by_range = {name: float(median(np.array(some))) for name, some in known.items()}
        every = [price for some in known.values() for price in some]
        return cls(by_range, float(median(np.array(every))) if every else PRICE)

    def offer(self, swatch: Swatch) -> Offer:
        """A pencil at its price, else at what it is taken to cost."""
        if swatch.price is None:
            return Offer(swatch, self.by_range.get(swatch.range, self.other), assumed=True)
        check_price(swatch.price, f"price of {swatch.address}")
        return Offer(swatch, float(swatch.price), assumed=False)


def set_prices(swatches: Sequence[Swatch]) -> dict[tuple[str, str], float]:
    """What sets cost, by range and name in small letters, where any of their pencils says so.

    Raises
    ------
    InputError
        If two pencils of a set say different prices.
    """
    found: dict[tuple[str, str], tuple[float, Swatch]] = {}
    for swatch in swatches:
        for one in swatch.sets:
            if one.price is None:
                continue
            check_price(one.price, f"set_price of {swatch.address}")
            price, first = found.setdefault(
                (swatch.range, one.name.casefold()), (float(one.price), swatch)
            )
            if price != one.price:
                raise InputError(
                    f"The set {one.name} costs {price:g} by {first.address} and {one.price:g} by "
                    f"{swatch.address}: expected one price."
                )
    return {key: price for key, (price, _) in found.items()}


def sets_for_sale(offers: Sequence[Offer], every: Sequence[Swatch]) -> tuple[SetOffer, ...]:
    """The sets of which the price is known and that bring any of the offers, by range and name.

    `every` are all pencils known, of which more may be in a set than are offered.
    """
    prices = set_prices([*(offer.swatch for offer in offers), *every])
    if not prices:
        return ()
    gives: dict[tuple[str, str], list[int]] = {}
    called: dict[tuple[str, str], str] = {}
    for place, offer in enumerate(offers):
        for one in offer.swatch.sets:
            key = (offer.swatch.range, one.name.casefold())
            if key in prices:
                gives.setdefault(key, []).append(place)
                called.setdefault(key, one.name)
    offered = {offer.swatch.address for offer in offers}
    others: dict[tuple[str, str], dict[str, Swatch]] = {key: {} for key in gives}
    for swatch in every:
        for one in swatch.sets:
            key = (swatch.range, one.name.casefold())
            if key in others and swatch.address not in offered:
                others[key][swatch.address] = swatch
    return tuple(
        SetOffer(key[0], called[key], prices[key], tuple(gives[key]), tuple(others[key].values()))
        for key in sorted(gives)
    )


def offers_of(
    candidates: Sequence[Swatch],
    owned: Sequence[Swatch],
    default_price: float | None,
    known: Sequence[Swatch] = (),
) -> list[Offer]:
    """The candidates that are not owned, priced, sorted by address.

    Those without a price cost `default_price`, or for None what the others let guess; but such as
    are in a set whose price is known, by any of those `known` too, can only be had in it.

    Raises
    ------
    InputError
        For a price that is text, negative or not finite, or an address with two contents.
    """
    prices = Prices.guessed(candidates, default_price)
    there = {swatch.address for swatch in owned}
    every = unique_swatches(candidates, "candidates")
    sets = set_prices([*candidates, *owned, *known])
    return [
        Offer(swatch, None, assumed=False) if only_in_sets(swatch, sets) else prices.offer(swatch)
        for swatch in every
        if swatch.address not in there
    ]


def only_in_sets(swatch: Swatch, prices: Mapping[tuple[str, str], float]) -> str:
    """The sets of a pencil with their prices, where it has no price of its own, else empty."""
    keys = ((one.name, (swatch.range, one.name.casefold())) for one in swatch.sets)
    priced = [f"{name} = {prices[key]:g}" for name, key in keys if key in prices]
    return "; ".join(priced) if swatch.price is None else ""


def currency_of(offers: Sequence[Offer]) -> str:
    """What all prices are in, empty where nobody says; a price without one is in the same.

    Raises
    ------
    InputError
        If they are in several currencies, which nobody can add.
    """
    first: dict[str, Swatch] = {}
    for offer in offers:
        currency = offer.swatch.currency.strip()
        if currency and not (offer.assumed and not offer.swatch.sets):
            first.setdefault(currency.upper(), offer.swatch)
    if len(first) > 1:
        told = ", ".join(f"{name} ({swatch.address})" for name, swatch in first.items())
        raise InputError(
            f"Prices are in several currencies, {told}, and cannot be added.",
            remedy=Remedy.ONE_CURRENCY,
        )
    return next(iter(first), "")


def check_price(price: float, name: str) -> None:
    """Raise InputError unless `price` is a finite number of at least 0."""
    if isinstance(price, bool) or not isinstance(price, Real) or not 0.0 <= price < math.inf:
        raise InputError(
            f"expected a number of at least 0, without a currency, found {price!r}.",
            argument=name,
        )
