"""The answers of `palette` and `kit`: few colours, or few pencils, that stand for many."""

from operator import attrgetter

from stopgap.defaults import TOLERANCE
from stopgap.naming import iscc_nbs
from stopgap.planner import Kit, KitColour
from stopgap.reports.blocks import Block, Chip, Heading, Paragraph, Report, Say, remarks
from stopgap.reports.columns import (
    NOWHERE,
    RowField,
    as_it_is,
    cells_of,
    data_of,
    decimal,
    grid_of,
    only_shown,
    plain,
    swatch_field,
    titles_of,
)
from stopgap.reports.wording import (
    stack_data,
    stack_words,
    swatch_data,
    swatch_words,
    target_data,
)
from stopgap.scanning import MainColour, MainColours
from stopgap.swatches import Swatch


def palette_report(found: MainColours) -> Report:
    """JSON schema stopgap.palette/1."""
    notes = [block.text for block in _notes(found)]
    grid = grid_of(_FIELDS, ("chips", "shown share", "shown", "delta_E"), found.colours)
    blocks: list[Block] = [grid, Paragraph(f"Mean ΔE00 over the image {found.mean_delta_E:.1f}.")]
    if found.lost:
        blocks.append(Paragraph("Far from all of these, so lost:", mark="!"))
        blocks.append(grid_of(_LOST, ("chips", "shown share", "shown", "delta_E"), found.lost))
    return Report(
        "stopgap.palette/1",
        {
            "colours": data_of(_FIELDS, found.colours),
            "lost": data_of(_LOST, found.lost),
            "mean_delta_E": found.mean_delta_E,
            "notes": notes,
            "paper": None,
        },
        [*blocks, *_notes(found)],
        titles_of(_FIELDS),
        cells_of(_FIELDS, found.colours),
    )


def palette_rows(found: MainColours) -> list[tuple[str, str, float]]:
    """Colour, label and weight of each, for a list file."""
    return [(_written(colour), main_colour_name(colour), colour.share) for colour in found.colours]


def main_colour_name(colour: MainColour) -> str:
    """What it is called: the pencil's name, else the standard's name of the colour."""
    return (colour.swatch.name if colour.swatch else "") or str(iscc_nbs(colour.lab))


def share_words(colour: MainColour) -> str:
    """The share of the area in per cent, to a tenth where it is small."""
    return f"{100.0 * colour.share:.{0 if colour.share >= 0.1 else 1}f} %"


def _notes(found: MainColours) -> list[Paragraph]:
    if len(found.colours) == found.asked:
        return []
    why = (
        "the others would be nearest nowhere in it"
        if any(colour.swatch for colour in found.colours)
        else "the others would be very close to these"
    )
    text = f"{len(found.colours)} of {found.asked} are enough for this image: {why}."
    return [Paragraph(text, mark="·")]


def _written(colour: MainColour) -> str:
    if colour.swatch is not None:
        return colour.swatch.address
    return "lab({:.2f} {:.2f} {:.2f})".format(*colour.lab)


def _shown(colour: MainColour) -> str:
    if colour.swatch is not None:
        return swatch_words(colour.swatch)
    return "{}, lab({:.0f} {:.0f} {:.0f})".format(iscc_nbs(colour.lab), *colour.lab)


def _fields(delta_E_title: str) -> list[RowField[MainColour]]:
    return [
        only_shown("chips", lambda colour: Chip((colour.lab,))),
        only_shown("shown share", share_words, "area", number=True),
        only_shown("shown", _shown, "colour"),
        RowField("colour", _written),
        RowField("name", main_colour_name),
        *plain("share"),
        RowField("lab", attrgetter("lab"), list, NOWHERE),
        decimal("delta_E", delta_E_title),
        RowField(
            "swatch",
            attrgetter("swatch"),
            lambda swatch: swatch and swatch_data(swatch),
            NOWHERE,
        ),
    ]


_FIELDS = _fields("mean ΔE00")
_LOST = _fields("ΔE00 off")


_MOST_LOST = 12  # colours told one by one to people; JSON has all of them


