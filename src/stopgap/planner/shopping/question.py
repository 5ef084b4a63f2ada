"""What a shopping list is asked: what for, and with what.

For blends without gaps and colours within a tolerance; with owned pencils, pencils for sale, and
recipes of both.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from numbers import Real
from statistics import median
from typing import NamedTuple

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers, one_lab
from stopgap.blends.blending import Colours, Recipes, aims_along, asked_for
from stopgap.blends.path import Path, path_through
from stopgap.defaults import PATH, PRICE, STEP, TOLERANCE
from stopgap.errors import InputError, Remedy
from stopgap.planner.materials import RecipeSource, recipes_from, unique_swatches
from stopgap.planner.nearness import lays_better
from stopgap.swatches import FreeColour, Lab, LaidStack, Swatch, Target


@dataclass(frozen=True, slots=True)
class BlendNeed:
    """A blend from one colour to another, no step above `step` [ΔE].

    An end that is a swatch is a pencil that must be owned or bought. An end that is a free colour
    is a place to come from or to reach, without a pencil of its own. `width` is how far a colour
    may lie from the path or from its chord, in units of CAM16-UCS; None is a quarter of the chord,
    but at least 8.

    It passes the `stops` in their order; one that is a swatch must be owned or bought too. `path`
    and `by_lightness` are as `blends.blend` takes them.
    """

    label: str
    start: Target
    end: Target
    step: float = STEP
    width: float | None = None
    weight: float = 1.0
    stops: tuple[Target, ...] = ()
    path: str = PATH
    by_lightness: bool = False

    def __post_init__(self) -> None:
        for name, value in (("step", self.step), ("weight", self.weight)):
            _above_zero(value, f"blend {self.label!r}: {name}")
        if self.width is not None:
            _above_zero(self.width, f"blend {self.label!r}: width")
        for each in self.fixed:
            one_lab(each.lab, f"blend {self.label!r}: {_called(each)}")
        pencils = [each.address for each in self.fixed if isinstance(each, Swatch)]
        if len(set(pencils)) < len(pencils):
            raise InputError(f"blend {self.label!r}: a pencil is named twice; name each once.")
        if tuple(self.start.lab) == tuple(self.end.lab):
            raise InputError(
                f"blend {self.label!r}: both ends are the same colour; give two different ends."
            )
        self.route()  # refuses what no path leads through

    @property
    def fixed(self) -> tuple[Target, ...]:
        """The start, the stops and the end."""
        return (self.start, *self.stops, self.end)

    @property
    def names(self) -> tuple[str, ...]:
        """What start, stops and end are called."""
        return tuple(map(_called, self.fixed))

    def route(self) -> Path:
        """The path that it should follow; raises as `path_through`."""
        labs = [each.lab for each in self.fixed]
        return path_through(labs, self.path, by_lightness=self.by_lightness)

    @property
    def key(self) -> tuple[object, ...]:
        """What needs are sorted by, so that the order of rows never decides anything."""
        ends = (_name(self.start), _name(self.end))
        more = (tuple(map(_name, self.stops)), self.path, self.by_lightness)
        return (0, self.label, *ends, self.step, self.width or 0.0, self.weight, *more)


@dataclass(frozen=True, slots=True)
class ColourNeed:
    """A colour, or a stand-in for a named shade: something laid must lie within `tolerance` [ΔE].

    A target that is a swatch means its colour: any pencil may serve, and the shade itself too
    unless it is to be replaced. With `for_laydown` one that lays badly is, by what lays better.
    """

    label: str
    target: Target
    tolerance: float = TOLERANCE
    weight: float = 1.0
    for_laydown: bool = False

    def __post_init__(self) -> None:
        for name, value in (("tolerance", self.tolerance), ("weight", self.weight)):
            _above_zero(value, f"colour {self.label!r}: {name}")
        one_lab(self.target.lab, f"colour {self.label!r}")

    @property
    def lab(self) -> Lab:
        """The colour to be met."""
        return self.target.lab

    def served_by(self, laid: LaidStack) -> bool:
        """Whether what is laid may serve at all, however near it is."""
        asked = self.target
        if isinstance(asked, Swatch) and self.for_laydown and asked.lays_badly:
            return lays_better(asked, laid.swatches)
        gone = asked.address if isinstance(asked, Swatch) and asked.to_be_replaced else ""
        return gone not in laid.addresses

    @property
    def key(self) -> tuple[object, ...]:
        """What needs are sorted by, so that the order of rows never decides anything."""
        return (1, self.label, _name(self.target), self.tolerance, self.weight)


Need = BlendNeed | ColourNeed


def _name(target: Target) -> tuple[object, ...]:
    return (isinstance(target, Swatch), _called(target), target.lab)


def _called(target: Target) -> str:
    return target.label if isinstance(target, FreeColour) else target.address


def _above_zero(value: float, name: str) -> None:
    if not (isinstance(value, Real) and 0.0 < value < math.inf):
        raise InputError(f"{name} must be a number above 0, found {value!r}.")


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


Missing = tuple[int, ...]
"""Numbers of the offers that something takes."""


@dataclass(frozen=True)
class Supply:
    """Pencils at hand, pencils for sale, and what gives recipes for the colours aimed at.

    `recipes_along` gives those for blends where it is given, as `blend` takes it.
    """

    owned: tuple[Swatch, ...]
    offers: tuple[Offer, ...]
    recipes: RecipeSource = ()
    recipes_along: Recipes | None = None

    @cached_property
    def pencils(self) -> tuple[Swatch, ...]:
        """Everything that can be had."""
        return (*self.owned, *(offer.swatch for offer in self.offers))

    def laid(self, aims: Floats) -> list[LaidStack]:
        """Each pencil as in its swatch, and recipes for `aims` (n, 3), in the order of keys."""
        alone = [LaidStack.of(one) for one in self.pencils]
        alone += recipes_from(self.recipes, self.pencils, aims)
        return sorted(alone, key=lambda laid: laid.key)

    def colours(self, paths: Sequence[Path], limit: float, ends: Sequence[Target]) -> Colours:
        """What a blend may be made of: as for `blend`, with the recipes it would be given."""
        addresses = {end.address for end in ends if isinstance(end, Swatch)}
        pencils = [one for one in self.pencils if one.address not in addresses]
        if self.recipes_along is None:
            made = recipes_from(self.recipes, self.pencils, aims_along(paths, limit))
            laid = [*map(LaidStack.of, pencils), *made]
            pencil_at = [end if isinstance(end, Swatch) else None for end in ends]
            return Colours(laid, [None] * len(laid), pencil_at)
        asked = asked_for(self.recipes_along, paths, limit)
        there = {one.address for one in self.pencils}
        return Colours.of(pencils, [one for one in asked if one.stack.addresses <= there], ends)

    def missing_for(self, addresses: frozenset[str]) -> Missing | None:
        """The numbers of the offers among them; None if one can be neither had nor bought."""
        wanted = addresses - self._owned
        if not wanted <= self._number.keys():
            return None
        return tuple(sorted(self._number[address] for address in wanted))

    @cached_property
    def _owned(self) -> frozenset[str]:
        return frozenset(swatch.address for swatch in self.owned)

    @cached_property
    def _number(self) -> dict[str, int]:
        return {offer.swatch.address: place for place, offer in enumerate(self.offers)}


def table_of(missing: Sequence[Missing]) -> Integers:
    """What each of n things takes, as a table (n, most), filled up with -1."""
    most = max(map(len, missing), default=0)
    rows = [(*offers, *(-1,) * (most - len(offers))) for offers in missing]
    return np.array(rows, dtype=np.intp).reshape(len(missing), most)


def available(table: Integers, bought: Booleans) -> Booleans:
    """Which rows of a table can be laid once the offers marked in `bought` are there."""
    return np.asarray(np.append(bought, True)[table].all(axis=1), dtype=np.bool_)


def price_of(table: Integers, prices: Floats) -> Floats:
    """What the offers of each row of a table cost together."""
    return np.asarray(np.append(prices, 0.0)[table].sum(axis=1), dtype=np.float64)
