"""The exceptions that stopgap raises on purpose, each with the exit status it leads to.

::

    StopgapError                 1   something asked for could not be done
    ├── InputError               1   a file or a value is not as expected
    │   ├── ProblemsInFile       1   several problems of one file, reported together
    │   └── TooLargeError        1   it would take more memory than there is for it
    ├── LibraryError             1   the library file cannot be opened, read or written
    ├── UnknownSwatchError       1   no swatch, range or family of that name
    ├── UsageError               2   arguments that do not go together
    └── NothingFoundError        3   the thing asked for does not exist within the limits

Everything else that escapes is a defect of stopgap. What an error carries stands here too: the key
of a remedy, the problems of a file, the spellings that may have been meant.
"""

import re
from collections.abc import Iterable, Mapping, Sequence
from contextvars import ContextVar
from enum import StrEnum
from types import MappingProxyType
from typing import NamedTuple


class Remedy(StrEnum):
    """What would help, as a key: the command line, a page and Python each say it in their words."""

    ACCEPT_OBSERVER = "accept observer"
    """Take colours for another observer at a larger uncertainty."""
    ANY_PENCIL = "any pencil"
    """Say what is owned, or take pencils that are not."""
    ARRANGE = "arrange"
    """Make an arrangement of one's own families."""
    CALIBRATE = "calibrate"
    """Learn from the user's own layered swatches."""
    CHECK_RANGE = "check range"
    """Look through the range again."""
    CHECK_LIBRARY = "check library"
    """Look through the library for what is damaged."""
    CONFIRM = "confirm"
    """Agree to what was guessed, or say what the columns hold."""
    CORRECT = "correct"
    """Take the shift out of `range`."""
    CORRECT_RANGE = "correct range"
    """Find what `range` lies off `reference`, and take it out."""
    CORRECTED_ALREADY = "corrected already"
    """The spectra need no correction; leave it out."""
    DROP = "drop"
    """Say that the range may lose so many."""
    EACH_CELL = "each cell"
    """Look at each cell of the file that is meant."""
    EDIT_SWATCH = "edit swatch"
    """Change the swatch that is there."""
    FEWER_TO_LAYER = "fewer to layer"
    """Layer fewer pencils, or none."""
    FILE_PENCIL = "file pencil"
    """Put a pencil into a family."""
    FIRST_RANGE = "first range"
    """Bring in a first range, or look at the demo."""
    GIVE_COLOUR = "give colour"
    """Give the `pencil` its colour."""
    GIVE_COLOURS = "give colours"
    """Colour in a chart and scan it."""
    IMPORT_RANGE = "import range"
    """Bring a range into the library."""
    KEEP_PAPER = "keep paper"
    """Put the paper into the drawer."""
    MEASURE_SHIFT = "measure shift"
    """See whether the range lies off another."""
    MODE_OF_THE_FILE = "mode of the file"
    """Name no measurement mode, or one of the file."""
    NAME_PAIRS = "name pairs"
    """Name pencils that both ranges measured."""
    NEW_RANGE = "new range"
    """Import a range as a new one."""
    OBSERVER_OF_THE_FILE = "observer of the file"
    """Leave the observer to the file."""
    NAME_ILLUMINANT = "name illuminant"
    """Name the illuminants to look under."""
    NAME_PAPER = "name paper"
    """Name the paper that is drawn on."""
    NO_METRIC = "no metric"
    """Leave the metric to the default."""
    ONE_CURRENCY = "one currency"
    """Buy from ranges whose prices are in one currency."""
    ONE_FAMILY = "one family"
    """Ask for one family."""
    ONE_MODE = "one mode"
    """Choose one of the `modes`."""
    OTHER_FINISH = "other finish"
    """Look among pencils of that `finish`."""
    OTHER_LIBRARY = "other library"
    """Use another library file."""
    OVERWRITE = "overwrite"
    """Replace the file."""
    RECONSTRUCT = "reconstruct"
    """Reconstruct the spectra that are missing."""
    RENEW_RANGE = "renew range"
    """Renew the range by the file, or give it another name."""
    REPEATED_READINGS = "repeated readings"
    """Take rows of one code for readings of one pencil."""
    REPLACE_MEASURED = "replace measured"
    """Let a scan take the place of what was measured."""
    REPAIR = "repair"
    """Save what a damaged library still holds."""
    RESTORE = "restore"
    """Put a copy of the library back, or use another."""
    SAY_OWNED = "say owned"
    """Say which pencils are owned."""
    SEARCH = "search"
    """Search for the `words`."""
    SORT_FAMILY = "sort family"
    """Order a family from light to dark anew."""
    START_RANGE = "start range"
    """Start a range of that name."""
    STATE_PATCHES = "state patches"
    STATE_PRESSURE = "state pressure"
    STATE_SOURCE = "state source"
    """Say how the colours were had."""
    SWATCH_DRY = "swatch dry"
    """Give the pencil a dry swatch."""
    STATE_WHITE = "state white"
    """Say under which white and for which observer the colours are."""
    TAKE_BACK = "take back"
    """Take the change back."""
    UNCORRECT = "uncorrect"
    """Take the correction back."""
    WHITE_OF_THE_FILE = "white of the file"
    """Leave the white to the file."""


LANDED: ContextVar[list[str] | None] = ContextVar("LANDED", default=None)
"""What a run has changed for good, told by `landed`, for who must say so where it is cut short."""


