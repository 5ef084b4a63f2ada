"""`stopgap kit` and `stopgap holes`: what one's pencils reach, few of them or all."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from stopgap import defaults
from stopgap.cli.options.common import (
    WorkingCommand,
    library_options,
    output_options,
    time_limit_option,
)
from stopgap.cli.options.kinds import ArrangementName, RangeName, TargetText
from stopgap.cli.options.paper import heavy_first_option, paper_options
from stopgap.cli.options.selection import Chosen, selection_options
from stopgap.cli.remedies import note_words
from stopgap.cli.session import session
from stopgap.errors import UsageError

if TYPE_CHECKING:
    from stopgap.errors import StopgapError
    from stopgap.library import Library
    from stopgap.planner import Asked, Ground


@click.command(cls=WorkingCommand)
@click.option("--size", type=click.IntRange(min=1), required=True, help="How many pencils at most.")
@click.option(
    "--list",
    "list_file",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="For the colours of this list.",
)
@click.option(
    "--photo",
    type=click.Path(path_type=Path),
    metavar="IMAGE",
    help="For the colours of this photograph, by their area.",
)
@click.option(
    "--arrangement",
    type=ArrangementName(),
    metavar="NAME",
    help="For the colours of the pencils in this arrangement.",
)
@click.option(
    "--keep",
    "keep",
    multiple=True,
    type=TargetText(),
    metavar="PENCIL",
    help="Take this pencil in any case; may be repeated.",
)
@click.option(
    "--least",
    type=click.Choice(["mean", "largest"]),
    default="mean",
    show_default=True,
    help="What is to be least of what is lost: over all colours, or in the worst one first.",
)
@click.option("--layers", is_flag=True, help="Count what layers of two pencils reach, too.")
@time_limit_option
@selection_options(owned=True)
@paper_options
@heavy_first_option
@output_options
@library_options
def kit(
    size: int,
    list_file: Path | None,
    photo: Path | None,
    arrangement: str | None,
    keep: tuple[str, ...],
    least: str,
    layers: bool,
    time_limit: float,
    chosen: Chosen,
    on: str | None,
    grain: str | None,
    heavy_first: bool,
) -> None:
    """Choose which of your pencils to take along: those that lose least.

    Lost is how much farther off a colour is with the kit than with all your pencils. The colours
    are those of a list, a photograph or an arrangement; where none is named, all that your pencils
    reach. --csv writes the kit as a list that other commands read.

    \b
    Examples:
      stopgap kit --size 24
      stopgap kit --size 9 --list lesson.csv --layers
    """
    from stopgap.library import find_swatch
    from stopgap.planner import find_kit, ground_of
    from stopgap.reports.answers import kit_report

    if sum(one is not None for one in (list_file, photo, arrangement)) > 1:
        raise UsageError("--list, --photo and --arrangement: choose one of them.")
    current = session()
    unknown: list[StopgapError | None] = []
    with current.open(read_only=True) as library:
        ground = ground_of(library, on, grain, heavy_first=heavy_first)
        swatches = ground.answering.swatches
        selection = chosen.selection(library)
        kept = [find_swatch(text, ground.answering) for text in keep]
        asked = _asked(library, ground, list_file, photo, arrangement, unknown)
    current.progress("Choosing pencils")
    found = find_kit(
        asked,
        swatches,
        selection,
        size,
        keep=kept,
        largest=least == "largest",
        layers=ground.conditions if layers else None,
        time_limit=current.left(time_limit),
        cache=current.recipe_cache,
        progress=current.counter("recipes"),
    )
    current.answer(kit_report(found, note_words), found, on=ground.using(selection))
    current.end_with(*unknown)


def _asked(
    library: "Library",
    ground: "Ground",
    list_file: Path | None,
    photo: Path | None,
    arrangement: str | None,
    unknown: "list[StopgapError | None]",
) -> "list[Asked] | None":
    """The colours that options name, None where none does; what is not known goes to `unknown`."""
    from stopgap.planner import asked_of, free_colours, own_colour, user_filing

    if list_file is not None:
        from stopgap.library import known_rows, read_list

        rows, missed = known_rows(read_list(list_file), ground.known)
        unknown.append(missed)
        return asked_of(rows, ground.answering)
    if photo is not None:
        from stopgap.scanning import read_histogram

        return free_colours(*read_histogram(photo).coarse)
    if arrangement is None:
        return None
    filing = user_filing(library, arrangement)
    swatches = ground.answering.swatches
    if filing is None:
        return [own_colour(one) for one in swatches]
    placed = {place.pencil for family in filing.families for place in family.places}
    return [own_colour(one) for one in swatches if one.address in placed]


@click.command(cls=WorkingCommand)
@click.option(
    "--layers/--no-layers",
    default=True,
    show_default=True,
    help="Whether what you reach by two layers counts too.",
)
@click.option(
    "--limit",
    default=defaults.HOLES,
    show_default=True,
    type=click.IntRange(1, 9),
    help="How many holes are numbered.",
)
@click.option(
    "--range",
    "ranges",
    multiple=True,
    type=RangeName(),
    metavar="NAME",
    help="Fill them only from this range; may be repeated.",
)
@paper_options
@heavy_first_option
@output_options
@library_options
def holes(
    layers: bool,
    limit: int,
    ranges: tuple[str, ...],
    on: str | None,
    grain: str | None,
    heavy_first: bool,
) -> None:
    """Show where your pencils leave the largest holes, and what would fill them.

    A map of hues and lightnesses, quiet and vivid: each colour beside the nearest that your pencils
    reach, alone or in layers. The worst holes are numbered, each with the one pencil for sale that
    comes nearest laid alone, and by how much.

    \b
    Examples:
      stopgap holes
      stopgap holes --no-layers --range Quillet
    """
    from stopgap.planner import find_holes, ground_of
    from stopgap.reports.colour_map import holes_report
    from stopgap.swatches import Selection

    current = session()
    with current.open(read_only=True) as library:
        ground = ground_of(library, on, grain, heavy_first=heavy_first)
        selection = Selection(ranges=tuple(library.known_range(name) for name in ranges))
    found = find_holes(
        ground.answering.swatches,
        selection,
        layers=ground.conditions if layers else None,
        limit=limit,
        cache=current.recipe_cache,
        progress=current.counter("recipes"),
    )
    current.answer(holes_report(found, note_words), found, on=ground.using(selection))
