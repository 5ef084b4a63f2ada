"""The answers of `palette`, `tones` and `holes`: colours of a picture, of one colour, of a map."""

from operator import attrgetter
from typing import TYPE_CHECKING

from stopgap.colorimetry import lab_text
from stopgap.difference import grade
from stopgap.naming import iscc_nbs
from stopgap.planner import Shadow, Tone, Tones
from stopgap.reports.blocks import (
    Block,
    Chip,
    Figures,
    Heading,
    Paragraph,
    Report,
    Say,
    remarks,
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
    titles_of,
)
from stopgap.reports.terms import HOW_NEAR, colour_name, nearness_between
from stopgap.reports.wording import (
    stack_data,
    stack_words,
    swatch_data,
    swatch_words,
    target_data,
    target_title,
)
from stopgap.swatches import FreeColour

if TYPE_CHECKING:
    from stopgap.scanning import MainColour, MainColours


def palette_report(found: "MainColours") -> Report:
    """JSON schema stopgap.palette/1."""
    notes = [block.text for block in _notes(found)]
    grid = grid_of(_FIELDS, ("chips", "shown share", "shown", "delta_E"), found.colours)
    blocks: list[Block] = [
        grid,
        Paragraph(Figures(f"Mean ΔE00 over the image {found.mean_delta_E:.1f}.")),
    ]
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


def palette_rows(found: "MainColours") -> list[tuple[str, str, float]]:
    """Colour, label and weight of each, for a list file."""
    return [(_written(colour), main_colour_name(colour), colour.share) for colour in found.colours]


def main_colour_name(colour: "MainColour") -> str:
    """What it is called: the pencil's name, else the standard's name of the colour."""
    return (colour.swatch.name if colour.swatch else "") or str(iscc_nbs(colour.lab))


def share_words(colour: "MainColour") -> str:
    """The share of the area in per cent, to a tenth where it is small."""
    return f"{100.0 * colour.share:.{0 if colour.share >= 0.1 else 1}f} %"


def _notes(found: "MainColours") -> list[Paragraph]:
    if len(found.colours) == found.asked:
        return []
    why = (
        "the others would be nearest nowhere in it"
        if any(colour.swatch for colour in found.colours)
        else "the others would be very close to these"
    )
    text = f"{len(found.colours)} of {found.asked} are enough for this image: {why}."
    return [Paragraph(text, mark="·")]


def _written(colour: "MainColour") -> str:
    if colour.swatch is not None:
        return colour.swatch.address
    return lab_text(colour.lab, 2)


def _shown(colour: "MainColour") -> str:
    if colour.swatch is not None:
        return swatch_words(colour.swatch)
    name = colour_name(colour.lab)
    return Figures(f"{name}, {lab_text(colour.lab, 0)}", name)


def _fields(delta_E_title: str) -> "list[RowField[MainColour]]":
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


_UNEVEN, _TURNED = 2.0, 6.0  # of L*, and degrees, from which an answer says so


def tones_report(found: Tones, say: Say = str) -> Report:
    """JSON schema stopgap.tones/1, from light to shadow."""
    notes = remarks(found.notes, say)
    keys = ("chips", "lightness", "shown hue", "delta_E", "near", "shown")
    blocks: list[Block] = [
        Heading(f"{target_title(found.target)} from light to shadow"),
        Chip(
            tuple(tone.given.lab for tone in found.tones),
            "as laid",
            captions=tuple(_tone_words(tone) for tone in found.tones),
        ),
        grid_of(_TONES, keys, found.tones, _tone_remarks),
        *_tones_summary(found),
    ]
    return Report(
        "stopgap.tones/1",
        {
            "target": target_data(found.target),
            "shadow": str(found.shadow),
            "dulled": found.dulled,
            "tones": data_of(_TONES, found.tones),
            "uneven": found.uneven,
            "hue_off": found.hue_off,
            "notes": [note.text for note in notes],
            "paper": None,
            "marked": [],
        },
        [*blocks, *notes],
        titles_of(_TONES),
        cells_of(_TONES, found.tones),
    )


def _tones_summary(found: Tones) -> list[Block]:
    steps = found.steps
    said: list[Block] = [
        Paragraph(
            Figures(
                f"Each is {min(steps):.1f} to {max(steps):.1f} darker in L* than the one before; "
                f"hue turns by {found.hue_off:.0f}° at the most.",
                _even_words(found),
            )
        )
    ]
    if found.uneven > _UNEVEN:
        said.append(Paragraph("The pencils do not allow even steps.", mark="!"))
    if found.hue_off > _TURNED:
        said.append(Paragraph("The pencils do not allow this hue throughout.", mark="!"))
    if found.shadow is not Shadow.PLAIN:
        said.append(Paragraph(f"Shadows are {found.shadow}: hue is told from what is aimed at."))
    return said


def _even_words(found: Tones) -> str:
    """What holds of the tones, for who does not measure; what does not is said by itself."""
    even = "Even steps from light to shadow" if found.uneven <= _UNEVEN else ""
    kept = "the hue is kept" if found.hue_off <= _TURNED else ""
    words = ", ".join(filter(None, (even, kept)))
    return f"{words[:1].upper()}{words[1:]}." if words else ""


def _tone_words(tone: Tone) -> str:
    return "the colour" if tone.local else Figures(f"L* {tone.given.lab[0]:.0f}")


def _tone_remarks(tone: Tone) -> list[str]:
    said = ["the colour itself"] if tone.local else []
    said += ["goes off hue"] if tone.hue_off is not None and abs(tone.hue_off) > _TURNED else []
    return [*said, "predicted"] if tone.given.recipe else said


def _tone_near(tone: Tone) -> str:
    if tone.local:  # it is the pencil asked for, whatever its colour truly is
        return grade(0.0)
    return nearness_between(FreeColour("", tone.aim), tone.given)


_TONES: list[RowField[Tone]] = [
    only_shown("chips", lambda tone: Chip((tone.aim, tone.given.lab), captions=("aim", "use"))),
    RowField("local", attrgetter("local")),
    RowField("aim", attrgetter("aim"), list, NOWHERE),
    RowField("given", attrgetter("given"), stack_data, {"given": stack_words}),
    RowField("keys", attrgetter("given"), None, laid_cells()),
    only_shown("shown", lambda tone: stack_words(tone.given), "lay"),
    decimal("delta_E", "ΔE00"),
    only_shown("lightness", lambda tone: f"{tone.given.lab[0]:.1f}", Figures("L*"), number=True),
    only_shown("near", _tone_near, HOW_NEAR),
    *plain("lightness_off"),
    RowField("hue_off", attrgetter("hue_off")),
    only_shown(
        "shown hue",
        lambda tone: "" if tone.hue_off is None else f"{tone.hue_off:+.0f}°",
        Figures("hue"),
        number=True,
    ),
]
