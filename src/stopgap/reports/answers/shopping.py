"""The report of a shopping list: what to buy, what for, and how each need stands then."""

from stopgap.planner import (
    BlendNeed,
    Chain,
    Laid,
    NeedAnswer,
    Purchase,
    ShoppingList,
)
from stopgap.reports.blocks import Block, Chip, Column, Grid, Heading, Paragraph, Report, Strip
from stopgap.reports.data import swatch_data
from stopgap.reports.stacks import stack_data, stack_labels, stack_words
from stopgap.reports.words import swatch_words

_COLUMNS = ("range", "code", "name", "price", "price_assumed", "for")
_MOST_NOT_TO_BUY = 8


def shopping_report(found: ShoppingList) -> Report:
    """JSON schema stopgap.shop/1."""
    data = {
        "buy": [
            {
                "swatch": swatch_data(purchase.swatch),
                "price": purchase.price,
                "price_assumed": purchase.assumed,
                "for": list(purchase.purposes),
                "same_as": [swatch_data(swatch) for swatch in purchase.same_as],
            }
            for purchase in found.buy
        ],
        "cost": found.cost,
        "status": found.status,
        "bound": found.bound,
        "gap": found.gap,
        "proved": found.proved,
        "shortfall": found.shortfall,
        "needs": [_need_data(answer) for answer in found.needs],
        "unfilled": [
            {"need": answer.need.label, "reason": answer.reason} for answer in found.unfilled
        ],
        "alternatives": [
            {
                "swatches": [swatch_data(swatch) for swatch in other.swatches],
                "cost": other.cost,
                "shortfall": other.shortfall,
            }
            for other in found.alternatives
        ],
        "not_to_buy": [
            {
                "swatch": swatch_data(one.swatch),
                "owned": swatch_data(one.owned),
                "delta_E": one.delta_E,
            }
            for one in found.not_to_buy
        ],
        "because": found.because,
    }
    rows = [
        (
            purchase.swatch.range,
            purchase.swatch.code,
            purchase.swatch.name,
            purchase.price,
            purchase.assumed,
            "; ".join(purchase.purposes),
        )
        for purchase in found.buy
    ]
    blocks = [
        *_buy_blocks(found),
        *(block for answer in found.needs for block in _need_blocks(answer)),
        *_other_blocks(found),
    ]
    return Report("stopgap.shop/1", data, blocks, _COLUMNS, rows)


def chain_strip(chain: Chain) -> Strip:
    """A blend as it can be laid."""
    labels = iter(stack_labels(chain.ways))
    chips = [
        Chip((stop.lab,), stop.label if stop.way is None else next(labels)) for stop in chain.stops
    ]
    return Strip(chips, chain.steps, chain.limit)


def _buy_blocks(found: ShoppingList) -> list[Block]:
    if not found.buy:
        return [Heading("Nothing to buy"), Paragraph(found.because or "Every need is met.")]
    columns = [Column(""), Column("price", number=True), Column("buy, and what for")]
    rows: list[list[str | Chip]] = [
        [
            Chip((purchase.swatch.lab,)),
            f"{purchase.price:.2f}{'?' if purchase.assumed else ''}",
            swatch_words(purchase.swatch),
        ]
        for purchase in found.buy
    ]
    remarks = {place: _purpose(purchase) for place, purchase in enumerate(found.buy)}
    proof = {
        "optimal": "proved: no other list does as much for less",
        "time limit": f"the best found in time; none can cost less than {found.bound:.2f}",
    }.get(found.status, found.status)
    return [
        Heading(f"Buy {len(found.buy)} for {found.cost:.2f} ({proof})"),
        Grid(columns, rows, remarks),
        *(
            [Paragraph("A price with ? is the default, since none is known.", mark="·")]
            if any(purchase.assumed for purchase in found.buy)
            else []
        ),
        Paragraph(""),
    ]


def _purpose(purchase: Purchase) -> list[str]:
    remarks = [f"for {', '.join(purchase.purposes)}"]
    remarks += [f"! looks the same as your {swatch_words(one)}" for one in purchase.same_as]
    return remarks


def _need_blocks(answer: NeedAnswer) -> list[Block]:
    state = "met" if answer.met else "stays open"
    blocks: list[Block] = [Heading(f"{answer.need.label}: {state}")]
    for name, laid in (("now", answer.before), ("then", answer.after)):
        if name == "then" and answer.after == answer.before:
            continue
        if name == "then" and _same_stops(answer.before, answer.after):
            blocks.append(Paragraph("then: the same, with nothing lacking"))
            continue
        blocks += _laid_blocks(name, laid)
    if answer.reason:
        blocks.append(Paragraph(answer.reason, mark="!"))
    return [*blocks, Paragraph("")]


def _same_stops(one: Chain | Laid | None, other: Chain | Laid | None) -> bool:
    """The blend is laid alike, and `other` lacks nothing."""
    if not isinstance(one, Chain) or not isinstance(other, Chain):
        return False
    return one.stops == other.stops and other.start_there and other.end_there


def _laid_blocks(name: str, laid: Chain | Laid | None) -> list[Block]:
    if laid is None:
        return [Paragraph(f"{name}: nothing")]
    if isinstance(laid, Chain):
        recipes = {
            label: way for label, way in zip(stack_labels(laid.ways), laid.ways) if way.recipe
        }
        return [
            Paragraph(
                f"{name}: largest step {laid.largest:.1f} (limit {laid.limit:g}){_lacking(laid)}"
            ),
            chain_strip(laid),
            *(
                Paragraph(f"{label}: {stack_words(way)}", mark=" ")
                for label, way in recipes.items()
            ),
        ]
    words = f"{name}: ΔE {laid.delta_E:.1f} (limit {laid.tolerance:g}) {stack_words(laid.way)}"
    return [Chip((laid.way.lab,), words)]


def _lacking(chain: Chain) -> str:
    lacking = [
        stop.label
        for stop, there in (
            (chain.stops[0], chain.start_there),
            (chain.stops[-1], chain.end_there),
        )
        if not there
    ]
    return f"; you lack {' and '.join(lacking)}" if lacking else ""


def _other_blocks(found: ShoppingList) -> list[Block]:
    blocks: list[Block] = []
    if found.alternatives:
        blocks.append(Heading("Other lists near it"))
        for other in found.alternatives:
            codes = ", ".join(swatch.address for swatch in other.swatches)
            short = f", falling short by {other.shortfall:.1f}" if other.shortfall else ""
            blocks.append(Paragraph(f"{other.cost:.2f}{short}: {codes}"))
    if found.not_to_buy:
        blocks.append(Heading("Not to buy: you own the same colour"))
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


def _need_data(answer: NeedAnswer) -> dict[str, object]:
    kind = "blend" if isinstance(answer.need, BlendNeed) else "colour"
    return {
        "need": answer.need.label,
        "kind": kind,
        "met": answer.met,
        "before": _laid_data(answer.before),
        "after": _laid_data(answer.after),
        "reason": answer.reason,
    }


def _laid_data(laid: Chain | Laid | None) -> dict[str, object] | None:
    if laid is None:
        return None
    if isinstance(laid, Laid):
        return {"way": stack_data(laid.way), "delta_E": laid.delta_E, "limit": laid.tolerance}
    return {
        "stops": [
            {
                "label": stop.label,
                "lab": list(stop.lab),
                "way": stack_data(stop.way) if stop.way else None,
            }
            for stop in laid.stops
        ],
        "steps": list(laid.steps),
        "largest_step": laid.largest,
        "limit": laid.limit,
    }
