"""The answer of `gaps`: where blends break, and what would close them."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from stopgap.blends import Blend, Gap
from stopgap.planner import GapsFound
from stopgap.reports.answers.layers import (
    recipe_captions,
    recipe_labs,
    recipe_words,
    recipes_data,
)
from stopgap.reports.blocks import Block, Chip, Heading, Paragraph, Report, Say, remarks
from stopgap.reports.columns import NOWHERE, RowField, cells_of, data_of, plain, titles_of
from stopgap.reports.wording import blend_strip, point_data, point_words, swatch_data, swatch_words
from stopgap.swatches import Swatch

if TYPE_CHECKING:
    from stopgap.layering import Recipe


def gaps_report(answer: GapsFound, say: Say = str) -> Report:
    """JSON schema stopgap.gaps/1: the gaps that hurt most first; blends are shown as strips."""
    notes = remarks(answer.notes, say)
    blocks: list[Block] = []
    for blend, alone in zip(answer.blends, answer.alone or answer.blends, strict=True):
        heading = Heading(f"{blend.name}: {_summary(blend, alone)}")
        blocks += [heading, blend_strip(blend), Paragraph("")]
    for gap in answer.gaps:
        blocks += _gap_blocks(gap, with_layers=answer.alone is not None)
    if not answer.gaps:
        blocks.append(Paragraph("No gap: every step is within its limit."))
    return Report(
        "stopgap.gaps/1",
        {"gaps": data_of(_FIELDS, answer.gaps), "notes": [note.text for note in notes]},
        [*blocks, *notes],
        titles_of(_FIELDS),
        cells_of(_FIELDS, answer.gaps),
    )


def _summary(blend: Blend, alone: Blend) -> str:
    """How a blend is, and how its pencils alone are where layers carry it."""
    layered = any(point.layered for point in blend.points)
    count = f"{_count(blend)} with layers" if layered else _count(blend)
    words = f"{count}, largest step {blend.largest_step:.1f} (limit {blend.limit:g})"
    return f"{words}; {_count(alone)} between pencils alone" if layered else words


def _count(blend: Blend) -> str:
    gaps = len(blend.over_limit)
    return f"{gaps} gap{'s' if gaps != 1 else ''}" if gaps else "no gap"


def _fillers(gap: Gap) -> list[dict[str, object]]:
    return [
        {
            "swatch": swatch_data(filler.swatch),
            "steps": list(filler.steps),
            "remaining": filler.remaining,
        }
        for filler in gap.fillers
    ]


def _swatches_data(swatches: Sequence[Swatch]) -> list[dict[str, object]]:
    return [swatch_data(swatch) for swatch in swatches]


def _addresses(swatches: Sequence[Swatch]) -> str:
    return "; ".join(swatch.address for swatch in swatches)


def _missing(gap: Gap) -> dict[str, object]:
    return {"label": gap.missing_name, "lab": list(gap.missing)}


def _gap_blocks(gap: Gap, *, with_layers: bool) -> list[Block]:
    which = "between pencils alone a gap" if with_layers else "gap"
    blocks: list[Block] = [
        Heading(f"{gap.blend}: {which} of {gap.step:.1f} (limit {gap.limit:g})"),
        Chip((gap.after.lab,), f"after {point_words(gap.after)}"),
        Chip((gap.missing,), f"{gap.words}: {gap.missing_name}"),
        Chip((gap.before.lab,), f"before {point_words(gap.before)}"),
    ]
    if gap.crossing is not None:
        steps = ", ".join(f"{step:.1f}" for step in gap.crossing.steps)
        blocks.append(Paragraph(f"Layered across with what you own (steps {steps}):"))
        for recipe in _recipes(gap):
            words = "; ".join(recipe_words(recipe))
            blocks.append(Chip(recipe_labs(recipe), words, captions=recipe_captions(recipe)))
    elif with_layers:
        blocks.append(Paragraph("Layers of what you own do not carry across it."))
    blocks += _closing_blocks(gap)
    return [*blocks, Paragraph("")]


def _closing_blocks(gap: Gap) -> list[Block]:
    if not gap.closing:
        return [Paragraph("No pencil of the known ranges lies in it.")]
    count = len(gap.closing)
    verb = "would close it" if not gap.remaining else "would narrow it"
    still = f", {gap.remaining} still over the limit" if gap.remaining else ""
    still += " without layers" if gap.layered else ""
    return [
        Paragraph(f"{count} {'pencil' if count == 1 else 'pencils'} to buy {verb}{still}:"),
        *(Chip((swatch.lab,), swatch_words(swatch)) for swatch in gap.closing),
    ]


def _recipes(gap: Gap) -> "list[Recipe]":
    """What is known of the layers that cross the gap."""
    crossing = () if gap.crossing is None else gap.crossing.recipes
    return [point.recipe for point in crossing if point.recipe is not None]


_FIELDS: list[RowField[Gap]] = [
    *plain("blend"),
    RowField("place", lambda gap: gap.place, cells=NOWHERE),
    RowField("after", lambda gap: gap.after, point_data, {"after": point_words}),
    RowField("before", lambda gap: gap.before, point_data, {"before": point_words}),
    *plain("step", "limit", "words"),
    RowField("missing", _missing, cells=NOWHERE),
    *plain("layered"),
    RowField("recipes", _recipes, recipes_data, NOWHERE),
    RowField("fillers", _fillers, cells=NOWHERE),
    RowField("closing", lambda gap: gap.closing, _swatches_data, {"closing": _addresses}),
    *plain("remaining"),
    RowField("hurt", lambda gap: gap.hurt, cells=NOWHERE),
]
