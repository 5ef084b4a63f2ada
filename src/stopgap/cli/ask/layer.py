"""`stopgap layer` and `stopgap calibrate`."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from stopgap.cli.options.common import (
    WorkingCommand,
    library_options,
    output_options,
    white_options,
)
from stopgap.cli.options.kinds import TargetText, words
from stopgap.cli.options.paper import paper_options
from stopgap.cli.options.selection import for_laydown_option
from stopgap.cli.remedies import note_words
from stopgap.cli.session import session
from stopgap.errors import InputError, UsageError
from stopgap.swatches import Pressure, Stack

if TYPE_CHECKING:
    from stopgap.library import LayeredRow
    from stopgap.planner import Learnt
    from stopgap.swatches import LayingConditions


@click.command(cls=WorkingCommand)
@click.argument("first", type=TargetText())
@click.argument("second", type=TargetText(), required=False)
@click.argument("third", type=TargetText(), required=False)
@click.option(
    "--pressure",
    "pressures",
    multiple=True,
    type=words(Pressure),
    help="Pressure of each layer in turn; where not given, what stands behind its name, or heavy.",
)
@for_laydown_option
@paper_options
@output_options
@library_options
def layer(
    first: str,
    second: str | None,
    third: str | None,
    pressures: tuple[str, ...],
    for_laydown: bool,
    on: str | None,
    grain: str | None,
) -> None:
    """Show what pencils laid over each other look like, FIRST laid first.

    With FIRST alone: what that pencil looks like on the paper. How hard one is laid may stand
    behind its name, 'Fennmoor:FM003 light', or be told by --pressure.

    \b
    Examples:
      stopgap layer 'Fennmoor:FM003 light' Fennmoor:FM013
      stopgap layer Fennmoor:FM003 --on tan
      stopgap layer Fennmoor:FM003 Fennmoor:FM013 --for-laydown
    """
    from stopgap.library import find_layer
    from stopgap.planner import ground_of, lay, lay_well
    from stopgap.reports.answers import layered_report

    names = [name for name in (first, second, third) if name is not None]
    if len(pressures) > len(names):
        raise UsageError(f"--pressure: given {len(pressures)} times for {len(names)} layers.")
    current = session()
    with current.open(read_only=True) as library:
        ground = ground_of(library, on, grain)
    named = [find_layer(name, ground.known) for name in names]
    told = [layer._replace(pressure=pressure) for layer, pressure in zip(named, pressures)]
    stack = Stack([*told, *named[len(told) :]])
    found = lay_well(stack, ground) if for_laydown else lay(stack, ground.conditions)
    current.answer(layered_report(found, ground.conditions, note_words), on=ground)


@click.command(cls=WorkingCommand)
@click.argument("file", required=False, type=click.Path(path_type=Path))
@click.option("--edition", "number", metavar="NUMBER", help="Learn from a chart that was scanned.")
@click.option("--forget", is_flag=True, help="Go back to the estimates.")
@paper_options
@white_options
@output_options
@library_options
def calibrate(
    file: Path | None,
    number: str | None,
    forget: bool,
    on: str | None,
    grain: str | None,
    white: str | None,
    observer: str | None,
    accept_observer: bool,
) -> None:
    """Learn paper, pressure and opacity from your own layered swatches in FILE.

    FILE is a spreadsheet with the columns first, second, first_pressure, second_pressure (light,
    medium or heavy) and the colour measured, as in a range file: L, a, b or X, Y, Z or hex or
    nm400, nm410, …; second may be empty. A swatch laid over black paper tells how well a pencil
    covers: put the black's colour, lab(L a b), in the column over. Three to six swatches of
    different pencils and pressures help.

    With --edition these are the boxes of layers, and the fields laid lightly or at medium, of a
    chart that 'stopgap scan' read.

    With --on a paper of yours it is learnt for that paper alone; with a colour, or without, for the
    paper that your single swatches lie on.

    \b
    Examples:
      stopgap paper add Sketchbook --colour cream
      stopgap calibrate layered.csv --on Sketchbook
      stopgap calibrate layered.csv --on 'lab(96.2 -0.1 2.1)'
      stopgap calibrate --forget
    """
    from stopgap.library import (
        Convention,
        forget_calibration,
        keep_calibration,
        paper_called,
        read_layered,
        scanned_rows,
        stored_edition,
        stored_papers,
    )
    from stopgap.planner import ground_to_learn
    from stopgap.reports.answers import calibration_report

    if [file is not None, number is not None, forget].count(True) != 1:
        raise UsageError(
            "Name a FILE of layered swatches, or --edition NUMBER, or --forget what was learnt."
        )
    if file is None and (white or observer or accept_observer):
        raise UsageError("--white, --observer and --accept-observer are for the colours of a FILE.")
    current = session()
    with current.open() as library:
        if forget:
            forget_calibration(library, ground_to_learn(library, on, grain).on)
            forgot = "Forgot the calibration; predictions are estimates again."
            library.when_landed(lambda: current.say(forgot))
            return
        edition = None if number is None else stored_edition(library, number)
        if on is None and edition is not None:
            paper = paper_called(edition.paper, stored_papers(library))
            on = None if paper is None else paper.name
        ground = ground_to_learn(library, on, grain)
        start = ground.conditions
        if file is not None:
            convention = Convention(
                stated_white=white,
                stated_observer=int(observer) if observer else None,
                accept_observer=accept_observer,
            )
            rows, unknown = read_layered(file, ground.swatches, tuple(start.loads), convention)
        else:
            rows = scanned_rows(library, edition, ground.swatches) if edition else []
            unknown = None
        found = _learnt(rows, unknown, start)
        keep_calibration(library, found.conditions, ground.on)
    current.answer(calibration_report(found, note_words))
    current.end_with(unknown)


def _learnt(
    rows: "Sequence[LayeredRow]", unknown: InputError | None, start: "LayingConditions"
) -> "Learnt":
    """What layers teach; pencils that are not known are told first where the others do not do."""
    from stopgap.planner import learn_conditions

    if not rows:
        session().end_with(unknown)
    try:
        return learn_conditions(rows, start)
    except InputError:
        if unknown is not None:
            session().tell(unknown)
        raise
