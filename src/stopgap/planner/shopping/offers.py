"""What can be bought, and at what price."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from numbers import Real

from stopgap.errors import InputError
from stopgap.planner.materials import unique_swatches
from stopgap.swatches import Swatch


@dataclass(frozen=True, slots=True)
class Offer:
    """A pencil for sale; `assumed` says that its price is the stated default."""

    swatch: Swatch
    price: float
    assumed: bool


def offers_of(
    candidates: Sequence[Swatch], owned: Sequence[Swatch], default_price: float
) -> list[Offer]:
    """The candidates that are not owned, priced, sorted by address.

    Raises
    ------
    InputError
        For a price that is text, negative or not finite, or an address with two contents.
    """
    check_price(default_price, "default_price")
    there = {swatch.address for swatch in owned}
    offers = []
    for swatch in unique_swatches(candidates, "candidates"):
        if swatch.address in there:
            continue
        if swatch.price is not None:
            check_price(swatch.price, f"price of {swatch.address}")
        price = default_price if swatch.price is None else swatch.price
        offers.append(Offer(swatch, float(price), assumed=swatch.price is None))
    return offers


def check_price(price: float, name: str) -> None:
    """Raise InputError unless `price` is a finite number of at least 0."""
    if isinstance(price, bool) or not isinstance(price, Real) or not 0.0 <= price < math.inf:
        raise InputError(
            f"expected a number of at least 0, without a currency, found {price!r}.",
            argument=name,
        )
