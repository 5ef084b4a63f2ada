"""The console that a report is printed to, and what stands on it: texts, marks, and how far it is.

What a terminal shows is found by rich: NO_COLOR (no-color.org), FORCE_COLOR (force-color.org),
COLORTERM and TERM.
"""

import os
from collections.abc import Mapping, Sequence
from typing import IO

from rich.console import Console, ConsoleOptions, RenderResult
from rich.measure import Measurement
from rich.segment import Segment
from rich.style import Style
from rich.text import Text

from stopgap.reports.text import harmless, unstacked

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


def as_text(said: str, longest: int, style: str | Style = "") -> Text:
    """What somebody wrote, made harmless; a word too long for its line folds."""
    return Text(unstacked(harmless(said, longest)), style, overflow="fold")


class Beside:
    """Text beside a mark, or below one that takes more than half the page."""

    def __init__(self, mark: Sequence[Segment], text: Text) -> None:
        self.mark = mark
        self.text = text
        self.indent = sum(segment.cell_length for segment in mark) + 1

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        """The mark and the lines of the text."""
        yield from self.mark
        indent = self.indent if self.indent <= options.max_width // 2 else 0
        if not indent:
            yield Segment.line()
        for number, line in enumerate(self.text.wrap(console, options.max_width - indent)):
            if indent:
                yield Segment(" " * (indent if number else 1))
            yield line

    def __rich_measure__(self, console: Console, options: ConsoleOptions) -> Measurement:
        """From the longest word to all on one line."""
        least, most = self.text.__rich_measure__(console, options)
        return Measurement(self.indent + least, self.indent + most)


class Counting:
    """A line that says how much of how much is done; it is gone once all is, or on `stop`."""

    def __init__(self, what: str, file: IO[str]) -> None:
        # takes as long to import as a page to lay out, and few wait long enough
        from rich.progress import (
            BarColumn,
            Progress,
            SpinnerColumn,
            TextColumn,
            TimeRemainingColumn,
        )

        self._progress = Progress(
            SpinnerColumn(style="none"),
            BarColumn(),
            TextColumn("{task.completed:,} of {task.total:,} {task.description}", markup=False),
            TimeRemainingColumn(),
            console=make_console(file),
            auto_refresh=False,  # no thread beside one that computes
            transient=True,
        )
        self._task = self._progress.add_task(as_text(what, 200).plain, total=0)

    def show(self, done: int, total: int) -> None:
        """`done` of `total`."""
        self._progress.update(self._task, completed=done, total=total)
        self._progress.start()  # nothing where it has begun
        self._progress.refresh()
        if done >= total:
            self.stop()

    def redraw(self) -> None:
        """Show that it goes on, and for how long yet; nothing before it is shown, and after."""
        self._progress.refresh()

    def stop(self) -> None:
        """Take the line away and give the cursor back."""
        self._progress.stop()


class Working:
    """A line that says for how long something has been worked on, until `stop`."""

    def __init__(self, what: str, file: IO[str]) -> None:
        from rich.progress import Progress, SpinnerColumn, TextColumn

        self._progress = Progress(
            SpinnerColumn(style="none"),
            TextColumn("{task.description}", markup=False),
            console=make_console(file),
            auto_refresh=False,
            transient=True,
        )
        self._what = as_text(what, 200).plain
        self._task = self._progress.add_task(self._what, total=None)

    def show(self, seconds: float) -> None:
        """How many seconds it has been."""
        self._progress.update(self._task, description=f"{self._what}: {seconds:.0f} s …")
        self._progress.start()
        self._progress.refresh()

    def stop(self) -> None:
        """Take the line away and give the cursor back."""
        self._progress.stop()
