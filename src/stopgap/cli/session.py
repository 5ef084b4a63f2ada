"""What every command shares: where the library is, how to answer, and the options that say so."""

import os
import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from functools import cached_property
from time import monotonic
from typing import TYPE_CHECKING, Any, NamedTuple

import click

if TYPE_CHECKING:
    from pathlib import Path

    from stopgap.cli.waiting import Waiting
    from stopgap.errors import StopgapError
    from stopgap.library import LastRead, Library
    from stopgap.planner import Ground, RecipeCache
    from stopgap.reports import Report
    from stopgap.reports.render.console import Counting


class Answered(NamedTuple):
    """The report of an answer, and the answer itself where a page may want more than its report,
    with the papers that it holds on.
    """

    report: "Report"
    value: Any = None
    grounds: "tuple[Ground, ...]" = ()


class Session:
    """One run of the command line; `page` takes answers that go on a page, not to standard output.

    `out` is the file that the command writes, `-` for standard output, which is then for it alone.
    A plain class, since every command and `--help` would wait for a dataclass to be made.
    """

    def __init__(self, *, quiet: bool = False) -> None:
        self.started = monotonic()
        self._last_read: LastRead | None = None  # for a command that reads the library twice
        self.library: str | None = None
        self.quiet = quiet
        self.form = "terminal"
        self._figures = False
        self.page: list[Answered] | None = None
        self.out: Path | None = None
        self._waiting: Waiting | None = None

    @contextmanager
    def waiting(self, what: str) -> "Iterator[None]":
        """Within its block, tell somebody at a terminal for how long `what` has worked."""
        if self.quiet or self._waiting is not None or not sys.stderr.isatty():
            yield
            return
        from stopgap.cli.waiting import Waiting

        self._waiting = Waiting(what, sys.stderr)
        try:
            yield
        finally:
            self._waiting.stop()
            self._waiting = None

    def rest(self) -> None:
        """Nothing is told of waiting any more, since an answer or a question comes."""
        if self._waiting is not None:
            self._waiting.rest()

    def _go_on(self) -> None:
        """The command works on, which is told again once a second has passed."""
        if self._waiting is not None:
            self._waiting.go_on()

    @property
    def out_name(self) -> str:
        """What to call the file that the command writes."""
        return "standard output" if str(self.out) == "-" else str(self.out)

    def left(self, limit: float) -> float | None:
        """What is left of a limit [s] for the whole command; None for none, which 0 stands for."""
        return max(0.0, self.started + limit - monotonic()) if limit else None

    @cached_property
    def settings_path(self) -> "Path":
        """STOPGAP_CONFIG, else a file in the user's folder for settings."""
        from pathlib import Path

        stated = os.environ.get("STOPGAP_CONFIG")
        if stated:
            return Path(stated)
        if os.name == "posix" and sys.platform != "darwin":
            # XDG Base Directory Specification 0.8, without 10 ms of imports for every command
            home = os.environ.get("XDG_CONFIG_HOME") or os.path.expanduser("~/.config")
            return Path(home, "stopgap", "config.toml")
        from platformdirs import user_config_path

        return user_config_path("stopgap", appauthor=False) / "config.toml"

    @cached_property
    def settings(self) -> "Mapping[str, Any]":
        """What the user keeps for good, by name; raises InputError where it cannot be read."""
        path = self.settings_path
        if not path.is_file():
            return {}
        import tomllib

        from stopgap.errors import InputError

        try:
            return tomllib.loads(path.read_text(encoding="utf-8"))
        except OSError as error:
            raise InputError(f"{path}: the settings cannot be read: {error.strerror}.") from error
        except ValueError as error:
            raise InputError(f"{path}: the settings are no TOML: {error}. Mend it.") from error

    @property
    def figures(self) -> bool:
        """`--figures`, else what is kept as a setting."""
        return self._figures or self.settings.get("figures") is True

    @figures.setter
    def figures(self, value: bool) -> None:
        self._figures = value

    @property
    def library_path(self) -> "Path":
        """`--library`, else STOPGAP_LIBRARY, else what is kept as a setting, else a file in the
        user's data folder.
        """
        from pathlib import Path

        stated = self.library or os.environ.get("STOPGAP_LIBRARY") or self.settings.get("library")
        if stated:
            return Path(stated)
        from platformdirs import user_data_path

        return user_data_path("stopgap", appauthor=False) / "library.sqlite"

    @property
    def recipe_cache(self) -> "RecipeCache":
        """Where recipes are kept between commands; working with them frees and asks for much."""
        from stopgap.planner import RecipeCache

        keep_freed_memory()
        return RecipeCache.of_user()

    @contextmanager
    def open(self, *, read_only: bool = False, as_one: bool = True) -> "Iterator[Library]":
        """The library of this session; what is written within its block is one change."""
        if read_only:  # nothing comes that could want a place
            from stopgap.library import LastRead
            from stopgap.library import open_library as open_to_read

            opened = open_to_read(self.library_path, read_only=True)
            opened.last_read = self._last_read = self._last_read or LastRead()
        else:
            from stopgap.planner.arranging import open_library

            opened = open_library(self.library_path, as_one=as_one)
        with opened as library:
            yield library

    def answer(
        self,
        report: "Report",
        value: object = None,
        *,
        on: "Ground | list[Ground] | None" = None,
        key: str = "",
    ) -> None:
        """Put a report on standard output in the form that was asked for, or keep it for a page.

        `value` is what it reports on, kept beside it; `on` is the paper that it holds on, or
        several, told in JSON under `key`.
        """
        grounds = on if isinstance(on, list) else [] if on is None else [on]
        if grounds:
            from stopgap.cli.remedies import note_words
            from stopgap.reports.answers import on_paper

            report = on_paper(report, grounds, note_words, key or "paper")
        if self.figures:
            report = report._replace(figures=True)
        if self.page is not None:
            self.page.append(Answered(report, value, tuple(grounds)))
            return
        from stopgap.reports import RENDERERS

        self.rest()
        if self.form == "terminal":
            from stopgap.reports.render.console import make_console
            from stopgap.reports.render.terminal import render_terminal

            text = render_terminal(report, make_console(sys.stdout))
            sys.stdout.write(text)
        else:
            from stopgap.library import STANDARD, write_whole

            write_whole(STANDARD, RENDERERS[self.form](report))

    def end_with(self, *left: "StopgapError | None", status: int = 1) -> None:
        """Tell below an answer what was left out of it, which ends the command with that status."""
        told = [error for error in left if error is not None]
        if not told:
            return
        for error in told:
            self.tell(error)
        click.get_current_context().exit(status)

    def tell(self, error: "StopgapError") -> None:
        """Tell on standard error what was wrong, and go on."""
        from stopgap.cli.remedies import error_words
        from stopgap.reports.text import harmless

        self.rest()
        lines = f"stopgap: {error_words(error)}".splitlines()
        click.echo("\n".join(harmless(line, 2000) for line in lines), err=True)

    def progress(self, text: str) -> None:
        """Tell somebody who waits at a terminal what is going on, on standard error."""
        from stopgap.reports.text import harmless

        if sys.stderr.isatty() and not self.quiet:
            self.rest()
            sys.stderr.write(f"{harmless(text, 200)} …\n")
            self._go_on()

    def counter(self, what: str) -> Callable[[int, int], None] | None:
        """A function that is told how much of how much is done, and shows it to who waits long."""
        if self.quiet or not sys.stderr.isatty():
            return None
        from stopgap.cli.waiting import PATIENCE

        started = monotonic()
        counting: Counting | None = None

        def show(done: int, total: int) -> None:
            nonlocal counting
            if counting is None and done < total and monotonic() - started > PATIENCE:
                from stopgap.reports.render.console import Counting

                counting = Counting(what, sys.stderr)
                if self._waiting is not None:
                    self._waiting.count(counting)
                click.get_current_context().call_on_close(counting.stop)
            if counting is not None:
                counting.show(done, total)
                if done >= total:
                    counting = None  # what is counted next has a line of its own
                    self._go_on()

        return show

    def say(self, text: str) -> None:
        """Tell what was done, unless the user wants quiet; beside a stream on standard error."""
        from stopgap.reports.text import harmless

        self.rest()
        if not self.quiet:
            stream = sys.stderr if str(self.out) == "-" else sys.stdout
            stream.write(f"{harmless(text, 500)}\n")


def session() -> Session:
    """The session of the command that runs."""
    return click.get_current_context().ensure_object(Session)


_KEPT_FREE = 64 << 20  # bytes


def keep_freed_memory() -> None:
    """Let glibc keep what is freed, up to 64 MB: where arrays come and go by the thousand, giving
    each back and asking for it again takes a quarter of the time.
    """
    if sys.platform == "linux":
        import ctypes

        mallopt = getattr(ctypes.CDLL(None), "mallopt", None)  # of other C libraries there is none
        if mallopt is not None:
            mallopt(-1, _KEPT_FREE)  # M_TRIM_THRESHOLD of malloc.h
            mallopt(-3, _KEPT_FREE // 2)  # M_MMAP_THRESHOLD, of which this is the most
