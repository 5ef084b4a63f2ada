"""A shopping list and everything a person needs to check it, also why a need stays open."""

from dataclasses import dataclass, replace
from functools import cached_property
from typing import NamedTuple

from stopgap.blends.blended import Blend, Point
from stopgap.difference import Promise
from stopgap.errors import Note
from stopgap.planner.nearness import instead_note, promise_of
from stopgap.planner.shopping.offers import DoNotBuy, SetOffer
from stopgap.planner.shopping.question import Need
from stopgap.swatches import FreeColour, Lab, LaidStack, Replaced, Swatch, Target, mark_notes


@dataclass(frozen=True, slots=True)
class LaidBlend:
    """A blend as it can be laid.

    `ends` are what start, stops that are pencils, and end are called, and the nearest to each.
    """

    blend: Blend
    ends: "tuple[tuple[str, LaidColour | None], ...]"

    @property
    def lacking(self) -> tuple[str, ...]:
        """The ends and stops that nothing laid is near enough to."""
        return tuple(name for name, laid in self.ends if laid is None or not laid.met)

    @property
    def met(self) -> bool:
        """Whether ends and stops are reached and no step is over the limit."""
        return not self.lacking and self.blend.closed

    @property
    def points(self) -> tuple[Point, ...]:
        """Each colour of it, at ends and stops with what is laid for them, if anything is."""
        (_, start), *stops, (_, end) = self.ends
        reached = dict(stops)
        first, *inner, last = self.blend.points
        return (
            _reached(first, start),
            *(
                _reached(one, reached[name]) if (name := _alone(one)) in reached else one
                for one in inner
            ),
            _reached(last, end),
        )

    @property
    def labels(self) -> tuple[str, ...]:
        """What each colour of it is called."""
        inner = (point.laid.label for point in self.blend.points[1:-1] if point.laid is not None)
        return (self.ends[0][0], *inner, self.ends[-1][0])

    @property
    def colours(self) -> "tuple[LaidColour, ...]":
        """What its ends and stops are laid with."""
        return tuple(laid for _, laid in self.ends if laid is not None)

    @property
    def stacks(self) -> tuple[LaidStack, ...]:
        """What is laid along it."""
        return tuple(point.laid for point in self.points if point.laid is not None)


def _reached(point: Point, laid: "LaidColour | None") -> Point:
    """The colour with what is laid for it, if that is near enough."""
    return replace(point, laid=laid.laid if laid is not None and laid.met else None)


def _alone(point: Point) -> str:
    """The pencil that a colour is laid with alone, empty for any other."""
    laid = point.laid
    return "" if laid is None or laid.recipe else laid.swatches[0].address


@dataclass(frozen=True)
class LaidColour:
    """A listed colour, `lab`, as it can be laid; `laid_badly` is the pencil that it replaces."""

    lab: Lab
    laid: LaidStack
    delta_E: float
    tolerance: float
    target: Target | None = None
    laid_badly: Swatch | None = None

    @property
    def grade(self) -> str:
        """The grade of what is promised."""
        return self.promise.grade

    @cached_property
    def grade_probability(self) -> float | None:
        """How surely it earns the grade that is promised, as in any answer."""
        from stopgap.planner.doubt import grade_probabilities

        return grade_probabilities([self.target or FreeColour("", self.lab)], [self.laid])[0]

    @property
    def likely_probability(self) -> float | None:
        """The same of the likely grade, which is that of a pencil anyhow."""
        return self.promise.likely_probability if self.laid.recipe else self.grade_probability

    @cached_property
    def promise(self) -> Promise:
        """How near it is said to be, in ΔE00."""
        return promise_of(self.lab, self.laid)

    @property
    def met(self) -> bool:
        """Whether it lies within the tolerance."""
        return self.delta_E <= self.tolerance

    @property
    def colours(self) -> "tuple[LaidColour, ...]":
        """The one colour that it is."""
        return (self,)

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
    why: Note | None = None

    @property
    def reason(self) -> str:
        """Why it stays open, in figures; empty where it does not."""
        return "" if self.why is None else self.why.text

    @property
    def met(self) -> bool:
        """Whether the need is met after the purchase."""
        return self.after is not None and self.after.met


