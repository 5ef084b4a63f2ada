"""Replacing a pencil: which are never the answer, what lays better, and what runs out."""

from collections.abc import Collection, Sequence
from typing import TYPE_CHECKING, NamedTuple

from stopgap.defaults import PRICE, TOLERANCE
from stopgap.difference import GRADES, delta_E_ciede2000
from stopgap.errors import Note, NothingFoundError, UsageError
from stopgap.library import Known, NameIndex, find_several
from stopgap.planner.materials import labs_of
from stopgap.planner.stand_ins.answer import StandIn, StandIns
from stopgap.planner.stand_ins.search import find_stand_ins
from stopgap.swatches import (
    LAYS_BADLY,
    Finish,
    Selection,
    Stock,
    Swatch,
    Target,
    avoided_notes,
    mark_notes,
)

if TYPE_CHECKING:
    from stopgap.planner.shopping.question import Offer, Prices

_NEAR = GRADES["close"]
"""ΔE00 within which a pencil is worth telling how it lays: this project's choice."""
_MOST_NAMED = 3


def to_answer_with(
    swatches: Sequence[Swatch], asked: Target, *, instead: str = ""
) -> tuple[Swatch, ...]:
    """The swatches without the pencil asked for, where it is to be replaced: where `instead` names
    the argument that says so, or it is discontinued, empty or avoided.

    Raises
    ------
    UsageError
        If a colour of its own is to be replaced.
    """
    if not isinstance(asked, Swatch):
        if instead:
            raise UsageError(
                "expected a pencil, RANGE:CODE, not a colour of its own.", argument=instead
            )
        return tuple(swatches)
    if not (instead or asked.to_be_replaced):
        return tuple(swatches)
    return tuple(each for each in swatches if each.address != asked.address)


class BetterLaying(NamedTuple):
    """The pencils that lay better than one, and what is to be said of those nobody told of."""

    pencils: tuple[Swatch, ...]
    notes: tuple[Note, ...]


def better_laying(asked: Swatch, offered: Sequence[Swatch]) -> BetterLaying:
    """Those of the pencils offered that are known to lay better than the one asked for.

    Where nobody told how that lays, it is those that do not lay badly. Near ones of unknown laydown
    are named, nearest first: to try them is worth the while.

    Raises
    ------
    NothingFoundError
        If no pencil is known to lay better.
    """
    least = LAYS_BADLY if asked.laydown is None else asked.laydown
    others = [each for each in offered if each.address != asked.address]
    better = tuple(each for each in others if (each.laydown or 0) > least)
    near = _near_untold(asked, [each for each in others if each.laydown is None])
    if not better:
        known = "not told" if asked.laydown is None else f"{asked.laydown} of 5"
        raise NothingFoundError(
            " ".join(
                [
                    f"No pencil that may be offered is known to lay better than {asked.address} "
                    f"({known}).",
                    *map(str, near),
                ]
            )
        )
    if asked.laydown is not None:
        return BetterLaying(better, near)
    text = f"How {asked.address} lays was not told: {least + 1} of 5 or better counts."
    return BetterLaying(better, (Note(text), *near))


def _near_untold(asked: Swatch, untold: Sequence[Swatch]) -> tuple[Note, ...]:
    """Which near pencils nobody told of, the nearest first."""
    apart = delta_E_ciede2000(asked.lab, labs_of(untold)).tolist()
    near = sorted((d, each.address) for d, each in zip(apart, untold, strict=True) if d <= _NEAR)
    if not near:
        return ()
    named = ", ".join(f"{address} ({d:.1f} away)" for d, address in near[:_MOST_NAMED])
    more = f" and {len(near) - _MOST_NAMED} more" if len(near) > _MOST_NAMED else ""
    return (Note(f"Nobody told how these lay, which are close too: {named}{more}."),)


def by_laydown(answer: StandIns, found: BetterLaying) -> StandIns:
    """An answer of pencils that lay better: of the same word for nearness those of the same core
    first, and what each has beside its colour.
    """
    asked = answer.target
    core = asked.core if isinstance(asked, Swatch) else None
    grades = list(GRADES)

    def key(match: StandIn) -> tuple[int, bool]:
        alike = core is None or match.swatch.core is core
        return grades.index(match.grade), not (alike or match.grade == grades[-1])

    matches = (
        match._replace(besides=_besides(match.swatch, core))
        for match in sorted(answer.matches, key=key)
    )
    return answer._replace(matches=tuple(matches), notes=(*found.notes, *answer.notes))


def _besides(swatch: Swatch, core: str | None) -> str:
    """How it lays, and its core beside that of the pencil it replaces."""
    lays = f"lays {swatch.laydown} of 5"
    if core is None:
        return lays
    if swatch.core is None:
        return f"{lays}; its core was not told"
    return f"{lays}; {swatch.core}{' too' if swatch.core == core else f', not {core}'}"


