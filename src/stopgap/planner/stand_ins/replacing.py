"""Replacing a pencil: which are never the answer, what stands in for one that lays badly, and what
runs out.
"""

from collections.abc import Collection, Sequence
from typing import TYPE_CHECKING, NamedTuple

from stopgap.defaults import PRICE, TOLERANCE
from stopgap.difference import delta_E_ciede2000, grade
from stopgap.errors import Note, NothingFoundError, UsageError
from stopgap.library import Known, NameIndex, find_several
from stopgap.planner.laying import Ground, lay
from stopgap.planner.nearness import instead_note
from stopgap.planner.stand_ins.answer import StandIn
from stopgap.planner.stand_ins.search import find_stand_ins
from stopgap.swatches import (
    Finish,
    LaidStack,
    Replaced,
    Selection,
    Stack,
    Stock,
    Swatch,
    Target,
    avoided_notes,
    mark_notes,
)

if TYPE_CHECKING:
    from stopgap.layering import Layered
    from stopgap.planner.shopping.offers import Offer, Prices


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
    every = swatches if isinstance(swatches, tuple) else tuple(swatches)
    if not isinstance(asked, Swatch):
        if instead:
            raise UsageError(
                "expected a pencil, RANGE:CODE, not a colour of its own.", argument=instead
            )
        return every
    if not (instead or asked.to_be_replaced):
        return every
    return tuple(each for each in every if each.address != asked.address)


class LayingWell(NamedTuple):
    """What is asked for, with what lays better in the place of what lays badly."""

    targets: tuple[Target, ...]
    replaced: tuple[Replaced, ...] = ()
    notes: tuple[Note, ...] = ()


def laying_well(
    asked: Sequence[Target], offered: Sequence[Swatch], *, tolerance: float = TOLERANCE
) -> LayingWell:
    """What is asked, each pencil that lays badly replaced by the nearest of those that are offered
    and known to lay better, of the same core first.

    Raises
    ------
    NothingFoundError
        If none lays better, or the nearest that does is farther off than the tolerance (ΔE00).
    """
    targets = list[Target]()
    put = dict[str, Replaced]()
    for one in asked:
        if not (isinstance(one, Swatch) and one.lays_badly):
            targets.append(one)
            continue
        best = find_stand_ins(one, offered, selection=_LAYING_WELL, limit=1).matches[0]
        if best.delta_E > tolerance:
            raise NothingFoundError(
                f"{one.address} lays badly ({one.laydown} of 5), and nothing that lays better is "
                f"near enough: the nearest, {best.swatch.address}, is {grade(best.delta_E)}."
            )
        put[one.address] = Replaced(one, LaidStack.of(best.swatch), best.delta_E)
        targets.append(best.swatch)
    replaced = tuple(put.values())
    return LayingWell(tuple(targets), replaced, tuple(map(instead_note, replaced)))


def lay_well(stack: Stack, ground: Ground) -> "Layered":
    """What a stack looks like once what lays badly in it is replaced by what is at hand.

    Its notes say what replaces what, and how far that is from the stack that was asked for.

    Raises
    ------
    NothingFoundError
        As `laying_well` does, of what is at hand.
    """
    mine, owns = Selection(owned=True, for_laydown=True).at_hand(ground.swatches)
    well = laying_well(stack.swatches, mine)
    if not well.replaced:
        text = "None of these pencils is known to lay badly."
        return lay(stack, ground.conditions)._replace(notes=(Note(text),))
    swatches = (one for one in well.targets if isinstance(one, Swatch))
    found = lay(Stack.of(*swatches, pressures=stack.pressures), ground.conditions)
    apart = float(delta_E_ciede2000(lay(stack, ground.conditions).lab, found.lab))
    text = f"The layers asked for would come to ΔE00 {apart:.1f} from this."
    came = Note(text, plain=f"Beside the layers asked for this is {grade(apart)}.")
    return found._replace(notes=(*owns, *well.notes, came), replaced=well.replaced)


_LAYING_WELL = Selection(finishes=tuple(Finish), include_discontinued=True, for_laydown=True)


class RunningOut(NamedTuple):
    """A pencil to buy again: why, at which price, and what is owned in its place.

    `price` is None where it is no longer made; `assumed` says that it is the stated default or
    guessed. `stand_ins` are owned and within the tolerance, nearest first; `nearest` is the nearest
    owned one of all, None where there is none. `on` are the papers that it is called for on, where
    there are several: as near as told a stand-in is on each of them. `only_in` are the sets that it
    is sold in, with their prices, where it is not sold by itself; its price is guessed then.
    """

    swatch: Swatch
    why: str
    price: float | None
    assumed: bool
    stand_ins: tuple[StandIn, ...]
    nearest: StandIn | None
    on: tuple[str, ...] = ()
    only_in: str = ""

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


