"""A room of the desk as a page: its form, its answer by the blocks of the sheets, what may be done.

The policy goes into the page's header, not into the page: a frame can be forbidden only there.
"""

from collections.abc import Mapping, Sequence
from functools import cache
from typing import TYPE_CHECKING, Any, NamedTuple

from stopgap.reports.blocks import Block, Chip, Command, Heading, Report
from stopgap.reports.render.filling import digest, page, source
from stopgap.reports.render.html import SHEET_STYLES, laid_out, render_html
from stopgap.reports.render.paint import paint_rules

if TYPE_CHECKING:
    from stopgap.reports.manual import Topic


class FormField(NamedTuple):
    """What a form asks for: text, long (many lines), number, choice, check or file.

    `options` are values with their words.
    """

    name: str
    label: str
    value: str = ""
    kind: str = "text"
    options: Sequence[tuple[str, str]] = ()
    hint: str = ""


class SheetCell(NamedTuple):
    """A cell of a spreadsheet, called so in a form; what is to be said of it, and whether that is
    what is wrong with it.
    """

    name: str
    text: str
    told: str = ""
    wrong: bool = False


class SheetForm(NamedTuple):
    """A spreadsheet: a choice over each column, and rows with their numbers; how many rows more
    there are.
    """

    columns: Sequence[FormField | None]
    rows: Sequence[tuple[int, Sequence[SheetCell]]]
    more: int = 0


class Deed(NamedTuple):
    """A button that changes something or makes a file, and what it sends along."""

    action: str
    label: str
    sent: Mapping[str, str] = {}
    fields: Sequence[FormField] = ()
    sheet: SheetForm | None = None


class Slider(NamedTuple):
    """A number from 0 to `most` by which the same question is asked again; `sent` goes along."""

    action: str
    sent: Sequence[tuple[str, str]]
    name: str
    label: str
    value: float
    most: float


class ScanCards(NamedTuple):
    """Boxes beside their readings as `scan_cards.html` shows them, and their colours' style."""

    parts: Sequence[Any]
    rules: str


class Panel(NamedTuple):
    """What a room shows below its form.

    `seen` are marks of pencils by their addresses, where touching one on a wall says whether it is
    owned; `looked_up` is the address to which a pencil's own is added, where touching it asks about
    it. `topics` are of the manual. `links` are addresses with their words, `said` what
    was left out, `awaited` what is still worked out, so that the panel is to be asked for again,
    `further` which of the links goes on where this panel ends, `look` how chips are shown.
    """

    report: Report | None = None
    deeds: Sequence[Deed] = ()
    seen: Mapping[str, str] = {}
    looked_up: str = ""
    topics: "Sequence[Topic]" = ()
    links: Sequence[tuple[str, str]] = ()
    said: Sequence[str] = ()
    awaited: str = ""
    further: str = ""
    look: str = ""
    slider: Slider | None = None
    scanned: ScanCards | None = None


class RoomPage(NamedTuple):
    """A whole page: where it lies, its form, what is said, what is shown; `here` is its address,
    `page` tells its ticks from those of others, `asked` is what the form said.
    """

    name: str
    title: str
    about: str
    ask: str
    fields: Sequence[FormField] = ()
    said: Sequence[str] = ()
    panel: Panel = Panel()
    mark: str = ""
    library: str = ""
    here: str = ""
    page: str = ""
    asked: Sequence[tuple[str, str]] = ()


def render_room(
    room: RoomPage, rooms: Sequence[tuple[str, str]], part: str = ""
) -> tuple[str, str]:
    """The page and its content security policy; `rooms` are names and titles, in their order. With
    a `part`, which its colours are then called by, the panel alone, to be laid into such a page.

    Commands in a report are left out: the desk has no terminal.
    """
    from markupsafe import Markup

    blocks = _blocks(room)
    sections, used = laid_out(blocks, prefix=part or "k")
    scanned = room.panel.scanned
    rules = "\n".join([paint_rules(used), *([] if scanned is None else [scanned.rules])])
    styles = "\n".join([*_styles(), rules])
    script = _script(room.name)
    passages = [(topic, Markup(_marked_up(topic))) for topic in room.panel.topics]
    context: dict[str, Any] = {
        "room": room,
        "rooms": rooms,
        "sections": sections,
        "paint": used,
        "seen": room.panel.seen,
        "topics": [(topic, text) for topic, text in passages if text],
        "clipped": not all(paint.in_sRGB for paint in used.values()),
        "about_chip": blocks[0].label if blocks and isinstance(blocks[0], Chip) else "",
    }
    if room.panel.looked_up:
        context["looked_up"] = room.panel.looked_up
    context["paint_rules"] = Markup(rules or "/* none */") if part else ""
    text = page("desk_panel.html" if part else "desk.html", styles=styles, script=script, **context)
    return text, policy_of_room(styles, script, pictures=scanned is not None or bool(passages))


def kept_page(report: Report, title: str) -> bytes:
    """A report of a room as a sheet in a file, without commands."""
    blocks = [block for block in report.blocks if not isinstance(block, Command)]
    headed = bool(blocks) and isinstance(blocks[0], Heading)
    return render_html(report._replace(blocks=blocks), "" if headed else title).encode("utf-8")


def _blocks(room: RoomPage) -> list[Block]:
    """What is shown of its report, without the heading that the page has anyway."""
    every = room.panel.report.shown if room.panel.report else []
    blocks: list[Block] = [block for block in every if not isinstance(block, Command)]
    if blocks and isinstance(first := blocks[0], Heading) and first.text == room.title:
        del blocks[0]
    return blocks


def policy_of_room(styles: str, script: str, *, pictures: bool = False) -> str:
    """The content security policy of a room: this style, this script, and our own server; with
    `pictures` also those that are in the page itself.
    """
    return "; ".join(
        [
            "default-src 'none'",
            f"style-src {digest(styles)}",
            f"script-src {digest(script)}",
            f"img-src 'self'{' data:' if pictures else ''}",
            "connect-src 'self'",
            "form-action 'self'",
            "base-uri 'none'",
            "frame-ancestors 'none'",
            "require-trusted-types-for 'script'",
            "trusted-types desk",
        ]
    )


@cache
def _script(room: str) -> str:
    parts = ("sortable.js", "desk.js", "desk_wall.js") if room == "wall" else ("desk.js",)
    return "".join(map(source, parts))


@cache
def _styles() -> tuple[str, ...]:
    scanned = f".scanned {{\n{source('scan.css')}}}"  # elsewhere chips look otherwise
    return (*map(source, (*SHEET_STYLES, "manual.css", "desk.css")), scanned)


def _marked_up(topic: "Topic") -> str:
    """The passages of a topic that name no command; markdown-it is told to take no HTML."""
    from markdown_it import MarkdownIt

    markdown = MarkdownIt("commonmark", {"html": False}).enable("table")
    return "\n".join(markdown.render(one.pictured) for one in topic.passages if not one.at_terminal)