def kit_report(found: Kit, say: Say = str) -> Report:
    """JSON schema stopgap.kit/1; its rows are the kit, which other commands read as a list."""
    notes = remarks(found.notes, say)
    fields = _kit_fields(found)
    worst = "the worst" if found.largest else "the mean"
    data = {
        "pencils": data_of(fields, found.pencils),
        "among": found.among,
        "colours": data_of(_KIT_COLOURS, found.colours),
        "mean_delta_E": found.mean_delta_E,
        "largest_delta_E": found.largest_delta_E,
        "mean_lost": found.mean_lost,
        "largest_lost": found.largest_lost,
        "within": found.within(),
        "within_of_all": found.within(of_all=True),
        "tolerance": TOLERANCE,
        "least": "largest" if found.largest else "mean",
        "proved": found.proved,
        "bound": found.bound,
        "notes": [note.text for note in notes],
        "paper": None,
    }
    blocks: list[Block] = [
        Heading(f"Take along: {len(found.pencils)} of {found.among} pencils"),
        grid_of(fields, ("chip", "serves", "swatch"), found.pencils),
        Paragraph(_kit_summary(found)),
        Paragraph(f"Nothing loses less in {worst}: proved.")
        if found.proved
        else Paragraph(
            f"Not proved to be best: {worst} of what is lost cannot be below {found.bound:.1f}.",
            mark="!",
        ),
        *_lost_blocks(found),
        *notes,
    ]
    return Report("stopgap.kit/1", data, blocks, titles_of(fields), cells_of(fields, found.pencils))


def _kit_summary(found: Kit) -> str:
    many = len(found.colours)
    within = (
        f"{found.within()} of {many} colours come within ΔE00 {TOLERANCE}; with all "
        f"{found.among} pencils {found.within(of_all=True)} do."
    )
    if not found.lost:
        return f"{within} Nothing is lost that can be seen."
    return (
        f"{within} They lie {found.mean_lost:.1f} farther off in the mean, "
        f"{found.largest_lost:.1f} at the most."
    )


def _lost_blocks(found: Kit) -> list[Block]:
    if not found.lost:
        return []
    shown = found.lost[:_MOST_LOST]
    keys = ("chips", "delta_E", "shown lost", "asked")
    blocks: list[Block] = [
        Heading("What is lost"),
        grid_of(_KIT_COLOURS, keys, shown, _lost_remarks),
    ]
    more = len(found.lost) - len(shown)
    if more:
        least = shown[-1].lost
        blocks.append(Paragraph(f"… and {more} more, each {least:.1f} farther off at the most."))
    return blocks


def _lost_remarks(colour: KitColour) -> list[str]:
    said = [f"→ {stack_words(colour.given)}"]
    if colour.of_all.label != colour.asked.label:
        said.append(f"  at home: {colour.of_all_delta_E:.1f} {stack_words(colour.of_all)}")
    return said


def _kit_fields(found: Kit) -> list[RowField[Swatch]]:
    return [
        only_shown("chip", lambda swatch: Chip((swatch.lab,))),
        RowField("colour", attrgetter("address"), None),
        swatch_field(("range", "code", "name"), as_it_is, shown=swatch_words, title="pencil"),
        RowField("serves", found.serves, title="colours", number=True),
    ]


def _kit_asked(colour: KitColour) -> str:
    asked = colour.asked
    if asked.lab is not None and asked.label.startswith("lab("):
        return f"{iscc_nbs(asked.lab)}, {asked.label}"
    return f"{asked.label} {asked.caption}".strip()


def _kit_chips(colour: KitColour) -> Chip:
    asked = colour.asked.lab or colour.of_all.lab
    labs = (asked, colour.given.lab, colour.of_all.lab)
    return Chip(labs, captions=("asked", "kit", "at home"))


_KIT_COLOURS: list[RowField[KitColour]] = [
    only_shown("chips", _kit_chips),
    only_shown("shown lost", lambda colour: f"+{colour.lost:.1f}", "lost", number=True),
    RowField(
        "asked",
        as_it_is,
        lambda colour: target_data(colour.asked.target),
        shown=_kit_asked,
        title="colour, and what is nearest",
    ),
    RowField("label", lambda colour: colour.asked.caption),
    RowField("weight", lambda colour: colour.asked.weight),
    RowField("given", attrgetter("given"), stack_data),
    decimal("delta_E", "ΔE00"),
    RowField("of_all", attrgetter("of_all"), stack_data),
    *plain("of_all_delta_E", "lost"),
]
