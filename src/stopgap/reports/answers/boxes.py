"""Answers about boxes of pencils: one to take along, and a list in the boxes of a class."""

from collections.abc import Sequence
from operator import attrgetter

from stopgap.defaults import TOLERANCE
from stopgap.difference import grade
from stopgap.planner import BoxTranslation, ClassTranslation, Kit, KitColour, TranslatedRow
from stopgap.reports.answers.translation import translation_report
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
    remarks,
    said,
    worded,
)
from stopgap.reports.columns import (
    NAMED,
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
from stopgap.reports.terms import HOW_NEAR, colour_name, nearness_between, nearness_words
from stopgap.reports.wording import (
    SHORT_RATINGS,
    range_marks,
    rating_notes,
    short_rating,
    stack_data,
    stack_labels,
    stack_words,
    swatch_words,
    target_data,
)
from stopgap.swatches import Swatch

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
        "marked": [],
    }
    blocks: list[Block] = [
        Heading(f"Take along: {len(found.pencils)} of {found.among} pencils"),
        grid_of(fields, ("chip", "serves", "swatch"), found.pencils),
        Paragraph(_kit_summary(found)),
        Paragraph(f"Nothing loses less in {worst}: proved.")
        if found.proved
        else Paragraph(
            Figures(
                f"Not proved to be best: {worst} of what is lost cannot be below "
                f"{found.bound:.1f}.",
                "Not proved to be best.",
            ),
            mark="!",
        ),
        *_lost_blocks(found),
        *notes,
    ]
    return Report("stopgap.kit/1", data, blocks, titles_of(fields), cells_of(fields, found.pencils))


def _kit_summary(found: Kit) -> Figures:
    many = len(found.colours)
    within = worded(
        f"{found.within()} of {many} colours come ",
        Figures(f"within ΔE00 {TOLERANCE}", grade(TOLERANCE)),
        f"; with all {found.among} pencils {found.within(of_all=True)} do.",
    )
    if not found.lost:
        return worded(within, " Nothing is lost that can be seen.")
    lost = f"{found.mean_lost:.1f} farther off in the mean, {found.largest_lost:.1f} at the most"
    return Figures(f"{within} They lie {lost}.", within.plain)


def _lost_blocks(found: Kit) -> list[Block]:
    if not found.lost:
        return []
    shown = found.lost[:_MOST_LOST]
    keys = ("chips", "delta_E", "shown lost", "near", "asked")
    blocks: list[Block] = [
        Heading("What is lost"),
        grid_of(_KIT_COLOURS, keys, shown, _lost_remarks),
    ]
    more = len(found.lost) - len(shown)
    if more:
        least = shown[-1].lost
        farther = f", each {least:.1f} farther off at the most"
        blocks.append(Paragraph(worded(f"… and {more} more", Figures(farther), ".")))
    return blocks


def _lost_remarks(colour: KitColour) -> list[str]:
    lines = [f"→ {stack_words(colour.given)}"]
    if colour.of_all.label != colour.asked.label:
        off = Figures(f"{colour.of_all_delta_E:.1f} ")
        lines.append(worded("  at home: ", off, stack_words(colour.of_all)))
    return lines


def _kit_fields(found: Kit) -> list[RowField[Swatch]]:
    return [
        only_shown("chip", lambda swatch: Chip((swatch.lab,))),
        RowField("colour", attrgetter("address"), None),
        swatch_field(NAMED, as_it_is, shown=swatch_words, title="pencil"),
        RowField("serves", found.serves, title="colours", number=True),
    ]


def _kit_asked(colour: KitColour) -> str:
    asked = colour.asked
    if asked.lab is not None and asked.label.startswith("lab("):
        name = colour_name(asked.lab)
        return Figures(f"{name}, {asked.label}", name)
    return f"{asked.label} {asked.caption}".strip()


def _kit_chips(colour: KitColour) -> Chip:
    asked = colour.asked.lab or colour.of_all.lab
    labs = (asked, colour.given.lab, colour.of_all.lab)
    return Chip(labs, captions=("asked", "kit", "at home"))


