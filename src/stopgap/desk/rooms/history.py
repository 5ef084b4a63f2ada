"""History: every change, what takes it back, and what does it again."""

from stopgap.desk.asking import Desk, Done, Room
from stopgap.desk.forms import Sent
from stopgap.errors import InputError, NothingFoundError
from stopgap.library import open_library
from stopgap.reports.answers import changes_report
from stopgap.reports.render.rooms import Deed, FormField, Panel

_MOST_NAMED = 3


def _brief(words: str) -> str:
    """What a button says of a change: of one in many parts the first, and how many more."""
    parts = words.split("; ")
    more = len(parts) - _MOST_NAMED
    return words if more <= 1 else f"{'; '.join(parts[:_MOST_NAMED])} and {more} more"


def _fields(desk: Desk, sent: Sent) -> list[FormField]:
    del desk, sent
    return []


def _answer(desk: Desk, sent: Sent) -> Panel:
    del sent
    with desk.reading() as library:
        changes = library.changes()
    deeds = []
    there = [change for change in changes if not change.undone]
    undone = [change for change in changes if change.undone]
    if there:
        number = {"change": str(there[0].number)}
        deeds.append(Deed("/history/undo", f"Take back: {_brief(there[0].words)}", number))
    if undone:
        number = {"change": str(undone[-1].number)}
        deeds.append(Deed("/history/redo", f"Do again: {_brief(undone[-1].words)}", number))
    return Panel(changes_report(changes), deeds)


def _undo(desk: Desk, sent: Sent) -> Done:
    """Take back the change that the button named, and no other."""
    with open_library(desk.path) as library, desk.last_read.writing(library):
        done = library.take_back(1, only=_number(sent))
    return _done(done[0].words if done else "", "Taken back", "There is nothing to take back.")


def _redo(desk: Desk, sent: Sent) -> Done:
    """Do again the change that the button named, and no other."""
    number = _number(sent)
    with open_library(desk.path) as library, desk.last_read.writing(library):
        undone = [change for change in library.changes() if change.undone]
        if not undone or undone[-1].number != number:
            raise InputError(
                "Something else was changed since this page was shown, so nothing was done."
            )
        done = library.do_again()
    return _done(done[0].words if done else "", "Done again", "There is nothing to do again.")


def _number(sent: Sent) -> int:
    text = sent.text("change")
    if not text.isdecimal() or len(text) > 18:
        raise InputError(f"expected the number of a change, found {text!r:.60}.")
    return int(text)


def _done(words: str, said: str, nothing: str) -> Done:
    if not words:
        raise NothingFoundError(nothing)
    return Done(f"{said}: {words}.")


ROOM = Room(
    "History",
    "Every change of the library that is kept, the newest first. What was done can be taken back, "
    "and done again.",
    _fields,
    _answer,
    {"undo": _undo, "redo": _redo},
)
