"""Stand-ins: what comes nearest to a pencil or a colour, edge to edge with it."""

from urllib.parse import urlencode

from stopgap.blends import Family
from stopgap.colorimetry import WHITES
from stopgap.defaults import METRIC, PENCILS_BELOW, STAND_INS
from stopgap.desk.arranging import place_deeds
from stopgap.desk.asking import EVERY, Desk, Room, own_deeds, paper_field, which_field
from stopgap.desk.forms import Sent
from stopgap.desk.words import note_words
from stopgap.library import find_asked
from stopgap.planner import Ground, Layering, match_target, user_filing
from stopgap.reports.answers import on_paper, stand_ins_report
from stopgap.reports.render.rooms import Deed, FormField, Panel
from stopgap.swatches import Arrangement, Swatch

_MOST = 60
_LAYERS = (
    ("auto", "where they come nearer"),
    ("always", "in any case"),
    ("never", "never"),
)


def _fields(desk: Desk, sent: Sent) -> list[FormField]:
    with desk.reading() as library:
        names = library.range_names()
    lamp = sent.text("under", next(iter(desk.usual.lamps), ""))
    return [
        FormField(
            "target",
            "pencil or colour",
            sent.text("target"),
            hint="a code, a name, #c04a2b or lab(52 40 30)",
        ),
        which_field(sent, owned=False),
        FormField(
            "range",
            "range",
            sent.text("range"),
            "choice",
            [("", "every range"), *((name, name) for name in names)],
        ),
        FormField("layers", "layers", sent.text("layers", "auto"), "choice", _LAYERS),
        FormField(
            "under",
            "also under the lamp",
            lamp,
            "choice",
            [("", "none"), *((name, name) for name in WHITES)],
        ),
        FormField(
            "instead",
            "it is to be replaced, and never answers for itself",
            sent.text("instead"),
            "check",
        ),
        paper_field(desk, sent),
    ]


def _answer(desk: Desk, sent: Sent) -> Panel | None:
    if not sent.said("target"):
        return None
    limit = sent.whole_number("limit", STAND_INS, _MOST)
    with desk.reading() as library:
        ground = desk.ground(library, sent)
        selection = desk.selection(library, sent, owned=False)
        shifts = library.shifts()
        filing = user_filing(library)
    asked = find_asked(sent.text("target"), ground.known)
    layers = sent.one_of("layers", [word for word, _ in _LAYERS])
    below = limit if sent.said("limit") else PENCILS_BELOW
    layering = Layering(desk.usual.layer_owned, layers == "always", below, desk.cache)
    answer = match_target(
        asked,
        ground,
        selection,
        layering=None if layers == "never" else layering,
        instead="replace" if sent.said("instead") else "",
        shifts=shifts,
        limit=limit,
        metric=METRIC,
        under=sent.every("under") or desk.usual.lamps,
    )
    report = stand_ins_report(answer, note_words)
    more = [pair for pair in sent.pairs if pair[0] not in ("limit", "said")]
    address = f"/match?{urlencode([*more, ('limit', str(min(limit + STAND_INS, _MOST)))])}"
    here = f"/match?{urlencode([pair for pair in sent.pairs if pair[0] != 'said'])}"
    return Panel(
        on_paper(report, [ground.using(selection)], note_words),
        deeds=_deeds(desk, asked, ground, filing, here) if isinstance(asked, Swatch) else (),
        links=[(address, "Show others too")] if limit < _MOST else (),
    )


def _deeds(
    desk: Desk, pencil: Swatch, ground: Ground, filing: Arrangement | None, here: str
) -> tuple[Deed, ...]:
    """What may be done with the pencil that is asked about: owned, filed elsewhere."""
    found, settled = desk.families(ground, EVERY, filing)
    there = {family.name for family in found}
    empty = [] if filing is None else [each for each in filing.families if each.name not in there]
    families = [*found, *(Family(each.name, (), (), proved=True) for each in empty)]
    return (*own_deeds(pencil, here), *place_deeds(pencil, families, here, settled=settled))


ROOM = Room(
    "Stand-ins",
    "What comes nearest to a shade that is missing: a pencil, or layers of yours, beside it on "
    "neutral ground, and in words how it is off.",
    _fields,
    _answer,
    ask="Find",
)
