"""`stopgap undo`, `stopgap backup`, `stopgap restore`."""

from pathlib import Path

import click

from stopgap.cli.options.common import library_options, overwrite_option
from stopgap.cli.session import session


@click.command()
@library_options
def undo() -> None:
    """Take back the last change of the library; again, the one before it.

    \b
    Example:
      stopgap own Fennmoor:FM017
      stopgap undo
    """
    from stopgap.errors import NothingFoundError

    current = session()
    with current.open() as library:
        what = library.undo()
    if what is None:
        raise NothingFoundError("There is nothing to undo.")
    current.say(f"Taken back: {what}.")


@click.command("backup")
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


@click.command("restore")
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
