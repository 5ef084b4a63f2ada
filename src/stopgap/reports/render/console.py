"""The console that a report is printed to: how wide it is and what it shows.

What a terminal shows is found by rich: NO_COLOR (no-color.org), FORCE_COLOR (force-color.org),
COLORTERM and TERM.
"""

from collections.abc import Mapping
from shutil import get_terminal_size
from typing import IO

from rich.console import Console

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
        width=width or get_terminal_size().columns,
        height=_LINES,
        markup=False,
        emoji=False,
        highlight=False,
        force_jupyter=False,
        _environ=environment,
    )
