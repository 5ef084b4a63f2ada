"""How a need of a shopping list is laid now and would be then, in JSON and for people."""

from stopgap.blends import Point
from stopgap.planner.shopping.answer import NOT_LOOKED_AT, LaidBlend, LaidColour, NeedAnswer
from stopgap.planner.shopping.question import BlendNeed, Need
from stopgap.reports.blocks import Block, Chip, Figures, Heading, Paragraph, Strip, said, worded
from stopgap.reports.columns import RowField, data_of, plain
from stopgap.reports.terms import nearness_words
from stopgap.reports.wording import laid_rating, stack_data, stack_labels, stack_words
from stopgap.swatches import LaidStack, Swatch


def _laid_data(laid: LaidBlend | LaidColour | None) -> dict[str, object] | None:
    """A need as it can be laid, None where nothing is there to lay it with."""
    if laid is None:
        return None
    if isinstance(laid, LaidColour):
        return data_of(_COLOUR_FIELDS, [laid])[0]
    return data_of(_BLEND_FIELDS, [laid])[0]


_NEED: RowField[NeedAnswer] = RowField("need", lambda answer: answer.need.label)
_REASON: RowField[NeedAnswer] = RowField("reason", lambda answer: answer.reason)
NEED_FIELDS: list[RowField[NeedAnswer]] = [
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
OPEN_FIELDS = [_NEED, _REASON]
"""Those of a need that stays open."""


def _coded(laid: LaidBlend, need: BlendNeed) -> list[tuple[str, Point]]:
    """Each colour of a blend, with what it is called below its chip: codes, of a pencil at an end
    that nothing is near as well.
    """
    first, *inner, last = laid.points
    shown = [
        LaidStack.of(end) if point.laid is None and isinstance(end, Swatch) else point.laid
        for end, point in [(need.start, first), *((None, one) for one in inner), (need.end, last)]
    ]
    codes = iter(stack_labels([one for one in shown if one is not None]))
    return [
        (label if one is None else next(codes), point)
        for label, one, point in zip(laid.labels, shown, laid.points, strict=True)
    ]


def need_blocks(answer: NeedAnswer, *, compare: bool) -> list[Block]:
    state = "met" if answer.met else "stays open"
    blocks: list[Block] = [Heading(f"{answer.need.label}: {state}", whole=compare)]
    if answer.reason == NOT_LOOKED_AT:
        return [*blocks, Paragraph(answer.reason, mark="!"), Paragraph("")]
    touching = _touching(answer) if compare else []
    blocks += touching
    blocks += _laid_blocks("now", answer.before, answer.need, compare=compare, chip=not touching)
    if answer.after == answer.before:
        blocks += [Paragraph("then: the same")] if compare else []
    elif _same_stops(answer.before, answer.after):
        blocks.append(Paragraph("then: the same, with nothing lacking"))
        blocks += _ends_blocks(answer.after)
    else:
        blocks += _laid_blocks(
            "then", answer.after, answer.need, compare=compare, chip=not touching
        )
    if answer.why is not None:
        blocks.append(Paragraph(said(answer.why, str), mark="!"))
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
    name: str, laid: LaidBlend | LaidColour | None, need: Need, *, compare: bool, chip: bool
) -> list[Block]:
    if isinstance(laid, LaidBlend) and isinstance(need, BlendNeed):
        return _blend_blocks(name, laid, need, by_lightness=compare)
    if isinstance(laid, LaidColour):
        return _colour_blocks(name, laid, chip=chip)
    return [Paragraph(f"{name}: nothing")]


def _blend_blocks(
    name: str, laid: LaidBlend, need: BlendNeed, *, by_lightness: bool
) -> list[Block]:
    at_ends = [one.laid for _, one in laid.ends if one is not None]  # told beside their ends
    largest, limit = laid.blend.largest_step, laid.blend.limit
    figures = Figures(
        f"largest step {largest:.1f} (limit {limit:g})",
        "every step melts" if largest <= limit else "there is a gap",
    )
    coded = _coded(laid, need)
    chips = [Chip((point.lab,), code, rated=laid_rating(point.laid)) for code, point in coded]
    recipes = {
        code: Paragraph(f"{code}: {stack_words(point.laid)}", mark=" ")
        for code, point in coded
        if point.laid is not None and point.laid.recipe and point.laid not in at_ends
    }
    return [
        Paragraph(worded(f"{name}: ", figures, _lacking(laid))),
        Strip(chips, laid.blend.steps, limit, by_lightness),
        *recipes.values(),
        *_ends_blocks(laid),
    ]


def _colour_blocks(name: str, laid: LaidColour, *, chip: bool) -> list[Block]:
    words = worded(
        f"{name}: ",
        Figures(f"ΔE {laid.delta_E:.1f} (limit {laid.tolerance:g}) "),
        stack_words(laid.laid),
    )
    said = _by_hand(laid) if laid.laid.recipe else nearness_words(laid)
    return [Chip((laid.laid.lab,), words) if chip else Paragraph(words), Paragraph(said, mark=" ")]


def _by_hand(laid: LaidColour) -> str:
    """How near layers come as nine in ten lay them, and what more there is a chance of."""
    grade, chance = laid.promise.grade, laid.promise.chance
    worst = {
        "noticeable": "it may come out noticeably off",
        "different": "it may come out different",
    }
    return "; ".join(filter(None, [f"laid by hand {worst.get(grade, f'it is {grade}')}", chance]))


def _lacking(laid: LaidBlend) -> str:
    return f"; nothing near enough to {' and '.join(laid.lacking)}" if laid.lacking else ""


def _ends_blocks(laid: LaidBlend | LaidColour | None) -> list[Block]:
    """What ends and stops are laid with, but where that is the pencil that was named."""
    if not isinstance(laid, LaidBlend):
        return []
    return [
        Paragraph(
            worded(f"{name}: ", Figures(f"ΔE {one.delta_E:.1f} "), stack_words(one.laid)),
            mark=" ",
        )
        for name, one in laid.ends
        if one is not None and one.met and one.laid.label != name
    ]
