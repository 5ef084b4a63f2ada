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

from collections.abc import Sequence


class StopgapError(Exception):
    """Root of the tree; `exit_status` is what the command line ends with."""

    exit_status = 1


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