class RunningOut(NamedTuple):
    """A pencil to buy again: why, at which price, and what is owned in its place.

    `price` is None where it is no longer made; `assumed` says that it is the stated default or
    guessed. `stand_ins` are owned and within the tolerance, nearest first; `nearest` is the nearest
    owned one of all, None where there is none.
    """

    swatch: Swatch
    why: str
    price: float | None
    assumed: bool
    stand_ins: tuple[StandIn, ...]
    nearest: StandIn | None

    @property
    def met(self) -> bool:
        """Whether it can be bought, or something owned stands in for it."""
        return self.price is not None or bool(self.stand_ins)


class Restock(NamedTuple):
    """What runs out: what is gone first, then what a list calls for, then stubs; and what to buy
    it all again costs, in `currency` where that is known.
    """

    rows: tuple[RunningOut, ...]
    currency: str
    tolerance: float
    notes: tuple[Note, ...] = ()

    @property
    def cost(self) -> float:
        """What all that can be bought costs."""
        return sum(row.price for row in self.rows if row.price is not None)


_STAND_INS_OWNED = 2
_MINE = Selection(owned=True)
_GONE, _CALLED_FOR, _SHORT = _ORDER = "used up", "called for", "a stub"


def running_out(
    known: Known,
    *,
    called_for: Collection[str] = (),
    selection: Selection | None = None,
    exclude: Sequence[str] = (),
    tolerance: float = TOLERANCE,
    default_price: float | None = PRICE,
) -> Restock:
    """What runs out: pencils that are empty, those of which a stub is left, and of those that are
    called for, by address, those not at hand. Each with its price and what is owned in its place.
    What the user avoids is bought again only where it is called for; a note says so.

    Only those of `selection`, in whatever finish, and none that `exclude` names.

    Raises
    ------
    InputError
        For prices in several currencies, or a default price that is none.
    """
    from stopgap.planner.shopping.question import Prices, currency_of

    index = NameIndex.of(known)
    excluded = {each.address for text in exclude for each in find_several(text, index)}
    wide = (selection or Selection())._replace(
        finishes=tuple(Finish), include_discontinued=True, owned=False
    )
    every = wide.of((*index.swatches, *index.uncoloured))
    found = [
        (why, each)
        for each in every
        if each.address not in excluded and (why := _why(each, called_for))
    ]
    found.sort(key=lambda one: (_ORDER.index(one[0]), one[1].address))
    prices = Prices.guessed(every, default_price)
    offers = {each.address: _offer(each, prices) for _, each in found}
    mine = wide.at_home.of(index.swatches)
    rows = tuple(
        _running_out(swatch, why, offers[swatch.address], mine, tolerance) for why, swatch in found
    )
    listed = offers.keys() | excluded
    notes = (
        *mark_notes(one.swatch for row in rows for one in row.stand_ins),
        *avoided_notes(each for each in every if _runs_low(each) and each.address not in listed),
    )
    return Restock(rows, currency_of([*filter(None, offers.values())]), tolerance, notes)


def _offer(swatch: Swatch, prices: "Prices") -> "Offer | None":
    """It for sale, None where it is no longer made."""
    return None if swatch.discontinued else prices.offer(swatch)


def _running_out(
    swatch: Swatch, why: str, offer: "Offer | None", mine: Sequence[Swatch], tolerance: float
) -> RunningOut:
    near = _owned_in_place(swatch, mine)
    within = tuple(one for one in near if one.delta_E <= tolerance)
    price, assumed = (None, False) if offer is None else (offer.price, offer.assumed)
    return RunningOut(swatch, why, price, assumed, within, near[0] if near else None)


def _why(swatch: Swatch, wanted: Collection[str]) -> str:
    """Why a pencil is to be bought again, empty where it is not."""
    called_for = swatch.address in wanted and not swatch.at_hand
    if not (called_for or _runs_low(swatch)) or (swatch.avoid and not called_for):
        return ""
    if swatch.stock is Stock.EMPTY:
        return _GONE
    return _CALLED_FOR if called_for else _SHORT


def _runs_low(swatch: Swatch) -> bool:
    """Whether nothing of it is left, or a stub."""
    return swatch.stock is Stock.EMPTY or (swatch.stock is Stock.STUB and swatch.at_hand)


def _owned_in_place(swatch: Swatch, mine: Sequence[Swatch]) -> tuple[StandIn, ...]:
    """The nearest that are at hand, none for what has no colour yet."""
    if not swatch.coloured:
        return ()
    try:
        return find_stand_ins(swatch, mine, selection=_MINE, limit=_STAND_INS_OWNED).matches
    except NothingFoundError:
        return ()
