"""The report of a shopping list: what to buy, what for, and how each need stands then."""

from functools import partial
from typing import TYPE_CHECKING, Any

from stopgap.difference import over_words
from stopgap.planner import Alternative, DoNotBuy, Purchase, ShoppingList
from stopgap.planner.shopping.offers import SetOffer
from stopgap.reports.blocks import (
    Block,
    Chip,
    Figures,
    Heading,
    Paragraph,
    Report,
    Say,
    remarks,
    worded,
)
from stopgap.reports.columns import (
    NAMED,
    NOWHERE,
    RowField,
    cells_of,
    data_of,
    grid_of,
    only_shown,
    plain,
    swatch_chip,
    swatch_field,
    titles_of,
)
from stopgap.reports.needs import NEED_FIELDS, OPEN_FIELDS, need_blocks
from stopgap.reports.terms import nearness_words
from stopgap.reports.wording import (
    ASSUMED,
    price_words,
    rated_address,
    replaced_data,
    swatch_data,
    swatch_words,
    swatches_data,
)

if TYPE_CHECKING:
    from stopgap.planner import Holes, Restock, RunningOut
    from stopgap.planner.stand_ins.answer import StandIn

_MOST_NOT_TO_BUY = 8


def shopping_report(
    found: ShoppingList,
    say: Say = str,
    *,
    compare: bool = False,
    holes: "tuple[Holes, Holes] | None" = None,
) -> Report:
    """JSON schema stopgap.shop/1; with `compare` each need as it is laid now beside how it is then.

    `holes` are the maps of what is owned before the purchase and after it.
    """
    notes = remarks(found.notes, say)
    maps, of_maps = _maps(holes)
    data = {
        "buy": data_of(_PURCHASE_FIELDS, found.buy),
        "sets": data_of(_SET_FIELDS, found.sets),
        "cost": found.cost,
        "currency": found.currency or None,
        "status": found.status,
        "bound": found.bound,
        "gap": found.gap,
        "proved": found.proved and not found.guessed,
        "shortfall": found.shortfall,
        "needs": data_of(NEED_FIELDS, found.needs),
        "unfilled": data_of(OPEN_FIELDS, found.unfilled),
        "alternatives": data_of(_ALTERNATIVE_FIELDS, found.alternatives),
        "not_to_buy": data_of(_NOT_TO_BUY_FIELDS, found.not_to_buy),
        "because": found.because,
        "holes": of_maps,
        "notes": [note.text for note in notes],
        "replaced": replaced_data(found.replaced),
        "paper": None,
        "marked": [],
    }
    blocks = [
        *_buy_blocks(found),
        *(block for answer in found.needs for block in need_blocks(answer, compare=compare)),
        *maps,
        *_other_blocks(found),
        *notes,
    ]
    cells = cells_of(_PURCHASE_FIELDS, found.buy)
    return Report("stopgap.shop/1", data, blocks, titles_of(_PURCHASE_FIELDS), cells)


def _maps(holes: "tuple[Holes, Holes] | None") -> tuple[list[Block], dict[str, Any] | None]:
    """What is shown of maps of holes, and in JSON; to load them takes longer than all else here."""
    if holes is None:
        return [], None
    from stopgap.reports.colour_map import change_blocks, change_data

    return change_blocks(holes), change_data(holes)


_PURCHASE_FIELDS: list[RowField[Purchase]] = [
    only_shown("chip", lambda purchase: Chip((purchase.swatch.lab,))),
    only_shown(
        "shown price",
        lambda purchase: (
            "in set" if purchase.in_set else price_words(purchase.price, assumed=purchase.assumed)
        ),
        "price",
        number=True,
    ),
    swatch_field(NAMED, shown=swatch_words, title="buy, and what for"),
    RowField("price", lambda purchase: purchase.price),
    RowField("price_assumed", lambda purchase: purchase.assumed),
    RowField("set", lambda purchase: purchase.in_set or None),
    RowField("for", lambda purchase: purchase.purposes, list, {"for": "; ".join}),
    RowField("same_as", lambda purchase: purchase.same_as, swatches_data, NOWHERE),
]

