"""The answers of `blend` and `gaps`: pencils from one colour to another, and what closes gaps."""

from collections.abc import Sequence
from operator import attrgetter
from typing import TYPE_CHECKING, NamedTuple

from stopgap.blends import Blend, Filler, Gap, Point
from stopgap.planner import GapsFound
from stopgap.reports.answers.layers import (
    recipe_captions,
    recipe_labs,
    recipe_words,
    recipes_data,
)
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
    NOWHERE,
    RowField,
    cells_of,
    data_of,
    decimal,
    grid_of,
    laid_cells,
    only_shown,
    plain,
    swatch_field,
    titles_of,
)
from stopgap.reports.terms import in_our_spelling, step_words
from stopgap.reports.wording import (
    blend_strip,
    point_data,
    point_words,
    replaced_data,
    swatch_words,
    swatches_data,
)
from stopgap.swatches import Swatch

if TYPE_CHECKING:
    from stopgap.layering import Recipe


def blend_report(found: Blend, say: Say = str) -> Report:
    """JSON schema stopgap.blend/1."""
    rows = [
        _Stop(place, point, step, found.limit)
        for place, (point, step) in enumerate(zip(found.points, (None, *found.steps), strict=True))
    ]
    notes = remarks(found.notes, say)
    blocks: list[Block] = [
        *([Heading(found.name)] if found.name else []),
        blend_strip(found),
        grid_of(_STOP_FIELDS, ("chip", "step", "stray", "melts", "words"), rows),
        Paragraph(
            Figures(
                f"Largest step {found.largest_step:.1f} (limit {found.limit:g}); strays at most "
                f"{found.largest_stray:.1f} from the way.",
                "Every step melts." if found.closed else "",
            )
        ),
    ]
    if not found.closed:
        blocks.append(
            Paragraph(f"{len(found.over_limit)} of {len(found.steps)} steps are gaps.", mark="!")
        )
    return Report(
        "stopgap.blend/1",
        {
            "name": found.name,
            "limit": found.limit,
            "steps": data_of(_STOP_FIELDS, rows),
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
            "notes": [note.text for note in notes],
            "replaced": replaced_data(found.replaced),
            "paper": None,
            "marked": [],
        },
        [*blocks, *notes],
        titles_of(_STOP_FIELDS),
        cells_of(_STOP_FIELDS, rows),
    )


class _Stop(NamedTuple):
    """A colour at its place in a blend, with the step that leads to it."""

    place: int
    point: Point
    step: float | None
    limit: float


def _flat(point: Point) -> tuple[str, str, str]:
    swatch = point.swatch
    return (
        ("", "", point_words(point)) if swatch is None else (swatch.range, swatch.code, swatch.name)
    )


def _step_words(row: _Stop) -> str:
    """How a step is, for who does not measure, and that a colour lies off the hues of the blend."""
    if row.step is None:
        return ""
    melts = step_words(row.step, row.limit)
    return f"{melts}, goes off hue" if row.point.stray > row.limit else melts


_STOP_FIELDS: list[RowField[_Stop]] = [
    only_shown("chip", lambda row: Chip((row.point.lab,))),
    RowField("place", lambda row: row.place, data=None),
    RowField(
        "swatch",
        lambda row: row.point,
        point_data,
        {
            "range": lambda point: _flat(point)[0],
            "code": lambda point: _flat(point)[1],
            "name": lambda point: _flat(point)[2],
            "L": lambda point: point.lab[0],
            "a": lambda point: point.lab[1],
            "b": lambda point: point.lab[2],
        },
    ),
    RowField("keys", lambda row: row.point.laid, None, laid_cells()),
    decimal("step", "step"),
    only_shown("melts", _step_words, "step"),
    RowField("gap", lambda row: row.step is not None and row.step > row.limit, data=None),
    decimal("stray", "off the way", attrgetter("point.stray")),
    only_shown("words", lambda row: point_words(row.point)),
]


