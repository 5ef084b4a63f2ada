"""Blends: the pencils that lead from one colour to another, and where they break."""

from stopgap.defaults import PATH
from stopgap.desk.asking import Desk, Room, paper_field, which_field
from stopgap.desk.forms import Sent, blends_of
from stopgap.desk.words import error_words, note_words
from stopgap.library import known_rows
from stopgap.planner import find_blend, gaps_on_papers, look_at_hand, user_filing
from stopgap.reports.answers import blend_report, gaps_report, on_paper
from stopgap.reports.render.rooms import FormField, Panel

_PREFER = (
    ("enough", "just enough pencils"),
    ("fewest", "as few as can be"),
    ("smoothest", "the smoothest"),
)
_PATHS = (("auto", "as the hues suggest"), ("straight", "straight"), ("round", "round by hues"))
_LOOKS = (
    ("one", "one blend"),
    ("listed", "the gaps of the blends below"),
    ("families", "the gaps of every family"),
)


def _fields(desk: Desk, sent: Sent) -> list[FormField]:
    return [
        FormField("from", "from", sent.text("from"), hint="a pencil or a colour"),
        FormField("to", "to", sent.text("to")),
        FormField("via", "by", sent.text("via"), hint="a colour on the way, if you like"),
        FormField("step", "largest step", sent.text("step", f"{desk.usual.step:g}"), "number"),
        FormField("prefer", "made of", sent.text("prefer", "enough"), "choice", _PREFER),
        FormField("path", "runs", sent.text("path", PATH), "choice", _PATHS),
        which_field(sent, owned=True),
        FormField("look", "look at", sent.text("look", "one"), "choice", _LOOKS),
        FormField("alone", "without layers", sent.text("alone"), "check"),
        paper_field(desk, sent),
        FormField(
            "blends", "several blends, one a line", sent.text("blends"), "long", hint="from; to"
        ),
    ]


def _answer(desk: Desk, sent: Sent) -> Panel | None:
    look = sent.one_of("look", [word for word, _ in _LOOKS])
    if not {"one": sent.said("from"), "listed": sent.said("blends"), "families": True}[look]:
        return None
    step = sent.number("step", desk.usual.step)
    path = sent.one_of("path", [word for word, _ in _PATHS])
    with desk.reading() as library:
        ground = desk.ground(library, sent)
        selection = desk.selection(library, sent, owned=True)
        filing = user_filing(library) if look == "families" else None
    layers = None if sent.said("alone") else ground.conditions
    at_hand = look_at_hand(ground.answering, selection, layers=layers, cache=desk.cache)
    grounds = [ground.using(selection)]
    if look == "one":
        blend = find_blend(
            at_hand,
            sent.text("from"),
            sent.text("to"),
            stops=sent.every("via"),
            limit=step,
            path=path,
            prefer=sent.one_of("prefer", [word for word, _ in _PREFER]),
            by_lightness=sent.said("by_lightness"),
            max_pencils=None,
        )
        return Panel(on_paper(blend_report(blend, note_words), grounds, note_words))
    rows, left = None, None
    if look == "listed":
        rows, left = known_rows(blends_of(sent.text("blends")), at_hand.known)
    said = [] if left is None else [error_words(left)]
    if rows == []:
        return Panel(said=said)
    gaps = gaps_on_papers([(ground.on, at_hand, rows)], step=step, path=path, arrangement=filing)
    return Panel(on_paper(gaps_report(gaps, note_words), grounds, note_words), said=said)


ROOM = Room(
    "Blends",
    "The pencils that lead from one colour to another, each melting into the next; where a blend "
    "breaks, and what would close it.",
    _fields,
    _answer,
)
