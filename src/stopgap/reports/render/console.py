"""The console that a report is printed to: how wide it is and what it shows.

What a terminal shows is found by rich: NO_COLOR (no-color.org), FORCE_COLOR (force-color.org),
COLORTERM and TERM.
"""

import os
from collections.abc import Mapping
from typing import IO

from rich.console import Console

_WIDTH = 80  # cells, where nothing says how many there are
_LINES = 25  # rich asks the system for both or for neither; nothing here depends on the height


def make_console(
    file: IO[str], *, width: int | None = None, environment: Mapping[str, str] | None = None
) -> Console:
    """A console that writes to `file`; markup and emoji codes in texts stay what they are.

    `width` in cells, else COLUMNS, else the terminal's, else 80; `environment` is that of the
    process where none is given.
    """
    return Console(
        file=file,
        width=width or _columns(file, os.environ if environment is None else environment),
        height=_LINES,
        markup=False,
        emoji=False,
        highlight=False,
        force_jupyter=False,
        _environ=environment,
    )


def _columns(file: IO[str], environment: Mapping[str, str]) -> int:
    """As shutil's, which takes as long to import as a page to lay out, and of `file` alone.

    rich asks standard input and error as well, so that a page in a pipe would be as wide as they.
    """
    stated = environment.get("COLUMNS", "")
    if stated.isdecimal() and len(stated) < 6 and int(stated):
        return int(stated)
    try:
        return os.get_terminal_size(file.fileno()).columns or _WIDTH
    except (OSError, ValueError):  # not a terminal, or not a file of the system at all
        return _WIDTH
