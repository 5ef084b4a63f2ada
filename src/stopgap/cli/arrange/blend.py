"""`stopgap blend` and `stopgap gaps`."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from stopgap import defaults
from stopgap.cli.options.common import (
    WorkingCommand,
    arrangement_option,
    library_options,
    output_options,
    step_option,
    way_option,
)
from stopgap.cli.options.kinds import TargetText
from stopgap.cli.options.paper import heavy_first_option, paper_options
from stopgap.cli.options.selection import Chosen, for_laydown_option, selection_options
from stopgap.cli.remedies import note_words
from stopgap.cli.session import session
from stopgap.errors import NothingFoundError

if TYPE_CHECKING:
    from stopgap.planner import AtHand, Ground

layers_option = click.option(
    "--layers/--no-layers",
    default=True,
    show_default=True,
    help="Whether layers of what you own count as colours of a blend.",
)


@click.command(cls=WorkingCommand)
@click.argument("start", metavar="FROM", type=TargetText())
@click.argument("end", metavar="TO", type=TargetText())
@step_option
@click.option(
    "--via", "stops", multiple=True, type=TargetText(), help="A colour on the way; may be repeated."
)
@click.option("--max-pencils", type=click.IntRange(min=1), help="No more pencils than that.")
@click.option(
    "--prefer",
    type=click.Choice(["enough", "fewest", "smoothest"]),
    default=defaults.PREFER,
    show_default=True,
    help="Just enough pencils for the step, or the smoothest chain.",
)
@way_option
@click.option("--by-lightness", is_flag=True, help="Measure the way by lightness alone.")
@layers_option
@selection_options(owned=True)
@for_laydown_option
@paper_options
@heavy_first_option
@output_options
@library_options
def blend(
    start: str,
    end: str,
    layers: bool,
    chosen: Chosen,
    for_laydown: bool,
    on: str | None,
    grain: str | None,
    heavy_first: bool,
    step: float,
    **wanted: Any,
) -> None:
    """Find the pencils that lead from FROM to TO, each melting into the next.

    FROM and TO are pencils or colours. Blends are made of the pencils you own, singly and in
    layers, or of any with --any. As few steps as can be stay over the limit, and as little over it;
    exit status 3 where one does: the best chain is shown all the same.

    \b
    Examples:
      stopgap blend Fennmoor:FM113 Fennmoor:FM112 --range Fennmoor
      stopgap blend Fennmoor:FM113 Fennmoor:FM112 --for-laydown
    """
    from stopgap.planner import find_blend
    from stopgap.reports.answers import blend_report

    ground, at_hand = _at_hand(
        chosen, on, grain, layers=layers, heavy_first=heavy_first, for_laydown=for_laydown
    )
    found = find_blend(at_hand, start, end, limit=step, **wanted)
    session().answer(blend_report(found, note_words), on=ground)
    if not found.closed:
        click.get_current_context().exit(NothingFoundError.exit_status)


@click.command(cls=WorkingCommand)
@click.argument("blends_file", metavar="[BLENDS]", required=False, type=click.Path(path_type=Path))
@step_option
@way_option
@layers_option
@arrangement_option
@selection_options(owned=True)
@for_laydown_option
@paper_options
@heavy_first_option
@output_options
@library_options
def gaps(
    blends_file: Path | None,
    step: float,
    path: str,
    layers: bool,
    arrangement: str | None,
    chosen: Chosen,
    for_laydown: bool,
    on: str | None,
    grain: str | None,
    heavy_first: bool,
) -> None:
    """Find where blends break, and what would close them.

    BLENDS is a spreadsheet with the columns name, from, to and optional step, via (stops, parted by
    semicolons) and by_lightness (yes); without it, every family is looked through from light to
    dark. Blends are made of the pencils you own, or of any
    with --any; pencils to buy come from all ranges.

    \b
    Example:
      stopgap gaps blends.csv
    """
    from stopgap.library import by_paper, known_rows, read_blends
    from stopgap.planner import gaps_on_papers, user_filing
    from stopgap.reports.answers import gaps_report

    current = session()
    read = None if blends_file is None else read_blends(blends_file)
    grounds, parts, unknown = [], [], []
    for paper, rows in [(on, None)] if read is None else by_paper(read, on):
        ground, at_hand = _at_hand(
            chosen, paper, grain, layers=layers, heavy_first=heavy_first, for_laydown=for_laydown
        )
        grounds.append(ground)
        if rows is not None:
            rows, left = known_rows(rows, at_hand.known)
            unknown.append(left)
        if rows != []:
            parts.append((ground.on, at_hand, rows))
    if not parts:
        current.end_with(*unknown)
    filing = None
    if read is None:
        with current.open(read_only=True) as library:
            filing = user_filing(library, arrangement)
    found = gaps_on_papers(parts, step=step, path=path, arrangement=filing)
    current.answer(gaps_report(found, note_words), on=grounds)
    current.end_with(*unknown)


def _at_hand(
    chosen: Chosen,
    on: str | None,
    grain: str | None,
    *,
    layers: bool,
    heavy_first: bool,
    for_laydown: bool,
) -> "tuple[Ground, AtHand]":
    """What the options let blends be made of, and on which paper."""
    from stopgap.planner import ground_of, look_at_hand

    current = session()
    with current.open(read_only=True) as library:
        ground = ground_of(library, on, grain, heavy_first=heavy_first)
        selection = chosen.selection(library)._replace(for_laydown=for_laydown)
    at_hand = look_at_hand(
        ground.answering,
        selection,
        layers=ground.conditions if layers else None,
        cache=current.recipe_cache,
        progress=current.counter("recipes"),
    )
    return ground.using(selection), at_hand
