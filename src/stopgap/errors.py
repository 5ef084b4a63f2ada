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

    OTHER_LIBRARY = "other library"
    """Use another library file."""


class StopgapError(Exception):
    """Root of the tree; `exit_status` is what the command line ends with.

    `remedy` is the key of what would help, where something does, and `details` are what the words
    for it are filled with.
    """

    exit_status = 1

    def __init__(self, message: str, *, remedy: Remedy | None = None, **details: object) -> None:
        super().__init__(message)
        self.remedy = remedy
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