_SET_FIELDS: list[RowField[SetOffer]] = [
    *plain("range", "name", "price", "size"),
    RowField("others", lambda one: [each.address for each in one.others]),
]
_ALTERNATIVE_FIELDS: list[RowField[Alternative]] = [
    RowField("swatches", lambda other: other.swatches, swatches_data),
    RowField("sets", lambda other: [one.called for one in other.sets]),
    *plain("cost", "shortfall"),
]
_NOT_TO_BUY_FIELDS: list[RowField[DoNotBuy]] = [
    swatch_field(()),
    RowField("owned", lambda one: one.owned, swatch_data),
    *plain("delta_E"),
]


def _buy_blocks(found: ShoppingList) -> list[Block]:
    if not found.buy:
        return [Heading("Nothing to buy"), Paragraph(found.because or "Every need is met.")]
    used = [one for one in found.buy if one.purposes or not one.in_set]
    return [
        Heading(f"Buy {_how_many(found)} for {_sum(found, found.cost)} ({_proof(found)})"),
        grid_of(_PURCHASE_FIELDS, ("chip", "shown price", "swatch"), used, _purpose),
        *(Paragraph(_set_words(one, found), mark="·") for one in found.sets),
        *(
            [Paragraph(ASSUMED, mark="·")]
            if any(purchase.assumed for purchase in found.buy)
            else []
        ),
        Paragraph(""),
    ]


def _proof(found: ShoppingList) -> str:
    """How sure it is that no other list does as much for less."""
    if found.guessed and found.status == "optimal":
        return "the best as far as prices are known: some are guessed"
    how = "of too many to try them all" if found.too_large else "in time"
    return {
        "optimal": "proved: no other list does as much for less",
        "time limit": f"the best found {how}; none can cost less than {_sum(found, found.bound)}",
    }.get(found.status, found.status)


def _sum(found: ShoppingList, cost: float) -> str:
    """An amount with what it is in, where that is known."""
    return f"{cost:.2f} {found.currency}".rstrip()


def _how_many(found: ShoppingList) -> str:
    """How many pencils and sets are bought: `3`, or `1 pencil and 2 sets`."""
    singly, sets = sum(not one.in_set for one in found.buy), len(found.sets)
    if not sets:
        return str(singly)
    counted = ((singly, "pencil"), (sets, "set"))
    return " and ".join(f"{many} {what}{'s' if many > 1 else ''}" for many, what in counted if many)


def _set_words(one: SetOffer, found: ShoppingList) -> str:
    """What a set costs, and what of it nothing here needs."""
    here = [each for each in found.buy if (each.swatch.range, each.in_set) == (one.range, one.name)]
    spare = [each.swatch.address for each in here if not each.purposes]
    told = [f"{one.called}: {one.size} pencils for {_sum(found, one.price)} together"]
    told += [f"with them come {', '.join(spare)}"] if spare else []
    others = ", ".join(each.address for each in one.others)
    told += [f"in it too, but owned already or not to be used: {others}"] if others else []
    return "; ".join(told) + "."


def _purpose(purchase: Purchase) -> list[str]:
    remarks = [f"for {', '.join(purchase.purposes)}"] if purchase.purposes else []
    remarks += [f"in the set {purchase.in_set}"] if purchase.in_set else []
    remarks += [f"! looks the same as your {swatch_words(one)}" for one in purchase.same_as]
    return remarks


