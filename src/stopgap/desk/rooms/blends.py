"""Blends: the pencils that lead from one colour to another, and where they break."""

from collections.abc import Sequence
from urllib.parse import urlencode

from stopgap.blends import Blend
from stopgap.defaults import PATH
from stopgap.desk.asking import Desk, Room, paper_field, which_field
from stopgap.desk.forms import Sent, blends_of
from stopgap.desk.words import error_words, note_words
from stopgap.library import ListedBlend, known_rows
from stopgap.planner import (
    AtHand,
    find_blend,
    gaps_at_hand,
    gaps_on_papers,
    look_at_hand,
    user_filing,
)
from stopgap.reports.answers import blend_report, gaps_report, on_paper
from stopgap.reports.blocks import Block, Heading, Report
from stopgap.reports.render.rooms import FormField, Panel
from stopgap.reports.wording import blend_strip

_PREFER = (
    ("enough", "just enough pencils"),
    ("fewest", "as few as can be"),
    ("smoothest", "the smoothest"),
)
_PATHS = (("auto", "as the hues suggest"), ("straight", "straight"), ("round", "round by hues"))
_LOOKS = (
    ("one", "one blend"),
    ("ways", "the ways it can go, to choose by eye"),
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
    ends = sent.said("from")
    if not {"one": ends, "ways": ends, "listed": sent.said("blends"), "families": True}[look]:
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
    if look == "ways":
        return _ways(at_hand, sent, step)
    if look == "one":
        blend = _blend(
            at_hand, sent, step, path, sent.one_of("prefer", [word for word, _ in _PREFER])
        )
        report = blend_report(blend, note_words)
        if not blend.closed:
            report = report._replace(blocks=[*report.blocks, *_closing(at_hand, sent, step, path)])
        return Panel(on_paper(report, grounds, note_words))
    rows, left = None, None
    if look == "listed":
        rows, left = known_rows(blends_of(sent.text("blends")), at_hand.known)
    said = [] if left is None else [error_words(left)]
    if rows == []:
        return Panel(said=said)
    gaps = gaps_on_papers([(ground.on, at_hand, rows)], step=step, path=path, arrangement=filing)
    return Panel(on_paper(gaps_report(gaps, note_words), grounds, note_words), said=said)


def _blend(at_hand: AtHand, sent: Sent, step: float, path: str, prefer: str) -> Blend:
    return find_blend(
        at_hand,
        sent.text("from"),
        sent.text("to"),
        stops=sent.every("via"),
        limit=step,
        path=path,
        prefer=prefer,
        by_lightness=sent.said("by_lightness"),
        max_pencils=None,
    )


def _closing(at_hand: AtHand, sent: Sent, step: float, path: str) -> Sequence[Block]:
    """What would close the gaps of the one blend."""
    name = f"{sent.text('from')} to {sent.text('to')}"
    ends = (sent.text("from"), sent.text("to"))
    row = ListedBlend("", 1, name, *ends, stops=tuple(sent.every("via")))
    gaps = gaps_at_hand(at_hand, [row], step=step, path=path)
    return gaps_report(gaps, note_words).blocks


def _ways(at_hand: AtHand, sent: Sent, step: float) -> Panel:
    """The blend along each path and of as many pencils as each wish takes, one below the other;
    those that come to the same once.
    """
    blocks: list[Block] = []
    links, seen = [], set()
    for path, runs in _PATHS:
        for prefer, made in _PREFER:
            blend = _blend(at_hand, sent, step, path, prefer)
            colours = tuple(point.lab for point in blend.points)
            if colours in seen:
                continue
            seen.add(colours)
            words = f"{runs}, {made}"
            blocks += [Heading(words), blend_strip(blend)]
            kept = [pair for pair in sent.pairs if pair[0] not in ("look", "path", "prefer")]
            asked = urlencode([*kept, ("path", path), ("prefer", prefer)])
            links.append((f"/blends?{asked}", f"Take this: {words}"))
    return Panel(Report("ways", {}, blocks, [], []), links=links)


ROOM = Room(
    "Blends",
    "The pencils that lead from one colour to another, each melting into the next; where a blend "
    "breaks, and what would close it.",
    _fields,
    _answer,
)
