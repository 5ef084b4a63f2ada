"""What the place that a report is written to can show, and how wide it is.

References
----------
no-color.org: NO_COLOR, not empty, forbids colour. force-color.org: FORCE_COLOR, not empty, asks for
colour where there is no terminal. COLORTERM: de facto, `truecolor` or `24bit` where a terminal
shows 24 bits. The names of terminals are those of terminfo.
"""

import os
from collections.abc import Mapping
from typing import IO, NamedTuple

TRUE_COLOUR = 2**24
_WIDTH = 80  # columns, where nothing says how many there are
_CANNOT = ("dumb", "unknown")
_TRUE_COLOUR_NAMES = ("truecolor", "24bit")
_SHOWS_256 = ("-256color", "-kitty")


class Console(NamedTuple):
    """Columns, whether bold and dim can be shown, and how many colours: 0, 256 or 2**24."""

    width: int = _WIDTH
    styled: bool = False
    colours: int = 0


def make_console(
    file: IO[str], *, width: int | None = None, environment: Mapping[str, str] | None = None
) -> Console:
    """What `file` can show by itself and by what `environment` says (that of the process).

    Width: `width`, else COLUMNS, else that of the terminal, else 80. Nothing is styled where
    NO_COLOR forbids it or where the terminal is dumb or nothing is known of it.
    """
    surroundings = os.environ if environment is None else environment
    styled = _is_styled(file, surroundings)
    return Console(
        width or _columns(file, surroundings), styled, _colours(surroundings) if styled else 0
    )


def _is_styled(file: IO[str], environment: Mapping[str, str]) -> bool:
    if environment.get("NO_COLOR") or _name(environment) in _CANNOT:
        return False
    return bool(environment.get("FORCE_COLOR")) or (_is_known(environment) and file.isatty())


def _is_known(environment: Mapping[str, str]) -> bool:
    """Something names the terminal; on Windows it is not TERM that does."""
    on_windows = environment.get("WT_SESSION") or environment.get("ANSICON")
    return bool(_name(environment) or on_windows or environment.get("ConEmuANSI") == "ON")


def _colours(environment: Mapping[str, str]) -> int:
    name = _name(environment)
    promised = environment.get("COLORTERM", "").strip().lower() in _TRUE_COLOUR_NAMES
    if promised or environment.get("WT_SESSION") or name.endswith("-direct"):
        return TRUE_COLOUR
    return 256 if name.endswith(_SHOWS_256) else 0


def _name(environment: Mapping[str, str]) -> str:
    return environment.get("TERM", "").strip().lower()


def _columns(file: IO[str], environment: Mapping[str, str]) -> int:
    stated = environment.get("COLUMNS", "")
    if stated.isdecimal() and len(stated) < 6 and int(stated):
        return int(stated)
    try:
        return os.get_terminal_size(file.fileno()).columns or _WIDTH
    except (OSError, ValueError):  # not a terminal, or not a file of the system at all
        return _WIDTH
