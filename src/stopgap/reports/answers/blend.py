"""The answer of `blend`: the pencils that lead from one colour to another."""

from typing import NamedTuple

from stopgap.blends import Blend, Point
from stopgap.reports.blocks import Block, Chip, Heading, Paragraph, Report, Say, remarks
from stopgap.reports.columns import (
    RowField,
    cells_of,
    data_of,
    grid_of,
    one_decimal,
    only_shown,
    titles_of,
)
from stopgap.reports.wording import blend_strip, point_data, point_words


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
        grid_of(_FIELDS, ("chip", "step", "stray", "words"), rows),
        Paragraph(
            f"Largest step {found.largest_step:.1f} (limit {found.limit:g}); strays at most "
            f"{found.largest_stray:.1f} from the way."
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
            "steps": data_of(_FIELDS, rows),
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
        },
        [*blocks, *notes],
        titles_of(_FIELDS),
        cells_of(_FIELDS, rows),
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


_FIELDS: list[RowField[_Stop]] = [
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
    RowField("step", lambda row: row.step, shown=one_decimal, title="step", number=True),
    RowField("gap", lambda row: row.step is not None and row.step > row.limit, data=None),
    RowField("stray", lambda row: row.point.stray, shown=one_decimal, title="astray", number=True),
    only_shown("words", lambda row: point_words(row.point)),
]
