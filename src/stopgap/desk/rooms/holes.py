"""Holes: where one's pencils leave the largest, and what would fill them."""

from stopgap.defaults import HOLES
from stopgap.desk.asking import Desk, Room, paper_field
from stopgap.desk.forms import Sent
from stopgap.desk.words import note_words
from stopgap.planner import find_holes
from stopgap.reports.answers import on_paper
from stopgap.reports.colour_map import holes_report
from stopgap.reports.render.rooms import FormField, Panel
from stopgap.swatches import Selection

_LAYERS = (("yes", "alone and in layers"), ("no", "alone"))


def _fields(desk: Desk, sent: Sent) -> list[FormField]:
    with desk.reading() as library:
        names = library.range_names()
    return [
        FormField("layers", "mine reach", sent.text("layers", "yes"), "choice", _LAYERS),
        FormField(
            "range",
            "fill them from",
            sent.text("range"),
            "choice",
            [("", "every range"), *((name, name) for name in names)],
        ),
        paper_field(desk, sent),
    ]


def _answer(desk: Desk, sent: Sent) -> Panel | None:
    if not sent.said("layers"):
        return None
    with desk.reading() as library:
        ground = desk.ground(library, sent)
        selection = Selection(
            ranges=tuple(library.known_range(name) for name in sent.every("range"))
        )
    layers = sent.one_of("layers", [word for word, _ in _LAYERS]) == "yes"
    found = find_holes(
        ground.answering.swatches,
        selection,
        layers=ground.conditions if layers else None,
        limit=HOLES,
        cache=desk.cache,
    )
    return Panel(on_paper(holes_report(found, note_words), [ground.using(selection)], note_words))


ROOM = Room(
    "Holes",
    "A map of all colours, each beside the nearest that your pencils reach: where it shows a seam "
    "there is a hole, and the worst are numbered.",
    _fields,
    _answer,
    ask="Draw the map",
)
