"""What somebody at a terminal is told while a command works longer than a second."""

from threading import Event, Lock, Thread
from time import monotonic
from typing import IO, TYPE_CHECKING

if TYPE_CHECKING:
    from stopgap.reports.render.console import Counting, Working

PATIENCE = 1.0
"""Seconds before it is worth saying anything, and between two times it is said."""


class Waiting:
    """Says from the second second on, on standard error, for how long a command has worked.

    The line is drawn by a thread that sleeps in between, and is away whenever something else is
    printed: between `rest` and `go_on`, and after `stop`. A line that counts takes its place.
    """

    def __init__(self, what: str, file: IO[str]) -> None:
        self._what = what
        self._file = file
        self._started = monotonic()
        self._over = Event()
        self._drawing = Lock()
        self._line: Working | None = None
        self._counting: Counting | None = None
        self._resting = False
        self._thread = Thread(target=self._watch, name="waiting", daemon=True)
        self._thread.start()

    def _watch(self) -> None:
        while not self._over.wait(PATIENCE):
            with self._drawing:
                if self._counting is not None:
                    self._counting.redraw()
                if self._resting or self._over.is_set():
                    continue
                if self._line is None:
                    from stopgap.reports.render.console import Working

                    self._line = Working(self._what, self._file)
                self._line.show(monotonic() - self._started)

    def rest(self) -> None:
        """Take the line away, and draw it no more until `go_on`."""
        with self._drawing:
            self._resting = True
            self._counting = None
            if self._line is not None:
                self._line.stop()
                self._line = None

    def count(self, line: "Counting") -> None:
        """Take it away, and draw one that counts instead each second, also while nothing is."""
        self.rest()
        self._counting = line

    def go_on(self) -> None:
        """Draw it again once a second has passed."""
        with self._drawing:
            self._counting, self._resting = None, False

    def stop(self) -> None:
        """Take the line away for good."""
        self._over.set()
        self.rest()
        self._thread.join()
