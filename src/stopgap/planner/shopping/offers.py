"""What is for sale, and what each costs where that is known, or is guessed to."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from numbers import Real
from statistics import median
from typing import NamedTuple

from stopgap.defaults import PRICE
from stopgap.errors import InputError, Remedy
from stopgap.planner.materials import unique_swatches
from stopgap.swatches import Swatch


@dataclass(frozen=True, slots=True)
class Offer:
    """A pencil for sale; `assumed` says that its price is the stated default, or guessed."""

    swatch: Swatch
    price: float
    assumed: bool


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
        by_range = {name: median(some) for name, some in known.items()}
        every = [price for some in known.values() for price in some]
        return cls(by_range, median(every) if every else PRICE)

    def offer(self, swatch: Swatch) -> Offer:
        """A pencil at its price, else at what it is taken to cost."""
        if swatch.price is None:
            return Offer(swatch, self.by_range.get(swatch.range, self.other), assumed=True)
        check_price(swatch.price, f"price of {swatch.address}")
        return Offer(swatch, float(swatch.price), assumed=False)


def offers_of(
    candidates: Sequence[Swatch], owned: Sequence[Swatch], default_price: float | None
) -> list[Offer]:
    """The candidates that are not owned, priced, sorted by address.

    Those without a price cost `default_price`, or for None what the others let guess.

    Raises
    ------
    InputError
        For a price that is text, negative or not finite, or an address with two contents.
    """
    prices = Prices.guessed(candidates, default_price)
    there = {swatch.address for swatch in owned}
    every = unique_swatches(candidates, "candidates")
    return [prices.offer(swatch) for swatch in every if swatch.address not in there]


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
        if currency and not offer.assumed:
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
