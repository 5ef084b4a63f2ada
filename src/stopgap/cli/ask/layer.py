"""`stopgap layer` and `stopgap calibrate`."""

import click

from stopgap.cli.options.common import library_options, output_options
from stopgap.cli.options.kinds import TargetText, words
from stopgap.cli.options.paper import paper_options
from stopgap.cli.remedies import note_words
from stopgap.cli.session import session
from stopgap.errors import UsageError
from stopgap.swatches import Pressure, Stack


@click.command()
@click.argument("first", type=TargetText())
@click.argument("second", type=TargetText(), required=False)
@click.argument("third", type=TargetText(), required=False)
@click.option(
    "--pressure",
    "pressures",
    multiple=True,
    type=words(Pressure),
    help="Pressure of each layer in turn; heavy where not given.",
)
@paper_options
@output_options
@library_options
def layer(
    first: str,
    second: str | None,
    third: str | None,
    pressures: tuple[str, ...],
    on: str | None,
    grain: str | None,
) -> None:
    """Show what pencils laid over each other look like, FIRST laid first.

    With FIRST alone: what that pencil looks like on the paper.

    \b
    Examples:
      stopgap layer Fennmoor:FM003 Fennmoor:FM013 --pressure light
      stopgap layer Fennmoor:FM003 --on tan
    """
    from stopgap.library import find_swatch
    from stopgap.planner import ground_of, lay
    from stopgap.reports.answers import layered_report

    names = [name for name in (first, second, third) if name is not None]
    if len(pressures) > len(names):
        raise UsageError(f"--pressure: given {len(pressures)} times for {len(names)} layers.")
    laid = [*pressures, *[Pressure.HEAVY] * (len(names) - len(pressures))]
    current = session()
    with current.open(read_only=True) as library:
        ground = ground_of(library, on, grain)
    pencils = (find_swatch(name, ground.swatches, ground.wet) for name in names)
    stack = Stack.of(*pencils, pressures=laid)
    found = lay(stack, ground.conditions)
    current.answer(layered_report(found, ground.conditions, note_words), on=ground)
