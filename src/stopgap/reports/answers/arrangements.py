"""Reports of the user's own arrangements, and of what another order in them would gain."""

from collections.abc import Sequence
from operator import attrgetter

from stopgap.blends import WORTH_IT, Tidied
from stopgap.errors import Note, Remedy
from stopgap.library import KeptArrangement
from stopgap.reports.blocks import Block, Paragraph, Report, Say, remarks
from stopgap.reports.columns import RowField, cells_of, data_of, grid_of, only_shown, titles_of
from stopgap.swatches import OwnPlace


def arrangements_report(kept: Sequence[KeptArrangement], say: Say = str) -> Report:
    """JSON schema stopgap.arrangements/1: those of the library, and which is in use."""
    if kept:
        blocks: list[Block] = [
            grid_of(_OF_KEPT, ("name", "families", "pencils", "by_hand", "use"), kept)
        ]
        if not any(one.in_use for one in kept):
            blocks.append(Paragraph("The tool's proposal is in use."))
    else:
        text = "You have no arrangement yet; families are the tool's proposal."
        blocks = [Paragraph(say(Note(text, Remedy.ARRANGE)))]
    return Report(
        "stopgap.arrangements/1",
        {"arrangements": data_of(_OF_KEPT, kept)},
        blocks,
        titles_of(_OF_KEPT),
        cells_of(_OF_KEPT, kept),
    )


def _places(one: KeptArrangement) -> list[OwnPlace]:
    return [place for family in one.arrangement.families for place in family.places]


_OF_KEPT: list[RowField[KeptArrangement]] = [
    RowField("name", lambda one: one.arrangement.name, title="arrangement"),
    RowField("families", lambda one: len(one.arrangement.families), title="families", number=True),
    RowField("pencils", lambda one: len(_places(one)), title="pencils", number=True),
    RowField(
        "by_hand",
        lambda one: sum(place.by_hand for place in _places(one)),
        title="by you",
        number=True,
    ),
    RowField("in_use", attrgetter("in_use")),
    RowField("fills", lambda one: one.arrangement.fills),
    only_shown("use", lambda one: "in use" if one.in_use else "", ""),
]


def tidy_report(found: Sequence[Tidied], say: Say = str) -> Report:
    """JSON schema stopgap.tidy/1: what a new order of each family would gain."""
    other = [one for one in found if one.before != one.after]
    worth = [one.family for one in found if one.gain > WORTH_IT]
    note = Note(f"A new order gains more than a tenth in {', '.join(worth)}.", Remedy.SORT_FAMILY)
    return Report(
        "stopgap.tidy/1",
        {"families": data_of(_OF_TIDIED, found)},
        [
            *([grid_of(_OF_TIDIED, ("family", "largest", "sum"), other)] if other else []),
            *remarks([note if worth else Note("No new order gains more than a tenth.")], say),
        ],
        titles_of(_OF_TIDIED),
        cells_of(_OF_TIDIED, found),
    )


_OF_TIDIED: list[RowField[Tidied]] = [
    RowField("family", attrgetter("family"), title="family"),
    RowField("largest_step", lambda one: max(one.before)),
    RowField("largest_step_then", lambda one: max(one.after)),
    RowField("total", lambda one: sum(one.before)),
    RowField("total_then", lambda one: sum(one.after)),
    RowField(
        "order", lambda one: [swatch.address for swatch in one.order], cells={"order": " ".join}
    ),
    only_shown(
        "largest", lambda one: f"{max(one.before):.1f} → {max(one.after):.1f}", "largest step"
    ),
    only_shown("sum", lambda one: f"{sum(one.before):.1f} → {sum(one.after):.1f}", "sum of steps"),
]
