"""`stopgap layer` and `stopgap calibrate`."""

import click

from stopgap.cli.options.common import library_options, output_options
from stopgap.cli.options.kinds import TargetText, words
from stopgap.cli.options.paper import conditions_of, paper_options
from stopgap.cli.remedies import note_words
from stopgap.cli.session import session
from stopgap.errors import UsageError
from stopgap.swatches import Pressure, Stack


@click.command()
@click.argument("first", type=TargetText())
@click.argument("second", type=TargetText())
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
    second: str,
    third: str | None,
    pressures: tuple[str, ...],
    paper: str | None,
    paper_colour: str | None,
) -> None:
    """Show what pencils laid over each other look like, FIRST laid first.

    \b
    Example:
      stopgap layer Fennmoor:FM003 Fennmoor:FM013 --pressure light
    """
    from stopgap.library import find_swatch
    from stopgap.planner import lay
    from stopgap.reports.answers.layers import layered_report

    names = [name for name in (first, second, third) if name is not None]
    if len(pressures) > len(names):
        raise UsageError(f"--pressure: given {len(pressures)} times for {len(names)} layers.")
    laid = [*pressures, *[Pressure.HEAVY] * (len(names) - len(pressures))]
    current = session()
    with current.open(read_only=True) as library:
        conditions = conditions_of(library, paper, paper_colour)
        swatches = library.swatches()
    stack = Stack.of(*(find_swatch(name, swatches) for name in names), pressures=laid)
    current.answer(layered_report(lay(stack, conditions), conditions, note_words))
