"""The report of a shopping list: what to buy, what for, and how each need stands then."""

from stopgap.blends import Point
from stopgap.planner import (
    NOT_LOOKED_AT,
    Alternative,
    BlendNeed,
    DoNotBuy,
    Holes,
    LaidBlend,
    LaidColour,
    NeedAnswer,
    Purchase,
    ShoppingList,
)
from stopgap.reports.blocks import Block, Chip, Heading, Paragraph, Report, Say, Strip, remarks
from stopgap.reports.colour_map import change_blocks, change_data
from stopgap.reports.columns import (
    NAMED,
    NOWHERE,
    RowField,
    cells_of,
    data_of,
    grid_of,
    only_shown,
    plain,
    swatch_field,
    titles_of,
)
from stopgap.reports.wording import (
    ASSUMED,
    nearness_words,
    price_words,
    replaced_data,
    stack_data,
    stack_labels,
    stack_words,
    swatch_data,
    swatch_words,
    swatches_data,
)

_MOST_NOT_TO_BUY = 8


def shopping_report(
    found: ShoppingList,
    say: Say = str,
    *,
    compare: bool = False,
    holes: tuple[Holes, Holes] | None = None,
) -> Report:
    """JSON schema stopgap.shop/1; with `compare` each need as it is laid now beside how it is then.

    `holes` are the maps of what is owned before the purchase and after it.
    """
    notes = remarks(found.notes, say)
    data = {
        "buy": data_of(_PURCHASE_FIELDS, found.buy),
        "cost": found.cost,
        "currency": found.currency or None,
        "status": found.status,
        "bound": found.bound,
        "gap": found.gap,
        "proved": found.proved and not found.guessed,
        "shortfall": found.shortfall,
        "needs": data_of(_NEED_FIELDS, found.needs),
        "unfilled": data_of([_NEED, _REASON], found.unfilled),
        "alternatives": data_of(_ALTERNATIVE_FIELDS, found.alternatives),
        "not_to_buy": data_of(_NOT_TO_BUY_FIELDS, found.not_to_buy),
        "because": found.because,
        "holes": change_data(holes),
        "notes": [note.text for note in notes],
        "replaced": replaced_data(found.replaced),
        "paper": None,
        "marked": [],
    }
    blocks = [
        *_buy_blocks(found),
        *(block for answer in found.needs for block in _need_blocks(answer, compare=compare)),
        *(change_blocks(holes) if holes is not None else []),
        *_other_blocks(found),
        *notes,
    ]
    cells = cells_of(_PURCHASE_FIELDS, found.buy)
    return Report("stopgap.shop/1", data, blocks, titles_of(_PURCHASE_FIELDS), cells)


def _laid_data(laid: LaidBlend | LaidColour | None) -> dict[str, object] | None:
    """A need as it can be laid, None where nothing is there to lay it with."""
    if laid is None:
        return None
    if isinstance(laid, LaidColour):
        return data_of(_COLOUR_FIELDS, [laid])[0]
    return data_of(_BLEND_FIELDS, [laid])[0]


_PURCHASE_FIELDS: list[RowField[Purchase]] = [
    only_shown("chip", lambda purchase: Chip((purchase.swatch.lab,))),
    only_shown(
        "shown price",
        lambda purchase: price_words(purchase.price, assumed=purchase.assumed),
        "price",
        number=True,
    ),
    swatch_field(NAMED, shown=swatch_words, title="buy, and what for"),
    RowField("price", lambda purchase: purchase.price),
    RowField("price_assumed", lambda purchase: purchase.assumed),
    RowField("for", lambda purchase: purchase.purposes, list, {"for": "; ".join}),
    RowField("same_as", lambda purchase: purchase.same_as, swatches_data, NOWHERE),
]

