"""`stopgap layer` and `stopgap calibrate`."""

from pathlib import Path

import click

from stopgap.cli.options.kinds import TargetText
from stopgap.cli.options.paper import hand_of, paper_options
from stopgap.cli.remedies import note_words
from stopgap.cli.session import library_options, output_options, session
from stopgap.errors import UsageError

PRESSURES = ("light", "medium", "heavy")


@click.command()
@click.argument("first", type=TargetText())
@click.argument("second", type=TargetText())
@click.argument("third", type=TargetText(), required=False)
@click.option(
    "--pressure",
    "pressures",
    multiple=True,
    type=click.Choice(PRESSURES, case_sensitive=False),
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
    from stopgap.layering import layered
    from stopgap.library import find_swatch
    from stopgap.reports.answers.layers import layered_report

    names = [name for name in (first, second, third) if name is not None]
    if len(pressures) > len(names):
        raise UsageError(f"--pressure: given {len(pressures)} times for {len(names)} layers.")
    current = session()
    with current.open(read_only=True) as library:
        hand = hand_of(library, paper, paper_colour)
        swatches = library.swatches()
    stack = [find_swatch(name, swatches) for name in names]
    found = layered(
        stack,
        hand.paper,
        [*pressures, *["heavy"] * (len(names) - len(pressures))],
        loads=hand.loads,
        tooth=hand.tooth,
        opacity=hand.opacity,
        swatch_paper_lab=hand.swatch_paper,
        tooth_spread=hand.tooth_spread,
        load_spread=hand.load_spread,
    )
    current.answer(layered_report(found, hand, note_words))


@click.command()
@click.argument("file", required=False, type=click.Path(path_type=Path))
@click.option("--forget", is_flag=True, help="Go back to the estimates.")
@paper_options
@output_options
@library_options
def calibrate(file: Path | None, forget: bool, paper: str | None, paper_colour: str | None) -> None:
    """Learn paper, pressure and opacity from your own layered swatches in FILE.

    FILE is a spreadsheet with the columns first, second, first_pressure, second_pressure (light,
    medium or heavy) and the colour measured, L, a, b; second may be empty. A swatch laid over
    black paper tells how well a pencil covers: put the black's colour, lab(L a b), in the column
    over. Three to six swatches of different pencils and pressures help.

    \b
    Example:
      stopgap calibrate layered.csv --paper-colour 'lab(96.2 -0.1 2.1)'
    """
    from dataclasses import replace

    from stopgap.layering import LayeredSample
    from stopgap.layering import calibrate as learn
    from stopgap.library import forget_hand, keep_hand, read_layered
    from stopgap.planner import estimated_hand
    from stopgap.reports.answers.layers import calibration_report

    if forget is (file is not None):
        raise UsageError("Name a FILE of layered swatches, or --forget what was learnt.")
    current = session()
    with current.open() as library:
        if file is None:
            forget_hand(library)
            current.say("Forgot the calibration; predictions are estimates again.")
            return
        start = hand_of(None, paper, paper_colour)
        samples = [
            LayeredSample(row.stack, row.lab, row.over)
            for row in read_layered(file, library.swatches(), tuple(estimated_hand().loads))
        ]
        found = learn(
            samples,
            start.paper,
            swatch_paper_lab=start.swatch_paper,
            tooth=start.tooth,
            pressures=start.loads,
        )
        hand = replace(
            start,
            tooth=found.tooth,
            tooth_spread=found.tooth_spread,
            load_spread=found.load_spread,
            loads=found.pressures,
            opacity=found.opacity,
            samples=len(samples),
        )
        keep_hand(library, hand)
    current.answer(calibration_report(found, samples, note_words))
