"""The command line from beginning to end: its commands, and how errors and the process end.

A command's module is loaded only when it is called; what a short command need not wait for is left
out: collecting what is no cycle, and taking the interpreter apart.
"""

import codecs
import gc
import os
import sys
from collections.abc import Mapping, Sequence
from contextlib import suppress
from importlib import import_module
from io import StringIO
from signal import SIG_IGN, SIGINT, signal
from typing import Any, NoReturn

import click

from stopgap import __version__
from stopgap.cli.options.common import library_options
from stopgap.errors import LANDED, StopgapError


class LazyGroup(click.Group):
    """A click group; its `table` maps a command to (`module:attribute` in `stopgap.cli`, help)."""

    def __init__(
        self,
        name: str | None = None,
        *,
        table: Mapping[str, tuple[str, str]] | None = None,
        **attributes: Any,
    ) -> None:
        super().__init__(name, **attributes)
        self.table = table or {}

    def list_commands(self, ctx: click.Context) -> list[str]:
        """The commands in the order of the table."""
        del ctx
        return list(self.table)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Load one command."""
        del ctx
        if cmd_name not in self.table:
            return None
        module, _, attribute = self.table[cmd_name][0].partition(":")
        command: click.Command = getattr(import_module(f"stopgap.cli.{module}"), attribute)
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Find the command, naming the nearest spellings where there is none."""
        if args and args[0] not in self.table and not args[0].startswith("-"):
            from stopgap.errors import nearest_spellings

            hint = nearest_spellings(args[0], self.table)
            ctx.fail(f"There is no command {args[0]!r}.{hint}")
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the commands without loading them."""
        del ctx
        with formatter.section("Commands"):
            formatter.write_dl([(name, help_) for name, (_, help_) in self.table.items()])


COMMANDS = {
    "demo": ("ask.demo:demo", "The main job, shown on invented ranges."),
    "desk": ("pages.desk:desk", "The whole job on pages in your browser."),
    "guide": ("pages.guide:guide", "The manual, a topic at a time or as a page."),
    "match": ("ask.match:match", "Stand-ins for a shade or a colour."),
    "find": ("ask.match:find", "Pencils by words of their name or their colour."),
    "layer": ("ask.layer:layer", "What layered pencils look like."),
    "tones": ("ask.tones:tones", "A colour from light to shadow at one hue."),
    "scan": ("pages.scan:scan", "Read coloured pages of a chart back."),
    "calibrate": ("ask.layer:calibrate", "Learn from your own layered swatches."),
    "family": ("arrange.family:family_group", "Families, and what you file where."),
    "arrangement": ("arrange.arrangement:arrangement_group", "Your own families, side by side."),
    "blend": ("arrange.blend:blend", "Pencils that lead from one colour to another."),
    "gaps": ("arrange.blend:gaps", "Where blends break, and what would close them."),
    "translate": (
        "lists.translate:translate",
        "Pencils for somebody else's colour list.",
    ),
    "palette": ("lists.palette:palette", "The main colours of a photograph as a list."),
    "kit": ("lists.kit:kit", "Which of your pencils to take along."),
    "holes": ("lists.kit:holes", "Where your pencils leave holes, and what fills them."),
    "table": ("lists.translate:table", "One range against others."),
    "shop": ("lists.shop:shop", "The cheapest pencils that close the gaps."),
    "sheet": ("pages.sheet:sheet", "Any answer as a page to look at or to print."),
    "pocket": ("pages.sheet:pocket", "The library as a page for the phone."),
    "chart": ("pages.chart:chart", "Pages to print and colour in by hand."),
    "plot": ("pages.drawings:plot", "Colours as a picture: planes and blends."),
    "range": ("library.ranges:range_group", "Import, show, check and export ranges."),
    "swatch": ("library.swatch:swatch_group", "Add, edit and remove single swatches."),
    "paper": ("library.paper:paper_group", "The papers you draw on."),
    "own": ("library.own:own", "Say which pencils you own."),
    "disown": ("library.own:disown", "Say which pencils you no longer own."),
    "settings": ("settings:settings", "What you always say, said once."),
    "history": ("library.safety:history_command", "What was changed, and can be taken back."),
    "library": (
        "library.safety:library_group",
        "Look for damage, and save the rest.",
    ),
    "undo": ("library.safety:undo", "Take back the last change."),
    "redo": ("library.safety:redo", "Do again what was taken back."),
    "backup": ("library.safety:backup_command", "Copy the library to a file."),
    "restore": ("library.safety:restore_command", "Put a copy of the library back."),
    "schema": ("pages.guide:schema", "What an answer in JSON holds."),
    "completion": ("completion:completion", "Completion of words in your shell."),
}

_COMPLETION = "_STOPGAP_COMPLETE"  # a shell that asks for completions sets it


@click.group(
    cls=LazyGroup,
    table=COMMANDS,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 80},
    no_args_is_help=True,
)
@click.version_option(__version__, prog_name="stopgap")
@library_options
def program() -> None:
    """Stand-ins for coloured pencils, from the ranges you work with.

    \b
    Example:
      stopgap demo
    """


def run(arguments: Sequence[str] | None = None) -> int:
    """Run one command and return its exit status; errors are one sentence on standard error."""
    if os.environ.get(_COMPLETION, "").startswith("bash"):
        from stopgap.cli.completion import prepare_completion

        prepare_completion()
    if sys.stdout is None:  # as Python has it where it is closed
        return _tell("Standard output is closed, so nothing was done.", 1)
    done: list[str] = []
    token = LANDED.set(done)
    try:
        result = program.main(
            args=None if arguments is None else list(arguments),
            prog_name="stopgap",
            standalone_mode=False,
        )
        sys.stdout.flush()
    except StopgapError as error:
        from stopgap.cli.remedies import error_words

        return _tell(error_words(error), error.exit_status)
    except click.ClickException as error:
        return _tell_misuse(error)
    except (KeyboardInterrupt, RuntimeError) as error:
        if not _is_interrupt(error):
            raise
        return _tell(_stopped(done), 1)
    except (BrokenPipeError, SystemExit):  # click ends so where the pipe closes within a command
        return _end_quietly()
    except UnicodeEncodeError as error:  # a name, of a file or typed, that cannot be stored
        return _tell(
            f"{error.object!r:.60} is not UTF-8. Rename the file, or type the name anew.",
            1,
        )
    except OSError as error:
        return _tell(f"{error.filename or 'the output'}: {error.strerror or error}.", 1)
    finally:
        LANDED.reset(token)
    return result if isinstance(result, int) else 0


def _end_quietly() -> int:
    """The reader (head, a pager) has seen enough; keep the interpreter quiet at exit."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    return 0


