"""What a shopping list is asked: what for, and with what.

For blends without gaps and colours within a tolerance; with owned pencils, pencils for sale, and
recipes of both.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from numbers import Real

import numpy as np

from stopgap.arrays import Booleans, Floats, Integers, one_lab
from stopgap.blends.blending import Colours
from stopgap.blends.path import Path, path_through
from stopgap.blends.recipes import Recipes, RecipesAlong, aims_along
from stopgap.defaults import PATH, STEP, TOLERANCE
from stopgap.difference import delta_E, pairs_within
from stopgap.errors import InputError
from stopgap.planner.materials import RecipeSource, labs_of, recipes_from
from stopgap.planner.nearness import SAME_TO_THE_EYE, lays_better
from stopgap.planner.shopping.offers import DoNotBuy, Offer, Sale, SetOffer
from stopgap.swatches import FreeColour, Lab, LaidStack, Swatch, Target, makes_needless


@dataclass(frozen=True, slots=True)
class BlendNeed:
    """A blend from one colour to another, no step above `step` [ΔE].

    Each end is a need too, be it named as a pencil or as a colour: something laid must lie within
    `tolerance` [ΔE] of it, the pencil itself or another, or layers. `width` is how far a colour may
    lie from the path or from its chord, in units of CAM16-UCS; None is a quarter of the chord, but
    at least 8.

    It passes the `stops` in their order; one that is a swatch is a need like the ends, one that is
    a colour only bends the path. `path` and `by_lightness` are as `blends.blend` takes them. With
    `for_laydown` an end or stop that lays badly is to be replaced by what lays better.
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
    tolerance: float = TOLERANCE
    for_laydown: bool = False

    def __post_init__(self) -> None:
        numbers = {"step": self.step, "weight": self.weight, "tolerance": self.tolerance}
        for name, value in numbers.items():
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
    def ends(self) -> "tuple[ColourNeed, ...]":
        """What must be reached: the start, the stops that are pencils, and the end."""
        stops = (each for each in self.stops if isinstance(each, Swatch))
        return tuple(map(self._reached, (self.start, *stops, self.end)))

    def _reached(self, end: Target) -> "ColourNeed":
        name = _called(end)
        if self.for_laydown and isinstance(end, Swatch) and end.lays_badly:
            return ColourNeed(name, end, self.tolerance, for_laydown=True)
        return ColourNeed(name, FreeColour(name, end.lab), self.tolerance)

    def route(self) -> Path:
        """The path that it should follow; raises as `path_through`."""
        labs = [each.lab for each in self.fixed]
        return path_through(labs, self.path, by_lightness=self.by_lightness)

    @property
    def key(self) -> tuple[object, ...]:
        """What needs are sorted by, so that the order of rows never decides anything."""
        ends = (_name(self.start), _name(self.end))
        more = (tuple(map(_name, self.stops)), self.path, self.by_lightness)
        limits = (self.step, self.width or 0.0, self.weight, self.tolerance, self.for_laydown)
        return (0, self.label, *ends, *limits, *more)


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

    @property
    def replaced(self) -> bool:
        """Whether a shade is to be replaced, which not everything may serve for."""
        asked = self.target
        gone = isinstance(asked, Swatch) and asked.to_be_replaced
        return gone or self.laid_badly is not None

    def served_by(self, laid: LaidStack) -> bool:
        """Whether what is laid may serve at all, however near it is."""
        if self.laid_badly is not None:
            return lays_better(self.laid_badly, laid.swatches)
        return not self.replaced or _called(self.target) not in laid.addresses

    @property
    def laid_badly(self) -> Swatch | None:
        """The pencil that is to be replaced since it lays badly."""
        asked = self.target
        badly = self.for_laydown and isinstance(asked, Swatch) and asked.lays_badly
        return asked if badly and isinstance(asked, Swatch) else None

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


Missing = tuple[int, ...]
"""Numbers of the offers that something takes."""


@dataclass(frozen=True)
class Supply:
    """Pencils at hand, pencils and sets for sale, and what gives recipes for the colours aimed at.

    `recipes_along` gives those for blends where it is given, as `blend` takes it.
    """

    owned: tuple[Swatch, ...]
    offers: tuple[Offer, ...]
    sets: tuple[SetOffer, ...] = ()
    recipes: RecipeSource = ()
    recipes_along: Recipes | None = None

    @cached_property
    def pencils(self) -> tuple[Swatch, ...]:
        """Everything that can be had."""
        return (*self.owned, *(offer.swatch for offer in self.offers))

    @cached_property
    def sale(self) -> Sale:
        """Everything that can be bought."""
        return Sale(self.offers, self.sets)

    @cached_property
    def alone(self) -> tuple[LaidStack, ...]:
        """Each pencil as in its swatch, in the order of keys."""
        pencils = sorted(self.pencils, key=lambda one: (one.address, one.pressure))
        return tuple(self._alone[one.address] for one in pencils)  # keys themselves come dear

    @cached_property
    def _alone(self) -> dict[str, LaidStack]:
        """The same by address."""
        return {one.address: LaidStack.of(one) for one in self.pencils}

    def made_for(self, aims: Floats) -> Sequence[LaidStack]:
        """Recipes for `aims` (n, 3)."""
        return recipes_from(self.recipes, self.pencils, aims)

    @cached_property
    def missing_alone(self) -> Integers:
        """What each of those laid alone takes, as a table."""
        number = self._number
        taken = [number.get(one.swatches[0].address, -1) for one in self.alone]
        return np.array(taken, dtype=np.intp)[:, np.newaxis]

    def colours(
        self, need: BlendNeed, paths: Sequence[Path], asked: RecipesAlong | None
    ) -> Colours:
        """What a blend may be made of: as for `blend`, with the recipes that were asked for it."""
        ends = {end.address for end in need.fixed if isinstance(end, Swatch)}
        pencils = (one for address, one in self._alone.items() if address not in ends)
        if asked is None:
            made = recipes_from(self.recipes, self.pencils, aims_along(paths, need.step))
            return Colours.of([*pencils, *made], None, need.fixed)
        return Colours.of(pencils, asked.among(frozenset(self._alone)), need.fixed)

    def missing_for(self, addresses: frozenset[str]) -> Missing | None:
        """The numbers of the offers among them; None if one can be neither had nor bought."""
        wanted = addresses - self._owned
        if not wanted <= self._number.keys():
            return None
        return tuple(sorted(self._number[address] for address in wanted))

    @cached_property
    def same_as_owned(self) -> tuple[DoNotBuy, ...]:
        """Each offer that an owned pencil makes needless."""
        return _same_as_owned([self])

    @cached_property
    def _owned(self) -> frozenset[str]:
        return frozenset(swatch.address for swatch in self.owned)

    @cached_property
    def _number(self) -> dict[str, int]:
        return {offer.swatch.address: place for place, offer in enumerate(self.offers)}


def same_as_owned(supplies: Sequence[Supply]) -> tuple[DoNotBuy, ...]:
    """Each offer that is the same to the eye, whatever the paper, as an owned pencil that makes it
    needless.
    """
    if len(supplies) == 1:
        return supplies[0].same_as_owned
    return _same_as_owned(supplies)


def _same_as_owned(supplies: Sequence[Supply]) -> tuple[DoNotBuy, ...]:
    offers, owned = supplies[0].offers, supplies[0].owned
    if not offers or not owned:
        return ()
    labs = [(labs_of([each.swatch for each in one.offers]), labs_of(one.owned)) for one in supplies]
    theirs, ours = labs[0]
    found = []
    for rows, places, _ in pairs_within(theirs, ours, SAME_TO_THE_EYE):
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
