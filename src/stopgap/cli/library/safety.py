"""`stopgap undo`, `redo`, `history`, `backup`, `restore` and `library check`."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from stopgap.cli.options.common import (
    WorkingCommand,
    library_options,
    output_options,
    overwrite_option,
)
from stopgap.cli.program import LazyGroup
from stopgap.cli.session import session
from stopgap.errors import UsageError

if TYPE_CHECKING:
    from stopgap.library import Change


_many = click.argument("many", type=click.IntRange(1), default=1, metavar="[N]")


@click.command(cls=WorkingCommand)
@_many
@click.option(
    "--change",
    "only",
    type=click.IntRange(1),
    metavar="ID",
    help="Take back this change of 'stopgap history', and only if it is the newest.",
)
@library_options
def undo(many: int, only: int | None) -> None:
    """Take back the last change of the library, or the last N; 'stopgap redo' brings them again.

    \b
    Examples:
      stopgap own Fennmoor:FM017
      stopgap undo
    """
    if only is not None and many != 1:
        raise UsageError("N and --change: choose one of them.")
    current = session()
    with current.open(as_one=False) as library:
        done = library.take_back(many, only=only)
    _tell(done, "Taken back", "There is nothing to undo.")


@click.command(cls=WorkingCommand)
@_many
@library_options
def redo(many: int) -> None:
    """Do again what was taken back last, or the last N, until something else is changed.

    \b
    Examples:
      stopgap own Fennmoor:FM017
      stopgap undo
      stopgap redo
    """
    current = session()
    with current.open(as_one=False) as library:
        done = library.do_again(many)
    _tell(done, "Done again", "There is nothing to redo.")


def _tell(done: "list[Change]", said: str, nothing: str) -> None:
    from stopgap.errors import NothingFoundError

    if not done:
        raise NothingFoundError(nothing)
    for change in done:
        session().say(f"{said}: {change.words}.")


@click.command("history", cls=WorkingCommand)
@output_options
@library_options
def history_command() -> None:
    """List the changes that can be taken back, the newest first, and those that were.

    \b
    Example:
      stopgap history
    """
    from stopgap.reports.answers import changes_report

    current = session()
    with current.open(read_only=True) as library:
        changes = library.changes()
    current.answer(changes_report(changes))


@click.command("backup", cls=WorkingCommand)
@click.argument("file", type=click.Path(path_type=Path))
@overwrite_option
@library_options
def backup_command(file: Path, overwrite: bool) -> None:
    """Copy the whole library to FILE.

    \b
    Example:
      stopgap backup pencils-backup.sqlite
    """
    from stopgap.library import backup

    current = session()
    current.out = file
    with current.open(read_only=True) as library:
        backup(library, file, overwrite=overwrite)
    current.say(f"Copied {current.library_path} to {current.out_name}.")


@click.command("restore", cls=WorkingCommand)
@click.argument("file", type=click.Path(path_type=Path))
@library_options
def restore_command(file: Path) -> None:
    """Put the copy in FILE in the place of the library; the present one is kept beside it.

    \b
    Example:
      stopgap backup before-tidying.sqlite
      stopgap restore before-tidying.sqlite
    """
    from stopgap.library import restore

    current = session()
    kept = restore(file, current.library_path)
    current.say(
        f"Restored {current.library_path} from {'standard input' if str(file) == '-' else file}."
    )
    if kept is not None:
        current.say(f"What was there before is kept as {kept}.")


_OF_LIBRARY = {"check": ("library.safety:check", "List what is damaged, and save the rest.")}


@click.group("library", cls=LazyGroup, table=_OF_LIBRARY, no_args_is_help=True)
@library_options
def library_group() -> None:
    """Look through the library file, and save what a damaged one still holds.

    \b
    Example:
      stopgap library check
    """


@click.command(cls=WorkingCommand)
@click.option(
    "--repair",
    "new",
    type=click.Path(path_type=Path),
    metavar="NEW",
    help="Write all that can be read into a new library NEW; the damaged one stays as it is.",
)
@library_options
def check(new: Path | None) -> None:
    """Look through every page and every value of the library, and list what is damaged.

    A value that changed by itself is found by the check sum of its row. The status is 1 where
    something is damaged.

    \b
    Examples:
      stopgap library check
      stopgap library check --repair rescued.sqlite
    """
    from stopgap.errors import LibraryError, Remedy
    from stopgap.library import check_library, rescue
    from stopgap.reports.text import harmless

    current = session()
    path = current.library_path
    found = check_library(path) if new is None else rescue(path, new)
    for line in found.everything:
        click.echo(harmless(line, 300))
    if new is not None:
        left = len(found.unreadable)
        current.say(
            f"Wrote {new}, {found.sound + len(found.altered)} rows. "
            f"{f'Left out: {left}, as listed.' if left else 'Nothing was left out.'} "
            f"Look through it, then put it back by 'stopgap restore {new}'."
        )
    elif found.everything:
        raise LibraryError(
            f"The library {path} is damaged in the {len(found.everything)} places listed.",
            remedy=Remedy.REPAIR,
        )
    else:
        current.say(f"The library {path} is sound: {found.sound} rows are as they were written.")
