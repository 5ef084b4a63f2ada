"""The exceptions that stopgap raises on purpose, each with the exit status it leads to.

::

    StopgapError                 1   something asked for could not be done
    ├── InputError               1   a file or a value is not as expected
    │   └── ProblemsInFile       1   several problems of one file, reported together
    ├── LibraryError             1   the library file cannot be opened, read or written
    ├── UnknownSwatchError       1   no swatch, range or family of that name
    ├── UsageError               2   arguments that do not go together
    └── NothingFoundError        3   the thing asked for does not exist within the limits

Everything else that escapes is a defect of stopgap.
"""

from collections.abc import Mapping, Sequence
from enum import StrEnum
from types import MappingProxyType
from typing import NamedTuple


class Remedy(StrEnum):
    """What would help, as a key: the command line, a page and Python each say it in their words."""

    ACCEPT_OBSERVER = "accept observer"
    """Take colours for another observer at a larger uncertainty."""
    ANY_PENCIL = "any pencil"
    """Say what is owned, or take pencils that are not."""
    CALIBRATE = "calibrate"
    """Learn from the user's own layered swatches."""
    CORRECT = "correct"
    """Add the shift to `range`."""
    CHECK_RANGE = "check range"
    """Look through the range again."""
    IMPORT_RANGE = "import range"
    """Bring a range into the library."""
    ONE_FAMILY = "one family"
    """Ask for one family."""
    OTHER_FINISH = "other finish"
    """Look among pencils of that `finish`."""
    OTHER_LIBRARY = "other library"
    """Use another library file."""
    RECONSTRUCT = "reconstruct"
    """Reconstruct the spectra that are missing."""
    SAY_OWNED = "say owned"
    """Say which pencils are owned."""
    TAKE_BACK = "take back"
    """Take the change back."""
    UNCORRECT = "uncorrect"
    """Take the correction back."""


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


class ProblemsInFile(InputError):
    """All problems of one file; `problems` holds one sentence each, in file order."""

    def __init__(self, summary: str, problems: Sequence[str]) -> None:
        self.summary = summary
        self.problems = tuple(problems)
        super().__init__("\n".join([summary, *(f"  {problem}" for problem in self.problems)]))


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
    """A remark on an answer, one sentence, and the key of what would help, as with an error."""

    text: str
    remedy: Remedy | None = None
    details: Mapping[str, object] = MappingProxyType({})

    def __str__(self) -> str:
        return self.text