def _other_blocks(found: ShoppingList) -> list[Block]:
    blocks: list[Block] = []
    if found.alternatives:
        blocks.append(Heading("Other lists near it"))
        for other in found.alternatives:
            bought = [*map(rated_address, other.swatches), *(one.called for one in other.sets)]
            codes = ", ".join(bought)
            by = Figures(f" by {other.shortfall:.1f}")
            short = worded(", falling short", by) if other.shortfall else ""
            blocks.append(Paragraph(worded(_sum(found, other.cost), short, f": {codes}")))
    if found.not_to_buy:
        blocks.append(Heading("Not to buy: you own the same"))
        blocks += [
            Chip(
                (one.swatch.lab, one.owned.lab),
                f"{swatch_words(one.swatch)} looks like {swatch_words(one.owned)}",
                captions=("on sale", "yours"),
            )
            for one in found.not_to_buy[:_MOST_NOT_TO_BUY]
        ]
        more = len(found.not_to_buy) - _MOST_NOT_TO_BUY
        if more > 0:
            blocks.append(Paragraph(f"… and {more} more."))
    return blocks


def restock_report(found: "Restock", say: Say = str) -> Report:
    """JSON schema stopgap.restock/1."""
    notes = remarks(found.notes, say)
    data = {
        "runs_out": data_of(_RUNNING_OUT_FIELDS, found.rows),
        "cost": found.cost,
        "currency": found.currency or None,
        "tolerance": found.tolerance,
        "notes": [note.text for note in notes],
        "paper": None,
        "marked": [],
    }
    blocks: list[Block] = [Heading("Nothing runs out")]
    if found.rows:
        cost = f"{found.cost:.2f} {found.currency}".rstrip()
        title = f"{len(found.rows)} to restock, {cost} in all"
        said, keys = partial(_in_its_place, tolerance=found.tolerance), ("chip", "cost", "swatch")
        blocks = [Heading(title), grid_of(_RUNNING_OUT_FIELDS, keys, found.rows, said)]
    if any(row.assumed for row in found.rows):
        blocks.append(Paragraph(ASSUMED, mark="·"))
    cells = cells_of(_RUNNING_OUT_FIELDS, found.rows)
    titles = titles_of(_RUNNING_OUT_FIELDS)
    return Report("stopgap.restock/1", data, [*blocks, *notes], titles, cells)


def _in_its_place(row: "RunningOut", tolerance: float) -> list[str]:
    """What is owned instead; that it is empty or a stub is marked behind its name."""
    said = [", on ".join(("called for", *row.on))] if row.why == "called for" or row.on else []
    said += ["! no longer made: it cannot be bought again"] if row.price is None else []
    said += [f"! sold in a set only: {row.only_in}"] if row.only_in else []
    said += [
        Figures(
            f"→ {one.delta_E:.1f} {swatch_words(one.swatch)}",
            f"→ {swatch_words(one.swatch)}: {nearness_words(one)}",
        )
        for one in row.stand_ins
    ]
    if row.stand_ins or row.nearest is None:
        return said
    nearest = row.nearest.swatch.address
    return [
        *said,
        Figures(
            f"nothing of yours within {tolerance:g}: {nearest} is "
            f"{over_words(row.nearest.delta_E, tolerance)} away",
            f"nothing of yours is near enough: the nearest is {nearest}",
        ),
    ]


_OWNED_FIELDS: "list[RowField[StandIn]]" = [
    swatch_field(()),
    *plain("delta_E", "grade", "grade_probability", "words"),
]
_RUNNING_OUT_FIELDS: "list[RowField[RunningOut]]" = [
    only_shown("chip", lambda row: swatch_chip(row.swatch)),
    only_shown(
        "cost", lambda row: price_words(row.price, assumed=row.assumed), "price", number=True
    ),
    swatch_field(NAMED, shown=swatch_words, title="runs out, and what you own instead"),
    *plain("why", "price"),
    RowField("on", lambda row: row.on, list, {"on": "; ".join}),
    RowField("price_assumed", lambda row: row.assumed),
    RowField(
        "stand_ins",
        lambda row: row.stand_ins,
        lambda found: data_of(_OWNED_FIELDS, found),
        {"stand_ins": lambda found: "; ".join(one.swatch.address for one in found)},
    ),
    *plain("met"),
]
