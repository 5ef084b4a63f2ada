"""`stopgap match` and `stopgap find`: pencils for a colour, and pencils by words."""

import click

from stopgap.cli.options.common import (
    WorkingCommand,
    library_options,
    limit_option,
    metric_option,
    output_options,
    stated,
)
from stopgap.cli.options.kinds import IlluminantName, Kept, TargetText
from stopgap.cli.options.paper import heavy_first_option, on_option, paper_options
from stopgap.cli.options.selection import Chosen, selection_options
from stopgap.cli.remedies import note_words
from stopgap.cli.session import session


@click.command(cls=WorkingCommand)
@click.argument("target", nargs=-1, required=True, type=TargetText())
@selection_options()
@limit_option
@click.option(
    "--within",
    type=click.FloatRange(min=0.0),
    metavar="ΔE",
    help="Only stand-ins at most this far.",
)
@metric_option
@click.option(
    "--layers/--no-layers",
    default=None,
    help="Show layering recipes in any case, or never. Without either, they are shown where they "
    "come nearer than any single pencil.",
)
@click.option(
    "--layer-with",
    cls=Kept,
    setting="layer-with",
    type=click.Choice(["owned", "any"]),
    default="owned",
    show_default=True,
    help="Pencils that recipes may use.",
)
@click.option(
    "--cautious",
    is_flag=True,
    help="Rank by the bound that ΔE00 stays below in 95 of 100 cases.",
)
@click.option(
    "--under",
    cls=Kept,
    setting="lamps",
    multiple=True,
    type=IlluminantName(),
    metavar="LIGHT",
    help="Also by another light: bulb, LED, tube, daylight, or a CIE illuminant; may be repeated.",
)
@click.option(
    "--reconstruct",
    is_flag=True,
    help="With --under: where a spectrum is missing, tell the likely size.",
)
@click.option(
    "--replace",
    "instead",
    is_flag=True,
    help="TARGET is a pencil to be replaced: neither it nor layers of it are offered. So it is in "
    "any case where it is discontinued, empty or avoided.",
)
@click.option(
    "--for-laydown",
    is_flag=True,
    help="TARGET is to be replaced because it lays badly: only pencils that are known to lay "
    "better, of the same core first.",
)
@click.option(
    "--over",
    multiple=True,
    metavar="'PENCIL PRESSURE'",
    help="A layer that lies on the work already, such as 'Fennmoor:FM003 medium', the first laid "
    "first; may be repeated. Says what to lay over it.",
)
@paper_options
@heavy_first_option
@output_options
@library_options
def match(
    target: tuple[str, ...],
    chosen: Chosen,
    limit: int,
    within: float | None,
    metric: str,
    layers: bool | None,
    layer_with: str,
    cautious: bool,
    under: tuple[str, ...],
    reconstruct: bool,
    instead: bool,
    for_laydown: bool,
    over: tuple[str, ...],
    on: str | None,
    grain: str | None,
    heavy_first: bool,
) -> None:
    """Find what comes nearest to TARGET, and say how it is off.

    TARGET is RANGE:CODE, RANGE:NAME, a code or name that one pencil bears, '#c04a2b',
    'rgb(192, 74, 43)' or 'lab(52 40 30)'. A space does for the colon, and leading zeros and dashes
    may be left out where no other pencil is meant. Metallic and fluorescent pencils, and
    discontinued shades that you do not own, are not offered unless you ask for them. A pencil that
    is discontinued, empty or avoided never answers for itself. Layers that
    promise more than any pencil stand first, with fewer pencils below them unless --limit says how
    many. Exit status 3 where nothing is left to offer.

    \b
    Examples:
      stopgap match Fennmoor:FM017 --owned
      stopgap match '#c04a2b' --range Brindlewick --limit 3
      stopgap match Brindlewick:BW05 --under bulb --under LED
      stopgap match Fennmoor:FM013 --replace
      stopgap match Fennmoor:FM017 --for-laydown
      stopgap match Fennmoor:FM017 --over 'Fennmoor:FM003 medium'
    """
    from stopgap.defaults import PENCILS_BELOW
    from stopgap.library import find_asked, find_layer
    from stopgap.planner import FOR_LAYDOWN, Layering, ground_of, match_target
    from stopgap.reports.answers import stand_ins_report

    current = session()
    with current.open(read_only=True) as library:
        ground = ground_of(library, on, grain, heavy_first=heavy_first)
        selection = chosen.selection(library)
        shifts = library.shifts()
    known = ground.known
    below = limit if stated("limit") else PENCILS_BELOW
    layering = Layering(layer_with == "owned", layers is True, below, current.recipe_cache)
    answer = match_target(
        find_asked(" ".join(target), known),
        ground,
        selection,
        layering=None if layers is False else layering,
        instead=FOR_LAYDOWN if for_laydown else "replace" if instead else "",
        over=[find_layer(layer, known) for layer in over],
        shifts=shifts,
        limit=limit,
        metric=metric,
        within=within,
        cautious=cautious,
        under=under,
        reconstruct=reconstruct,
        progress=current.counter("recipes"),
    )
    current.answer(stand_ins_report(answer, note_words), on=ground.using(selection))


_SHOWN = 40


@click.command(cls=WorkingCommand)
@click.argument("words", nargs=-1, required=True)
@click.option("--all", "every", is_flag=True, help="Show all of them, however many.")
@selection_options()
@on_option
@output_options
@library_options
def find(words: tuple[str, ...], every: bool, chosen: Chosen, on: str | None) -> None:
    """List the pencils that WORDS name or describe.

    Each word is looked for in codes, names, other names, ranges, and in what the standard calls the
    colour; inside of words too, in any language. Exit status 3 where there is no such pencil.

    \b
    Examples:
      stopgap find dark olive
      stopgap find kelp --range Fennmoor
    """
    from stopgap.library import find_pencils
    from stopgap.planner import ground_of
    from stopgap.reports.answers import search_report

    current = session()
    with current.open(read_only=True) as library:
        ground = ground_of(library, on)
        selection = chosen.wide_selection(library)
    text = " ".join(words)
    found, so_called = find_pencils(text, selection.of(ground.swatches), ground.known)
    report = search_report(text, found, None if every else _SHOWN, near=not so_called)
    current.answer(report, on=ground.among(selection))
