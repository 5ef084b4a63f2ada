"""Reports of families, and of where the user files a swatch."""

import math
from collections.abc import Sequence
from operator import attrgetter
from typing import NamedTuple

from stopgap.blends import FAMILY_WORDS, Family, Filed
from stopgap.errors import Note, Remedy
from stopgap.reports.blocks import (
    Block,
    Chip,
    Column,
    Figures,
    Grid,
    Heading,
    Paragraph,
    Report,
    Say,
    Strip,
    remarks,
)
from stopgap.reports.columns import (
    RowField,
    cells_of,
    data_of,
    decimal,
    grid_of,
    only_shown,
    swatch_chip,
    swatch_field,
    titles_of,
)
from stopgap.reports.walls import wall_blocks
from stopgap.reports.wording import (
    rating_words,
    swatch_words,
    with_marks,
)
from stopgap.swatches import Arrangement, Swatch


def families_report(
    found: Sequence[Family],
    say: Say = str,
    *,
    filing: Arrangement | None = None,
    whole: bool,
    wall: bool = False,
    figures: bool = True,
) -> Report:
    """JSON schema stopgap.family/1; `whole` lists every swatch, else families are summed up.

    With `wall` all pencils come first as touching chips, and with `whole` the rest below it.
    Without `figures` nothing is worked out that only somebody who measures is told.

    `filing` is the arrangement that they are of, None for the tool's proposal.
    """
    name = None if filing is None else filing.name or None
    if whole:
        blocks = [block for family in found for block in _whole(family, figures)]
    else:
        blocks = [] if wall else _overview(found, name, say)
    if wall:
        blocks = [*wall_blocks(found), *blocks]
    placed = [row for family in found for row in _placed(family)]
    return Report(
        "stopgap.family/1",
        {
            "families": [
                {
                    "name": family.name,
                    "swatches": data_of(_FIELDS, _placed(family)),
                    "steps": list(family.steps),
                    "largest_step": family.largest_step,
                    "exact": family.exact,
                    "section": family.section,
                    "note": family.note,
                    "guests": [guest.address for guest in family.guests],
                    "waiting": family.waiting,
                }
                for family in found
            ],
            "arrangement": name,
            "paper": None,
            "marked": [],
        },
        blocks,
        titles_of(_FIELDS),
        cells_of(_FIELDS, placed),
    )


class _Place(NamedTuple):
    """A swatch at its place in a family, with the step that leads to it."""

    family: str
    section: str
    place: int
    step: float | None
    filed: Filed


def _placed(family: Family) -> list[_Place]:
    return [
        _Place(
            family.name, family.section, place, family.steps[place - 1] if place else None, filed
        )
        for place, filed in enumerate(family.filed)
    ] + [
        _Place(family.name, family.section, place, None, filed)
        for place, filed in enumerate(family.names, len(family.filed))
    ]


def _of_filed(key: str, name: str = "") -> RowField[_Place]:
    return RowField(key, attrgetter(f"filed.{name or key}"))


_FIELDS: list[RowField[_Place]] = [
    RowField("family", lambda row: row.family, data=None),
    RowField("section", lambda row: row.section, data=None),
    RowField("place", lambda row: row.place, data=None),
    only_shown("chip", lambda row: swatch_chip(row.filed.swatch)),
    swatch_field(
        ("range", "code", "name", "owned", "lightfastness"),
        get=lambda row: row.filed.swatch,
        shown=swatch_words,
        title="swatch, light to dark",
    ),
    decimal("step", "step")._replace(data=None),
    _of_filed("fit"),
    _of_filed("also"),
    _of_filed("odd"),
    _of_filed("yours", "pinned"),
    _of_filed("misleading"),
]


def family_strip(family: Family) -> Strip:
    """A family as a strip, light to dark; it is no blend, and so no step in it is a gap."""
    return Strip(
        [
            Chip((filed.swatch.lab,), filed.swatch.code, rated=rating_words(filed.swatch))
            for filed in family.filed
        ],
        family.steps,
        math.inf,
    )


def _also_called(family: str) -> str:
    return ", ".join(word for word, meant in FAMILY_WORDS.items() if family in meant)


def _overview(found: Sequence[Family], arrangement: str | None, say: Say) -> list[Block]:
    sections = any(family.section for family in found)
    columns = [
        *([Column("section")] if sections else []),
        Column("family"),
        Column("also called"),
        Column("swatches", number=True),
        Column("owned", number=True),
        Column(Figures("largest step"), number=True),
        Column("in order" if arrangement else "light to dark"),
    ]
    rows: list[list[str | Chip]] = [
        [
            *([family.section] if sections else []),
            family.name,
            _also_called(family.name),
            str(len(family.filed) + len(family.names)),
            str(sum(filed.swatch.owned for filed in (*family.filed, *family.names))),
            f"{family.largest_step:.1f}",
            Chip(tuple(filed.swatch.lab for filed in family.filed), narrow=True),
        ]
        for family in found
    ]
    by_hand = sum(filed.pinned for family in found for filed in (*family.filed, *family.names))
    notes = [Note("", Remedy.ONE_FAMILY)]
    if arrangement:
        notes.insert(0, Note(f"Arrangement {arrangement!r}; {by_hand} of these filed by you."))
    if any(family.waiting for family in found):
        notes.append(Note("Those not filed yet wait for you.", Remedy.FILE_PENCIL))
    return [Grid(columns, rows), *remarks(notes, say)]


def _whole(family: Family, figures: bool) -> list[Block]:
    if not (family.filed or family.names):
        return [
            Heading(f"{family.name}: no pencil here yet"),
            *_said(family),
            Paragraph(""),
        ]
    notes = []
    if not family.exact and not family.waiting:
        told = "Another order may melt better; the best was not found in time."
        if figures:
            bound = f"No order of these has a largest step below {family.bound:.1f}."
            told = Figures(bound, told)
        notes.append(Paragraph(told, mark="·"))
    count = len(family.filed) + len(family.names)
    number = "1 swatch" if count == 1 else f"{count} swatches"
    return [
        Heading(f"{family.name}: {number}"),
        *_said(family),
        *([family_strip(family)] if family.filed else []),
        grid_of(_FIELDS, ("chip", "step", "swatch"), _placed(family), _remarks),
        *notes,
        Paragraph(""),
    ]


def _said(family: Family) -> list[Block]:
    """What the user says of a family."""
    lines = [
        *([f"In {family.section}."] if family.section else []),
        *([family.note] if family.note else []),
        *([f"Also served by {_listed(family.guests)}."] if family.guests else []),
    ]
    return [Paragraph(line) for line in lines]


def _listed(swatches: Sequence[Swatch]) -> str:
    return ", ".join(with_marks(one, "") for one in swatches)


def _remarks(row: _Place) -> list[str]:
    filed = row.filed
    parts = [
        *(["filed here by you"] if filed.pinned else []),
        *(["odd: fits no family well"] if filed.odd else []),
        *([f"would also serve {filed.also}"] if filed.also else []),
    ]
    said = ["; ".join(parts)] if parts else []
    if filed.misleading:
        said.append(
            f"! called {filed.swatch.name!r}, though one would not call it {filed.misleading}"
        )
    return said