def landed(what: str) -> None:
    """Note that something is done and stays, in words that follow on 'after'."""
    done = LANDED.get()
    if done is not None:
        done.append(what)


class StopgapError(Exception):
    """Root of the tree; `exit_status` is what the command line ends with.

    `argument` is the argument of a function that is wrong, which may have another name where people
    state it; `remedy` is the key of what would help, where something does, and `details` are what
    the words for it are filled with. `sentence` is the message without the argument's name.
    """

    exit_status = 1

    def __init__(
        self,
        message: str,
        *,
        argument: str = "",
        remedy: Remedy | None = None,
        **details: object,
    ) -> None:
        super().__init__(f"{argument}: {message}" if argument else message)
        self.sentence = message
        self.argument = argument
        self.remedy = remedy
        if remedy is not None:  # what Python shows below a traceback
            self.add_note(f"What would help: {remedy}.")
        self.details: Mapping[str, object] = MappingProxyType(details)


class InputError(StopgapError):
    """A file or a value is not as expected; the message says where and how to mend it."""


class Problem(NamedTuple):
    """What is not as expected at one place of a file; as text it is one sentence.

    `row` counts as a spreadsheet program does, lines of a text file are a `place` of their own and
    a problem of the whole file has none. `found` is empty where nothing is, `beside` says what else
    has to do with it, and `reason` is a sentence where found and expected do not tell it.
    """

    row: int | None
    column: str = ""
    found: str = ""
    expected: str = ""
    beside: str = ""
    reason: str = ""
    place: str = "row"

    def __str__(self) -> str:
        where = [*([f"{self.place} {self.row}"] if self.row is not None else [])]
        where += [f"column {self.column}"] if self.column else []
        parts = [
            f"found {self.found!r:.60}" if self.found else "the cell is empty",
            *([f", {self.beside}"] if self.beside else []),
            f"; expected {self.expected}.",
        ]
        return ": ".join([*([", ".join(where)] if where else []), self.reason or "".join(parts)])


class ProblemsInFile(InputError):
    """All problems of one file, in file order; `summary` says what became of it.

    The message has a line for each cause, a screen at most; `in_full` one for each problem.
    """

    def __init__(
        self,
        summary: str,
        problems: Sequence[Problem],
        *,
        remedy: Remedy | None = None,
        **details: object,
    ) -> None:
        self.summary = summary
        self.problems = tuple(problems)
        text = "\n  ".join([summary, *_by_cause(self.problems)])
        super().__init__(text, argument="", remedy=remedy, **details)

    @property
    def in_full(self) -> str:
        """The message with every problem."""
        return "\n  ".join([self.summary, *map(str, self.problems)])


_MOST_CAUSES = 12
_FEW = 2
"""Problems of one cause that are told one by one."""


def _by_cause(problems: Sequence[Problem]) -> list[str]:
    """A line for each cause: what is alike in column and in what was expected, or in the reason."""
    causes: dict[tuple[str, str], list[Problem]] = {}
    for problem in problems:
        alike = problem.expected or re.sub(r"'[^']*'|\d+|[.?!:] .*", "", problem.reason)
        causes.setdefault((problem.column, alike), []).append(problem)
    lines: list[str] = []
    for found in causes.values():
        lines += map(str, found[:_FEW]) if len(found) <= _FEW else [_together(found)]
    more = len(lines) - _MOST_CAUSES
    return lines if more <= 0 else [*lines[:_MOST_CAUSES], f"… and {more} more."]


def _together(found: Sequence[Problem]) -> str:
    """Several problems of one cause: how many, what the first is, and in which rows the others."""
    rows = list(dict.fromkeys(str(problem.row) for problem in found[1:] if problem.row is not None))
    shown = ", ".join(rows[:8]) + (" …" if len(rows) > 8 else "")
    alike = f"{len(found)} alike" + (f", also in {found[0].place} {shown}" if rows else "")
    return f"{found[0]} ({alike})"


class TooLargeError(InputError):
    """What is asked for would take more memory than there is for it."""


class LibraryError(StopgapError):
    """The library file cannot be opened, read or written."""


class UnknownSwatchError(StopgapError):
    """Nothing in the library bears the name that was asked for."""


class UsageError(StopgapError):
    """Arguments that do not go together."""

    exit_status = 2


class NothingFoundError(StopgapError):
    """The thing asked for does not exist within the limits that were set."""

    exit_status = 3


class Note(NamedTuple):
    """A remark on an answer, one sentence, and the key of what would help, as with an error.

    `plain` is the text for who does not measure: empty for nothing, None for the same.
    """

    text: str
    remedy: Remedy | None = None
    details: Mapping[str, object] = MappingProxyType({})
    plain: str | None = None

    def __str__(self) -> str:
        return self.text


def nearest_spellings(name: str, known: Iterable[str], limit: int = 3) -> str:
    """` Did you mean 'X' or 'Y'?` with a leading space, or nothing where no name is near."""
    from difflib import get_close_matches

    by_fold = {candidate.casefold(): candidate for candidate in known}
    near = get_close_matches(name.casefold(), by_fold, n=limit, cutoff=0.6)
    if not near:
        return ""
    return f" Did you mean {' or '.join(repr(by_fold[fold]) for fold in near)}?"
