"""What to buy, from needs on their papers to an answer."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, NamedTuple

from stopgap.defaults import PRICE, TIME_LIMIT
from stopgap.errors import InputError, Note
from stopgap.library import (
    Known,
    Listed,
    NameIndex,
    find_several,
    find_swatches,
    find_target,
    find_targets,
    spread,
)
from stopgap.planner.shopping.answer import Purchase, ShoppingList
from stopgap.planner.shopping.buying import list_for, supply_of
from stopgap.planner.shopping.listed import ListedNeeds, NeedsOn
from stopgap.planner.shopping.looking import aims_of
from stopgap.planner.shopping.offers import SetOffer
from stopgap.planner.shopping.question import BlendNeed, ColourNeed, Need, Supply
from stopgap.planner.solver import Clock, OutOfTime
from stopgap.swatches import (
    LayingConditions,
    Selection,
    Swatch,
    Swatches,
    departure_notes,
    rated_or_colour,
    unrated_notes,
)

if TYPE_CHECKING:
    from stopgap.layering.recipe_search import Progress
    from stopgap.planner.recipes.cache import RecipeCache
    from stopgap.planner.shopping.task import Progress as Told
    from stopgap.planner.stand_ins.replacing import CalledOn, Restock


class Terms(NamedTuple):
    """What may be spent, in money and in seconds, as `shopping_list` takes them; `currency` is what
    prices are in where none of them says it.
    """

    budget: float | None = None
    default_price: float | None = PRICE
    partial: bool = False
    time_limit: float | None = TIME_LIMIT
    currency: str = ""


def plan_purchase(
    needs: Sequence[Need],
    known: Known,
    *,
    selection: Selection | None = None,
    exclude: Sequence[str] = (),
    layers: LayingConditions | None = None,
    terms: Terms | None = None,
    cache: "RecipeCache | None" = None,
    counter: "Progress | None" = None,
    progress: "Told | None" = None,
) -> ShoppingList:
    """The pencils to buy for those needs, beside what is owned; see `shopping_list`.

    Bought are pencils of `selection` but those that `exclude` names. With `layers`, what is owned
    counts in layers laid so as well. Where the selection is for laydown, nothing that lays badly is
    used, and what is asked for and does so is replaced. `counter` is told how many recipes of how
    many are worked out, `progress` each aim as it is pursued.
    """
    return plan_on_papers(
        [NeedsOn("", tuple(needs), NameIndex.of(known), layers)],
        selection=selection,
        exclude=exclude,
        terms=terms,
        cache=cache,
        counter=counter,
        progress=progress,
    )


def plan_on_papers(
    parts: Sequence[NeedsOn],
    *,
    selection: Selection | None = None,
    exclude: Sequence[str] = (),
    terms: Terms | None = None,
    cache: "RecipeCache | None" = None,
    counter: "Progress | None" = None,
    progress: "Told | None" = None,
) -> ShoppingList:
    """One purchase for needs on several papers, which the name of each then says; else the same."""
    if not any(part.needs for part in parts):
        raise InputError("needs: nothing is asked for; give at least one blend or colour.")
    terms, selection = terms or Terms(), selection or Selection()
    clock = Clock(terms.time_limit)
    found_out = (find_several(text, parts[0].known) for text in exclude)
    excluded = frozenset(each.address for some in found_out for each in some)
    asked: list[tuple[Sequence[Need], Supply]] = []
    notes, short = list[Note](), list[Note]()
    for part in parts:
        supply, departures = _supplied(part.known, selection, excluded, terms.default_price)
        part, said = _as_selected(part, selection)
        notes += said
        supply, said = _with_layers(supply, part, clock, short, cache, counter)
        notes += (*said, *departures)
        asked.append((_named(part) if len(parts) > 1 else part.needs, supply))
    found = list_for(
        asked,
        budget=terms.budget,
        partial=terms.partial,
        time_limit=clock.left,
        progress=progress,
    )
    if short:  # of what layers would spare nothing is known
        aims = tuple(aim._replace(bound=0.0, proved=False) for aim in found.aims)
        found = replace(found, status="time limit", bound=0.0, aims=aims, alternatives=())
    return replace(
        found,
        currency=found.currency or terms.currency,
        pencil_notes=tuple({str(note): note for note in (*short, *notes)}.values()),
    )


def _supplied(
    known: NameIndex, selection: Selection, excluded: frozenset[str], default_price: float | None
) -> tuple[Supply, tuple[Note, ...]]:
    """What a selection of the pencils known offers, and what is said of its colours; of `Swatches`
    reckoned once.
    """

    def reckon() -> tuple[Supply, tuple[Note, ...]]:
        owned = selection.at_home.of(known.swatches)
        for_sale = [
            swatch
            for swatch in selection.of(known.swatches)
            if swatch.to_buy and swatch.address not in excluded
        ]
        pencils = (*known.swatches, *known.uncoloured)
        supply = supply_of(owned, for_sale, default_price, pencils)
        return supply, departure_notes((*owned, *for_sale))

    if not isinstance(known.swatches, Swatches):
        return reckon()
    key = ("supply", known, selection, excluded, default_price)
    found: tuple[Supply, tuple[Note, ...]] = known.swatches.once(key, reckon)
    return found


def _as_selected(part: NeedsOn, selection: Selection) -> tuple[NeedsOn, tuple[Note, ...]]:
    """What is asked for, to be replaced where it lays badly or is not rated as a selection asks."""
    needs, notes = part.needs, list[Note]()
    if selection.for_laydown:
        needs = tuple(replace(need, for_laydown=True) for need in needs)
    if selection.lightfast:
        blends = [need for need in needs if isinstance(need, BlendNeed)]
        ends = [each for need in blends for each in need.fixed]
        notes += unrated_notes(ends, selection.lightfast)
        needs = tuple(_rated(need, selection) for need in needs)
    return part._replace(needs=needs), tuple(notes)


def _named(part: NeedsOn) -> list[Need]:
    """Needs whose names say the paper that they are on."""
    return [replace(need, label=f"{need.label}, on {part.paper}") for need in part.needs]


def _with_layers(
    supply: Supply,
    part: NeedsOn,
    clock: Clock,
    short: list[Note],
    cache: "RecipeCache | None",
    counter: "Progress | None",
) -> tuple[Supply, tuple[Note, ...]]:
    """The same supply with what is owned in layers, and which pencils no recipe takes."""
    if part.layers is None or not supply.owned:
        return supply, ()
    from stopgap.planner.recipes import for_lists
    from stopgap.planner.recipes.along import recipes_along

    clock = clock.part(for_lists.FOR_PURCHASE)
    among = frozenset(swatch.address for swatch in supply.owned)
    try:
        aims = [aims_of(need) for need in part.needs if isinstance(need, BlendNeed)]
        along, notes = recipes_along(aims, supply.owned, part.layers, clock, cache, counter)
    except OutOfTime:
        short.append(for_lists.without_recipes_note(len(part.needs), len(part.needs)))
        return supply, ()
    recipes = for_lists.layered_stacks(
        part.layers,
        among=among,
        cache=cache,
        progress=counter,
        clock=clock,
        missed=lambda some, total: short.append(for_lists.without_recipes_note(some, total)),
    )
    return replace(supply, recipes=recipes, recipes_along=along), notes


def _rated(need: Need, selection: Selection) -> Need:
    """A blend with the colour alone of each end and stop that is not rated as asked."""
    if isinstance(need, ColourNeed):
        return need
    start, end, *stops = (
        rated_or_colour(each, selection.lightfast) for each in (need.start, need.end, *need.stops)
    )
    return replace(need, start=start, end=end, stops=tuple(stops))


@dataclass(frozen=True, slots=True)
class ToBuy:
    """A pencil on the shopping list, what it costs where that is known, and what for."""

    swatch: Swatch
    price: float | None = None
    purpose: str = ""


def listed_to_buy(
    listed: Sequence[Listed], swatches: Sequence[Swatch], *, on_papers: bool = False
) -> list[ToBuy]:
    """The pencils of a list, with its labels as what they are for, and the paper of each where they
    are `on_papers`; raises as `find_swatches`.
    """
    found = find_swatches(listed, NameIndex(swatches))
    return [
        ToBuy(swatch, swatch.price, _for_paper(row.label, row.paper) if on_papers else row.label)
        for row, swatch in zip(listed, found, strict=True)
    ]


def called_for(asked: ListedNeeds) -> "list[CalledOn]":
    """The pencils among what is asked for on each paper, be it nothing."""
    from stopgap.planner.stand_ins.replacing import CalledOn

    called = []
    for ground, _, colours, shades in asked.parts:
        index = NameIndex.of(ground.known)
        named = [target for (target,) in find_targets(spread(colours, index), index)]
        named += [find_target(text, index) for text in shades]
        addresses = frozenset(one.address for one in named if isinstance(one, Swatch))
        called.append(CalledOn(ground.on, ground.known, addresses))
    return called


def planned_to_buy(plan: "ShoppingList | Restock", on: str = "") -> list[ToBuy]:
    """The pencils that a shopping list buys, and what each is for, and `on` which paper."""
    if isinstance(plan, ShoppingList):
        buy = [ToBuy(one.swatch, one.price, _purpose(one)) for one in plan.buy if not one.in_set]
        buy += [one for each in plan.sets for one in _of_set(each, plan)]
    else:
        buy = [ToBuy(row.swatch, row.price, row.why) for row in plan.rows if row.price is not None]
    return [replace(one, purpose=_for_paper(one.purpose, on)) for one in buy] if on else buy


def _for_paper(purpose: str, paper: str) -> str:
    """What a pencil is for, with the paper that it is for."""
    return ", ".join(filter(None, (purpose, f"on {paper}")))


def _purpose(one: Purchase) -> str:
    return f"for {', '.join(one.purposes)}" if one.purposes else ""


def _of_set(sold: SetOffer, plan: ShoppingList) -> list[ToBuy]:
    """The pencils that a set brings, the first with the price of all."""
    its = [one for one in plan.buy if (one.swatch.range, one.in_set) == (sold.range, sold.name)]
    first = f"{sold.called}, {sold.size} pencils together"
    return [
        ToBuy(
            one.swatch,
            0.0 if place else sold.price,
            "; ".join(filter(None, [f"in {sold.called}" if place else first, _purpose(one)])),
        )
        for place, one in enumerate(its)
    ]