_ALTERNATIVE_FIELDS: list[RowField[Alternative]] = [
    RowField("swatches", lambda other: other.swatches, swatches_data),
    *plain("cost", "shortfall"),
]
_NOT_TO_BUY_FIELDS: list[RowField[DoNotBuy]] = [
    swatch_field(()),
    RowField("owned", lambda one: one.owned, swatch_data),
    *plain("delta_E"),
]

_NEED: RowField[NeedAnswer] = RowField("need", lambda answer: answer.need.label)
_REASON: RowField[NeedAnswer] = RowField("reason", lambda answer: answer.reason)
_NEED_FIELDS: list[RowField[NeedAnswer]] = [
    _NEED,
    RowField("kind", lambda answer: "blend" if isinstance(answer.need, BlendNeed) else "colour"),
    *plain("met"),
    RowField("before", lambda answer: answer.before, _laid_data),
    RowField("after", lambda answer: answer.after, _laid_data),
    _REASON,
]
_COLOUR_FIELDS: list[RowField[LaidColour]] = [
    RowField("way", lambda laid: laid.laid, stack_data),
    *plain("delta_E"),
    *plain("grade"),
    RowField("likely_grade", lambda laid: laid.promise.likely_grade),
    *plain("grade_probability", "likely_probability"),
    RowField("limit", lambda laid: laid.tolerance),
]
_STOP_FIELDS: list[RowField[tuple[Point, str]]] = [
    RowField("label", lambda stop: stop[1]),
    RowField("lab", lambda stop: stop[0].lab, list),
    RowField(
        "way", lambda stop: stop[0].laid, lambda laid: None if laid is None else stack_data(laid)
    ),
]
_BLEND_FIELDS: list[RowField[LaidBlend]] = [
    RowField(
        "stops",
        lambda laid: zip(laid.points, laid.labels, strict=True),
        lambda stops: data_of(_STOP_FIELDS, stops),
    ),
    RowField("steps", lambda laid: laid.blend.steps, list),
    RowField("largest_step", lambda laid: laid.blend.largest_step),
    RowField("limit", lambda laid: laid.blend.limit),
]


def _strip(laid: LaidBlend, *, by_lightness: bool = False) -> Strip:
    """A blend as it can be laid."""
    codes, blend = iter(stack_labels(laid.stacks)), laid.blend
    chips = [
        Chip((point.lab,), label if point.laid is None else next(codes))
        for point, label in zip(laid.points, laid.labels)
    ]
    return Strip(chips, blend.steps, blend.limit, by_lightness)


def _buy_blocks(found: ShoppingList) -> list[Block]:
    if not found.buy:
        return [Heading("Nothing to buy"), Paragraph(found.because or "Every need is met.")]
    proof = {
        "optimal": "proved: no other list does as much for less",
        "time limit": f"the best found in time; none can cost less than {_sum(found, found.bound)}",
    }.get(found.status, found.status)
    if found.guessed and found.status == "optimal":
        proof = "the best as far as prices are known: some are guessed"
    return [
        Heading(f"Buy {len(found.buy)} for {_sum(found, found.cost)} ({proof})"),
        grid_of(_PURCHASE_FIELDS, ("chip", "shown price", "swatch"), found.buy, _purpose),
        *(
            [Paragraph(ASSUMED, mark="·")]
            if any(purchase.assumed for purchase in found.buy)
            else []
        ),
        Paragraph(""),
    ]


def _sum(found: ShoppingList, cost: float) -> str:
    """An amount with what it is in, where that is known."""
    return f"{cost:.2f} {found.currency}".rstrip()


def _purpose(purchase: Purchase) -> list[str]:
    remarks = [f"for {', '.join(purchase.purposes)}"]
    remarks += [f"! looks the same as your {swatch_words(one)}" for one in purchase.same_as]
    return remarks


