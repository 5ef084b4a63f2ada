"""`stopgap shop`."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from stopgap import defaults
from stopgap.cli.options.kinds import LightfastnessText, RangeName, TargetText
from stopgap.cli.options.numbers import step_option, time_limit_option
from stopgap.cli.options.paper import hand_of, paper_options
from stopgap.cli.session import library_options, output_options, session
from stopgap.errors import UsageError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from stopgap.planner import BlendNeed, ColourNeed
    from stopgap.swatches import Lightfastness, Swatch


@click.command()
@click.option(
    "--blends", "blends_file", type=click.Path(path_type=Path), help="Blends without gaps."
)
@click.option(
    "--list", "list_file", type=click.Path(path_type=Path), help="Colours to come close to."
)
@click.option(
    "--for", "shades", multiple=True, type=TargetText(), help="A shade to replace; may be repeated."
)
@step_option
@click.option(
    "--tolerance",
    type=float,
    default=defaults.TOLERANCE,
    show_default=True,
    metavar="ΔE",
    help="How far a stand-in may be off.",
)
@click.option("--budget", type=float, help="Spend no more; then the most need met for it.")
@click.option(
    "--default-price",
    type=float,
    default=defaults.PRICE,
    show_default=True,
    help="Where no price is known.",
)
@click.option(
    "--layers/--no-layers",
    default=True,
    show_default=True,
    help="Whether what you own counts in layers too.",
)
@click.option(
    "--layering/--no-layering", default=None, hidden=True, help="The former name of --layers."
)
@click.option(
    "--range",
    "ranges",
    multiple=True,
    type=RangeName(),
    metavar="NAME",
    help="Buy only from this range; may be repeated.",
)
@click.option("--exclude", multiple=True, type=TargetText(), help="Do not buy this pencil.")
@click.option(
    "--min-lightfastness", type=LightfastnessText(), help="Buy only pencils rated at least so."
)
@click.option("--partial", is_flag=True, help="Spend on gaps that nothing can close in full too.")
@time_limit_option
@paper_options
@output_options
@library_options
def shop(
    blends_file: Path | None,
    list_file: Path | None,
    shades: tuple[str, ...],
    step: float,
    tolerance: float,
    budget: float | None,
    default_price: float,
    layers: bool,
    layering: bool | None,
    ranges: tuple[str, ...],
    exclude: tuple[str, ...],
    min_lightfastness: "Lightfastness | None",
    partial: bool,
    time_limit: float,
    paper: str | None,
    paper_colour: str | None,
) -> None:
    """Find the cheapest pencils to buy that close the gaps in what you own.

    Name blends (--blends FILE: name, from, to, optional step), colours (--list FILE) or shades
    (--for RANGE:CODE), or several of these: one pencil may serve more than one need. The answer is
    proved to be the best, or says how far from it it may be.

    \b
    Example:
      stopgap shop --blends blends.csv --no-layers
    """
    from stopgap.library import find_swatch
    from stopgap.planner import (
        layered_ways,
        not_layered_notes,
        recipes_along,
        recipes_of_hand,
        shopping_list,
    )
    from stopgap.reports.answers.shopping import shopping_report
    from stopgap.swatches import Selection

    if not (blends_file or list_file or shades):
        raise UsageError("Nothing is asked for: name --blends FILE, --list FILE or --for SHADE.")
    current = session()
    with current.open(read_only=True) as library:
        swatches = library.swatches()
        hand = hand_of(library, paper, paper_colour)
        buyable = Selection(
            ranges=tuple(library.known_range(name) for name in ranges),
            min_lightfastness=min_lightfastness,
        )
    owned = Selection(owned=True).of(swatches)
    excluded = {find_swatch(text, swatches).address for text in exclude}
    candidates = [
        swatch
        for swatch in buyable.of(swatches)
        if not swatch.owned and swatch.address not in excluded
    ]
    needs: list[BlendNeed | ColourNeed] = [
        *_blend_needs(blends_file, swatches, step),
        *_colour_needs(list_file, shades, swatches, tolerance),
    ]
    layered = owned if (layers if layering is None else layering) else ()
    cache, counter = current.recipe_cache, current.counter("recipes")
    among = frozenset(swatch.address for swatch in layered)
    along = None
    if blends_file and layered:
        along = recipes_along(recipes_of_hand(hand, layered, cache=cache, progress=counter))
    found = shopping_list(
        needs,
        owned,
        candidates,
        default_price=default_price,
        budget=budget,
        partial=partial,
        recipes=layered_ways(hand, among=among, cache=cache, progress=counter) if layered else (),
        recipes_along=along,
        time_limit=time_limit or None,
        progress=current.progress,
    )
    notes = not_layered_notes(hand, layered) if layered else ()
    current.answer(shopping_report(found).with_notes(notes))
    if found.status == "infeasible":
        click.get_current_context().exit(3)


def _blend_needs(path: Path | None, swatches: "Sequence[Swatch]", step: float) -> "list[BlendNeed]":
    from stopgap.library import find_targets, read_blends
    from stopgap.planner import BlendNeed

    listed = read_blends(path) if path is not None else []
    return [
        BlendNeed(row.name, start, end, step=step if row.step is None else row.step)
        for row, (start, end) in zip(listed, find_targets(listed, swatches))
    ]


def _colour_needs(
    path: Path | None,
    shades: "Sequence[str]",
    swatches: "Sequence[Swatch]",
    tolerance: float,
) -> "list[ColourNeed]":
    from stopgap.library import find_target, find_targets, read_list
    from stopgap.planner import ColourNeed

    listed = read_list(path) if path is not None else []
    needs = [
        ColourNeed(f"{row.colour} {row.label}".strip(), target, tolerance, row.weight)
        for row, (target,) in zip(listed, find_targets(listed, swatches))
    ]
    needs += [ColourNeed(text, find_target(text, swatches), tolerance) for text in shades]
    return needs