def gaps_report(answer: GapsFound, say: Say = str) -> Report:
    """JSON schema stopgap.gaps/1: the gaps that hurt most first; blends are shown as strips."""
    notes = remarks(answer.notes, say)
    blocks: list[Block] = []
    for blend, alone in zip(answer.blends, answer.alone or answer.blends, strict=True):
        heading = Heading(worded(f"{blend.name}: ", _summary(blend, alone)))
        blocks += [heading, blend_strip(blend), Paragraph("")]
    for gap in answer.gaps:
        blocks += _gap_blocks(gap, with_layers=answer.alone is not None)
    if not answer.gaps:
        blocks.append(Paragraph("No gap: every step is within its limit."))
    return Report(
        "stopgap.gaps/1",
        {
            "gaps": data_of(_GAP_FIELDS, answer.gaps),
            "notes": [note.text for note in notes],
            "replaced": replaced_data(answer.replaced),
            "paper": None,
            "marked": [],
        },
        [*blocks, *notes],
        titles_of(_GAP_FIELDS),
        cells_of(_GAP_FIELDS, answer.gaps),
    )


def _summary(blend: Blend, alone: Blend) -> Figures:
    """How a blend is, and how its pencils alone are where layers carry it."""
    layered = any(point.layered for point in blend.points)
    count = f"{_count(blend)} with layers" if layered else _count(blend)
    alone_too = f"; {_count(alone)} between pencils alone" if layered else ""
    largest = f", largest step {blend.largest_step:.1f} (limit {blend.limit:g})"
    return Figures(f"{count}{largest}{alone_too}", f"{count}{alone_too}")


def _count(blend: Blend) -> str:
    gaps = len(blend.over_limit)
    return f"{gaps} gap{'s' if gaps != 1 else ''}" if gaps else "no gap"


def _addresses(swatches: Sequence[Swatch]) -> str:
    return "; ".join(swatch.address for swatch in swatches)


def _missing(gap: Gap) -> dict[str, object]:
    return {"label": gap.missing_name, "lab": list(gap.missing)}


def _gap_blocks(gap: Gap, *, with_layers: bool) -> list[Block]:
    which = "between pencils alone a " if with_layers else "a "
    size = Figures(f"gap of {gap.step:.1f} (limit {gap.limit:g})", step_words(gap.step, gap.limit))
    blocks: list[Block] = [
        Heading(worded(f"{gap.blend}: {which}", size)),
        Chip((gap.after.lab,), worded("after ", point_words(gap.after))),
        Chip((gap.missing,), f"{gap.words}: {in_our_spelling(gap.missing_name)}"),
        Chip((gap.before.lab,), worded("before ", point_words(gap.before))),
    ]
    if gap.crossing is not None:
        steps = ", ".join(f"{step:.1f}" for step in gap.crossing.steps)
        across = "Layered across with what you own"
        blocks.append(Paragraph(Figures(f"{across} (steps {steps}):", f"{across}:")))
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
    still = f", {gap.remaining} gap{'s' * (gap.remaining > 1)} still there" if gap.remaining else ""
    still += " without layers" if gap.layered else ""
    return [
        Paragraph(f"{count} {'pencil' if count == 1 else 'pencils'} to buy {verb}{still}:"),
        *(Chip((swatch.lab,), swatch_words(swatch)) for swatch in gap.closing),
    ]


def _recipes(gap: Gap) -> "list[Recipe]":
    """What is known of the layers that cross the gap."""
    crossing = () if gap.crossing is None else gap.crossing.recipes
    return [point.recipe for point in crossing if point.recipe is not None]


_FILLER_FIELDS: list[RowField[Filler]] = [
    swatch_field(()),
    RowField("steps", lambda filler: filler.steps, list),
    *plain("remaining"),
]
_GAP_FIELDS: list[RowField[Gap]] = [
    *plain("blend"),
    RowField("place", lambda gap: gap.place, cells=NOWHERE),
    RowField("after", lambda gap: gap.after, point_data, {"after": point_words}),
    RowField("before", lambda gap: gap.before, point_data, {"before": point_words}),
    RowField("from", lambda gap: gap.after.laid, None, laid_cells("after", "after_then")),
    RowField("to", lambda gap: gap.before.laid, None, laid_cells("before", "before_then")),
    *plain("step", "limit", "words"),
    RowField("missing", _missing, cells=NOWHERE),
    *plain("layered"),
    RowField("recipes", _recipes, recipes_data, NOWHERE),
    RowField(
        "fillers",
        lambda gap: gap.fillers,
        lambda fillers: data_of(_FILLER_FIELDS, fillers),
        NOWHERE,
    ),
    RowField("closing", lambda gap: gap.closing, swatches_data, {"closing": _addresses}),
    *plain("remaining"),
    RowField("hurt", lambda gap: gap.hurt, cells=NOWHERE),
]
