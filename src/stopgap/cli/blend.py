"""`stopgap blend` and `stopgap gaps`."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from stopgap.cli.family import pins_of
from stopgap.cli.options.numbers import step_option
from stopgap.cli.papers import hand_of, paper_options
from stopgap.cli.parameters import TargetText
from stopgap.cli.selecting import Chosen, selection_options
from stopgap.cli.session import library_options, output_options, session
from stopgap.errors import NothingFoundError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from stopgap.blends import Blend
    from stopgap.library import ListedBlend
    from stopgap.swatches import Swatch, Target


@click.command()
@click.argument("start", metavar="FROM", type=TargetText())
@click.argument("end", metavar="TO", type=TargetText())
@step_option
@click.option(
    "--via", "stops", multiple=True, type=TargetText(), help="A colour on the way; may be repeated."
)
@click.option("--max-pencils", type=click.IntRange(min=1), help="No more pencils than that.")
@click.option(
    "--prefer",
    type=click.Choice(["smoothest", "fewest", "enough"]),
    default="smoothest",
    show_default=True,
    help="Smoothest or fewest among the chains of smallest largest step; or just enough pencils "
    "for the step.",
)
@click.option("--by-lightness", is_flag=True, help="Measure the way by lightness alone.")
@selection_options()
@output_options
@library_options
@click.pass_context
def blend(
    ctx: click.Context,
    start: str,
    end: str,
    step: float,
    stops: tuple[str, ...],
    max_pencils: int | None,
    prefer: str,
    by_lightness: bool,
    chosen: Chosen,
) -> None:
    """Find the pencils that lead from FROM to TO, each melting into the next.

    FROM and TO are pencils or colours. The largest step is made as small as can be. Exit status 3
    where a step stays over the limit; the best chain is shown all the same.

    \b
    Example:
      stopgap blend Fennmoor:FM113 Fennmoor:FM112 --range Fennmoor
    """
    from stopgap.blends import blend as best_blend
    from stopgap.library import find_target
    from stopgap.reports.blends import blend_report

    current = session()
    with current.open(read_only=True) as library:
        swatches = library.swatches()
        candidates = chosen.selection(library).of(swatches)
    if not candidates:
        raise NothingFoundError("No pencil is left to blend with; ask for less.")
    ends = [end_of(find_target(text, swatches)) for text in (start, *stops, end)]
    found = best_blend(
        ends[0],
        ends[-1],
        candidates,
        stops=ends[1:-1],
        by_lightness=by_lightness,
        prefer=prefer,
        limit=step,
        max_pencils=max_pencils,
    )
    current.answer(blend_report(found))
    if not found.closed:
        ctx.exit(NothingFoundError.exit_status)


@click.command()
@click.argument("blends_file", metavar="[BLENDS]", required=False, type=click.Path(path_type=Path))
@step_option
@click.option("--layers/--no-layers", default=True, help="Whether to try layering across gaps.")
@selection_options(owned=True)
@paper_options
@output_options
@library_options
def gaps(
    blends_file: Path | None,
    step: float,
    layers: bool,
    chosen: Chosen,
    paper: str | None,
    paper_colour: str | None,
) -> None:
    """Find where blends break, and what would close them.

    BLENDS is a spreadsheet with the columns name, from, to and optional step; without it, every
    family is looked through from light to dark. Blends are made of the pencils you own, or of any
    with --any; pencils to buy come from all ranges.

    \b
    Example:
      stopgap gaps blends.csv
    """
    from stopgap.blends import blend_of_family, families, find_gaps
    from stopgap.library import read_blends
    from stopgap.planner import middle_by_layering, recipes_of_hand
    from stopgap.reports.blends import gaps_report
    from stopgap.swatches import Selection

    current = session()
    with current.open(read_only=True) as library:
        swatches = library.swatches()
        pencils = chosen.selection(library).of(swatches)
        hand = hand_of(library, paper, paper_colour)
        pins = pins_of(library)
    if not pencils:
        raise NothingFoundError(
            "There is no pencil to blend with. 'stopgap own' says what you own; --any takes all."
        )
    if blends_file is not None:
        found = [
            listed_blend(listed, swatches, pencils, step) for listed in read_blends(blends_file)
        ]
    else:
        found = [
            blend_of_family(family, limit=step)
            for family in families(pencils, pins)
            if len(family.filed) > 1
        ]
    owned = Selection(owned=True).of(swatches)
    middle, recipes = None, None
    if layers and owned:
        recipes = recipes_of_hand(
            hand, owned, cache=current.recipe_cache, progress=current.counter("recipes")
        )
        middle = middle_by_layering(hand, recipes)
    used = {swatch.address for swatch in pencils}
    buyable = [
        swatch
        for swatch in Selection().of(swatches)
        if swatch.address not in used and not swatch.owned
    ]
    answer = find_gaps(found, buyable, middle=middle)
    current.answer(gaps_report(found, answer).with_notes(() if recipes is None else recipes.notes))


def listed_blend(
    listed: "ListedBlend",
    swatches: "Sequence[Swatch]",
    pencils: "Sequence[Swatch]",
    step: float,
) -> "Blend":
    """The blend that a row of a blends file asks for; errors say which row."""
    from stopgap.blends import blend as best_blend
    from stopgap.library import find_target, located

    with located(listed):
        start, end = (end_of(find_target(text, swatches)) for text in (listed.start, listed.end))
        return best_blend(
            start,
            end,
            pencils,
            prefer="enough",
            limit=step if listed.step is None else listed.step,
            name=listed.name,
        )


def end_of(target: "Target") -> "Swatch | tuple[float, float, float]":
    """A target as the end of a blend."""
    from stopgap.swatches import Swatch

    return target if isinstance(target, Swatch) else target.lab
