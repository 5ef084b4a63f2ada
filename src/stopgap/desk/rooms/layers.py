"""Try two: what two or three pencils look like laid over each other, beside a target."""

from urllib.parse import urlencode

from stopgap.desk.asking import Desk, Room, paper_field
from stopgap.desk.forms import Sent
from stopgap.desk.words import note_words
from stopgap.difference import delta_E
from stopgap.library import find_asked, find_layer, find_swatch
from stopgap.planner import lay
from stopgap.reports.answers import layered_report, on_paper
from stopgap.reports.blocks import Chip
from stopgap.reports.render.rooms import FormField, Panel
from stopgap.swatches import Pressure, Stack

_PLACES = (("first", "laid first"), ("second", "then"), ("third", "and then"))
_PRESSURES = [str(each) for each in (Pressure.HEAVY, Pressure.MEDIUM, Pressure.LIGHT)]


def _fields(desk: Desk, sent: Sent) -> list[FormField]:
    options = [(word, word) for word in _PRESSURES]
    fields = []
    for name, label in _PLACES:
        pressure = f"{name}_pressure"
        laid = sent.text(pressure, _PRESSURES[0])
        fields += [
            FormField(name, label, sent.text(name)),
            FormField(pressure, f"{label}, how hard", laid, "choice", options),
        ]
    over = FormField(
        "over",
        "over what lies there already",
        sent.text("over"),
        hint="laid first to last: FM003 medium; FM013 light",
    )
    target = FormField("target", "beside", sent.text("target"), hint="a pencil or a colour to meet")
    return [*fields, over, target, paper_field(desk, sent)]


def _answer(desk: Desk, sent: Sent) -> Panel | None:
    named = [name for name, _ in _PLACES if sent.said(name)]
    if not named:
        return None
    pressures = [sent.one_of(f"{name}_pressure", _PRESSURES) for name in named]
    with desk.reading() as library:
        ground = desk.ground(library, sent)
    known = ground.known
    texts = [text for text in sent.text("over").split(";") if text.strip()]
    there = Stack([find_layer(text, known) for text in texts])
    pencils = [find_swatch(sent.text(name), known) for name in named]
    laid = Stack.of(*pencils, pressures=pressures)
    found = lay(Stack([*there, *laid]), ground.conditions)
    report = on_paper(layered_report(found, ground.conditions, note_words), [ground], note_words)
    if there:
        before = lay(there, ground.conditions).lab
        words = "what lies there already, and with this over it"
        beside = Chip((before, found.lab), words, captions=("now", "then"))
        report = report._replace(blocks=[*report.blocks, beside])
    if sent.said("target"):
        target = find_asked(sent.text("target"), known)
        off = float(delta_E(found.lab, target.lab))
        beside = Chip((found.lab, target.lab), f"ΔE00 {off:.1f} apart", captions=("laid", "target"))
        report = report._replace(blocks=[*report.blocks, beside])
    return Panel(report, links=_turned(sent, named))


def _turned(sent: Sent, named: list[str]) -> list[tuple[str, str]]:
    """The address of the same pencils laid in the other order."""
    if len(named) < 2:
        return []
    fields = []
    for name, other in zip(named, reversed(named), strict=True):
        fields.append((name, sent.text(other)))
        fields.append((f"{name}_pressure", sent.text(f"{other}_pressure", _PRESSURES[0])))
    fields += [(name, sent.text(name)) for name in ("over", "target", "on") if sent.said(name)]
    return [(f"/layers?{urlencode(fields)}", "The other way round")]


ROOM = Room(
    "Try two",
    "What two or three pencils look like laid over each other, on the paper you draw on. It is a "
    "prediction: try it on a scrap of the same paper.",
    _fields,
    _answer,
    ask="Lay them",
)
