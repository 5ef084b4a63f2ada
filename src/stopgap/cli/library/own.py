"""`stopgap own` and `stopgap disown`."""

from pathlib import Path

import click

from stopgap.cli.options.common import WorkingCommand, library_options
from stopgap.cli.options.kinds import TargetText
from stopgap.cli.session import session
from stopgap.errors import UsageError

_from_file = click.option(
    "--from",
    "list_file",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="A list of them, or a spreadsheet with a column 'colour' that names them.",
)


@click.command(cls=WorkingCommand)
@click.argument("pencils", nargs=-1, type=TargetText())
@_from_file
@library_options
def own(pencils: tuple[str, ...], list_file: Path | None) -> None:
    """Mark PENCILS as yours: RANGE:CODE or RANGE:NAME, a whole RANGE, RANGE:FIRST-LAST.

    What you own outlives a new import of the range. One that was used up is a new one then. Names
    that are not known are left out and told at the end, with exit status 1.

    \b
    Examples:
      stopgap own Fennmoor:FM017 Quillet:Q12
      stopgap own Fennmoor:FM001-FM024 Quillet
    """
    _decide(pencils, list_file, owned=True)


@click.command(cls=WorkingCommand)
@click.argument("pencils", nargs=-1, type=TargetText())
@_from_file
@library_options
def disown(pencils: tuple[str, ...], list_file: Path | None) -> None:
    """Mark PENCILS, named as with 'own', as no longer yours.

    \b
    Example:
      stopgap disown Fennmoor:FM053
    """
    _decide(pencils, list_file, owned=False)


def _decide(pencils: tuple[str, ...], list_file: Path | None, *, owned: bool) -> None:
    from stopgap.library import decide_owned, left_out

    if not pencils and list_file is None:
        raise UsageError("Name the pencils, RANGE:CODE, or a list of them with --from FILE.")
    current = session()
    with current.open() as library:
        changed, same, unknown = decide_owned(library, pencils, list_file, owned=owned)
    already = f" ({same} {'were' if same != 1 else 'was'} so already)" if same else ""
    if changed or same or not unknown:
        current.say(
            f"{changed} {'pencil is' if changed == 1 else 'pencils are'} "
            f"{'now yours' if owned else 'no longer yours'}{already}."
        )
    if unknown:
        raise left_out(unknown, list_file.name if list_file else "", alone=not (changed or same))