class CalledOn(NamedTuple):
    """What is called for on a paper, by address, and all pencils as they look there."""

    paper: str
    known: Known
    called_for: Collection[str] = ()


def running_out(
    parts: Sequence[CalledOn],
    *,
    selection: Selection | None = None,
    exclude: Sequence[str] = (),
    tolerance: float = TOLERANCE,
    default_price: float | None = PRICE,
) -> Restock:
    """What runs out: pencils that are empty, those of which a stub is left, and of those that are
    called for those not at hand. Each once, with its price and what is owned in its place on the
    papers it is called for on, else on the first. What the user avoids is bought again only where
    it is called for; a note says so.

    Only those of `selection`, in whatever finish, and none that `exclude` names.

    Raises
    ------
    InputError
        For prices in several currencies, or a default price that is none.
    """
    from stopgap.planner.shopping.offers import Prices, currency_of, only_in_sets, set_prices

    wide = (selection or Selection())._replace(
        finishes=tuple(Finish), include_discontinued=True, owned=False
    )
    papers = [_Paper.of(part, wide) for part in parts]
    index = papers[0].pencils
    excluded = {each.address for text in exclude for each in find_several(text, index)}
    called_for = frozenset().union(*(part.called_for for part in parts))
    every = wide.of((*index.swatches, *index.uncoloured))
    found = _to_buy_again(every, called_for, excluded)
    prices, sets = Prices.guessed(every, default_price), set_prices(every)
    offers = {each.address: _offer(each, prices) for _, each in found}
    rows = tuple(
        _running_out(swatch, why, offers[swatch.address], papers, tolerance)._replace(
            only_in=only_in_sets(swatch, sets)
        )
        for why, swatch in found
    )
    listed = offers.keys() | excluded
    notes = (
        *mark_notes(one.swatch for row in rows for one in row.stand_ins),
        *avoided_notes(each for each in every if _runs_low(each) and each.address not in listed),
    )
    return Restock(rows, currency_of([*filter(None, offers.values())]), tolerance, notes)


def _to_buy_again(
    pencils: Sequence[Swatch], called_for: Collection[str], excluded: Collection[str]
) -> list[tuple[str, Swatch]]:
    """Those that run out and why, in the order they are told in."""
    wanted = (each for each in pencils if each.address not in excluded)
    found = [(why, each) for each in wanted if (why := _why(each, called_for))]
    return sorted(found, key=lambda one: (_ORDER.index(one[0]), one[1].address))


class _Paper(NamedTuple):
    """A paper that something is called for on, what is owned as it looks there, and all pencils."""

    name: str
    called_for: Collection[str]
    mine: tuple[Swatch, ...]
    pencils: NameIndex

    @classmethod
    def of(cls, part: CalledOn, selection: Selection) -> "_Paper":
        index = NameIndex.of(part.known)
        return cls(part.paper, part.called_for, selection.at_home.of(index.swatches), index)

    def in_place_of(self, address: str, most: int) -> tuple[StandIn, ...]:
        """The nearest that are at hand, none for what has no colour yet."""
        asked = next((one for one in self.pencils.swatches if one.address == address), None)
        if asked is None:
            return ()
        try:
            return find_stand_ins(asked, self.mine, selection=_MINE, limit=most).matches
        except NothingFoundError:
            return ()


def _offer(swatch: Swatch, prices: "Prices") -> "Offer | None":
    """It for sale, None where it is no longer made."""
    return None if swatch.discontinued else prices.offer(swatch)


def _running_out(
    swatch: Swatch, why: str, offer: "Offer | None", papers: Sequence[_Paper], tolerance: float
) -> RunningOut:
    on = [each for each in papers if swatch.address in each.called_for] or papers[:1]
    near = _owned_in_place(swatch.address, on)
    within = tuple(one for one in near if one.delta_E <= tolerance)[:_STAND_INS_OWNED]
    price, assumed = (None, False) if offer is None else (offer.price, offer.assumed)
    named = tuple(each.name for each in on) if len(papers) > 1 else ()
    nearest = near[0] if near else None
    return RunningOut(swatch, why, price, assumed, within, nearest, named)


def _owned_in_place(address: str, on: Sequence[_Paper]) -> tuple[StandIn, ...]:
    """The nearest that are at hand, each as far off as on the paper where it is farthest."""
    if len(on) == 1:
        return on[0].in_place_of(address, _STAND_INS_OWNED)
    farthest: dict[str, StandIn] = {}
    for paper in on:
        for one in paper.in_place_of(address, max(1, len(paper.mine))):
            known = farthest.get(one.swatch.address, one)
            farthest[one.swatch.address] = max(known, one, key=lambda each: each.delta_E)
    return tuple(sorted(farthest.values(), key=lambda one: (one.delta_E, one.swatch.address)))


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
