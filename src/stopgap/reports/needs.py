"""How a need of a shopping list is laid now and would be then, for people."""

from stopgap.planner.shopping.answer import NOT_LOOKED_AT, LaidBlend, LaidColour, NeedAnswer
from stopgap.reports.blocks import Block, Chip, Figures, Heading, Paragraph, Strip, worded
from stopgap.reports.terms import nearness_words
from stopgap.reports.wording import stack_labels, stack_words


def _strip(laid: LaidBlend, *, by_lightness: bool = False) -> Strip:
    """A blend as it can be laid."""
    codes, blend = iter(stack_labels(laid.stacks)), laid.blend
    chips = [
        Chip((point.lab,), label if point.laid is None else next(codes))
        for point, label in zip(laid.points, laid.labels)
    ]
    return Strip(chips, blend.steps, blend.limit, by_lightness)


def need_blocks(answer: NeedAnswer, *, compare: bool) -> list[Block]:
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
        reason = Figures(answer.reason, answer.plain or answer.reason)
        blocks.append(Paragraph(reason, mark="!"))
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
            Paragraph(
                worded(
                    f"{name}: ",
                    Figures(
                        f"largest step {largest:.1f} (limit {limit:g})",
                        "every step melts" if largest <= limit else "there is a gap",
                    ),
                    _lacking(laid),
                )
            ),
            _strip(laid, by_lightness=compare),
            *(
                Paragraph(f"{label}: {stack_words(one)}", mark=" ")
                for label, one in recipes.items()
            ),
            *_ends_blocks(laid),
        ]
    words = worded(
        f"{name}: ",
        Figures(f"ΔE {laid.delta_E:.1f} (limit {laid.tolerance:g}) "),
        stack_words(laid.laid),
    )
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
        Paragraph(
            worded(f"{name}: ", Figures(f"ΔE {one.delta_E:.1f} "), stack_words(one.laid)),
            mark=" ",
        )
        for name, one in laid.ends
        if one is not None and one.met and one.laid.label != name
    ]
