"""The answer of `palette`: the colours of a picture, by the area that each stands for."""

from operator import attrgetter

from stopgap.naming import iscc_nbs
from stopgap.reports.blocks import Block, Chip, Paragraph, Report
from stopgap.reports.columns import (
    NOWHERE,
    RowField,
    cells_of,
    data_of,
    decimal,
    grid_of,
    only_shown,
    plain,
    titles_of,
)
from stopgap.reports.wording import swatch_data, swatch_words
from stopgap.scanning import MainColour, MainColours


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
            "marked": [],
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