_KIT_COLOURS: list[RowField[KitColour]] = [
    only_shown("chips", _kit_chips),
    only_shown("shown lost", lambda colour: f"+{colour.lost:.1f}", Figures("lost"), number=True),
    only_shown(
        "near", lambda colour: nearness_between(colour.asked.target, colour.given), HOW_NEAR
    ),
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


_OF_ALL = {"paper", "marked"}
"""What an answer for a class says once for all boxes."""


def class_report(found: ClassTranslation, say: Say = str) -> Report:
    """JSON schema stopgap.class/1: what each box gives is what stopgap.translate/1 says of it."""
    answers = [translation_report(box.found, say) for box in found.boxes]
    boxes = [
        {
            "name": box.name,
            **{key: value for key, value in answer.data.items() if key not in _OF_ALL},
            "notes": [*answer.data["notes"], *map(str, rating_notes(answer.data))],
        }
        for box, answer in zip(found.boxes, answers, strict=True)
    ]
    notes = [*(box.note for box in found.boxes if box.note is not None)]
    told = remarks(
        {str(note): note for box in found.boxes for note in box.found.notes}.values(), say
    )
    return Report(
        "stopgap.class/1",
        {
            "boxes": boxes,
            "order": found.order,
            "notes": [say(note) for note in notes],
            "paper": None,
            "marked": [],
        },
        [
            Heading("Worst matches first"),
            _class_grid(found),
            Paragraph(f"Behind each code how lightfast it is rated: {SHORT_RATINGS}.", mark="·"),
            Paragraph(Figures("Mean ΔE00: " + ", ".join(map(_mean_words, found.boxes)) + ".")),
            *(Paragraph(said(note, say), mark="!") for note in notes),
            *told,
        ],
        ("box", *answers[0].columns),
        [
            (box.name, *row)
            for box, answer in zip(found.boxes, answers, strict=True)
            for row in answer.rows
        ],
    )


def _mean_words(box: BoxTranslation) -> str:
    mean = box.found.mean
    return f"{box.name} {'–' if mean is None else f'{mean:.1f}'}"


_AT_THE_END, _BETWEEN, _OF_MANY = 8, 5, 3  # letters that fit below one of chips that touch
_MANY = 5


def _class_grid(found: ClassTranslation) -> Grid:
    """A row a colour: it and what each box gives touch; a column a box has codes and how near."""
    across = list(zip(*(box.found.rows for box in found.boxes), strict=True))
    rows = [across[place] for place in found.order]
    names = [box.name for box in found.boxes]
    below = _below_chips(names)
    titles = names if below == names else [" ".join(both) for both in zip(below, names)]
    return Grid(
        [Column(""), *(Column(title, number=True) for title in titles), Column("asked")],
        [[_class_chips(row, below), *map(_given_words, row), _asked_words(row[0])] for row in rows],
    )


def _below_chips(names: list[str]) -> list[str]:
    """What boxes are called below their chips: a mark where names are too long, else a number."""
    between = _BETWEEN if len(names) < _MANY else _OF_MANY
    room = [*(between for _ in names[1:]), _AT_THE_END]
    if all(len(name) <= most for name, most in zip(names, room, strict=True)):
        return names
    marks = [range_marks(names)[name] or name for name in names]
    if max(map(len, marks)) <= _OF_MANY:
        return marks
    return [str(number) for number in range(1, 1 + len(names))]


def _class_chips(rows: Sequence[TranslatedRow], names: Sequence[str]) -> Chip:
    labs = [("asked", rows[0].asked.lab)]
    labs += [(name, row.given and row.given.lab) for name, row in zip(names, rows, strict=True)]
    shown = [(name, lab) for name, lab in labs if lab is not None]
    return Chip(tuple(lab for _, lab in shown), captions=tuple(name for name, _ in shown))


def _asked_words(row: TranslatedRow) -> str:
    asked = row.asked
    return (asked.caption or asked.label) + f", on {asked.paper}" * bool(asked.paper)


def _given_words(row: TranslatedRow) -> str:
    if row.given is None:
        return "–"
    (codes,) = stack_labels([row.given])
    rated = " ".join([codes, "+".join(map(short_rating, row.given.swatches))])
    return Figures(f"{row.delta_E:.1f} {rated}", f"{rated}, {nearness_words(row)}")
