"""The top of the command line: the table of commands, and how every error ends."""

import os
import sys
from collections.abc import Sequence
from io import StringIO

import click

from stopgap import __version__
from stopgap.cli.lazy import LazyGroup
from stopgap.cli.options.common import library_options
from stopgap.errors import StopgapError

COMMANDS = {
    "demo": ("ask.demo:demo", "The main job, shown on invented ranges."),
    "match": ("ask.match:match", "Stand-ins for a shade or a colour."),
    "layer": ("ask.layer:layer", "What layered pencils look like."),
    "calibrate": ("measure.calibrate:calibrate", "Learn from your own layered swatches."),
    "family": ("arrange.family:family_group", "Families of hues, light to dark."),
    "blend": ("arrange.blend:blend", "Pencils that lead from one colour to another."),
    "gaps": ("arrange.blend:gaps", "Where blends break, and what would close them."),
    "translate": (
        "lists.translate:translate",
        "Pencils for somebody else's colour list.",
    ),
    "table": ("lists.translate:table", "One range against others."),
    "shop": ("lists.shop:shop", "The cheapest pencils that close the gaps."),
    "sheet": ("pages.sheet:sheet", "Any answer as a page to look at or to print."),
    "pocket": ("pages.pocket:pocket", "The library as a page for the phone."),
    "chart": ("pages.chart:chart", "Pages to print and colour in by hand."),
    "plot": ("pages.plot:plot", "Colours as a picture: planes and blends."),
    "range": ("library.ranges:range_group", "Import, show, check and export ranges."),
    "swatch": ("library.swatch:swatch_group", "Add, edit and remove single swatches."),
    "own": ("library.own:own", "Say which pencils you own."),
    "disown": ("library.own:disown", "Say which pencils you no longer own."),
    "undo": ("library.safety:undo", "Take back the last change."),
    "backup": ("library.safety:backup_command", "Copy the library to a file."),
    "restore": ("library.safety:restore_command", "Put a copy of the library back."),
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
    except (click.Abort, KeyboardInterrupt):
        return _tell("stopped; nothing was changed.", 1)
    except BrokenPipeError:
        # the reader (head, a pager) has seen enough; keep the interpreter quiet at exit
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except OSError as error:
        return _tell(f"{error.filename or 'the output'}: {error.strerror or error}.", 1)
    return result if isinstance(result, int) else 0


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
