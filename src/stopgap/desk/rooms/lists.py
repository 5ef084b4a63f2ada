"""Lists: what to lay for each colour that somebody else calls for."""

from urllib.parse import urlencode

from stopgap.defaults import JOBS, TIME_LIMIT
from stopgap.desk.asking import Desk, Done, Room, paper_field, which_field
from stopgap.desk.forms import Sent, as_file
from stopgap.desk.words import error_words, note_words
from stopgap.errors import InputError
from stopgap.library import by_paper, known_rows, read_list, read_table
from stopgap.library.tables.formats.delimited import write_delimited
from stopgap.planner import translate_on_papers
from stopgap.reports.answers import on_paper, translation_report
from stopgap.reports.render.rooms import Deed, FormField, Panel

_SHARING = (
    ("distinct", "a pencil of its own for each"),
    ("repeat", "each its nearest"),
)
_LONGEST = 40_000  # characters of a list that an address may carry


def _fields(desk: Desk, sent: Sent) -> list[FormField]:
    return [
        FormField(
            "list",
            "colours, one a line",
            sent.text("list"),
            "long",
            hint="a code, a name or a colour; a table may have the columns colour, label, weight "
            "and stage",
        ),
        which_field(sent, owned=True),
        FormField("sharing", "which share", sent.text("sharing", "distinct"), "choice", _SHARING),
        FormField("alone", "without layers", sent.text("alone"), "check"),
        paper_field(desk, sent),
    ]


def _answer(desk: Desk, sent: Sent) -> Panel:
    bring = Deed(
        "/lists/bring", "Bring the list", fields=[FormField("file", "a file", kind="file")]
    )
    if not sent.said("list"):
        return Panel(deeds=[bring])
    with as_file(sent.text("list"), "your list") as path:
        listed = read_list(path)
    on = sent.text("on") or desk.usual.on
    with desk.reading() as library:
        parts = [(desk.ground_on(library, paper), rows) for paper, rows in by_paper(listed, on)]
        selection = desk.selection(library, sent, owned=True)
        shifts = library.shifts()
    unknown = [known_rows(rows, ground.known)[1] for ground, rows in parts]
    found = translate_on_papers(
        parts,
        selection=selection,
        shifts=shifts,
        layers=not sent.said("alone"),
        distinct=sent.one_of("sharing", [word for word, _ in _SHARING]) == "distinct",
        within_stages=True,
        time_limit=TIME_LIMIT,
        jobs=JOBS,
        cache=desk.cache,
    )
    report = translation_report(found, note_words, explain=True)
    grounds = [ground.using(selection) for ground, _ in parts]
    left = [error_words(error) for error in unknown if error is not None]
    return Panel(on_paper(report, grounds, note_words), said=left)


def _bring(desk: Desk, sent: Sent) -> Done:
    """Put a file's rows into the form, where they can be looked at and changed; nothing is kept."""
    del desk
    name, held = sent.files.get("file", ("", b""))
    if not held:
        raise InputError("expected a file with a list.")
    with as_file(held, "your list") as path:
        text = write_delimited(read_table(path)).decode("utf-8")
    if len(text) > _LONGEST:
        raise InputError(f"{name:.60}: that is a longer list than a page can carry.")
    return Done(f"This is what {name:.60} holds.", f"/lists?{urlencode({'list': text})}")


ROOM = Room(
    "Lists",
    "What to lay for each colour of a lesson or of somebody else's list, with the pencils at hand.",
    _fields,
    _answer,
    {"bring": _bring},
    ask="Translate",
)
