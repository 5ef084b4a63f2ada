"""The wall: all pencils as touching chips, a family a row."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from stopgap.reports.blocks import Block, Heading, Paragraph, Wall, WallChip
from stopgap.reports.wording import SHORT_RATINGS, range_marks, short_rating, swatch_words
from stopgap.swatches import Finish, Swatch

if TYPE_CHECKING:
    from stopgap.blends import Family


def wall_blocks(found: "Sequence[Family]") -> list[Block]:
    """All pencils as touching chips, special finishes at the end of their row, and its marks."""
    marks = range_marks(each.range for family in found for each in on_the_wall(family))
    rows = [
        (
            family.name,
            [_wall_chip(swatch, marks) for swatch in on_the_wall(family)],
        )
        for family in found
        if family.filed or family.names
    ]
    count = sum(len(chips) for _, chips in rows)
    owned = sum(chip.owned for _, chips in rows for chip in chips)
    return [
        Heading(f"The wall: {count} pencils, {owned} of them yours"),
        Wall(rows),
        Paragraph(
            "Sharpened, or ▲: yours. A corner cut off, or ×: no longer made. Apart at the end of a "
            "row, or m, f: metallic, fluorescent. Hollow, or ?: no colour yet. With each code "
            f"how lightfast it is rated: {SHORT_RATINGS}.",
            mark="·",
        ),
    ]


def on_the_wall(family: "Family") -> list[Swatch]:
    """The pencils of a family in its order, but special finishes behind, and names at the end."""
    swatches = [each.swatch for each in (*family.filed, *family.names)]
    return sorted(swatches, key=lambda one: (not one.coloured, one.finish is not Finish.PLAIN))


def _wall_chip(swatch: Swatch, marks: Mapping[str, str]) -> WallChip:
    return WallChip(
        swatch.lab if swatch.coloured else None,
        f"{marks[swatch.range]}{swatch.code}",
        swatch_words(swatch),
        swatch.owned,
        swatch.discontinued,
        "" if swatch.finish is Finish.PLAIN else str(swatch.finish),
        swatch.address,
        short_rating(swatch),
    )