def _stopped(done: Sequence[str]) -> str:
    """What an interrupted run has left."""
    if not done:
        return "stopped before anything was changed."
    return f"stopped after {' and '.join(dict.fromkeys(done))}."


def _tell_misuse(error: click.ClickException) -> int:
    """What click says, with nothing of what was typed steering the terminal."""
    said = StringIO()
    error.show(said)
    _echo(said.getvalue())
    return error.exit_code


def _tell(message: str, status: int) -> int:
    _echo(f"stopgap: {message}")
    return status


def _echo(text: str) -> None:
    from stopgap.reports.text import harmless

    click.echo("\n".join(harmless(line, 2000) for line in text.splitlines()), err=True)


# Importing makes some hundred thousand objects and hardly any cycle to collect, and looking through
# them takes 10 ms; arrays are freed without collecting.
_OBJECTS_BETWEEN_COLLECTIONS = 1_000_000


_INSTEAD = "stopgap.plainer"
_PLAINER = str.maketrans("±≈╳×–—·•…’‘“”█▀▄▌→", """+~Xx--**.''""####>""")


def _plainer(error: UnicodeError) -> tuple[str, int]:
    """What a console shows that has no such character: one like it, else its number."""
    if not isinstance(error, UnicodeEncodeError):
        raise error
    lost = error.object[error.start : error.end].translate(_PLAINER)
    return lost.encode("ascii", "backslashreplace").decode("ascii"), error.end


def prepare_streams() -> None:
    """Let what a console has no character for be told by another, and nothing end a command."""
    codecs.register_error(_INSTEAD, _plainer)
    if sys.stderr is None:  # closed, so that nobody hears
        sys.stderr = open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115 (until the end)
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors=_INSTEAD)


def multiply_by_one_thread() -> None:
    """Before numpy loads: a product of small matrices takes one core, where the user says no other.

    Threads of OpenBLAS and MKL spin until the next product: the second of two cores took as
    much time as the first and brought nothing. The index has threads of its own.
    """
    for library in ("OPENBLAS", "MKL"):
        os.environ.setdefault(f"{library}_NUM_THREADS", "1")


def main(arguments: Sequence[str] | None = None) -> NoReturn:
    """Run the command line and end the process with its exit status."""
    multiply_by_one_thread()
    gc.set_threshold(_OBJECTS_BETWEEN_COLLECTIONS)
    prepare_streams()
    try:
        status = run(arguments)
        signal(SIGINT, SIG_IGN)  # it has ended
    except KeyboardInterrupt:  # again, while it was told
        status = 1
    _leave(status)


def _is_interrupt(error: BaseException) -> bool:
    """Also one that came while a class was made, which Python before 3.12 wraps in an error."""
    interrupts = (KeyboardInterrupt, click.Abort)
    return isinstance(error, interrupts) or isinstance(error.__cause__, KeyboardInterrupt)


def _leave(status: int) -> NoReturn:
    """End the process; memory is left to the system, which saves a sixth of a short command."""
    processes = sys.modules.get("multiprocessing")  # which a server loads without need
    if processes is None or not processes.active_children():  # else they are to be dismissed first
        for stream in filter(None, (sys.stdout, sys.stderr)):
            with suppress(OSError, ValueError):
                stream.flush()
        os._exit(status)
    sys.exit(status)
