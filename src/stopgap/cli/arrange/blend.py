"""`stopgap blend` and `stopgap gaps`."""

from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import click

from stopgap.cli.arrange.family import pins_of
from stopgap.cli.options.kinds import TargetText
from stopgap.cli.options.numbers import step_option
from stopgap.cli.options.paper import hand_of, paper_options
from stopgap.cli.options.selection import Chosen, selection_options
from stopgap.cli.session import library_options, output_options, session
from stopgap.errors import NothingFoundError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from stopgap.blends import Blend, Pin, Recipes
    from stopgap.errors import Note
    from stopgap.library import ListedBlend
    from stopgap.swatches import Swatch, Target


way_option = click.option(
    "--way",
    "path",
    type=click.Choice(["auto", "straight", "round"]),
    default="auto",
    show_default=True,
    help="How a blend runs between its ends: as their hues suggest, straight, or round by hues.",
)
layers_option = click.option(
    "--layers/--no-layers",
    default=True,
    show_default=True,
    help="Whether layers of what you own count as colours of a blend.",
)


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
    type=click.Choice(["enough", "fewest", "smoothest"]),
    default="enough",
    show_default=True,
    help="Just enough pencils for the step, or the smoothest chain.",
)
@way_option
@click.option("--by-lightness", is_flag=True, help="Measure the way by lightness alone.")
@layers_option
@selection_options(owned=True)
@paper_options
@output_options
@library_options
def blend(
    start: str,
    end: str,
    layers: bool,
    chosen: Chosen,
    paper: str | None,
    paper_colour: str | None,
    step: float,
    **wanted: Any,
) -> None:
    """Find the pencils that lead from FROM to TO, each melting into the next.

    FROM and TO are pencils or colours. Blends are made of the pencils you own, singly and in
    layers, or of any with --any. As few steps as can be stay over the limit, and as little over it;
    exit status 3 where one does: the best chain is shown all the same.

    \b
    Example:
      stopgap blend Fennmoor:FM113 Fennmoor:FM112 --range Fennmoor
    """
    from stopgap.blends import blend as best_blend
    from stopgap.library import find_target
    from stopgap.reports.answers.blends import blend_report

    current = session()
    at_hand = _at_hand(chosen, layers=layers, paper=paper, paper_colour=paper_colour)
    stops = [find_target(text, at_hand.swatches) for text in (start, *wanted.pop("stops"), end)]
    ends = [end_of(stop) for stop in stops]
    found = best_blend(
        ends[0],
        ends[-1],
        at_hand.pencils,
        stops=ends[1:-1],
        limit=step,
        recipes=at_hand.recipes,
        **wanted,
    )
    current.answer(blend_report(found, at_hand.notes))
    if not found.closed:
        click.get_current_context().exit(NothingFoundError.exit_status)


@click.command()
@click.argument("blends_file", metavar="[BLENDS]", required=False, type=click.Path(path_type=Path))
@step_option
@way_option
@layers_option
@selection_options(owned=True)
@paper_options
@output_options
@library_options
def gaps(
    blends_file: Path | None,
    step: float,
    path: str,
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
    from stopgap.blends import blend_of_family, families, find_gaps, layer_family
    from stopgap.library import read_blends
    from stopgap.reports.answers.blends import gaps_report
    from stopgap.swatches import Selection

    current = session()
    at_hand = _at_hand(chosen, layers=layers, paper=paper, paper_colour=paper_colour)
    pencils, recipes = at_hand.pencils, at_hand.recipes
    if blends_file is not None:
        rows = read_blends(blends_file)
        alone = [listed_blend(row, at_hand.swatches, pencils, step=step, path=path) for row in rows]
        shown = (
            alone
            if recipes is None
            else [
                listed_blend(row, at_hand.swatches, pencils, step=step, path=path, recipes=recipes)
                for row in rows
            ]
        )
    else:
        filed = families(pencils, at_hand.pins)
        alone = [blend_of_family(one, limit=step) for one in filed if len(one.filed) > 1]
        shown = alone if recipes is None else [layer_family(one, recipes) for one in alone]
    used = {swatch.address for swatch in pencils}
    buyable = [
        swatch
        for swatch in Selection().of(at_hand.swatches)
        if swatch.address not in used and not swatch.owned
    ]
    answer = find_gaps(alone, buyable, layered=shown)
    current.answer(gaps_report(shown, answer, at_hand.notes))


class AtHand(NamedTuple):
    """What blends may be made of: pencils, and recipes where layers count; and what to say of it.

    `swatches` are all of the library, among which ends are looked up.
    """

    swatches: "tuple[Swatch, ...]"
    pencils: "tuple[Swatch, ...]"
    recipes: "Recipes | None"
    pins: "dict[str, Pin]"
    notes: "tuple[Note, ...]"


def _at_hand(
    chosen: Chosen, *, layers: bool, paper: str | None, paper_colour: str | None
) -> AtHand:
    from stopgap.planner import recipes_along, recipes_of_hand
    from stopgap.swatches import Selection

    current = session()
    with current.open(read_only=True) as library:
        swatches = tuple(library.swatches())
        pencils, notes = chosen.selection(library).at_hand(swatches)
        hand = hand_of(library, paper, paper_colour)
        pins = pins_of(library)
    if not pencils:
        raise NothingFoundError(
            "There is no pencil to blend with. 'stopgap own' says what you own; --any takes all."
        )
    recipes = None
    layered, _ = Selection(owned=True).at_hand(swatches)
    if layers and layered:
        index = recipes_of_hand(
            hand, layered, cache=current.recipe_cache, progress=current.counter("recipes")
        )
        recipes = recipes_along(index)
        notes += index.notes
    return AtHand(swatches, pencils, recipes, pins, notes)


def listed_blend(
    listed: "ListedBlend",
    swatches: "Sequence[Swatch]",
    pencils: "Sequence[Swatch]",
    *,
    step: float,
    path: str = "auto",
    recipes: "Recipes | None" = None,
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
            path=path,
            limit=step if listed.step is None else listed.step,
            recipes=recipes,
            name=listed.name,
        )


def end_of(target: "Target") -> "Swatch | tuple[float, float, float]":
    """A target as the end of a blend."""
    from stopgap.swatches import Swatch

    return target if isinstance(target, Swatch) else target.lab
