"""`stopgap shop`."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from stopgap import defaults
from stopgap.cli.options.common import (
    library_options,
    output_options,
    stated,
    step_option,
    time_limit_option,
    way_option,
)
from stopgap.cli.options.kinds import LightfastnessText, RangeName, TargetText
from stopgap.cli.options.paper import heavy_first_option, paper_options
from stopgap.cli.options.selection import for_laydown_option
from stopgap.cli.remedies import note_words
from stopgap.cli.session import session
from stopgap.errors import NothingFoundError, UsageError

if TYPE_CHECKING:
    from stopgap.planner import Ground
    from stopgap.swatches import Lightfastness, Selection


@click.command()
@click.option(
    "--blends", "blends_file", type=click.Path(path_type=Path), help="Blends without gaps."
)
@click.option(
    "--list", "list_file", type=click.Path(path_type=Path), help="Colours to come close to."
)
@click.option(
    "--for",
    "shades",
    multiple=True,
    type=TargetText(),
    help="A shade to lay or replace; may be repeated. One that is discontinued, empty or "
    "avoided never serves itself.",
)
@click.option(
    "--restock",
    is_flag=True,
    help="What runs out instead: empty pencils and stubs, and what --list and --for call for that "
    "you do not have.",
)
@step_option
@way_option
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
    help="Where no price is known, instead of the median of its range, else of all.",
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
@for_laydown_option
@time_limit_option
@paper_options
@heavy_first_option
@output_options
@library_options
def shop(
    blends_file: Path | None,
    list_file: Path | None,
    shades: tuple[str, ...],
    restock: bool,
    step: float,
    path: str,
    tolerance: float,
    budget: float | None,
    default_price: float,
    layers: bool,
    layering: bool | None,
    ranges: tuple[str, ...],
    exclude: tuple[str, ...],
    min_lightfastness: "Lightfastness | None",
    partial: bool,
    for_laydown: bool,
    time_limit: float,
    on: str | None,
    grain: str | None,
    heavy_first: bool,
) -> None:
    """Find the cheapest pencils to buy that close the gaps in what you own.

    Name blends (--blends FILE: name, from, to, optional step, via, by_lightness), colours (--list
    FILE) or shades (--for RANGE:CODE), or several of these: one pencil may serve more than one
    need. The answer is proved to be the best, or says how far from it it may be. A shade of --for
    or --list that is discontinued, empty or avoided does not serve itself, even where you own it;
    --restock buys it again. Exit status 3 where a need stays open, or with --restock where
    something can neither be bought again nor replaced by what you own.

    \b
    Example:
      stopgap shop --blends blends.csv --no-layers
      stopgap shop --list lesson.csv --for-laydown
      stopgap shop --restock --list lesson.csv
    """
    from dataclasses import replace

    from stopgap.library import known_rows, listed_paper, read_blends, read_list, spread
    from stopgap.planner import (
        Terms,
        called_for,
        ground_of,
        needs_of,
        plan_purchase,
    )
    from stopgap.reports.answers import shopping_report
    from stopgap.swatches import Selection

    _check_asked(
        restock=restock,
        needs=any((blends_file, list_file, shades)),
        plan=any((blends_file, budget is not None, partial, for_laydown)),
    )
    blends = read_blends(blends_file) if blends_file else []
    colours = read_list(list_file) if list_file else []
    current = session()
    with current.open(read_only=True) as library:
        ground = ground_of(
            library, listed_paper([*blends, *colours], on), grain, heavy_first=heavy_first
        )
        known = ground.answering
        blends, unknown_ends = known_rows(blends, known)
        colours, unknown = known_rows(spread(colours, known), known)
        named, unknown_shades = known_rows(shades, known)
        left = (unknown_ends, unknown, unknown_shades)
        if not ([*blends, *colours, *named] or restock):
            current.end_with(*left)
        for_sale = Selection(
            ranges=tuple(library.known_range(name) for name in ranges),
            min_lightfastness=min_lightfastness,
            for_laydown=for_laydown,
        )
    price = _stated_price(default_price)
    if restock:
        wanted = called_for(known, colours, named)
        prices = (tolerance, price)
        met = _answer_restock(ground.among(for_sale), for_sale, wanted, exclude, *prices)
        current.end_with(*left)
        click.get_current_context().exit(0 if met else NothingFoundError.exit_status)
    needs = needs_of(
        known,
        blends=blends,
        colours=colours,
        shades=named,
        step=step,
        path=path,
        tolerance=tolerance,
    )
    found = plan_purchase(
        needs,
        known,
        selection=for_sale,
        exclude=exclude,
        layers=ground.conditions if (layers if layering is None else layering) else None,
        terms=Terms(budget, price, partial, time_limit or None),
        cache=current.recipe_cache,
        counter=current.counter("recipes"),
        progress=current.progress,
    )
    if not found.currency:
        found = replace(found, currency=current.settings.get("currency", ""))
    current.answer(shopping_report(found, note_words), found, on=ground.using(for_sale))
    current.end_with(*left)
    if found.status == "infeasible" or found.unfilled:
        click.get_current_context().exit(NothingFoundError.exit_status)


def _stated_price(default_price: float) -> float | None:
    """What is to be taken where no price is known, None where it is to be guessed."""
    return default_price if stated("default_price") else None


def _check_asked(*, restock: bool, needs: bool, plan: bool) -> None:
    """Refuse a question without anything asked, and what only a plan to buy would use."""
    if not (needs or restock):
        raise UsageError(
            "Nothing is asked for: name --blends FILE, --list FILE or --for SHADE, or --restock."
        )
    if restock and plan:
        raise UsageError(
            "--restock does not go with --blends, --budget, --for-laydown or --partial."
        )


def _answer_restock(
    ground: "Ground",
    for_sale: "Selection",
    wanted: frozenset[str],
    exclude: tuple[str, ...],
    tolerance: float,
    default_price: float | None,
) -> bool:
    """Say what runs out; whether all of it can be bought or replaced."""
    from stopgap.planner import running_out
    from stopgap.reports.answers import restock_report

    found = running_out(
        ground.known,
        called_for=wanted,
        selection=for_sale,
        exclude=exclude,
        tolerance=tolerance,
        default_price=default_price,
    )
    session().answer(restock_report(found, note_words), found, on=ground)
    return all(row.met for row in found.rows)
