"""`stopgap tones`."""

import click

from stopgap import defaults
from stopgap.cli.options.common import WorkingCommand, library_options, output_options
from stopgap.cli.options.kinds import TargetText
from stopgap.cli.options.paper import heavy_first_option, paper_options
from stopgap.cli.options.selection import Chosen, selection_options
from stopgap.cli.remedies import note_words
from stopgap.cli.session import session


@click.command(cls=WorkingCommand)
@click.argument("target", nargs=-1, required=True, type=TargetText(), metavar="PENCIL")
@click.option(
    "--steps",
    "count",
    type=click.IntRange(min=3),
    default=defaults.TONES,
    show_default=True,
    help="How many tones, the colour itself among them.",
)
@click.option(
    "--contrast",
    type=click.FloatRange(min=0.0, min_open=True),
    metavar="L*",
    help="How much darker each is than the one before; as much as there is room where not given.",
)
@click.option(
    "--shadow",
    type=click.Choice(["plain", "warm", "cool"]),
    default="plain",
    show_default=True,
    help="What shadows turn to: nothing, low sun, or open sky.",
)
@click.option(
    "--dull", "dulled", is_flag=True, help="Lay shadows with a complement, which dulls them."
)
@click.option(
    "--layers/--no-layers", default=True, show_default=True, help="Whether to lay two pencils."
)
@selection_options(owned=True)
@paper_options
@heavy_first_option
@output_options
@library_options
def tones(
    target: tuple[str, ...],
    count: int,
    contrast: float | None,
    shadow: str,
    dulled: bool,
    layers: bool,
    chosen: Chosen,
    on: str | None,
    grain: str | None,
    heavy_first: bool,
) -> None:
    """Shade PENCIL from light to shadow at one hue, with your pencils and their layers.

    PENCIL is a pencil or a colour. Steps of lightness are even; in the light it pales towards the
    paper, in shadow its chroma falls as the light does. Tones are laid with the pencil itself where
    others are not clearly nearer. It is said how far steps are uneven and hue turns.

    \b
    Examples:
      stopgap tones Fennmoor:FM017
      stopgap tones Quillet:Q7 --steps 7 --shadow cool
      stopgap tones '#c04a2b' --dull
    """
    from dataclasses import replace

    from stopgap.library import find_asked
    from stopgap.planner import Shadow, find_tones, ground_of, to_take
    from stopgap.reports.answers import tones_report

    current = session()
    with current.open(read_only=True) as library:
        ground = ground_of(library, on, grain, heavy_first=heavy_first)
        selection = chosen.selection(library)
    asked = find_asked(" ".join(target), ground.known)
    pencils, notes = to_take(selection, ground.answering.swatches)
    found = find_tones(
        asked,
        pencils,
        count,
        conditions=ground.conditions,
        contrast=contrast,
        shadow=Shadow(shadow),
        dulled=dulled,
        layers=layers,
        cache=current.recipe_cache,
        progress=current.counter("recipes"),
    )
    found = replace(found, notes=(*notes, *found.notes))
    current.answer(tones_report(found, note_words), found, on=ground.using(selection))
