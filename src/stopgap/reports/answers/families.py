"""Reports of families, and of where the user files a swatch."""

from collections.abc import Sequence

from stopgap.blends import DEFAULT_LIMIT, Family, Filed
from stopgap.errors import Note, Remedy
from stopgap.reports.blocks import Block, Chip, Column, Grid, Heading, Paragraph, Report, Strip
from stopgap.reports.data import swatch_data
from stopgap.reports.remarks import Say, remarks
from stopgap.reports.words import swatch_words

_COLUMNS = (
    "family",
    "place",
    "range",
    "code",
    "name",
    "owned",
    "step",
    "fit",
    "also",
    "odd",
    "yours",
    "misleading",
)


def families_report(found: Sequence[Family], say: Say = str, *, whole: bool) -> Report:
    """JSON schema stopgap.family/1; `whole` lists every swatch, else families are summed up."""
    data = {
        "families": [
            {
                "name": family.name,
                "swatches": [_filed_data(filed) for filed in family.filed],
                "steps": list(family.steps),
                "largest_step": family.largest_step,
                "exact": family.exact,
            }
            for family in found
        ]
    }
    rows = [
        (
            family.name,
            place,
            filed.swatch.range,
            filed.swatch.code,
            filed.swatch.name,
            filed.swatch.owned,
            family.steps[place - 1] if place else None,
            filed.fit,
            filed.also,
            filed.odd,
            filed.pinned,
            filed.misleading,
        )
        for family in found
        for place, filed in enumerate(family.filed)
    ]
    blocks = (
        [block for family in found for block in _whole(family)] if whole else _overview(found, say)
    )
    return Report("stopgap.family/1", data, blocks, _COLUMNS, rows)


def family_strip(family: Family) -> Strip:
    """A family as a strip, light to dark."""
    return Strip(
        [Chip((filed.swatch.lab,), filed.swatch.code) for filed in family.filed],
        family.steps,
        DEFAULT_LIMIT,
    )


def _filed_data(filed: Filed) -> dict[str, object]:
    return {
        "swatch": swatch_data(filed.swatch),
        "fit": filed.fit,
        "also": filed.also,
        "odd": filed.odd,
        "yours": filed.pinned,
        "misleading": filed.misleading,
    }


def _overview(found: Sequence[Family], say: Say) -> list[Block]:
    columns = [
        Column("family"),
        Column("swatches", number=True),
        Column("owned", number=True),
        Column("largest step", number=True),
        Column("light to dark"),
    ]
    rows: list[list[str | Chip]] = [
        [
            family.name,
            str(len(family.filed)),
            str(sum(filed.swatch.owned for filed in family.filed)),
            f"{family.largest_step:.1f}",
            Chip(tuple(filed.swatch.lab for filed in family.filed), narrow=True),
        ]
        for family in found
    ]
    return [
        Grid(columns, rows),
        *remarks([Note("", Remedy.ONE_FAMILY)], say),
    ]


def _whole(family: Family) -> list[Block]:
    columns = [Column(""), Column("step", number=True), Column("swatch, light to dark")]
    rows: list[list[str | Chip]] = [
        [
            Chip((filed.swatch.lab,)),
            f"{family.steps[place - 1]:.1f}" if place else "",
            swatch_words(filed.swatch),
        ]
        for place, filed in enumerate(family.filed)
    ]
    remarks = {
        place: remark for place, filed in enumerate(family.filed) if (remark := _remarks(filed))
    }
    notes = []
    if not family.exact:
        notes.append(
            Paragraph(
                f"Too many to try every order; none has a largest step below {family.bound:.1f}.",
                mark="·",
            )
        )
    return [
        Heading(f"{family.name}: {len(family.filed)} swatches"),
        family_strip(family),
        Grid(columns, rows, remarks),
        *notes,
        Paragraph(""),
    ]


def _remarks(filed: Filed) -> list[str]:
    parts = [
        *(["filed here by you"] if filed.pinned else []),
        *(["odd: fits no family well"] if filed.odd else []),
        *([f"would also serve {filed.also}"] if filed.also else []),
    ]
    remarks = ["; ".join(parts)] if parts else []
    if filed.misleading:
        remarks.append(
            f"! called {filed.swatch.name!r}, though one would not call it {filed.misleading}"
        )
    return remarks
