"""Reports of blends and of their gaps."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from stopgap.blends import Blend, Gap, Point
from stopgap.errors import Note
from stopgap.reports.answers.layers import recipe_captions, recipe_data, recipe_labs, recipe_words
from stopgap.reports.blocks import Block, Chip, Column, Grid, Heading, Paragraph, Report, Strip
from stopgap.reports.data import swatch_data
from stopgap.reports.stacks import stack_data, stack_labels, stack_words
from stopgap.reports.words import swatch_words

if TYPE_CHECKING:
    from stopgap.layering import Recipe


def blend_report(found: Blend, notes: Sequence[Note] = ()) -> Report:
    """JSON schema stopgap.blend/1; `notes` are those that are not of the blend itself."""
    data = {
        "name": found.name,
        "limit": found.limit,
        "steps": [
            {"swatch": point_data(point), "step": step, "stray": point.stray}
            for point, step in zip(found.points, (None, *found.steps), strict=True)
        ],
        "largest_step": found.largest_step,
        "largest_stray": found.largest_stray,
        "gaps": [
            {
                "after": point_data(found.points[place]),
                "before": point_data(found.points[place + 1]),
                "step": found.steps[place],
            }
            for place in found.over_limit
        ],
    }
    columns = [Column(""), Column("step", number=True), Column("astray", number=True), Column("")]
    rows: list[list[str | Chip]] = [
        [
            Chip((point.lab,)),
            "" if step is None else f"{step:.1f}",
            f"{point.stray:.1f}",
            point_words(point),
        ]
        for point, step in zip(found.points, (None, *found.steps), strict=True)
    ]
    blocks: list[Block] = [
        *([Heading(found.name)] if found.name else []),
        blend_strip(found),
        Grid(columns, rows),
        Paragraph(
            f"Largest step {found.largest_step:.1f} (limit {found.limit:g}); strays at most "
            f"{found.largest_stray:.1f} from the way."
        ),
    ]
    if not found.closed:
        blocks.append(
            Paragraph(f"{len(found.over_limit)} of {len(found.steps)} steps are gaps.", mark="!")
        )
    flat = [
        (
            place,
            *_flat(point),
            *point.lab,
            step,
            step is not None and step > found.limit,
            point.stray,
        )
        for place, (point, step) in enumerate(zip(found.points, (None, *found.steps), strict=True))
    ]
    names = ("place", "range", "code", "name", "L", "a", "b", "step", "gap", "stray")
    report = Report("stopgap.blend/1", data, blocks, names, flat)
    return report.with_notes([*notes, *found.notes])


def gaps_report(blends: Sequence[Blend], gaps: Sequence[Gap], notes: Sequence[Note] = ()) -> Report:
    """JSON schema stopgap.gaps/1: the gaps that hurt most first; `blends` are shown as strips.

    `notes` are those that are not of one of the blends.
    """
    named = [
        note._replace(text=f"{blend.name}: {note}") for blend in blends for note in blend.notes
    ]
    data = {"gaps": [_gap_data(gap) for gap in gaps]}
    names = (
        "blend",
        "after",
        "before",
        "step",
        "limit",
        "words",
        "layered",
        "closing",
        "remaining",
    )
    rows = [
        (
            gap.blend,
            point_words(gap.after),
            point_words(gap.before),
            gap.step,
            gap.limit,
            gap.words,
            gap.layered,
            "; ".join(swatch.address for swatch in gap.closing),
            gap.remaining,
        )
        for gap in gaps
    ]
    blocks: list[Block] = []
    for blend in blends:
        blocks += [Heading(f"{blend.name}: {_summary(blend)}"), blend_strip(blend), Paragraph("")]
    for gap in gaps:
        blocks += _gap_blocks(gap)
    if not gaps:
        blocks.append(Paragraph("No gap: every step is within its limit."))
    report = Report("stopgap.gaps/1", data, blocks, names, rows)
    return report.with_notes([*notes, *named])


def blend_strip(found: Blend) -> Strip:
    """A blend as a strip."""
    return Strip(
        [
            Chip((point.lab,), label)
            for point, label in zip(found.points, point_labels(found.points), strict=True)
        ],
        found.steps,
        found.limit,
    )


def point_data(point: Point) -> dict[str, object]:
    """A point of a blend in JSON: a swatch, a recipe, or label and Lab of a bare colour."""
    if point.laid is not None:
        return stack_data(point.laid)
    return {"label": point_label(point), "lab": list(point.lab)}


def point_words(point: Point) -> str:
    """A point of a blend in one line."""
    return point_label(point) if point.laid is None else stack_words(point.laid)


def point_label(point: Point) -> str:
    """A point of a blend in one word: its code, or the notation of a bare colour."""
    if point.laid is not None:
        (label,) = stack_labels([point.laid])
        return label
    L, a, b = point.lab
    return f"lab({L:.0f} {a:.0f} {b:.0f})"


def point_labels(points: Sequence[Point]) -> list[str]:
    """The points of one blend each in one word, with pressures where codes would be the same."""
    laid = iter(stack_labels([point.laid for point in points if point.laid is not None]))
    return [point_label(point) if point.laid is None else next(laid) for point in points]


def _flat(point: Point) -> tuple[str, str, str]:
    swatch = point.swatch
    return (
        ("", "", point_words(point)) if swatch is None else (swatch.range, swatch.code, swatch.name)
    )


def _summary(blend: Blend) -> str:
    gaps = len(blend.over_limit)
    count = f"{gaps} gap{'s' if gaps != 1 else ''}" if gaps else "no gap"
    return f"{count}, largest step {blend.largest_step:.1f} (limit {blend.limit:g})"


def _gap_data(gap: Gap) -> dict[str, object]:
    return {
        "blend": gap.blend,
        "place": gap.place,
        "after": point_data(gap.after),
        "before": point_data(gap.before),
        "step": gap.step,
        "limit": gap.limit,
        "words": gap.words,
        "missing": {"label": gap.missing_name, "lab": list(gap.missing)},
        "layered": gap.layered,
        "recipes": [recipe_data(recipe) for recipe in _recipes(gap)],
        "fillers": [
            {
                "swatch": swatch_data(filler.swatch),
                "steps": list(filler.steps),
                "remaining": filler.remaining,
            }
            for filler in gap.fillers
        ],
        "closing": [swatch_data(swatch) for swatch in gap.closing],
        "remaining": gap.remaining,
        "hurt": gap.hurt,
    }


def _gap_blocks(gap: Gap) -> list[Block]:
    blocks: list[Block] = [
        Heading(f"{gap.blend}: gap of {gap.step:.1f} (limit {gap.limit:g})"),
        Chip((gap.after.lab,), f"after {point_words(gap.after)}"),
        Chip((gap.missing,), f"{gap.words}: {gap.missing_name}"),
        Chip((gap.before.lab,), f"before {point_words(gap.before)}"),
    ]
    if gap.crossing is not None:
        steps = ", ".join(f"{step:.1f}" for step in gap.crossing.steps)
        blocks.append(Paragraph(f"Can be layered across with what you own (steps {steps}):"))
        for recipe in _recipes(gap):
            words = "; ".join(recipe_words(recipe))
            blocks.append(Chip(recipe_labs(recipe), words, captions=recipe_captions(recipe)))
    blocks += _closing_blocks(gap)
    return [*blocks, Paragraph("")]


def _closing_blocks(gap: Gap) -> list[Block]:
    if not gap.closing:
        return [Paragraph("No pencil of the known ranges lies in it.")]
    count = len(gap.closing)
    verb = "would close it" if not gap.remaining else "would narrow it"
    still = f", {gap.remaining} still over the limit" if gap.remaining else ""
    return [
        Paragraph(f"{count} {'pencil' if count == 1 else 'pencils'} to buy {verb}{still}:"),
        *(Chip((swatch.lab,), swatch_words(swatch)) for swatch in gap.closing),
    ]


def _recipes(gap: Gap) -> "list[Recipe]":
    """What is known of the layers that cross the gap."""
    crossing = () if gap.crossing is None else gap.crossing.recipes
    return [point.recipe for point in crossing if point.recipe is not None]
