"""`stopgap plot`."""

from pathlib import Path

import click

from stopgap import defaults
from stopgap.cli.options.common import library_options
from stopgap.cli.options.drawing import check_form, drawing_options, write_drawing
from stopgap.cli.options.kinds import TargetText
from stopgap.cli.options.numbers import step_option
from stopgap.cli.options.selection import Chosen, selection_options
from stopgap.cli.remedies import note_words
from stopgap.cli.session import session
from stopgap.errors import NothingFoundError, UsageError

KINDS = ("ab", "lightness", "blend")


@click.command()
@drawing_options
@click.option(
    "--kind",
    type=click.Choice(KINDS),
    default="ab",
    show_default=True,
    help="The a*, b* plane; lightness over chroma; or blends.",
)
@click.option("--target", type=TargetText(), help="Mark this colour and its stand-ins.")
@click.option(
    "--limit",
    default=defaults.STAND_INS,
    show_default=True,
    type=click.IntRange(1, 9),
    help="How many stand-ins.",
)
@click.option("--from", "start", type=TargetText(), help="Where a blend begins.")
@click.option("--to", "end", type=TargetText(), help="Where it ends.")
@click.option("--blends", "file", type=click.Path(path_type=Path), help="Blends from a file.")
@step_option
@selection_options(owned=None)
@library_options
def plot(
    out: Path,
    overwrite: bool,
    kind: str,
    target: str | None,
    limit: int,
    start: str | None,
    end: str | None,
    file: Path | None,
    step: float,
    chosen: Chosen,
) -> None:
    """Plot pencils by their colours, a target with its stand-ins, or blends with gaps.

    OUT ends in .png, .svg or .pdf. Marks differ in form, not in colour alone. With --target, the
    ellipse of one ΔE00 is drawn round it. A blend needs --from and --to, or --blends FILE, and is
    made of the pencils you own, or of any with --any.

    \b
    Examples:
      stopgap plot anemone.png --target Fennmoor:FM079
      stopgap plot blends.pdf --kind blend --blends blends.csv
    """
    from stopgap.library import find_target, read_blends
    from stopgap.planner import find_blend, find_blends, find_stand_ins, look_at_hand
    from stopgap.reports.drawing.blend_plots import blend_plot
    from stopgap.reports.drawing.plots import plane_plot

    check_form(out, (".png", ".svg", ".pdf"), overwrite=overwrite)
    ends = (start, end)
    _check_what_goes_together(kind, target, ends, file)
    current = session()
    if chosen.owned is None:
        chosen = chosen._replace(owned=kind == "blend")
    with current.open(read_only=True) as library:
        swatches = library.swatches()
        selection = chosen.selection(library)
    if kind == "blend":
        at_hand = look_at_hand(swatches, selection)
        for note in at_hand.notes:
            current.say(note_words(note))
        if file is not None:
            blends = find_blends(at_hand, read_blends(file), step=step)
        else:
            blends = [find_blend(at_hand, start or "", end or "", limit=step)]
        drawing = blend_plot(blends)
    else:
        pencils = selection.of(swatches)
        if not pencils:
            raise NothingFoundError("There is no pencil to plot; ask for less.")
        answer = None
        if target is not None:
            found = find_target(target, swatches)
            answer = find_stand_ins(found, swatches, selection=selection, limit=limit)
        drawing = plane_plot(pencils, kind, answer=answer)
    write_drawing(current, drawing, out, overwrite=overwrite)


def _check_what_goes_together(
    kind: str, target: str | None, ends: tuple[str | None, str | None], file: Path | None
) -> None:
    asked = ends != (None, None) or file is not None
    if kind != "blend" and asked:
        raise UsageError("--from, --to and --blends go with --kind blend.")
    if kind == "blend":
        if target is not None:
            raise UsageError("--target goes with --kind ab or lightness; a blend has --from, --to.")
        if (None in ends) if file is None else (ends != (None, None)):
            raise UsageError("A blend needs --from and --to, or else --blends FILE.")