@dataclass(frozen=True, slots=True)
class Purchase:
    """A pencil to buy; `purposes` are the labels of the needs it is used for.

    `assumed` says that the price is the stated default; it is None for one that comes in a set,
    whose name `in_set` is. `same_as` are owned pencils that are the
    same to the eye and do as well: it then helps by a hair only.
    """

    swatch: Swatch
    price: float | None
    assumed: bool
    purposes: tuple[str, ...]
    same_as: tuple[Swatch, ...] = ()
    in_set: str = ""


@dataclass(frozen=True, slots=True)
class Alternative:
    """Another list that lacks something of the best one; `shortfall` as in ShoppingList.

    `swatches` are bought by themselves, beside the `sets`.
    """

    swatches: tuple[Swatch, ...]
    cost: float
    shortfall: float
    sets: tuple[SetOffer, ...] = ()


class Aim(NamedTuple):
    """One aim of the lexicographic optimum, its value, the proved bound, and whether they agree;
    where not, whether since it was `too_large` for any time.
    """

    name: str
    value: float
    bound: float
    proved: bool
    too_large: bool = False


@dataclass(frozen=True, slots=True)
class ShoppingList:
    """What to buy and why.

    `status` is "optimal" (proved), "time limit" (the best found; see `bound`) or "infeasible"
    (needs are open and no purchase can meet any of them). `cost` is the price of `buy`; `bound` a
    proved lower bound of the cost of any list as good; `gap` their relative distance. `shortfall`
    is what the needs that were bought for have over their limits after the purchase, in ΔE, times
    their weights. `currency` is what all prices are in, empty where nobody says;
    `guessed` says that some price of what is for sale is not known. `buy` are the pencils that are
    bought by themselves, then those of the `sets`, each set at one price. `needs` are in the
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
    sets: tuple[SetOffer, ...] = ()

    @property
    def gap(self) -> float:
        """(cost - bound) / cost, 0 where nothing is bought."""
        return max(0.0, self.cost - self.bound) / self.cost if self.cost else 0.0

    @property
    def proved(self) -> bool:
        """Whether every aim was proved optimal."""
        return all(aim.proved for aim in self.aims)

    @property
    def too_large(self) -> bool:
        """Whether more time would not have proved more."""
        return any(aim.too_large for aim in self.aims)

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
        instead = map(instead_note, self.replaced)
        many = [Note(TOO_MANY)] if self.too_large else []
        return (*many, *instead, *named, *mark_notes(used), *self.pencil_notes)

    @property
    def replaced(self) -> tuple[Replaced, ...]:
        """What stands in the place of pencils that were asked for and lay badly, each once."""
        laid = (colour for one in self.needs if one.after for colour in one.after.colours)
        put = (
            Replaced(one.laid_badly, one.laid, one.delta_E)
            for one in laid
            if one.laid_badly is not None and one.met
        )
        return tuple({one.asked.address: one for one in put}.values())

    @property
    def brought(self) -> tuple[Swatch, ...]:
        """Every pencil that was not owned and is there then, with those of sets not to be used."""
        beside = (other for one in self.sets for other in one.others if not other.owned)
        return (*(one.swatch for one in self.buy), *beside)

    @property
    def unfilled(self) -> tuple[NeedAnswer, ...]:
        """The needs that stay open."""
        return tuple(answer for answer in self.needs if not answer.met)


TIME_CAME_FIRST = "the time limit came first"
TOO_MANY = (
    "there are too many lists to prove the best of, and more time would not help; "
    "ask for fewer blends at once, or buy from fewer ranges"
)
NOT_LOOKED_AT = "not looked at before the time limit; how it stands is not known"