def _need_blocks(answer: NeedAnswer, *, compare: bool) -> list[Block]:
    state = "met" if answer.met else "stays open"
    blocks: list[Block] = [Heading(f"{answer.need.label}: {state}", whole=compare)]
    if answer.reason == NOT_LOOKED_AT:
        return [*blocks, Paragraph(answer.reason, mark="!"), Paragraph("")]
    touching = _touching(answer) if compare else []
    blocks += touching
    for name, laid in (("now", answer.before), ("then", answer.after)):
        if name == "then" and answer.after == answer.before:
            blocks += [Paragraph("then: the same")] if compare else []
            continue
        if name == "then" and _same_stops(answer.before, answer.after):
            blocks.append(Paragraph("then: the same, with nothing lacking"))
            blocks += _ends_blocks(answer.after)
            continue
        blocks += _laid_blocks(name, laid, compare=compare, chip=not touching)
    if answer.reason:
        blocks.append(Paragraph(answer.reason, mark="!"))
    return [*blocks, Paragraph("")]


def _touching(answer: NeedAnswer) -> list[Block]:
    """A colour as target, now, target, then; nothing of a blend, or where there is no colour."""
    both = [laid for laid in (answer.before, answer.after) if isinstance(laid, LaidColour)]
    if len(both) < 2:
        return []
    labs = [lab for laid in both for lab in (laid.lab, laid.laid.lab)]
    return [Chip(tuple(labs), captions=("target", "now", "target", "then"))]


def _same_stops(one: LaidBlend | LaidColour | None, other: LaidBlend | LaidColour | None) -> bool:
    """The blend is laid alike, and `other` lacks nothing."""
    if not isinstance(one, LaidBlend) or not isinstance(other, LaidBlend):
        return False
    return one.blend == other.blend and not other.lacking


def _laid_blocks(
    name: str, laid: LaidBlend | LaidColour | None, *, compare: bool, chip: bool
) -> list[Block]:
    if laid is None:
        return [Paragraph(f"{name}: nothing")]
    if isinstance(laid, LaidBlend):
        labels = zip(stack_labels(laid.stacks), laid.stacks)
        at_ends = [one.laid for _, one in laid.ends if one is not None]  # told beside their ends
        recipes = {label: one for label, one in labels if one.recipe and one not in at_ends}
        largest, limit = laid.blend.largest_step, laid.blend.limit
        return [
            Paragraph(f"{name}: largest step {largest:.1f} (limit {limit:g}){_lacking(laid)}"),
            _strip(laid, by_lightness=compare),
            *(
                Paragraph(f"{label}: {stack_words(one)}", mark=" ")
                for label, one in recipes.items()
            ),
            *_ends_blocks(laid),
        ]
    words = f"{name}: ΔE {laid.delta_E:.1f} (limit {laid.tolerance:g}) {stack_words(laid.laid)}"
    promised = [f"promised: {laid.promise.grade}", *filter(None, [laid.promise.chance])]
    said = "; ".join(promised) if laid.laid.recipe else nearness_words(laid)
    return [Chip((laid.laid.lab,), words) if chip else Paragraph(words), Paragraph(said, mark=" ")]


def _lacking(laid: LaidBlend) -> str:
    return f"; nothing near enough to {' and '.join(laid.lacking)}" if laid.lacking else ""


def _ends_blocks(laid: LaidBlend | LaidColour | None) -> list[Block]:
    """What ends and stops are laid with, but where that is the pencil that was named."""
    if not isinstance(laid, LaidBlend):
        return []
    return [
        Paragraph(f"{name}: ΔE {one.delta_E:.1f} {stack_words(one.laid)}", mark=" ")
        for name, one in laid.ends
        if one is not None and one.met and one.laid.label != name
    ]


def _other_blocks(found: ShoppingList) -> list[Block]:
    blocks: list[Block] = []
    if found.alternatives:
        blocks.append(Heading("Other lists near it"))
        for other in found.alternatives:
            codes = ", ".join(swatch.address for swatch in other.swatches)
            short = f", falling short by {other.shortfall:.1f}" if other.shortfall else ""
            blocks.append(Paragraph(f"{_sum(found, other.cost)}{short}: {codes}"))
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
