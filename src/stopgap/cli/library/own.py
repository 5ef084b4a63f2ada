"""`stopgap own` and `stopgap disown`."""

from pathlib import Path

import click

from stopgap.cli.options.common import library_options
from stopgap.cli.options.kinds import TargetText
from stopgap.cli.session import session
from stopgap.errors import UsageError

_from_file = click.option(
    "--from",
    "list_file",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="A spreadsheet with a column 'colour' that names the pencils.",
)


@click.command()
@click.argument("pencils", nargs=-1, type=TargetText())
@_from_file
@library_options
def own(pencils: tuple[str, ...], list_file: Path | None) -> None:
    """Mark PENCILS (RANGE:CODE or RANGE:NAME) as yours.

    What you own outlives a new import of the range.

    \b
    Example:
      stopgap own Fennmoor:FM017 Quillet:Q12
    """
    _decide(pencils, list_file, owned=True)


@click.command()
@click.argument("pencils", nargs=-1, type=TargetText())
@_from_file
@library_options
def disown(pencils: tuple[str, ...], list_file: Path | None) -> None:
    """Mark PENCILS (RANGE:CODE or RANGE:NAME) as no longer yours.

    \b
    Example:
      stopgap disown Fennmoor:FM017
    """
    _decide(pencils, list_file, owned=False)


def _decide(pencils: tuple[str, ...], list_file: Path | None, *, owned: bool) -> None:
    from stopgap.library import decide_owned

    if not pencils and list_file is None:
        raise UsageError("Name the pencils, RANGE:CODE, or a list of them with --from FILE.")
    current = session()
    with current.open() as library:
        changed, same = decide_owned(library, pencils, list_file, owned=owned)
    already = f" ({same} {'were' if same != 1 else 'was'} so already)" if same else ""
    current.say(
        f"{changed} {'pencil is' if changed == 1 else 'pencils are'} "
        f"{'now yours' if owned else 'no longer yours'}{already}."
    )
