"""Print: charts to colour in, cards to try two pencils, and what was coloured, read back."""

from io import BytesIO

from stopgap.defaults import CHART_PAPER, POCKET_TITLE
from stopgap.desk.asking import Desk, Done, Room, paper_field, which_field
from stopgap.desk.forms import Sent
from stopgap.desk.words import note_words
from stopgap.errors import InputError
from stopgap.library import Library, find_swatch
from stopgap.planner import carry_library, under_lamps, user_filing
from stopgap.reports.answers import scan_report
from stopgap.reports.drawing.charted import ChartContent, card_of, chart_of, keep_chart
from stopgap.reports.drawing.charts import edition_chart
from stopgap.reports.drawing.drawing import FORMS
from stopgap.reports.pocket import render_pocket
from stopgap.reports.render.rooms import Deed, FormField, Panel
from stopgap.reports.scan_preview import scan_cards
from stopgap.scanning import Scan, read_chart, store_scan
from stopgap.swatches import Finish, Selection

_SIZES = (CHART_PAPER, "Letter")
_DEVICES = (
    ("", "as the picture says"),
    ("flatbed", "a scanner"),
    ("flatbed-led", "a scanner with three lamps"),
    ("phone", "a phone"),
)


def _fields(desk: Desk, sent: Sent) -> list[FormField]:
    del desk, sent
    return []


def _answer(desk: Desk, sent: Sent) -> Panel:
    if sent.said("scan"):
        return _scanned(desk, sent)
    size = FormField("size", "sheets", _SIZES[0], "choice", [(each, each) for each in _SIZES])
    which = which_field(sent, owned=False)
    with desk.reading() as library:
        names = library.range_names()
    ranges = [("", "every range"), *((name, name) for name in names)]
    family = FormField("family", "one family", hint="empty for all of them")
    chart = [which, FormField("range", "range", "", "choice", ranges), family, size]
    card = [FormField("first", "a pencil"), FormField("second", "and another"), size]
    recipes = FormField("recipes", "with layers of mine", "yes", "check")
    phone = [paper_field(desk, sent), recipes]
    scan = [
        FormField("file", "a picture of a coloured page", kind="file", hint="JPEG, PNG or TIFF"),
        FormField("device", "taken by", "", "choice", _DEVICES),
    ]
    return Panel(
        deeds=[
            Deed("/print/chart", "Draw a chart to colour in", fields=chart),
            Deed("/print/card", "Draw a trial card", fields=card),
            Deed("/print/read", "Read a coloured page", fields=scan),
            Deed("/print/phone", "Make the page for the phone", fields=phone),
        ]
    )


def _chart(desk: Desk, sent: Sent) -> Done:
    """A chart as PDF; the library keeps where its boxes stand."""
    with desk.reading() as library:
        selection = desk.selection(library, sent, owned=False)
        selection = selection._replace(finishes=tuple(Finish), include_discontinued=True)
        content = chart_of(library, selection, sent.every("family"))
    return _drawn(desk, sent, content)


def _card(desk: Desk, sent: Sent) -> Done:
    """A trial card of two pencils as PDF."""
    with desk.reading() as library:
        known = desk.ground(library, sent).answering
    pair = (find_swatch(sent.text("first"), known), find_swatch(sent.text("second"), known))
    return _drawn(desk, sent, card_of([pair], known.swatches), "Trial card")


def _drawn(desk: Desk, sent: Sent, content: ChartContent, title: str = "") -> Done:
    size = sent.one_of("size", _SIZES)
    with desk.changing() as library:
        edition = keep_chart(library, content, size=size)
    title = title or content.title
    drawing = edition_chart(edition, content.filed, title=title, pages=edition.pages)
    (held,) = FORMS[".pdf"](drawing)
    return Done(title, file=(f"chart-{edition.number}.pdf", "application/pdf", held))


def _phone(desk: Desk, sent: Sent) -> Done:
    """The library as one page for the phone, which works without a connection."""
    with desk.reading() as library:
        ground = desk.ground(library, sent)
        lit = under_lamps(library.swatches())
        filing = user_filing(library)
    selection = Selection(lightfast=desk.usual.lightfast)
    swatches = ground.answering.swatches
    found = carry_library(
        swatches,
        layers=ground.conditions if sent.said("recipes") else None,
        selection=selection,
        arrangement=filing,
        cache=desk.cache,
    )
    page = render_pocket(
        found.stand_ins,
        title=f"{POCKET_TITLE}, on {ground.on}" if ground.on else POCKET_TITLE,
        families=found.families,
        lit=lit,
        notes=(*found.notes, *ground.remarks, *selection.rule_notes(swatches)),
    )
    return Done("", file=("phone.html", "text/html; charset=utf-8", page.encode("utf-8")))


def _read(desk: Desk, sent: Sent) -> Done:
    """Keep a picture until what was read of it is taken; nothing is stored."""
    name, held = sent.files.get("file", ("", b""))
    if not held:
        raise InputError("expected a picture of a coloured page.")
    device = sent.one_of("device", [word for word, _ in _DEVICES]) if sent.said("device") else ""
    key = desk.wait(("scan", name, held, device))
    return Done("Nothing is stored yet.", f"/print?scan={key}")


def _scanned(desk: Desk, sent: Sent) -> Panel:
    key = sent.text("scan")
    with desk.reading() as library:
        found = _read_of(desk, key, library)
    take = [Deed("/print/take", "Take what was read", {"scan": key})] if found.kept else []
    return Panel(scan_report(found, note_words), take, scanned=scan_cards(found))


def _take(desk: Desk, sent: Sent) -> Done:
    """Store what was read of a picture, as one change."""
    key = sent.text("scan")
    with desk.changing() as library:
        found = store_scan(library, _read_of(desk, key, library))
    desk.brought.pop(key, None)
    count = len(found.kept)
    return Done(
        f"{count} {'pencil has' if count == 1 else 'pencils have'} the colours read.", "/wall"
    )


def _read_of(desk: Desk, key: str, library: Library) -> Scan:
    """What the picture that waits under a key says."""
    waiting = desk.brought.get(key)
    if not isinstance(waiting, tuple) or waiting[0] != "scan":
        raise InputError(
            "That is not waiting here any more, so nothing was stored. Bring it again."
        )
    _, name, held, device = waiting
    picture = BytesIO(held)
    picture.name = name
    return read_chart(library, [picture], device=device or None)


ROOM = Room(
    "Print",
    "Charts to print at full size, colour in and read back; a card to try two pencils over each "
    "other; the page for the phone. Every other room prints from the browser as it stands.",
    _fields,
    _answer,
    {"chart": _chart, "card": _card, "phone": _phone, "read": _read, "take": _take},
)
